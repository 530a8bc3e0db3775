"""The stage of a practice shift: the hidden line, its clock, the batches that come, what happens.

What really was in the water is never stored: it follows from the scenario, the seed, and what the
journal says that people did, so :func:`relive` finds it again at any time.
"""

import math
from collections.abc import Sequence
from datetime import date, datetime, timedelta, tzinfo
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace

from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    Event,
    HoldPlaced,
    Method,
    SecondSwapped,
    ShiftStarted,
    TankFilled,
    WaterExchanged,
)
from washmon.line.journal import Entry
from washmon.line.practice_events import BehindTheScenes, WorldChange
from washmon.line.setup import LineSetup, Look
from washmon.sessions.practice.line import Truth, WashLine
from washmon.sessions.practice.parameters import (
    Dirtiness,
    PracticeError,
    PracticeInstrument,
    parameters,
)
from washmon.sessions.practice.scenario import LOTS, Happening, Scenario, minute_of
from washmon.sessions.practice.scenario_files import parse_scenario

TRACE_MIN = 1.0
MOST_BATCHES = 600
_STREAM = 7
_GAP_SPREAD, _WEIGHT_SPREAD = 0.15, 0.12
_COSTS_MIN: dict[type[Event], float] = {
    TankFilled: 8.0,
    WaterExchanged: 5.0,
    DoseAdded: 1.0,
    AcidAdded: 1.0,
    HoldPlaced: 1.0,
}
_CHLORINE = {
    Method.STRIP: PracticeInstrument.STRIP,
    Method.KIT: PracticeInstrument.KIT,
    Method.METER: PracticeInstrument.METER,
}
_PERACETIC = {
    Method.STRIP: PracticeInstrument.PERACETIC_STRIP,
    Method.KIT: PracticeInstrument.PERACETIC_KIT,
    Method.METER: PracticeInstrument.PERACETIC_METER,
}


class WaitingBatch(NamedTuple):
    """A batch at the head of the line: it is sent on, or kept waiting. ``due_min`` of the shift."""

    number: int
    lot: str
    weight_kg: float
    due_min: float


class BatchTruth(NamedTuple):
    """What a batch really met in a tank as it went in."""

    seq: int
    minutes: float
    tank: int
    level_mg_l: float
    ph: float


class Tested(NamedTuple):
    """What a test showed, and the minutes that it takes."""

    value: float | Look
    minutes: float


class Spoken(NamedTuple):
    """What was said aloud on the line, and when (minutes)."""

    minutes: float
    text: str


def cost_min(event: Event) -> float:
    """Return how long a person is busy with what they entered (minutes, common practice)."""
    return _COSTS_MIN.get(type(event), 0.0)


def beginning(scenario: Scenario, day: date, zone: tzinfo) -> datetime:
    """Return when a scenario begins on a day."""
    return datetime.combine(day, scenario.pace.begins, zone)


