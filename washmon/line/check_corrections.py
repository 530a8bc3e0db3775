"""Checks of corrections."""

from collections.abc import Callable, Iterator

from msgspec.structs import replace

from washmon.line.events import (
    BatchWashed,
    Correctable,
    Corrected,
    Event,
    HoldPlaced,
    ReadingTaken,
)
from washmon.line.finding import CLOCK_SLACK, Fault, Finding, text_faults
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.judging import Breach, judge_batch
from washmon.line.message import Figure, Message, Values
from washmon.line.quantities import BY_FIELD, judge_reading
from washmon.line.second import left_dry, unfounded
from washmon.line.state import ShiftState
from washmon.units import Kind


def corrected(
    state: ShiftState,
    event: Corrected,
    findings: Callable[[ShiftState, Event], Iterator[Finding]],
) -> Iterator[Finding]:
    """Yield what speaks against a correction; ``findings`` checks what is right instead."""
    yield from text_faults("reason", event.reason)
    original = next((entry.event for entry in state.entries if entry.seq == event.entry), None)
    if not isinstance(original, Correctable):
        yield Fault("entry", Message("This entry can't be corrected."))
        return
    yield from _hold_faults(state, event)
    yield from unfounded(state, event)
    yield from _made_good(state, event)
    yield from _left_dry(state, event)
    if event.instead is None:
        return
    if type(event.instead) is not type(original):
        yield Fault("entry", Message("A correction is of the same kind as the entry."))
        return
    if event.instead.at < state.started.at or event.instead.at > event.at + CLOCK_SLACK:
        yield Fault("at", Message("The corrected time lies outside the shift."))
        return
    yield from findings(_without(state, event), event.instead)


def _hold_faults(state: ShiftState, event: Corrected) -> Iterator[Fault]:
    """Yield a fault where product would leave a hold without anybody having decided on it."""
    hold = next((one for one in state.holds if one.seq == event.entry), None)
    if hold is None:
        return
    if hold.released is not None:
        yield Fault("entry", Message("Somebody has decided about this hold: it stays as it is."))
        return
    kept = event.instead.batches if isinstance(event.instead, HoldPlaced) else ()
    if not set(kept).issuperset(hold.placed.batches):
        yield Fault(
            "entry",
            Message("A correction does not take batches out of a hold: decide about it instead."),
        )


def _left_dry(state: ShiftState, event: Corrected) -> Iterator[Message]:
    """Yield a doubt where other entries would be about water that was never there."""
    count = len(left_dry(state, event) - {event.entry})
    if count:
        text = "{count} other entries are about water that is not there then: they count nowhere."
        if count == 1:
            text = "One other entry is about water that is not there then: it counts nowhere."
        yield Message(text, {"count": count})


def _made_good(state: ShiftState, event: Corrected) -> Iterator[Message]:
    """Yield a doubt where what was not good would be good, or gone."""
    original = next((entry.event for entry in state.entries if entry.seq == event.entry), None)
    before = state.corrections.get(event.entry)
    old = original if before is None else before.instead
    if isinstance(old, ReadingTaken):
        yield from _reading_made_good(state, old, event.instead)
    elif isinstance(old, BatchWashed):
        yield from _batch_made_good(state, old, event.instead)


def _reading_made_good(
    state: ShiftState, old: ReadingTaken, instead: Event | None
) -> Iterator[Message]:
    spec = next((tank.spec for tank in state.tanks if tank.number == old.tank), None)
    if spec is None:
        return
    new = instead if isinstance(instead, ReadingTaken) else None
    if new is not None and (new.tank, new.second) != (old.tank, old.second):
        new = None
    still = {} if new is None else judge_reading(new, spec)
    for field, was in judge_reading(old, spec).items():
        now: float | None = None if new is None else getattr(new, field)
        if was.critical and not (field in still and still[field].critical):
            yield _said_of(field, was, now, old, new)


def _said_of(
    field: str, was: Breach, now: float | None, old: ReadingTaken, new: ReadingTaken | None
) -> Message:
    """Say that what was read is turned into something good, or taken away."""
    values: Values = {"was": Figure(was.value, was.kind), "name": BY_FIELD[field].name}
    if field == "water_c":
        values["pulp"] = Figure(old.pulp_c or 0.0, was.kind)
        if new is None or new.water_c is None or new.pulp_c is None:
            text = "This takes away water of {was} for produce of {pulp}: was it never so cold?"
            return Message(text, values)
        values["now"] = Figure(new.water_c, was.kind)
        values["produce"] = Figure(new.pulp_c, was.kind)
        text = (
            "This turns water of {was} for produce of {pulp}, which was too cold, into {now} for "
            "{produce}: was it never so cold?"
        )
    elif now is None:
        text = "This takes away {was} of {name}, which was not good: was it never so?"
        if was.kind is Kind.PH:
            text = "This takes away a pH of {was}, which was not good: was it never so?"
    else:
        values["now"] = Figure(now, was.kind)
        text = "This turns {was} of {name}, which was not good, into {now}: was it never so?"
        if was.kind is Kind.PH:
            text = "This turns a pH of {was}, which was not good, into {now}: was it never so?"
    return Message(text, values)


def _batch_made_good(
    state: ShiftState, old: BatchWashed, instead: Event | None
) -> Iterator[Message]:
    """Yield a doubt where a batch that stayed too short would have stayed long enough, or gone."""
    new = instead if isinstance(instead, BatchWashed) else None
    was, still = _too_short(state, old), None if new is None else _too_short(state, new)
    if was is None or still is not None:
        return
    values: Values = {"was": Figure(was.value, was.kind), "least": Figure(was.limit, was.kind)}
    text = "This takes away that a batch stayed {was}, less than {least}: was it never so?"
    if new is not None and new.contact_s is not None:
        values["now"] = Figure(new.contact_s, was.kind)
        text = "This turns {was} in the water, less than {least}, into {now}: was it never so?"
    yield Message(text, values)


def _too_short(state: ShiftState, batch: BatchWashed) -> Breach | None:
    """Return the critical contact time that a batch did not stay for in one of its tanks."""
    specs = (tank.spec for tank in state.tanks if tank.number in batch.tanks)
    found = (judge_batch(batch, spec) for spec in specs)
    return next((one for one in found if one is not None and one.critical), None)


def _without(state: ShiftState, event: Corrected) -> ShiftState:
    """Return the shift as if the entry that is corrected had never been made."""
    last = state.entries[-1]
    withdrawn = Entry(last.seq + 1, last.recorded_at, replace(event, instead=None), "")
    return fold(state.chain, (*state.entries, withdrawn))
