"""A plain operator: washes what comes, checks every few batches, and does the next simple thing."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np
from msgspec import Struct

from washmon.chemistry.acid import small_step
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    Event,
    Method,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
)
from washmon.line.flags import Amount
from washmon.line.journal import Entry, extend
from washmon.line.product import dose
from washmon.line.setup import Lot, Tank
from washmon.sessions.practice.line import Truth, WashLine
from washmon.sessions.practice.parameters import PracticeError, PracticeInstrument
from washmon.sessions.practice.practice_instruments import Said

TRACE_MIN = 2.0
_STREAM = 6
_ROUNDS = 3
_CLOUDINESS_EVERY = 3
_CHLORINE = {
    Method.STRIP: PracticeInstrument.STRIP,
    Method.KIT: PracticeInstrument.KIT,
    Method.METER: PracticeInstrument.METER,
}


class Habits(Struct, frozen=True, kw_only=True):
    """How an operator works.

    ``forgets`` is the chance that a due check is put off by some batches; ``dose_under`` the level
    under which they dose, as a share of the way from the low limit to the target.
    """

    method: Method = Method.KIT
    ph_method: Method = Method.METER
    check_batches: int = 5
    forgets: float = 0.05
    dose_under: float = 0.2
    seed: int = 0


class Plan(NamedTuple):
    """The batches that will come: minutes after the one before, weight in kg, lot."""

    gaps: tuple[float, ...]
    weights: tuple[float, ...]
    lots: tuple[str, ...]
    all_lots: tuple[Lot, ...]


class Check(NamedTuple):
    """How things stood right after a check, before anything was done about it."""

    seq: int
    line: WashLine
    batch: int
    last_batch: float


class Operator:
    """Works at a practice line and writes down what it does."""

    def __init__(
        self, line: WashLine, plan: Plan, habits: Habits, *, chain: str, begins: datetime
    ) -> None:
        """Take over a line with empty tanks."""
        self._line, self._plan, self._habits = line, plan, habits
        self._chain, self._begins = chain, begins
        self._random = np.random.default_rng([habits.seed, _STREAM])
        self._by = line.setup.people[0].initials
        self._numbers = tuple(tank.number for tank in line.setup.tanks)
        self._last_batch = 0.0
        self._batch = self._checks = 0
        self._next_check = habits.check_batches
        self._filled: dict[int, tuple[float, int]] = {}
        self.entries: list[Entry] = []
        self.truth: list[Truth] = []
        self.batches: list[tuple[int, int, float]] = []
        self.last_check = Check(0, line, 0, 0.0)

    def moment(self, minutes: float) -> datetime:
        """Return the moment so many minutes into the shift, to the second."""
        return self._begins + timedelta(seconds=round(minutes * 60.0))

    def start(self) -> None:
        """Begin the shift: fill, dose, check."""
        setup, lots = self._line.setup, self._plan.all_lots
        self._write(
            lambda at: ShiftStarted(at=at, by=self._by, setup=setup, lots=lots, practice=True)
        )
        for tank in setup.tanks:
            self._renew(tank)
        self._pass(max(tank.mix_minutes for tank in setup.tanks))
        self._treat([(tank, self._read(tank, cloudiness=True)) for tank in setup.tanks])
        self._last_batch = self._line.minutes

    def next_batch(self) -> bool:
        """Wash the next batch; tell whether a check was made before it."""
        checked = self._batch >= self._next_check
        if checked:
            self._check()
        due = self._last_batch + self._plan.gaps[self._batch]
        self._pass(max(0.0, due - self._line.minutes))
        kg, lot = self._plan.weights[self._batch], self._plan.lots[self._batch]
        levels = [(number, self._line.level_mg_l(number)) for number in self._numbers]
        self._line.wash(self._numbers, kg, lot)
        seq = self._write(
            lambda at: BatchWashed(at=at, by=self._by, tanks=self._numbers, lot=lot, weight_kg=kg)
        )
        self.batches += [(seq, number, level) for number, level in levels]
        self._last_batch = self._line.minutes
        self._batch += 1
        return checked

    def end(self) -> None:
        """End the shift."""
        self._write(lambda at: ShiftEnded(at=at, by=self._by))

    # -- checks ---------------------------------------------------------------------------------

    def _check(self) -> None:
        cloudiness = self._checks % _CLOUDINESS_EVERY == 0
        self._checks += 1
        readings = [
            (tank, self._read(tank, cloudiness=cloudiness)) for tank in self._line.setup.tanks
        ]
        self.last_check = Check(
            len(self.entries) - 1, self._line.twin(), self._batch, self._last_batch
        )
        self._treat(readings)
        late = int(self._random.integers(1, 4))
        forgotten = self._random.random() < self._habits.forgets
        self._next_check = self._batch + self._habits.check_batches + late * forgotten

    def _read(self, tank: Tank, *, cloudiness: bool) -> ReadingTaken:
        number, habits = tank.number, self._habits
        fac = self._measured(number, _CHLORINE[habits.method])
        strip = habits.ph_method is Method.STRIP
        ph = self._measured(
            number, PracticeInstrument.PH_STRIP if strip else PracticeInstrument.PH_METER
        )
        ntu = self._measured(number, PracticeInstrument.TURBIDIMETER) if cloudiness else None
        reading = ReadingTaken(
            at=self.moment(self._line.minutes),
            by=self._by,
            tank=number,
            fac_mg_l=fac,
            fac_method=habits.method,
            ph=ph,
            ph_method=habits.ph_method,
            turbidity_ntu=ntu,
        )
        self._write(lambda _: reading)
        return reading

    def _measured(self, number: int, instrument: PracticeInstrument) -> float:
        """Read an instrument: the sample is taken first, then the reading takes its time."""
        said: Said = self._line.measure(number, instrument)
        self._pass(said.minutes)
        return said.value

    def _treat(self, readings: list[tuple[Tank, ReadingTaken]]) -> None:
        """Do the next simple thing in each tank, wait once, read again, until nothing is due."""
        for _ in range(_ROUNDS):
            treated = [tank for tank, reading in readings if self._add(tank, reading)]
            if not treated:
                return
            self._pass(max(tank.mix_minutes for tank in treated))
            readings = [(tank, self._read(tank, cloudiness=False)) for tank in treated]

    def _add(self, tank: Tank, reading: ReadingTaken) -> bool:
        """Add new water, hypochlorite or acid, never two in one step."""
        if self._spent(tank, reading):
            self._renew(tank)
            return True
        return self._dosed(tank, reading) or self._acidified(tank, reading)

    def _spent(self, tank: Tank, reading: ReadingTaken) -> bool:
        since, batch = self._filled[tank.number]
        hours = (self._line.minutes - since) / 60.0
        cloudy = reading.turbidity_ntu or 0.0
        return (
            (tank.hours_per_fill is not None and hours >= tank.hours_per_fill)
            or (tank.batches_per_fill is not None and self._batch - batch >= tank.batches_per_fill)
            or (tank.turbidity_max_ntu is not None and cloudy > tank.turbidity_max_ntu)
        )

    def _dosed(self, tank: Tank, reading: ReadingTaken) -> bool:
        limits, level = tank.chlorine, reading.fac_mg_l or 0.0
        way = self._habits.dose_under * (limits.target_mg_l - limits.low_mg_l)
        if level > limits.low_mg_l + way or level >= limits.target_mg_l:
            return False
        self._dose(tank, level)
        return True

    def _dose(self, tank: Tank, level_mg_l: float) -> None:
        product = self._line.setup.sanitizer(tank.sanitizer)
        if product is None:
            raise PracticeError("The set-up has no product {key}.", key=tank.sanitizer)
        amount = dose(product, tank.volume_l, level_mg_l, tank.chlorine.target_mg_l)
        amount = Amount(max(1.0, float(round(amount.value))), amount.unit)
        self._line.dose(tank.number, amount.value)
        self._write(
            lambda at: DoseAdded(
                at=at, by=self._by, tank=tank.number, product=product.key, amount=amount
            )
        )

    def _acidified(self, tank: Tank, reading: ReadingTaken) -> bool:
        acid = self._line.setup.acid(tank.acid)
        if acid is None or reading.ph is None or reading.ph <= tank.ph.high:
            return False
        step = small_step(tank.volume_l, reading.ph, acid.kind, acid.strength_pct)
        amount = Amount(max(1.0, float(round(step))), "mL")
        self._line.acid(tank.number, amount.value)
        self._write(
            lambda at: AcidAdded(
                at=at, by=self._by, tank=tank.number, product=acid.key, amount=amount
            )
        )
        return True

    def _renew(self, tank: Tank) -> None:
        self._line.fill(tank.number)
        self._filled[tank.number] = (self._line.minutes, self._batch)
        self._write(
            lambda at: TankFilled(at=at, by=self._by, tank=tank.number, volume_l=tank.volume_l)
        )
        self._dose(tank, 0.0)

    # -- time and paper -------------------------------------------------------------------------

    def _pass(self, minutes: float) -> None:
        while minutes > 0.0:
            span = min(minutes, TRACE_MIN)
            self._line.advance(span)
            minutes -= span
            self._trace()

    def _trace(self) -> None:
        for number in self._numbers:
            self.truth.append(self._line.truth(number))

    def _write(self, event: Callable[[datetime], Event]) -> int:
        """Journal an event as of now; return its place."""
        at = self.moment(self._line.minutes)
        last = self.entries[-1] if self.entries else None
        ((entry, _),) = extend(self._chain, last, [event(at)], at)
        self.entries.append(entry)
        return entry.seq
