"""The fold: from events to state, purely.

What touches water, produce or the run of the line is folded in the order in which it happened, so
an entry that comes late finds its place among the batches; decisions (flags, holds, hand-overs) are
folded in the order in which they were written down. Where the clock was set in between, all times
are brought onto one clock first (:mod:`washmon.line.clock_changes`).
"""

from collections.abc import Sequence

from msgspec.structs import replace

from washmon.line.clock_changes import on_one_clock
from washmon.line.events import ClockChanged, Corrected, Event, ShiftStarted
from washmon.line.journal import Entry
from washmon.line.kinds import KINDS
from washmon.line.registers import Registers
from washmon.line.state import ShiftState, TankState


class NotAShift(ValueError):  # noqa: N818 - says what it is
    """The entries do not begin with the start of a shift."""


def begin(chain: str, entry: Entry) -> ShiftState:
    """Return the state right after the entry that starts a shift.

    Raises:
        NotAShift: the entry starts no shift.
    """
    started = entry.event
    if not isinstance(started, ShiftStarted):
        raise NotAShift("The first entry does not start a shift.")
    return ShiftState(
        chain=chain,
        started=started,
        tanks=tuple(TankState(spec=tank) for tank in started.setup.tanks),
        in_charge=started.by,
        last_at=started.at,
        entries=(entry,),
        registers=started.registers or Registers(),
    )


def fold(chain: str, entries: Sequence[Entry]) -> ShiftState:
    """Return the state after all entries, corrections applied.

    Raises:
        NotAShift: there are no entries, or the first starts no shift.
    """
    if not entries:
        raise NotAShift("There are no entries.")
    entries = on_one_clock(entries)
    state = begin(chain, entries[0])
    corrections = {
        entry.event.entry: entry.event for entry in entries if isinstance(entry.event, Corrected)
    }
    events = [
        (entry.seq, event)
        for entry in entries[1:]
        if (event := _as_corrected(entry, corrections)) is not None
    ]
    ordered = [(seq, event) for seq, event in events if KINDS[type(event)].in_order]
    ordered.sort(key=lambda place: (place[1].at, place[0]))
    for seq, event in ordered:
        state = _apply(state, seq, event)
    for seq, event in events:
        if not KINDS[type(event)].in_order:
            state = _apply(state, seq, event)
    return replace(state, entries=entries, corrections=corrections)


def step(state: ShiftState, entry: Entry) -> ShiftState:
    """Return the state after one more entry; equals folding all entries anew."""
    event = entry.event
    late = KINDS[type(event)].in_order and event.at < state.last_at
    if late or isinstance(event, Corrected | ClockChanged):
        return fold(state.chain, (*state.entries, entry))
    return replace(_apply(state, entry.seq, event), entries=(*state.entries, entry))


def _as_corrected(entry: Entry, corrections: dict[int, Corrected]) -> Event | None:
    correction = corrections.get(entry.seq)
    return entry.event if correction is None else correction.instead


def _apply(state: ShiftState, seq: int, event: Event) -> ShiftState:
    state = KINDS[type(event)].fold(state, seq, event)
    if KINDS[type(event)].in_order:
        state = replace(state, last_at=max(state.last_at, event.at))
    return state
