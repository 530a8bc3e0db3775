"""Instruments: what they measure, what checks of them found, and what is remembered of it.

Here an instrument goes by its kind alone. A check that names a registered one is about that one:
:mod:`washmon.line.fitness`.
"""

import math
from bisect import bisect_right
from collections.abc import Iterator
from datetime import date, datetime

from msgspec.structs import replace

from washmon.line.events import Corrected, Event, Instrument, InstrumentChecked, ReadingTaken
from washmon.line.finding import LONGEST_TEXT, Fault, Finding
from washmon.line.message import Figure, Message
from washmon.line.quantities import BOUNDS, Bound
from washmon.line.setup import LineSetup, Unfit
from washmon.line.state import Order, Placed, ShiftState, order
from washmon.units import Kind

MEASURES: dict[Instrument, Bound] = {
    Instrument.PH_METER: BOUNDS["ph"],
    Instrument.CHLORINE: BOUNDS["fac_mg_l"],
    Instrument.ORP_PROBE: BOUNDS["orp_mv"],
    Instrument.STRIPS: BOUNDS["fac_mg_l"],
    Instrument.TURBIDITY: BOUNDS["turbidity_ntu"],
    Instrument.THERMOMETER: BOUNDS["water_c"],
}
"""What the values of a check are, and between which they are possible."""
_OFF_PH, _OFF_MV, _OFF_C, _OFF_MG_L, _OFF_SHARE = 0.2, 20.0, 1.0, 5.0, 0.2
"""Further off than this an instrument is asked about; common practice, no published source."""


def newest(shift: ShiftState, instrument: Instrument) -> InstrumentChecked | None:
    """Return the newest check of an instrument in a shift."""
    found = _checks(shift, instrument)
    return found[-1][1] if found else None


def told_wrong(
    shift: ShiftState, instrument: Instrument, reading: Placed[ReadingTaken]
) -> InstrumentChecked | None:
    """Return the check by which a reading may be wrong, if one says so.

    It was taken with an instrument that may not be used, or the next check of the instrument found
    it off, whether it was set right then or not: nobody knows since when it was.
    """
    checks = _checks(shift, instrument)
    until = bisect_right(checks, order(reading), key=lambda one: one[0])
    before, after = checks[:until], checks[until:]
    if before and not before[-1][1].fit:
        return before[-1][1]
    return after[0][1] if after and (not after[0][1].fit or is_off(after[0][1])) else None


def unfit(shift: ShiftState) -> tuple[Unfit, ...]:
    """Return what may not be used: as its last check in a shift found, else as the set-up says."""
    known = {one.instrument: one for one in shift.setup.instruments_unfit}
    for instrument in Instrument:
        last = newest(shift, instrument)
        if last is not None:
            known.pop(instrument.value, None)
        if last is not None and not last.fit:
            known[instrument.value] = Unfit(instrument=instrument.value, since=last.at.date())
    return tuple(known.values())


def left_unfit(
    shift: ShiftState, instrument: Instrument, reading: Placed[ReadingTaken]
) -> Unfit | None:
    """Return that an earlier shift left an instrument unfit, if nobody had checked it since.

    That is, before a reading was taken with it.
    """
    checks = _checks(shift, instrument)
    if checks and checks[0][0] < order(reading):
        return None
    return next(
        (one for one in shift.setup.instruments_unfit if one.instrument == instrument.value), None
    )


def last_passed(shift: ShiftState, check: InstrumentChecked) -> datetime | None:
    """Return when an instrument last passed before one of its checks; None: before the shift."""
    passed = [
        one.at
        for _, one in shift.verified
        if (one.instrument, one.which) == (check.instrument, check.which)
        and one.fit
        and one is not check
        and one.at <= check.at
    ]
    return max(passed, default=None)


def _checks(shift: ShiftState, instrument: Instrument) -> list[tuple[Order, InstrumentChecked]]:
    """Return the checks of an instrument, as they happened."""
    found = [((one.at, seq), one) for seq, one in _unnamed(shift) if one.instrument is instrument]
    return sorted(found, key=lambda one: one[0])


def _unnamed(shift: ShiftState) -> Iterator[tuple[int, InstrumentChecked]]:
    """Yield the checks that name no registered instrument."""
    return ((seq, one) for seq, one in shift.verified if not one.which)


def meter_checked_on(shift: ShiftState) -> date | None:
    """Return when the pH meter last passed a check: in this shift, or as the set-up says."""
    passed = [
        one.at.date()
        for _, one in _unnamed(shift)
        if one.instrument is Instrument.PH_METER and one.fit
    ]
    known = shift.setup.meter_checked_on
    return max([*passed, *([known] if known else [])], default=None)


