"""Checks of corrections."""

from collections.abc import Callable, Iterator

from msgspec.structs import replace

from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    Corrected,
    DoseAdded,
    Event,
    HoldPlaced,
    NoteWritten,
    ReadingTaken,
    TankFilled,
    WaterExchanged,
)
from washmon.line.finding import CLOCK_SLACK, Fault, Finding, text_faults
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.message import Message
from washmon.line.state import ShiftState

CORRECTABLE = (
    TankFilled,
    WaterExchanged,
    DoseAdded,
    AcidAdded,
    ReadingTaken,
    BatchWashed,
    NoteWritten,
    HoldPlaced,
)


def corrected(
    state: ShiftState,
    event: Corrected,
    findings: Callable[[ShiftState, Event], Iterator[Finding]],
) -> Iterator[Finding]:
    """Yield what speaks against a correction; ``findings`` checks what is right instead."""
    yield from text_faults("reason", event.reason)
    original = next((entry.event for entry in state.entries if entry.seq == event.entry), None)
    if not isinstance(original, CORRECTABLE):
        yield Fault("entry", Message("This entry can't be corrected."))
        return
    if event.instead is None:
        return
    if type(event.instead) is not type(original):
        yield Fault("entry", Message("A correction is of the same kind as the entry."))
        return
    if event.instead.at < state.started.at or event.instead.at > event.at + CLOCK_SLACK:
        yield Fault("at", Message("The corrected time lies outside the shift."))
        return
    yield from findings(_without(state, event), event.instead)


def _without(state: ShiftState, event: Corrected) -> ShiftState:
    """Return the shift as if the entry that is corrected had never been made."""
    last = state.entries[-1]
    withdrawn = Entry(last.seq + 1, last.recorded_at, replace(event, instead=None), "")
    return fold(state.chain, (*state.entries, withdrawn))
