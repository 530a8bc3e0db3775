"""Handing a shift over: what is open is read out, and the next one says that it is taken over."""

from collections.abc import Iterator

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.holding_sheet import hold_words
from washmon.gui.entry.sheet_form import Fields, LineForm, choice_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.line.events import Event, HandedOver
from washmon.line.flags import Level
from washmon.line.message import clock
from washmon.line.setup import DECIDERS

_NOW = frozenset({Level.STOP, Level.ACT})


def hand_over_form() -> LineForm:
    """Return the form of a hand-over."""
    return LineForm(
        tr("Hand over"),
        _fields,
        _build,
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


def _fields(ask: Ask) -> Fields:
    return (
        choice_field(ask, "to", tr("To"), _next_ones(ask), required=True),
        text_field(ask, "note", tr("Note")),
    )


def _build(texts: Texts) -> HandedOver:
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
