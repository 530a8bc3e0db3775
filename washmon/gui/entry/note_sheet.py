"""The form of a note."""

from dataclasses import replace

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.sheet_form import Fields, LineForm, choice_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import Offer
from washmon.line.events import NoteWritten

LINE = "line"


def note_form() -> LineForm:
    """Return the form of a note."""
    return LineForm(tr("Note"), _note_fields, _build_note)


def _note_fields(ask: Ask) -> Fields:
    tanks = ((str(tank.number), f"{tank.number} {tank.spec.name}") for tank in ask.shift.tanks)
    chosen = LINE if ask.tank is None else str(ask.tank)
    note = text_field(ask, "text", tr("Note"), required=True)
    return (
        replace(note, offers=tuple(Offer(words) for words in _quick_words(ask))),
        choice_field(ask, "tank", tr("On"), ((LINE, tr("Whole line")), *tanks), chosen, aside=True),
    )


def _quick_words(ask: Ask) -> tuple[str, ...]:
    """Return short notes: what the shed itself writes, and until it has, what sheds write."""
    usual = (tr("crates muddy"), tr("produce warm"), tr("water cloudy"), tr("pump looked at"))
    return tuple(dict.fromkeys((*ask.own.notes, *usual)))


def _build_note(texts: Texts) -> NoteWritten:
    chosen = texts.text("tank")
    return NoteWritten(
        at=texts.at(),
        by=texts.ask.person.initials,
        text=texts.needed("text"),
        tank=None if chosen in {"", LINE} else int(chosen),
    )
