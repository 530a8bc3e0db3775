"""Checks of corrections."""

from collections.abc import Callable, Iterator

from msgspec.structs import replace

from washmon.line.bounds import BOUNDS
from washmon.line.check_second import left_dry, unfounded
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    Corrected,
    DoseAdded,
    Event,
    HoldPlaced,
    InstrumentChecked,
    NoteWritten,
    ReadingTaken,
    SecondSwapped,
    TankFilled,
    WaterExchanged,
)
from washmon.line.finding import CLOCK_SLACK, Fault, Finding, text_faults
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.message import Figure, Message, Values
from washmon.line.setup import LabelBasis, Tank
from washmon.line.state import ShiftState
from washmon.units import Kind

CORRECTABLE = (
    TankFilled,
    WaterExchanged,
    SecondSwapped,
    DoseAdded,
    AcidAdded,
    ReadingTaken,
    BatchWashed,
    NoteWritten,
    HoldPlaced,
    InstrumentChecked,
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
    """Yield a doubt where a reading that was not good would be good, or gone."""
    places = (place for tank in state.tanks for fill in tank.every_fill for place in fill.readings)
    old = next((one.event for one in places if one.seq == event.entry), None)
    if old is None:
        return
    spec = state.tank(old.tank).spec
    new = event.instead if isinstance(event.instead, ReadingTaken) else None
    if new is not None and (new.tank, new.second) != (old.tank, old.second):
        new = None
    for field, kind, bad in _CRITICAL:
        was, now = getattr(old, field), None if new is None else getattr(new, field)
        if was is None or not bad(was, spec) or (now is not None and bad(now, spec)):
            continue
        values: Values = {"was": Figure(was, kind), "name": BOUNDS[field].name}
        if now is None:
            text = "This takes away {was} of {name}, which was not good: was it never so?"
            if kind is Kind.PH:
                text = "This takes away a pH of {was}, which was not good: was it never so?"
        else:
            values["now"] = Figure(now, kind)
            text = "This turns {was} of {name}, which was not good, into {now}: was it never so?"
            if kind is Kind.PH:
                text = "This turns a pH of {was}, which was not good, into {now}: was it never so?"
        yield Message(text, values)


def _bad_level(value: float, spec: Tank) -> bool:
    """Tell whether a level of the tank's sanitizer lies outside its critical limits."""
    return not spec.limits.critical_low_mg_l <= value <= spec.limits.label_max_mg_l


def _bad_chlorine(value: float, spec: Tank) -> bool:
    return spec.peracetic is None and _bad_level(value, spec)


def _bad_total(value: float, spec: Tank) -> bool:
    by_total = spec.chlorine.label_basis is LabelBasis.TOTAL
    return spec.peracetic is None and by_total and value > spec.chlorine.label_max_mg_l


def _bad_peracetic(value: float, spec: Tank) -> bool:
    return spec.peracetic is not None and _bad_level(value, spec)


def _bad_ph(value: float, spec: Tank) -> bool:
    return spec.critical_ph is not None and spec.peracetic is None and value > spec.critical_ph


_CRITICAL: tuple[tuple[str, Kind, Callable[[float, Tank], bool]], ...] = (
    ("fac_mg_l", Kind.CONCENTRATION, _bad_chlorine),
    ("total_mg_l", Kind.CONCENTRATION, _bad_total),
    ("paa_mg_l", Kind.CONCENTRATION, _bad_peracetic),
    ("ph", Kind.PH, _bad_ph),
)


def _without(state: ShiftState, event: Corrected) -> ShiftState:
    """Return the shift as if the entry that is corrected had never been made."""
    last = state.entries[-1]
    withdrawn = Entry(last.seq + 1, last.recorded_at, replace(event, instead=None), "")
    return fold(state.chain, (*state.entries, withdrawn))
