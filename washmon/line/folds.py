"""What each kind of event does to the state of a shift; :mod:`washmon.line.kinds` says which."""

from collections.abc import Callable, Mapping
from typing import TypeVar

from msgspec.structs import replace

from washmon.line.event_base import Happened
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    Event,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    InstrumentChecked,
    LinePaused,
    LineResumed,
    NoteWritten,
    ReadingTaken,
    RegistersTold,
    SecondSwapped,
    ShiftEnded,
    TankFilled,
    WaterExchanged,
)
from washmon.line.fitness import marked_anew, unvouched
from washmon.line.flag_events import Acknowledged, FlagsChanged, FlagShelved, FlagUnshelved
from washmon.line.flags import Level
from washmon.line.learned import UsualLearned
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

_E = TypeVar("_E", WaterExchanged, DoseAdded, AcidAdded, ReadingTaken)


def unchanged(state: ShiftState, _seq: int, _event: Event) -> ShiftState:
    """Leave the state as it is: the entry is read where it stands."""
    return state


def _with_tank(
    state: ShiftState, number: int, change: Callable[[TankState], TankState]
) -> ShiftState:
    tanks = state.tanks
    for at, tank in enumerate(tanks):
        if tank.number == number:
            return replace(state, tanks=(*tanks[:at], change(tank), *tanks[at + 1 :]))
    return state


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


def filled(state: ShiftState, seq: int, event: TankFilled) -> ShiftState:
    """Begin a fill."""

    def changed(tank: TankState) -> TankState:
        number = len(tank.fills) + 1
        if event.second:
            gone = () if tank.second is None else (tank.second,)
            second = Fill(number=number, begun=Placed(seq, event, 0))
            return replace(tank, second=second, unused=(*tank.unused, *gone))
        fill = Fill(number=number, begun=Placed(seq, event, tank.batches))
        return replace(tank, fills=(*tank.fills, fill))

    return _with_tank(state, event.tank, changed)


def swapped(state: ShiftState, seq: int, event: SecondSwapped) -> ShiftState:
    """Put the second fill in the place of the water."""

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


def exchanged(state: ShiftState, seq: int, event: WaterExchanged) -> ShiftState:
    """Note an exchange in its fill."""
    return _in_fill(
        state, seq, event, lambda fill, it: replace(fill, exchanges=(*fill.exchanges, it))
    )


def dosed(state: ShiftState, seq: int, event: DoseAdded) -> ShiftState:
    """Note a dose in its fill."""
    return _in_fill(state, seq, event, lambda fill, it: replace(fill, doses=(*fill.doses, it)))


def acidified(state: ShiftState, seq: int, event: AcidAdded) -> ShiftState:
    """Note acid in its fill."""
    return _in_fill(state, seq, event, lambda fill, it: replace(fill, acids=(*fill.acids, it)))


def read(state: ShiftState, seq: int, event: ReadingTaken) -> ShiftState:
    """Note a reading in its fill."""
    if not event.second:
        state = _gone_on(state, event)
    after = _in_fill(state, seq, event, Fill.with_reading)
    doubtful = {(seq, field) for field in unvouched(state, (event.at, seq), event)}
    if not doubtful:
        return after
    return _in_fill(
        after, seq, event, lambda fill, _: replace(fill, unvouched=fill.unvouched | doubtful)
    )


def washed(state: ShiftState, seq: int, event: BatchWashed) -> ShiftState:
    """Count a batch in its tanks."""

    def changed(tank: TankState) -> TankState:
        return replace(tank, washed=(*tank.washed, Placed(seq, event, tank.batches)))

    state = _gone_on(state, event)
    for number in event.tanks:
        state = _with_tank(state, number, changed)
    return state


def paused(state: ShiftState, seq: int, event: LinePaused) -> ShiftState:
    """Begin a pause."""
    state = _gone_on(state, event)
    return replace(state, pauses=(*state.pauses, Paused(seq=seq, placed=event)))


def resumed(state: ShiftState, _seq: int, event: LineResumed) -> ShiftState:
    """End the pause."""
    return _gone_on(state, event)


def _gone_on(state: ShiftState, event: Happened) -> ShiftState:
    """End the pause that lasts, if one does."""
    if state.paused is None:
        return state
    return replace(state, pauses=(*state.pauses[:-1], replace(state.paused, over=event.at)))


def noted(state: ShiftState, seq: int, event: NoteWritten) -> ShiftState:
    """Keep a note."""
    return replace(state, notes=(*state.notes, (seq, event)))


def verified(state: ShiftState, seq: int, event: InstrumentChecked) -> ShiftState:
    """Keep a check of an instrument, and see which readings it vouches for."""
    return marked_anew(replace(state, verified=(*state.verified, (seq, event))))


def registered(state: ShiftState, _seq: int, event: RegistersTold) -> ShiftState:
    """Keep what was registered while the shift ran."""
    registers = state.registers
    for thing in event.things:
        registers = registers.with_thing(thing)
    return marked_anew(replace(state, registers=registers))


def held(state: ShiftState, seq: int, event: HoldPlaced) -> ShiftState:
    """Place a hold."""
    return replace(state, holds=(*state.holds, Hold(seq=seq, placed=event)))


def released(state: ShiftState, _seq: int, event: HoldReleased) -> ShiftState:
    """Put the decision to its hold."""
    holds = (
        replace(hold, released=event) if hold.seq == event.hold else hold for hold in state.holds
    )
    return replace(state, holds=tuple(holds))


def acknowledged(state: ShiftState, _seq: int, event: Acknowledged) -> ShiftState:
    """Note that a flag was seen."""
    flags = (
        replace(record, acknowledged=event)
        if record.flag.key == (event.tank, event.rule)
        else record
        for record in state.open_flags
    )
    return replace(state, open_flags=tuple(flags))


def shelved(state: ShiftState, seq: int, event: FlagShelved) -> ShiftState:
    """Put a flag aside."""
    return replace(state, shelved=(*state.shelved, Shelved(seq=seq, placed=event)))


def unshelved(state: ShiftState, _seq: int, event: FlagUnshelved) -> ShiftState:
    """Bring a flag back."""
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


def handed_over(state: ShiftState, _seq: int, event: HandedOver) -> ShiftState:
    """Change who is in charge."""
    return replace(state, in_charge=event.to)


def ended(state: ShiftState, _seq: int, event: ShiftEnded) -> ShiftState:
    """End the shift."""
    return replace(state, ended=event)


def flags_changed(state: ShiftState, _seq: int, event: FlagsChanged) -> ShiftState:
    """Raise and clear flags, and keep the newest plans."""
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


def learned(state: ShiftState, _seq: int, event: UsualLearned) -> ShiftState:
    """Keep what the shifts before taught; what was learned first stays."""
    return state if state.learned else replace(state, learned=event.taught)


def _pressing(state: ShiftState, event: FlagsChanged) -> dict[tuple[int, str], Level | None]:
    """Return what was raised, and all that presses to act where a stop of the tank was raised."""
    stops = {flag.tank for flag in event.raised if flag.level is Level.STOP}
    beside: dict[tuple[int, str], Level | None] = {
        one.key: None
        for one in state.shelved
        if one.placed.tank in stops and one.placed.level is not Level.WATCH
    }
    return {flag.key: flag.level for flag in event.raised} | beside
