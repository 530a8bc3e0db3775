"""The forms of what is entered about a whole shift: a note, a pause, wrong times, a hand-over."""

import re
from collections.abc import Iterator
from dataclasses import replace

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.holding_sheet import hold_words
from washmon.gui.entry.sheet_form import Fields, LineForm, choice_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec, Offer
from washmon.line.events import (
    ClockChanged,
    Event,
    HandedOver,
    LinePaused,
    LineResumed,
    NoteWritten,
    Pause,
)
from washmon.line.flags import Level
from washmon.line.message import clock
from washmon.line.setup import DECIDERS

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


def pause_form() -> LineForm:
    """Return the form of a pause; Enter takes it for a break."""
    return LineForm(tr("Pause the line"), _pause_fields, _build_pause, save=tr("Pause"))


def resume_form() -> LineForm:
    """Return the form of going on, which asks for nothing but when."""
    return LineForm(tr("The line goes on"), lambda _: (), _build_resume, save=tr("Go on"))


def _pause_fields(ask: Ask) -> Fields:
    reasons = ((str(Pause.BREAK), tr("Break")), (str(Pause.BREAKDOWN), tr("Breakdown")))
    old = str(ask.was("reason") or "")
    words = "" if old in set(Pause) else old
    return (
        choice_field(ask, "reason", tr("Why"), reasons, "" if words else Pause.BREAK),
        text_field(ask, "words", tr("Or in your words"), value=words),
    )


def _build_pause(texts: Texts) -> LinePaused:
    reason = texts.text("words") or texts.text("reason") or Pause.BREAK
    return LinePaused(at=texts.at(), by=texts.ask.person.initials, reason=reason)


def _build_resume(texts: Texts) -> LineResumed:
    return LineResumed(at=texts.at(), by=texts.ask.person.initials)


_SPAN = re.compile(r"(\d{1,4})[:.hH](\d{2})")
LATER, EARLIER = "later", "earlier"


def clock_form() -> LineForm:
    """Return the form; whoever uses it says why, and nothing that was written is lost."""
    return LineForm(tr("Times were wrong"), _fields, _build, note=_note, save=tr("Move the times"))


def _note(ask: Ask) -> str:
    began = f"{ask.shift.started.at:%Y-%m-%d %H:%M}"
    return tr(
        "Moves the start of the shift ({began}) and all entries so far. A single entry is "
        "corrected in the list of entries.",
        began=began,
    )


def _fields(ask: Ask) -> Fields:
    ways = ((LATER, tr("Later")), (EARLIER, tr("Earlier")))
    return (
        choice_field(ask, "way", tr("Move them"), ways, LATER),
        FieldSpec(
            "span",
            tr("By"),
            kind=Fill.TEXT,
            required=True,
            hint=tr("hours:minutes, as 9:00"),
        ),
        FieldSpec("reason", tr("Why"), kind=Fill.TEXT, required=True),
    )


def _build(texts: Texts) -> ClockChanged:
    found = _SPAN.fullmatch(texts.text("span"))
    if found is None:
        texts.faults["span"] = tr("Write hours and minutes, such as 9:00, or 24:00 for a day.")
    seconds = 0 if found is None else (int(found[1]) * 60 + int(found[2])) * 60
    ahead = texts.text("way") != EARLIER
    return ClockChanged(
        at=texts.ask.now,
        by=texts.ask.person.initials,
        by_s=seconds if ahead else -seconds,
        reason=texts.needed("reason"),
    )


_NOW = frozenset({Level.STOP, Level.ACT})


def hand_over_form() -> LineForm:
    """Return the form of a hand-over."""
    return LineForm(
        tr("Hand over"),
        _hand_over_fields,
        _build_hand_over,
        note=_read_out,
        save=tr("Hand over"),
        confirm=_confirm,
        confirmed=tr("I take it over"),
    )


def _open_things(ask: Ask) -> Iterator[str]:
    """Yield what whoever takes over must know: holds, what is up or shelved, running waits."""
    holds = "; ".join(f"{hold_words(one)} ({one.placed.reason})" for one in ask.shift.open_holds)
    if holds:
        yield tr("On hold: {holds}.", holds=holds)
    flags = (flag for flag in ask.advice.flags if flag.level in _NOW)
    up = "; ".join(_flag(flag.tank, ask.person.say(flag.title)) for flag in flags)
    if up:
        yield tr("Up now: {flags}.", flags=up)
    put = "; ".join(_flag(flag.tank, ask.person.say(flag.title)) for flag in ask.advice.shelved)
    if put:
        yield tr("Shelved now: {flags}.", flags=put)
    plans = ((one.tank, one.plan.wait_until) for one in ask.advice.tanks)
    waits = ((tank, until) for tank, until in plans if until is not None and until > ask.now)
    waiting = "; ".join(
        tr("tank {tank} until {time}", tank=tank, time=clock(until)) for tank, until in waits
    )
    if waiting:
        yield tr("Waits for mixing: {tanks}.", tanks=waiting)
    if (pause := ask.shift.paused) is not None:
        yield tr("The line stands still since {time}.", time=clock(pause.placed.at))


def _flag(tank: int, title: str) -> str:
    return tr("tank {tank}: {what}", tank=tank, what=title)


def _read_out(ask: Ask) -> str:
    """Read out what is open, and say so where nobody may take over."""
    said = list(_open_things(ask)) or [tr("Nothing is on hold, shelved or waited for.")]
    if not _next_ones(ask):
        said.append(
            tr("Nobody else here is a supervisor or a manager: a line worker leads no shift alone.")
        )
    return "\n".join(said)


def _next_ones(ask: Ask) -> tuple[tuple[str, str], ...]:
    """Return who may lead the shift after the one who does."""
    return tuple(
        (one.initials, one.name or one.initials)
        for one in ask.shift.setup.people
        if one.initials != ask.shift.in_charge and one.role in DECIDERS
    )


def _hand_over_fields(ask: Ask) -> Fields:
    return (
        choice_field(ask, "to", tr("To"), _next_ones(ask), required=True),
        text_field(ask, "note", tr("Note")),
    )


def _build_hand_over(texts: Texts) -> HandedOver:
    return HandedOver(
        at=texts.at(),
        by=texts.ask.person.initials,
        to=texts.text("to"),
        note=texts.text("note"),
        confirmed=True,
    )


def _confirm(ask: Ask, event: Event) -> str:
    """Ask the next one, by name, to take over what is open."""
    to = event.to if isinstance(event, HandedOver) else ""
    known = " ".join(_open_things(ask))
    return tr("{who}, you take this shift over. {known}", who=to, known=known).strip()