class PracticeStage:
    """Everything that a practice shift has behind the Board. Times are minutes of the shift."""

    def __init__(self, scenario: Scenario, setup: LineSetup, seed: int, begins: datetime) -> None:
        """Set the line up with empty tanks.

        Raises:
            PracticeError: the scenario can't be played.
        """
        self.scenario, self.setup, self.begins = scenario, setup, begins
        self.line = WashLine(setup, scenario.hidden_world(), seed)
        self.truth: list[Truth] = []
        self.batches: list[BatchTruth] = []
        self.spoken: list[Spoken] = []
        self._gaps, self._weights = _plan(scenario, setup, seed)
        self._washed = 0
        self._last_batch = 0.0
        self._filled: set[int] = set()
        self._traced = -math.inf
        ordered = sorted(scenario.happens, key=lambda one: minute_of(scenario, one.at))
        self._ahead = [(minute_of(scenario, one.at), one) for one in ordered]

    # -- time -----------------------------------------------------------------------------------

    @property
    def minutes(self) -> float:
        """How long the shift has run."""
        return self.line.minutes

    @property
    def now(self) -> datetime:
        """The practice clock."""
        return self.begins + timedelta(minutes=self.minutes)

    @property
    def over(self) -> bool:
        """Whether the time of the scenario is up."""
        return self.minutes >= self.scenario.pace.minutes

    @property
    def waiting(self) -> WaitingBatch | None:
        """The batch that waits to be sent on, if one has come."""
        coming = self.coming
        return coming if coming.due_min <= self.minutes + 1e-9 else None

    @property
    def coming(self) -> WaitingBatch:
        """The next batch, whether it is there yet or not."""
        number = min(self._washed, MOST_BATCHES - 1)
        first = self.scenario.pace.first_batch
        due = first if not self._washed else self._last_batch + self._gaps[number]
        share = min(due / self.scenario.pace.minutes, 0.999)
        lot = self.scenario.lots[int(share * LOTS)].code
        return WaitingBatch(number, lot, self._weights[number], max(due, 0.0))

    @property
    def ahead(self) -> tuple[tuple[float, Happening], ...]:
        """What the scenario still has happen, each at its minute, in order."""
        return tuple(self._ahead)

    def advance(self, minutes: float) -> None:
        """Let time pass; what the scenario has happen then happens."""
        until = self.minutes + max(0.0, minutes)
        while self.minutes < until - 1e-9:
            upcoming = self._ahead[0][0] if self._ahead else math.inf
            if upcoming <= self.minutes + 1e-9:
                self._happen()
                continue
            span = min(TRACE_MIN, until - self.minutes, upcoming - self.minutes)
            self.line.advance(max(span, 1e-6))
            self._trace()
        while self._ahead and self._ahead[0][0] <= self.minutes + 1e-9:
            self._happen()

    def advance_to(self, at: datetime) -> None:
        """Let time pass until a moment."""
        self.advance((at - self.now).total_seconds() / 60.0)

    def _happen(self) -> None:
        _, happening = self._ahead.pop(0)
        self.change(happening.change)
        if happening.say:
            self.spoken.append(Spoken(self.minutes, happening.say))

    def _trace(self, *, at_once: bool = False) -> None:
        if at_once or self.minutes - self._traced >= TRACE_MIN - 1e-6:
            self._traced = self.minutes
            self.truth += [self.line.truth(number) for number in sorted(self._filled)]

    # -- what people do -------------------------------------------------------------------------

    def act(self, event: Event, seq: int = -1) -> None:
        """Do to the hidden water what somebody entered.

        Raises:
            PracticeError: no wash line can do that.
        """
        if isinstance(event, SecondSwapped) or getattr(event, "second", False):
            raise PracticeError("A practice line has no second vessel: change the water instead.")
        match event:
            case TankFilled():
                self.line.fill(event.tank, event.volume_l)
                self._filled.add(event.tank)
            case WaterExchanged():
                self.line.change_water(event.tank, event.volume_l)
            case DoseAdded():
                self.line.dose(event.tank, event.amount.value, event.product)
            case AcidAdded():
                self.line.acid(event.tank, event.amount.value, event.product)
            case BatchWashed():
                self._wash(event, seq)
            case BehindTheScenes(change=WorldChange() as change):
                self.change(change)
            case _:
                return
        self._trace(at_once=True)

    def _wash(self, event: BatchWashed, seq: int) -> None:
        """Wash the batch that is next: what it really weighs is the scenario's word."""
        coming = self.coming
        for number in event.tanks:
            truth = self.line.truth(number)
            met = BatchTruth(seq, self.minutes, number, truth.level_mg_l, truth.ph)
            self.batches.append(met)
        self.line.wash(event.tanks, coming.weight_kg, coming.lot)
        self._washed += 1
        self._last_batch = self.minutes

    def change(self, change: WorldChange) -> None:
        """Make the world different, as a trainer or the scenario does.

        Raises:
            PracticeError: there is no such dirtiness.
        """
        world = self.line.world
        if change.dirtiness is not None:
            try:
                world = replace(world, dirtiness=Dirtiness(change.dirtiness))
            except ValueError as error:
                raise PracticeError(
                    "There is no dirtiness {name}.", name=change.dirtiness
                ) from error
        if change.strip_share is not None:
            world = replace(world, strip_share=change.strip_share)
        if change.decay_share is not None:
            world = replace(world, decay_share=change.decay_share)
        self.line.world = world
        if change.strength_share is not None:
            first = self.scenario.world.strength_share
            self.line.strength_share = first * change.strength_share
        if change.strength_times is not None:
            self.line.strength_share *= change.strength_times

    # -- what people may know -------------------------------------------------------------------

    def test(self, tank: int, field: str, method: Method) -> Tested:
        """Return what a test of one field of a reading shows; the time it takes is not passed.

        Raises:
            PracticeError: the tank is empty, or nobody has an instrument for that here.
        """
        if field == "look":
            seen = self.line.look(tank)
            return Tested(seen.look, seen.minutes)
        if field == "pulp_c":
            said = self.line.measure_pulp()
        elif field == "total_mg_l":
            by_strip = method is Method.STRIP
            instrument = PracticeInstrument.KIT if by_strip else _CHLORINE[method]
            said = self.line.measure_total(tank, instrument)
        else:
            said = self.line.measure(tank, _instrument(field, method))
        return Tested(said.value, said.minutes)


def _instrument(field: str, method: Method) -> PracticeInstrument:
    match field:
        case "fac_mg_l":
            return _CHLORINE[method]
        case "paa_mg_l":
            return _PERACETIC[method]
        case "peroxide_mg_l":
            return PracticeInstrument.PEROXIDE_STRIP
        case "ph":
            return (
                PracticeInstrument.PH_METER
                if method is Method.METER
                else PracticeInstrument.PH_STRIP
            )
        case "turbidity_ntu":
            return PracticeInstrument.TURBIDIMETER
        case "water_c":
            return PracticeInstrument.THERMOMETER
    raise PracticeError("There is nothing on the bench to measure that with.")


def relive(entries: Sequence[Entry]) -> PracticeStage:
    """Return the stage as it stands after all that the journal of an attempt says.

    Raises:
        PracticeError: the entries are no attempt.
    """
    attempt = next((e.event.attempt for e in entries if isinstance(e.event, BehindTheScenes)), None)
    first = entries[0].event if entries else None
    if attempt is None or not isinstance(first, ShiftStarted):
        raise PracticeError("This shift is no practice: choose an attempt.")
    scenario = parse_scenario(attempt.scenario)
    stage = PracticeStage(scenario, first.setup, attempt.seed, entries[0].recorded_at)
    for entry in entries:
        stage.advance_to(entry.recorded_at)
        stage.act(entry.event, entry.seq)
    return stage


def _plan(
    scenario: Scenario, setup: LineSetup, seed: int
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Draw how long each batch is in coming, and what it weighs (kg)."""
    random = np.random.default_rng([seed, _STREAM])
    usual = parameters().commodity[scenario.line.commodity]
    kg = usual.batch_kg_m3 * setup.tanks[0].volume_l / 1000.0 * scenario.pace.batch_weight
    normal = random.standard_normal((2, MOST_BATCHES))
    gaps = scenario.pace.batch_minutes * np.exp(_GAP_SPREAD * normal[0])
    weights = np.maximum(0.1, np.round(kg * np.exp(_WEIGHT_SPREAD * normal[1]), 1))
    return tuple(gaps.tolist()), tuple(weights.tolist())
