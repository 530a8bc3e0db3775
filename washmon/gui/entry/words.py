"""Notes, hand-over and the end of a shift."""

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.form import Fields, LineForm, Pairs, choice_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.line.events import HandedOver, NoteWritten, ShiftEnded

LINE = "line"


def note_form() -> LineForm:
    """Return the form of a note."""
    return LineForm(tr("Note"), _note_fields, _build_note)


def hand_over_form() -> LineForm:
    """Return the form of a hand-over."""
    return LineForm(tr("Hand over"), _hand_over_fields, _build_hand_over, save=tr("Hand over"))


def end_form() -> LineForm:
    """Return the form that ends a shift."""
    return LineForm(tr("End the shift"), _end_fields, _build_end, note=_open, save=tr("End shift"))


def _note_fields(ask: Ask) -> Fields:
    tanks = ((str(tank.number), f"{tank.number} {tank.spec.name}") for tank in ask.shift.tanks)
    chosen = LINE if ask.tank is None else str(ask.tank)
    return (
        text_field(ask, "text", tr("Note"), required=True),
        choice_field(ask, "tank", tr("On"), ((LINE, tr("Whole line")), *tanks), chosen, aside=True),
    )


def _build_note(texts: Texts) -> NoteWritten:
    chosen = texts.text("tank")
    return NoteWritten(
        at=texts.at(),
        by=texts.ask.person.initials,
        text=texts.needed("text"),
        tank=None if chosen in {"", LINE} else int(chosen),
    )


def _people(ask: Ask, *, without: str = "") -> Pairs:
    people = ask.shift.setup.people
    return tuple((one.initials, one.name) for one in people if one.initials != without)


def _hand_over_fields(ask: Ask) -> Fields:
    people = _people(ask, without=ask.shift.in_charge)
    return (
        choice_field(ask, "to", tr("To"), people, required=True),
        text_field(ask, "note", tr("Note")),
    )


def _build_hand_over(texts: Texts) -> HandedOver:
    return HandedOver(
        at=texts.at(),
        by=texts.ask.person.initials,
        to=texts.text("to"),
        note=texts.text("note"),
    )


def _open(ask: Ask) -> str:
    count = len(ask.shift.open_holds)
    if count == 1:
        return tr("One hold is open: somebody must take it over.")
    return tr("{count} holds are open: somebody must take them over.", count=count) if count else ""


def _end_fields(ask: Ask) -> Fields:
    note = text_field(ask, "note", tr("Note"))
    if not ask.shift.open_holds:
        return (note,)
    return choice_field(ask, "holds_to", tr("Open holds go to"), _people(ask), required=True), note


def _build_end(texts: Texts) -> ShiftEnded:
    return ShiftEnded(
        at=texts.at(),
        by=texts.ask.person.initials,
        note=texts.text("note"),
        holds_to=texts.text("holds_to") or None,
    )