def strips_use_by(shift: ShiftState) -> date | None:
    """Return until when the strips in use are good: the pack opened last, or the set-up's."""
    packs = [
        (one.at, seq, one.use_by)
        for seq, one in _unnamed(shift)
        if one.instrument is Instrument.STRIPS and one.use_by is not None
    ]
    return max(packs)[2] if packs else shift.setup.strips_use_by


def remembered(setup: LineSetup, shift: ShiftState, event: Event) -> LineSetup:
    """Return a set-up with what an event of a shift told of the instruments, for the next shift."""
    if not tells_of_instruments(shift, event):
        return setup
    told = _told_of(shift, event)
    if Instrument.PH_METER in told:
        setup = replace(setup, meter_checked_on=meter_checked_on(shift))
    if Instrument.STRIPS in told:
        setup = replace(setup, strips_use_by=strips_use_by(shift))
    others = [one for one in setup.instruments_unfit if one.instrument not in told]
    these = [one for one in unfit(shift) if one.instrument in told]
    return replace(setup, instruments_unfit=(*others, *these))


def tells_of_instruments(shift: ShiftState, event: Event) -> bool:
    """Tell whether the next shift may have to know of an event."""
    return not shift.started.practice and bool(_told_of(shift, event))


def _told_of(shift: ShiftState, event: Event) -> set[Instrument]:
    """Return of which instruments an event tells, or did before it was corrected."""
    told: list[Event | None] = [event]
    if isinstance(event, Corrected):
        for one in shift.entries:
            if one.seq == event.entry:
                told.append(one.event)
            elif isinstance(one.event, Corrected) and one.event.entry == event.entry:
                told.append(one.event.instead)
    checks = (one for one in told if isinstance(one, InstrumentChecked))
    return {one.instrument for one in checks if not one.which}


def checked(state: ShiftState, event: InstrumentChecked) -> Iterator[Finding]:
    """Yield what speaks against the check of an instrument."""
    if event.which and state.registers.thing(event.which) is None:
        yield Fault("", Message("This instrument is not in the registers."))
    values = {"standard": event.standard, "found": event.found}
    told = [value is not None for value in values.values()]
    if any(told) != all(told):
        missing = next(name for name, value in values.items() if value is None)
        yield Fault(missing, Message("Both values are needed: the standard, and what it showed."))
    elif not any(told) and event.instrument is not Instrument.STRIPS:
        yield Fault("found", Message("Say what it showed, and what the standard is."))
    elif not any(told) and event.use_by is None and not event.which:
        yield Fault("use_by", Message("Say until when the strips are good: it stands on the pack."))
    for name, text in (("against", event.against), ("lot", event.lot)):
        if len(text) > LONGEST_TEXT:
            yield Fault(
                name,
                Message("That is too long: at most {most} characters.", {"most": LONGEST_TEXT}),
            )
    bound = MEASURES[event.instrument]
    for name, value in values.items():
        if value is not None and math.isfinite(value) and not bound.low <= value <= bound.high:
            yield Fault(
                name,
                Message(
                    "{value} is not a possible {name}: it lies between {low} and {high}.",
                    {
                        "value": Figure(value, bound.kind),
                        "name": bound.name,
                        "low": Figure(bound.low, bound.kind),
                        "high": Figure(bound.high, bound.kind),
                    },
                ),
            )
    yield from _doubts(event, bound.kind)


def _doubts(event: InstrumentChecked, kind: Kind) -> Iterator[Message]:
    if event.use_by is not None and event.use_by < event.at.date():
        yield Message(
            "These strips were good until {day}: are they to be used?",
            {"day": event.use_by.isoformat()},
        )
    if event.standard is None or event.found is None or not event.fit or event.adjusted:
        return
    if is_off(event):
        yield Message(
            "It showed {found} in {standard} and was not set right: is it fit for use?",
            {"found": Figure(event.found, kind), "standard": Figure(event.standard, kind)},
        )


def is_off(event: InstrumentChecked) -> bool:
    """Tell whether an instrument was found far from its standard, set right after it or not."""
    if event.standard is None or event.found is None:
        return False
    allowed = {Kind.PH: _OFF_PH, Kind.POTENTIAL: _OFF_MV, Kind.TEMPERATURE: _OFF_C}.get(
        MEASURES[event.instrument].kind, max(_OFF_MG_L, _OFF_SHARE * event.standard)
    )
    return abs(event.found - event.standard) > allowed + 1e-9
