"""The fold: from events to state, purely.

What touches water, produce or the run of the line is folded in the order in which it happened, so
an entry that comes late finds its place among the batches; decisions (flags, holds, hand-overs) are
folded in the order in which they were written down. Where the clock was set in between, all times
are brought onto one clock first (:mod:`washmon.line.clock_changes`).
"""

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from msgspec.structs import replace

from washmon.line.clock_changes import on_one_clock
from washmon.line.events import (
    AcidAdded,
    Acknowledged,
    BatchWashed,
    BehindTheScenes,
    ClockChanged,
    Corrected,
    DoseAdded,
    Event,
    FlagsChanged,
    FlagShelved,
    FlagUnshelved,
    HandedOver,
    Happened,
    HoldPlaced,
    HoldReleased,
    InstrumentChecked,
    LinePaused,
    LineResumed,
    NoteWritten,
    PinMistaken,
    PinReset,
    PinSet,
    ReadingTaken,
    SecondSwapped,
    SetupSaved,
    ShiftEnded,
    ShiftReviewed,
    ShiftSigned,
    ShiftStarted,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flags import Level
from washmon.line.journal import Entry
from washmon.line.state import (
    Fill,
    FlagRecord,
    Hold,
    Paused,
    Placed,
    Shelved,
    ShiftState,
    TankState,
)

WaterEvent = (
    TankFilled | WaterExchanged | SecondSwapped | DoseAdded | AcidAdded | ReadingTaken | BatchWashed
)
InOrder = WaterEvent | LinePaused | LineResumed
"""What is folded in the order in which it happened."""
_E = TypeVar("_E", WaterExchanged, DoseAdded, AcidAdded, ReadingTaken)


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
    ordered = [(seq, event) for seq, event in events if isinstance(event, InOrder)]
    ordered.sort(key=lambda place: (place[1].at, place[0]))
    for seq, event in ordered:
        state = _apply(state, seq, event)
    for seq, event in events:
        if not isinstance(event, InOrder):
            state = _apply(state, seq, event)
    return replace(state, entries=entries, corrections=corrections)


def step(state: ShiftState, entry: Entry) -> ShiftState:
    """Return the state after one more entry; equals folding all entries anew."""
    event = entry.event
    late = isinstance(event, InOrder) and event.at < state.last_at
    if late or isinstance(event, Corrected | ClockChanged):
        return fold(state.chain, (*state.entries, entry))
    return replace(_apply(state, entry.seq, event), entries=(*state.entries, entry))


def _as_corrected(entry: Entry, corrections: dict[int, Corrected]) -> Event | None:
    correction = corrections.get(entry.seq)
    return entry.event if correction is None else correction.instead


def _apply(state: ShiftState, seq: int, event: Event) -> ShiftState:
    state = _HANDLERS[type(event)](state, seq, event)
    if isinstance(event, InOrder):
        state = replace(state, last_at=max(state.last_at, event.at))
    return state


def _with_tank(
    state: ShiftState, number: int, change: Callable[[TankState], TankState]
) -> ShiftState:
    return replace(
        state,
        tanks=tuple(change(tank) if tank.number == number else tank for tank in state.tanks),
    )


def _in_fill(
    state: ShiftState, seq: int, event: _E, change: Callable[[Fill, Placed[_E]], Fill]
) -> ShiftState:
    """Change the water that an event is about; one whose fill was withdrawn later is passed by."""

    def changed(tank: TankState) -> TankState:
        if event.second:
            if tank.second is None:
                return tank
            return replace(tank, second=change(tank.second, Placed(seq, event, 0)))
        if tank.fill is None:
            return tank
        fill = change(tank.fill, Placed(seq, event, tank.batches))
        return replace(tank, fills=(*tank.fills[:-1], fill))

    return _with_tank(state, event.tank, changed)


def _filled(state: ShiftState, seq: int, event: TankFilled) -> ShiftState:
    def changed(tank: TankState) -> TankState:
        number = len(tank.fills) + 1
        if event.second:
            gone = () if tank.second is None else (tank.second,)
            second = Fill(number=number, begun=Placed(seq, event, 0))
            return replace(tank, second=second, unused=(*tank.unused, *gone))
        fill = Fill(number=number, begun=Placed(seq, event, tank.batches))
        return replace(tank, fills=(*tank.fills, fill))

    return _with_tank(state, event.tank, changed)


def _swapped(state: ShiftState, seq: int, event: SecondSwapped) -> ShiftState:
    def changed(tank: TankState) -> TankState:
        second = tank.second or _of_nobody_knows_what(tank, seq, event)
        fill = second.brought_in(len(tank.fills) + 1, Placed(seq, event, tank.batches))
        return replace(tank, fills=(*tank.fills, fill), second=None)

    return _with_tank(state, event.tank, changed)


def _of_nobody_knows_what(tank: TankState, seq: int, event: SecondSwapped) -> Fill:
    """Return what is swapped in where no second fill was entered: water that nothing is known of.

    No entry may say so, but a journal that does must not go on judging the water that was drained.
    """
    volume_l = tank.spec.second_volume_l or tank.spec.volume_l
    filled = TankFilled(at=event.at, by=event.by, tank=event.tank, volume_l=volume_l, second=True)
    return Fill(number=0, begun=Placed(seq, filled, 0))


def _exchanged(state: ShiftState, seq: int, event: WaterExchanged) -> ShiftState:
    return _in_fill(
        state, seq, event, lambda fill, it: replace(fill, exchanges=(*fill.exchanges, it))
    )


def _dosed(state: ShiftState, seq: int, event: DoseAdded) -> ShiftState:
    return _in_fill(state, seq, event, lambda fill, it: replace(fill, doses=(*fill.doses, it)))


def _acidified(state: ShiftState, seq: int, event: AcidAdded) -> ShiftState:
    return _in_fill(state, seq, event, lambda fill, it: replace(fill, acids=(*fill.acids, it)))


def _read(state: ShiftState, seq: int, event: ReadingTaken) -> ShiftState:
    if not event.second:
        state = _gone_on(state, event)
    return _in_fill(state, seq, event, Fill.with_reading)


def _washed(state: ShiftState, seq: int, event: BatchWashed) -> ShiftState:
    def changed(tank: TankState) -> TankState:
        return replace(tank, washed=(*tank.washed, Placed(seq, event, tank.batches)))

    state = _gone_on(state, event)
    for number in event.tanks:
        state = _with_tank(state, number, changed)
    return state


def _paused(state: ShiftState, seq: int, event: LinePaused) -> ShiftState:
    state = _gone_on(state, event)
    return replace(state, pauses=(*state.pauses, Paused(seq=seq, placed=event)))


def _resumed(state: ShiftState, seq: int, event: LineResumed) -> ShiftState:
    del seq
    return _gone_on(state, event)


def _gone_on(state: ShiftState, event: Happened) -> ShiftState:
    """End the pause that lasts, if one does."""
    if state.paused is None:
        return state
    return replace(state, pauses=(*state.pauses[:-1], replace(state.paused, over=event.at)))


def _noted(state: ShiftState, seq: int, event: NoteWritten) -> ShiftState:
    return replace(state, notes=(*state.notes, (seq, event)))


def _verified(state: ShiftState, seq: int, event: InstrumentChecked) -> ShiftState:
    return replace(state, verified=(*state.verified, (seq, event)))


def _held(state: ShiftState, seq: int, event: HoldPlaced) -> ShiftState:
    return replace(state, holds=(*state.holds, Hold(seq=seq, placed=event)))


def _released(state: ShiftState, seq: int, event: HoldReleased) -> ShiftState:
    del seq
    holds = (
        replace(hold, released=event) if hold.seq == event.hold else hold for hold in state.holds
    )
    return replace(state, holds=tuple(holds))


def _acknowledged(state: ShiftState, seq: int, event: Acknowledged) -> ShiftState:
    del seq
    flags = (
        replace(record, acknowledged=event)
        if record.flag.key == (event.tank, event.rule)
        else record
        for record in state.open_flags
    )
    return replace(state, open_flags=tuple(flags))


def _shelved(state: ShiftState, seq: int, event: FlagShelved) -> ShiftState:
    return replace(state, shelved=(*state.shelved, Shelved(seq=seq, placed=event)))


def _unshelved(state: ShiftState, seq: int, event: FlagUnshelved) -> ShiftState:
    del seq
    return _back(state, {(event.tank, event.rule): None}, event)


def _back(
    state: ShiftState, pressing: Mapping[tuple[int, str], Level | None], event: Happened
) -> ShiftState:
    """End what is shelved of these flags, where one presses more than it did or no level says."""

    def changed(one: Shelved) -> Shelved:
        if one.key not in pressing or not one.lasts(event.at):
            return one
        level = pressing[one.key]
        if level is not None and level.rank <= one.placed.level.rank:
            return one
        return replace(one, over=event.at, back_by=event.by)

    return replace(state, shelved=tuple(changed(one) for one in state.shelved))


def _handed_over(state: ShiftState, seq: int, event: HandedOver) -> ShiftState:
    del seq
    return replace(state, in_charge=event.to)


def _ended(state: ShiftState, seq: int, event: ShiftEnded) -> ShiftState:
    del seq
    return replace(state, ended=event)


def _flags_changed(state: ShiftState, seq: int, event: FlagsChanged) -> ShiftState:
    del seq
    gone = set(event.cleared) | {flag.key for flag in event.raised}
    closed = (
        replace(record, cleared_at=event.at)
        for record in state.open_flags
        if record.flag.key in gone
    )
    kept = (record for record in state.open_flags if record.flag.key not in gone)
    raised = (FlagRecord(flag=flag, raised_at=event.at) for flag in event.raised)
    if state.shelved:
        state = _back(state, _pressing(state, event), event)
    return replace(
        state,
        open_flags=(*kept, *raised),
        closed_flags=(*state.closed_flags, *closed),
        plans=state.plans | {plan.tank: plan for plan in event.plans},
        looked_upto=event.upto,
    )


def _pressing(state: ShiftState, event: FlagsChanged) -> dict[tuple[int, str], Level | None]:
    """Return what was raised, and all that presses to act where a stop of the tank was raised."""
    stops = {flag.tank for flag in event.raised if flag.level is Level.STOP}
    beside: dict[tuple[int, str], Level | None] = {
        one.key: None
        for one in state.shelved
        if one.placed.tank in stops and one.placed.level is not Level.WATCH
    }
    return {flag.key: flag.level for flag in event.raised} | beside


def _unchanged(state: ShiftState, seq: int, event: Event) -> ShiftState:
    del seq, event
    return state


_HANDLERS: dict[type, Callable[..., ShiftState]] = {
    SetupSaved: _unchanged,
    ShiftStarted: _unchanged,
    TankFilled: _filled,
    WaterExchanged: _exchanged,
    SecondSwapped: _swapped,
    DoseAdded: _dosed,
    AcidAdded: _acidified,
    ReadingTaken: _read,
    BatchWashed: _washed,
    LinePaused: _paused,
    LineResumed: _resumed,
    ClockChanged: _unchanged,
    NoteWritten: _noted,
    InstrumentChecked: _verified,
    HoldPlaced: _held,
    HoldReleased: _released,
    Acknowledged: _acknowledged,
    FlagShelved: _shelved,
    FlagUnshelved: _unshelved,
    HandedOver: _handed_over,
    ShiftEnded: _ended,
    FlagsChanged: _flags_changed,
    Corrected: _unchanged,
    BehindTheScenes: _unchanged,
    ShiftSigned: _unchanged,
    ShiftReviewed: _unchanged,
    PinSet: _unchanged,
    PinReset: _unchanged,
    PinMistaken: _unchanged,
}
