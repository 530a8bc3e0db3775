"""An attempt kept without a window: stage, journal and rules side by side.

The window does the same through the recorder; scripted trainees and what a colleague did before
go through here.
"""

from datetime import datetime

from msgspec.structs import replace

from washmon.forecast.forecast_cache import ForecastCache
from washmon.line.check import check
from washmon.line.events import (
    BatchWashed,
    DoseAdded,
    Event,
    Method,
    ReadingTaken,
    ShiftStarted,
    TankFilled,
)
from washmon.line.flags import Amount
from washmon.line.fold import begin, step
from washmon.line.journal import Entry, extend
from washmon.line.message import say
from washmon.line.practice_events import Attempt, BehindTheScenes
from washmon.line.product import dose
from washmon.line.setup import LineSetup, Tank
from washmon.line.state import ShiftState
from washmon.planning.advice import Advice, advise, changed_flags
from washmon.rules.holding import estimated
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario import COLLEAGUE, Scenario
from washmon.sessions.practice.scenario_files import parse_scenario
from washmon.sessions.practice.stage import PracticeStage, cost_min
from washmon.units import UnitSystem

BACKSTAGE = "trainer"
"""Stands in ``by`` where nobody on the line spoke."""


class Run:
    """One attempt: what was done goes into the journal and to the water at the same time."""

    def __init__(
        self, attempt: Attempt, begins: datetime, chain: str, line: LineSetup | None = None
    ) -> None:
        """Begin it, on a ``line`` of an earlier program if there is one.

        A colleague of the scenario has then done what they did.

        Raises:
            PracticeError: the scenario can't be played.
        """
        self.attempt, self._chain = attempt, chain
        self.scenario: Scenario = parse_scenario(attempt.scenario)
        setup = self.scenario.setup(attempt.trainee, line)
        self.stage = PracticeStage(self.scenario, setup, attempt.seed, begins)
        lots = self.scenario.lots
        started = ShiftStarted(at=begins, by=attempt.trainee, setup=setup, lots=lots, practice=True)
        ((entry, _),) = extend(chain, None, [started], begins)
        self.entries: list[Entry] = [entry]
        self.state: ShiftState = begin(chain, entry)
        self.advice = Advice()
        self._maintenance = ForecastCache()
        self.enter(BehindTheScenes(at=begins, by=BACKSTAGE, attempt=attempt))
        if self.scenario.before is not None:
            self._colleague()

    @property
    def now(self) -> datetime:
        """The practice clock."""
        return self.stage.now

    def enter(self, event: Event) -> Entry:
        """Journal what somebody did, do it to the water, pass its time, and ask the rules.

        Raises:
            PracticeError: the entry can't be true.
        """
        found = check(self.state, event, self.now).faults
        if found:
            raise PracticeError("{why}", why=say(found[0].message, UnitSystem.METRIC))
        forecasts = self._maintenance.forecasts(self.state, self.now)
        entry = self._write(estimated(self.state, event, forecasts, self.now))
        self.stage.act(event, entry.seq)
        self.stage.advance(cost_min(event))
        self.look()
        return entry

    def look(self) -> Advice:
        """Look ahead, ask the rules, and journal what they raised or cleared."""
        forecasts = self._maintenance.renewed(self.state, self.now)
        self.advice = advise(self.state, self.now, forecasts=forecasts)
        changed = changed_flags(self.state, self.advice, self.now)
        if changed is not None:
            self._write(changed)
        return self.advice

    def _write(self, event: Event) -> Entry:
        ((entry, _),) = extend(self._chain, self.entries[-1], [event], self.now)
        self.entries.append(entry)
        self.state = step(self.state, entry)
        return entry

    # -- simple acts ----------------------------------------------------------------------------

    def fill(self, tank: Tank, by: str) -> None:
        """Fill a tank, or change its water."""
        self.enter(TankFilled(at=self.now, by=by, tank=tank.number, volume_l=tank.volume_l))

    def dose_from(self, tank: Tank, level_mg_l: float, by: str, times: float = 1.0) -> None:
        """Dose from a level to the target by the label, so many times over."""
        product = self.state.setup.sanitizer(tank.sanitizer)
        if product is None:
            raise PracticeError("The set-up has no product {key}.", key=tank.sanitizer)
        right = dose(product, tank.volume_l, level_mg_l, tank.limits.target_mg_l)
        amount = Amount(max(1.0, float(round(times * right.value))), right.unit)
        self.enter(
            DoseAdded(at=self.now, by=by, tank=tank.number, product=product.key, amount=amount)
        )

    def read(
        self, tank: Tank, by: str, method: Method, *, ph: bool = True, cloudiness: bool = False
    ) -> ReadingTaken:
        """Measure a tank, passing the time that it takes; peracetic acid needs no pH."""
        level = self.tested(tank, tank.level_field, method)
        asks_ph = ph and tank.peracetic is None
        reading = ReadingTaken(
            at=self.now,
            by=by,
            tank=tank.number,
            ph=self.tested(tank, "ph", Method.METER) if asks_ph else None,
            turbidity_ntu=self.tested(tank, "turbidity_ntu", Method.METER) if cloudiness else None,
        )
        if tank.peracetic is None:
            reading = replace(reading, at=self.now, fac_mg_l=level, fac_method=method)
        else:
            reading = replace(reading, at=self.now, paa_mg_l=level, paa_method=method)
        self.enter(reading)
        return reading

    def read_ph(self, tank: Tank, by: str) -> ReadingTaken:
        """Measure the pH of a tank alone."""
        ph = self.tested(tank, "ph", Method.METER)
        reading = ReadingTaken(at=self.now, by=by, tank=tank.number, ph=ph)
        self.enter(reading)
        return reading

    def tested(self, tank: Tank, field: str, method: Method) -> float:
        """Test one thing, passing the time that it takes."""
        tested = self.stage.test(tank.number, field, method)
        self.stage.advance(tested.minutes)
        if not isinstance(tested.value, float | int):
            raise PracticeError("That test shows no number.")
        return float(tested.value)

    def wash(self, by: str) -> None:
        """Wait for the next batch and send it on."""
        coming = self.stage.coming
        self.stage.advance(max(0.0, coming.due_min - self.stage.minutes))
        self.enter(
            BatchWashed(
                at=self.now,
                by=by,
                tanks=tuple(tank.number for tank in self.state.setup.tanks),
                lot=coming.lot,
                weight_kg=coming.weight_kg,
            )
        )

    def _colleague(self) -> None:
        """Make up the tanks, measure once, and wash on without measuring."""
        before = self.scenario.before
        if before is None:
            return
        tanks = self.state.setup.tanks
        for tank in tanks:
            self.fill(tank, COLLEAGUE)
            self.dose_from(tank, 0.0, COLLEAGUE)
        self.stage.advance(max(tank.mix_minutes for tank in tanks))
        for tank in tanks:
            if before.first_check:
                self.read(tank, COLLEAGUE, Method.KIT)
        for _ in range(before.batches):
            self.wash(COLLEAGUE)
