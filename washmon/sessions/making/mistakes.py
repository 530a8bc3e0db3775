"""What went wrong in a recorded shift, as things that happen in a scenario made from it."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import groupby
from typing import NamedTuple

from washmon.line.events import DoseAdded, ReadingTaken
from washmon.line.flags import StepKind
from washmon.line.fold import begin, step
from washmon.line.judging import judge_look, judge_turbidity, under_low
from washmon.line.setup import Tank
from washmon.line.state import Fill, ShiftState, TankState
from washmon.sessions.debrief.additions import OFF, off_by
from washmon.sessions.making.own_line import practice_tanks
from washmon.sessions.practice.parameters import Dirtiness

LATE = timedelta(minutes=10)
"""A low reading that was not answered for longer was answered late (common practice)."""
AROUND = timedelta(minutes=5)
LONGEST = timedelta(minutes=30)
"""So long before and after a wrong amount the measure stays wrong (ours)."""
USUAL_BATCHES = 40
"""In so many batches water clouds over by itself; in less than half of them it was the load."""
_SHARE = (0.05, 1.5)


class MistakeKind(StrEnum):
    """The mistakes that are looked for."""

    LATE_DOSE = "late dose"
    WRONG_AMOUNT = "wrong amount"
    CLOUDY_LOAD = "cloudy load"


class Mistake(NamedTuple):
    """One mistake: what the world becomes from one moment to another, or what is said of it."""

    what: MistakeKind
    since: datetime
    until: datetime
    tank: int
    """As practice numbers it."""
    share: float = 1.0
    """Of the right amount, that went in."""
    dirtiness: Dirtiness = Dirtiness.USUAL


def mistakes(shift: ShiftState) -> tuple[Mistake, ...]:
    """Return what went wrong in the tanks that practice can simulate, in order of time.

    Raises:
        PracticeError: the line has no such tank.
    """
    numbers = {tank.number: at for at, tank in enumerate(practice_tanks(shift.setup), 1)}
    tanks = [tank for tank in shift.tanks if tank.number in numbers]
    found = list(_wrong_amounts(shift, numbers))
    for tank in tanks:
        number = numbers[tank.number]
        for place, fill in enumerate(tank.fills):
            after = tank.fills[place + 1].at if place + 1 < len(tank.fills) else None
            ends = after or shift.entries[-1].recorded_at
            found += _late_doses(tank.spec, number, fill, ends)
            found += _cloudy_loads(tank, number, fill, ends)
    return tuple(sorted(found, key=lambda one: (one.since, one.tank, one.what)))


def _late_doses(spec: Tank, number: int, fill: Fill, ends: datetime) -> Iterator[Mistake]:
    """Tell low readings that nothing was added for within ten minutes: one for each spell."""
    answers = sorted([one.event.at for one in (*fill.doses, *fill.exchanges)] + [ends])
    heard: datetime | None = None
    for placed in fill.readings:
        reading = placed.event
        if reading.fac_mg_l is None or not under_low(reading.fac_mg_l, spec):
            continue
        answered = next((at for at in answers if at >= reading.at), ends)
        if answered != heard and answered - reading.at > LATE:
            yield Mistake(MistakeKind.LATE_DOSE, reading.at, answered, number)
        heard = answered


def _wrong_amounts(shift: ShiftState, numbers: dict[int, int]) -> Iterator[Mistake]:
    """Tell doses that were off by more than 20 % of what was right by what was known.

    A slip of the pen that was corrected is none, nor is a dose that was taken back.
    """
    stood = {
        placed.seq: placed.event
        for tank in shift.tanks
        for fill in tank.fills
        for placed in fill.doses
    }
    state = begin(shift.chain, shift.entries[0])
    for entry in shift.entries[1:]:
        event = stood.get(entry.seq)
        if event is not None and event.tank in numbers and not event.second:
            off = off_by(state, event)
            if off is not None and abs(off) > OFF and not _as_advised(state, event):
                share = min(max(round(1.0 + off, 2), _SHARE[0]), _SHARE[1])
                since, until = event.at - AROUND, event.at + LONGEST
                yield Mistake(MistakeKind.WRONG_AMOUNT, since, until, numbers[event.tank], share)
        state = step(state, entry)


def _as_advised(state: ShiftState, event: DoseAdded) -> bool:
    """Tell whether so much went in as the plan then said, which may look further ahead."""
    plan = state.plans.get(event.tank)
    amount = None if plan is None or plan.now.kind is not StepKind.DOSE else plan.now.amount
    if amount is None or amount.unit != event.amount.unit or amount.value <= 0.0:
        return False
    return abs(event.amount.value / amount.value - 1.0) <= OFF


def _cloudy_loads(tank: TankState, number: int, fill: Fill, ends: datetime) -> Iterator[Mistake]:
    """Tell the stretch in which water clouded over sooner than it does by itself."""
    spec = tank.spec
    clear = fill.at
    for cloudy, placed in groupby(
        (one for one in fill.readings if _sees(one.event)),
        key=lambda one: _is_cloudy(one.event, spec),
    ):
        seen = [one.event.at for one in placed]
        if not cloudy:
            clear = seen[-1]
            continue
        washed = sum(fill.at <= one.event.at <= seen[0] for one in tank.washed)
        if washed < (spec.batches_per_fill or USUAL_BATCHES) / 2:
            yield Mistake(
                MistakeKind.CLOUDY_LOAD,
                clear,
                max(ends, seen[-1]),
                number,
                dirtiness=Dirtiness.MUDDY,
            )
        return


def _sees(reading: ReadingTaken) -> bool:
    return reading.look is not None or reading.turbidity_ntu is not None


def _is_cloudy(reading: ReadingTaken, spec: Tank) -> bool:
    by_card = reading.look is not None and judge_look(reading.look, spec) is not None
    ntu = reading.turbidity_ntu
    return by_card or (ntu is not None and judge_turbidity(ntu, spec) is not None)
