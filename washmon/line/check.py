"""Is an entry possible, and is it likely? Asked before it is committed.

A *fault* refuses an entry: it can't be true. A *doubt* asks once: it may be true, and if the person
says so it is recorded together with the doubt.

Check of what somebody says of the computer's clock.
"""

import math
from collections.abc import Callable, Iterator
from datetime import datetime

from msgspec import Struct
from msgspec.structs import asdict, astuple

from washmon.line import signing
from washmon.line.check_additions import acid, dose, exchanged, filled
from washmon.line.check_batches import batch
from washmon.line.check_corrections import corrected
from washmon.line.check_holds import end, hold, release
from washmon.line.check_readings import Expected, reading
from washmon.line.check_shelving import is_over, shelve, unshelve
from washmon.line.clock_changes import LONGEST_S, moved
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    ClockChanged,
    Corrected,
    DoseAdded,
    Event,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    InstrumentChecked,
    LinePaused,
    LineResumed,
    LotSent,
    ReadingTaken,
    SecondSwapped,
    ShiftEnded,
    ShiftReviewed,
    ShiftSigned,
    ShiftStarted,
    TankFilled,
    WaterExchanged,
)
from washmon.line.finding import CLOCK_SLACK, Fault, Finding, text_faults
from washmon.line.flag_events import Acknowledged, FlagShelved, FlagUnshelved
from washmon.line.instruments import checked
from washmon.line.kinds import KINDS
from washmon.line.message import Figure, Message, Moment, Values
from washmon.line.practice_events import BehindTheScenes
from washmon.line.quantities import BOUNDS
from washmon.line.second import swapped
from washmon.line.sent import sending
from washmon.line.setup import DECIDERS
from washmon.line.state import ShiftState


def clock_changed(state: ShiftState, event: ClockChanged) -> Iterator[Finding]:
    """Yield what speaks against moving all that was entered so far."""
    yield from text_faults("reason", event.reason)
    if not 0 < abs(event.by_s) <= LONGEST_S:
        yield Fault("by_s", Message("Say by how much the times are wrong."))
        return
    last = max(moved(state.last_at, event.by_s), moved(state.started.at, event.by_s))
    if last > event.at + CLOCK_SLACK:
        yield Fault(
            "by_s",
            Message(
                "Moved like this, an entry would be of {time}, which is not yet: look again.",
                {"time": Moment(last)},
            ),
        )


__all__ = ["Fault", "Verdict", "check", "starting_faults"]


class Verdict(Struct, frozen=True):
    """What is to be said of an entry before it is committed."""

    faults: tuple[Fault, ...] = ()
    doubts: tuple[Message, ...] = ()


def check(
    state: ShiftState, event: Event, now: datetime, expected: Expected | None = None
) -> Verdict:
    """Return what speaks against an entry at this point of the shift.

    ``expected`` is where the level of a reading in use was forecast to be, if it was.
    """
    faults = [*_time_faults(state, event, now)]
    doubts: list[Message] = []
    if state.ended is not None and not KINDS[type(event)].after_end:
        faults.append(Fault("", Message("This shift has ended: start a new one to go on.")))
    for finding in _findings(state, event, expected):
        if isinstance(finding, Fault):
            faults.append(finding)
        else:
            doubts.append(finding)
    return Verdict(tuple(faults), tuple(doubts))


def starting_faults(event: ShiftStarted, now: datetime) -> tuple[Fault, ...]:
    """Return what of its time and its person speaks against a shift that is to begin."""
    return (*_future_faults(event, now), *_nobody_faults(event))


def _findings(
    state: ShiftState, event: Event, expected: Expected | None = None
) -> Iterator[Finding]:
    look = _CHECKS.get(type(event))
    if look is None and KINDS[type(event)].sheet is not None:
        look = _in_a_tank
    if look is None:
        yield Fault("", Message("This cannot be entered into a shift."))
        return
    yield from _bound_findings(event)
    for field in KINDS[type(event)].needs:
        yield from text_faults(field, getattr(event, field))
    if not any(isinstance(value, float) and not math.isfinite(value) for value in astuple(event)):
        if isinstance(event, ReadingTaken) and not event.second:
            yield from reading(state, event, expected)
        else:
            yield from look(state, event)


def _in_a_tank(state: ShiftState, event: Event) -> Iterator[Finding]:
    """Yield a fault where an entry without a check of its own names a tank that is not there."""
    number = getattr(event, "tank", None)
    if number is not None and number not in {tank.number for tank in state.tanks}:
        yield Fault("tank", Message("There is no tank {number}.", {"number": number}))


