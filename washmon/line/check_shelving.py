"""Checks of flags that somebody puts aside for a while, or brings back (ANSI/ISA-18.2: shelve)."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from washmon.line.finding import Fault, Finding, text_faults
from washmon.line.flag_events import FlagShelved, FlagUnshelved
from washmon.line.message import Figure, Message, Moment
from washmon.line.state import ShiftState
from washmon.units import Kind


def shelve(state: ShiftState, event: FlagShelved) -> Iterator[Finding]:
    """Yield what speaks against shelving a flag."""
    key = (event.tank, event.rule)
    flag = next((one.flag for one in state.open_flags if one.flag.key == key), None)
    if flag is None:
        yield Fault("", Message("This flag is no longer there."))
    elif (never := flag.never_shelved) is not None:
        yield Fault("", never)
    elif flag.level is not event.level:
        yield Fault("", Message("This flag has changed meanwhile: look at it again."))
    if (now := state.shelved_at(event.at).get(key)) is not None:
        until = Moment(now.placed.until)
        yield Fault("", Message("This flag is shelved already, until {time}.", {"time": until}))
    yield from _how_long(state, event)
    yield from text_faults("reason", event.reason)
    before = [one for one in state.shelvings if one.key == key]
    if before and now is None:
        yield Message(
            "This flag was shelved before, until {time}: its cause is still there.",
            {"time": Moment(before[-1].over or before[-1].placed.until)},
        )


def _how_long(state: ShiftState, event: FlagShelved) -> Iterator[Fault]:
    longest_min = state.setup.margins.shelve_longest_min
    if event.until <= event.at:
        yield Fault("until", Message("Say for how long: the time must lie ahead."))
    elif event.until > event.at + timedelta(minutes=longest_min):
        longest = Figure(longest_min, Kind.TIME)
        yield Fault("until", Message("A flag is shelved for {most} at most.", {"most": longest}))


def is_over(event: FlagShelved, now: datetime) -> Iterator[Fault]:
    """Yield a fault where the time of a shelving is over before it is journaled."""
    if event.at < event.until <= now:
        yield Fault(
            "until",
            Message("{time} is over: choose a later time.", {"time": Moment(event.until)}),
        )


def unshelve(state: ShiftState, event: FlagUnshelved) -> Iterator[Finding]:
    """Yield what speaks against bringing a flag back."""
    if (event.tank, event.rule) not in state.shelved_at(event.at):
        yield Fault("", Message("This flag is not shelved any more."))