def _future_faults(event: Event, now: datetime) -> Iterator[Fault]:
    if event.at > now + CLOCK_SLACK:
        yield Fault(
            "at", Message("{time} is in the future: check the time.", {"time": Moment(event.at)})
        )


def _nobody_faults(event: Event) -> Iterator[Fault]:
    if not event.by.strip():
        yield Fault("by", Message("Say who enters this: choose your initials."))


def _time_faults(state: ShiftState, event: Event, now: datetime) -> Iterator[Fault]:
    yield from _future_faults(event, now)
    if event.at < state.started.at and not isinstance(event, ClockChanged):
        yield Fault(
            "at",
            Message(
                "{time} is before the shift began at {start}: check the time.",
                {"time": Moment(event.at), "start": Moment(state.started.at)},
            ),
        )
    if isinstance(event, FlagShelved):
        yield from is_over(event, now)
    yield from _nobody_faults(event)


def _bound_findings(event: Event) -> Iterator[Finding]:
    for field, value in asdict(event).items():
        if isinstance(value, float) and not math.isfinite(value):
            yield Fault(field, Message("This is not a number: enter it again."))
    for field, bound in BOUNDS.items():
        value = getattr(event, field, None)
        if value is None or not math.isfinite(value):
            continue
        figures: Values = {
            "value": Figure(value, bound.kind),
            "name": bound.name,
            "low": Figure(bound.low, bound.kind),
            "high": Figure(bound.high, bound.kind),
        }
        if not bound.low <= value <= bound.high:
            yield Fault(
                field,
                Message(
                    "{value} is not a possible {name}: it lies between {low} and {high}.", figures
                ),
            )
        elif not bound.likely_low <= value <= bound.likely_high:
            yield Message("{value} is an unusual {name}.", figures)


def _paused(state: ShiftState, _event: LinePaused) -> Iterator[Finding]:
    if state.paused is not None:
        since = Moment(state.paused.placed.at)
        yield Fault("", Message("The line is paused since {time} already.", {"time": since}))


def _resumed(state: ShiftState, event: LineResumed) -> Iterator[Finding]:
    if state.paused is None:
        yield Fault("", Message("The line is not paused."))
    elif event.at < state.paused.placed.at:
        since = Moment(state.paused.placed.at)
        yield Fault("at", Message("The pause began only at {time}: check it.", {"time": since}))


def _acknowledge(state: ShiftState, event: Acknowledged) -> Iterator[Finding]:
    if (event.tank, event.rule) not in {record.flag.key for record in state.open_flags}:
        yield Fault("", Message("This flag is no longer there."))


def _hand_over(state: ShiftState, event: HandedOver) -> Iterator[Finding]:
    person = state.setup.person(event.to)
    if person is None:
        yield Fault("to", Message("{who} is not in the set-up.", {"who": event.to or "–"}))
    elif person.role not in DECIDERS:
        yield Fault(
            "to",
            Message(
                "{who} is a line worker: a shift is led by a supervisor or a manager.",
                {"who": event.to},
            ),
        )


def _behind(state: ShiftState, _event: BehindTheScenes) -> Iterator[Finding]:
    if not state.started.practice:
        yield Fault("", Message("Only a practice shift has anything behind the scenes."))


def _signature(state: ShiftState, event: ShiftSigned | ShiftReviewed) -> Iterator[Finding]:
    yield from (Fault("", message) for message in signing.faults(state, event))
    yield from signing.doubts(state, event)


def _corrected(state: ShiftState, event: Corrected) -> Iterator[Finding]:
    yield from corrected(state, event, _findings)


_CHECKS: dict[type, Callable[..., Iterator[Finding]]] = {
    TankFilled: filled,
    WaterExchanged: exchanged,
    SecondSwapped: swapped,
    DoseAdded: dose,
    AcidAdded: acid,
    ReadingTaken: reading,
    BatchWashed: batch,
    LinePaused: _paused,
    LineResumed: _resumed,
    ClockChanged: clock_changed,
    InstrumentChecked: checked,
    LotSent: sending,
    HoldPlaced: hold,
    HoldReleased: release,
    Acknowledged: _acknowledge,
    FlagShelved: shelve,
    FlagUnshelved: unshelve,
    HandedOver: _hand_over,
    ShiftEnded: end,
    Corrected: _corrected,
    BehindTheScenes: _behind,
    ShiftSigned: _signature,
    ShiftReviewed: _signature,
}
