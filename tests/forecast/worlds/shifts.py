"""Shifts in two waters: what is entered, and what was really so.

Everybody in them errs: produce strays from batch to batch and lot to lot, volumes and containers
are not what they are said to be, instruments lean and stray, people forget and mistype.
"""

import math
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace

from tests.forecast.worlds.waters import WATERS, Bed, Pools, twin
from tests.shed import a_setup, a_tank
from washmon.line.events import (
    BatchWashed,
    DoseAdded,
    Event,
    Method,
    ReadingTaken,
    ShiftStarted,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flags import Amount
from washmon.line.journal import Entry
from washmon.line.setup import ChlorineLimits, LineSetup, Lot

START = datetime(2026, 6, 3, 6, 30, tzinfo=timezone(timedelta(hours=-4)))
FURTHEST = 40
REGIMES = (
    "base",
    "clean",
    "dirty",
    "step",
    "redosed",
    "exchanged",
    "second fill",
    "irregular",
    "slips",
    "weak",
    "forgotten",
    "long",
    "seldom",
)
SCALES = ((0.0, 10.0, 25.0, 50.0, 100.0, 200.0), (0.0, 20.0, 40.0, 60.0, 80.0, 120.0, 200.0))
GAUGES = ("strip", "strip 2", "kit", "meter")
_COMMODITIES = ("salad leaves", "root vegetables", "tree fruit", "cut leaves", "mixed", "peppers")
_LIMITS = ((25.0, 35.0, 50.0), (20.0, 30.0, 60.0), (50.0, 65.0, 100.0))
_STRENGTH_G_L = 125.0


class Look(NamedTuple):
    """What a forecast should have said after a reading; batches until the level, just before the
    next, is under a limit, if nothing is added (``inf``: not within 40)."""

    upto: int
    """The number of entries known by then."""
    at: datetime
    true_mg_l: float
    read_mg_l: float
    low: float
    critical: float
    batches: int
    """Washed in the shift so far."""
    after_step: bool
    mixed: bool


@dataclass
class Simulated:
    """A shift as journaled and as it was."""

    seed: int
    world: str
    regime: str
    gauge: str
    setup: LineSetup
    entries: list[Entry] = field(default_factory=list)
    looks: list[Look] = field(default_factory=list)
    met: dict[int, float] = field(default_factory=dict)
    """Free chlorine that each batch really met, mg/L, by its place in the journal."""


@dataclass
class Habits:
    """How people work in a shift."""

    gap_min: float
    every: int
    weighed: bool
    kg: float
    kg_spread: float
    redose_at: float
    batches: int


class Shift:
    """One shift in the making."""

    def __init__(self, seed: int, world: str, regime: str, gauge: str, shed: int | None) -> None:
        self.rng = np.random.default_rng([seed, 77])
        home = np.random.default_rng([shed if shed is not None else seed, 78])
        self.regime, self.gauge = regime, gauge
        self.critical, self.low, self.target = _LIMITS[int(home.integers(3))]
        self.volume_l = float(np.exp(home.uniform(math.log(60), math.log(2000))))
        self.really_l = self.volume_l * float(np.exp(0.04 * home.standard_normal()))
        weak = 0.7 if regime == "weak" else float(home.uniform(0.85, 1.02))
        self.share = weak * float(np.exp(0.02 * self.rng.standard_normal()))
        self.habits = self._habits(home)
        dirt = {"clean": 0.3, "dirty": 2.6, "seldom": 1.6, "redosed": 1.8}.get(regime, 1.0)
        per_batch = 1.8 * dirt * self.target / 50 * float(np.exp(0.5 * home.standard_normal()))
        per_batch *= float(np.exp(0.2 * self.rng.standard_normal()))
        self.per_kg_mg = per_batch * self.volume_l / self.habits.kg
        self.spread = float(home.uniform(0.1, 0.35))
        leans = {"kit": 0.03, "meter": 0.04}.get(gauge, 0.1)
        self.bias = float(np.exp(leans * home.standard_normal()))
        self.offset = 0.5 * float(home.standard_normal())
        self.step_mg = float(home.choice([1.0, 2.5])) if gauge == "kit" else 1.0
        self.now_min, self.since_last, self.lot, self.stepped = 0.0, 0.0, "L-1", False
        self.water: Pools | Bed = WATERS[world](self.really_l, self.rng)
        self.world = world
        self.added_at = -100.0
        self.out = Simulated(seed, world, regime, gauge, self._setup(home))
        self.washed = 0

    def _habits(self, home: np.random.Generator) -> Habits:
        seldom = self.regime == "seldom"
        irregular = self.regime == "irregular"
        return Habits(
            gap_min=float(home.uniform(3, 9)),
            every=int(self.rng.integers(8, 15)) if seldom else int(self.rng.integers(3, 8)),
            weighed=bool(home.random() < 0.6) or irregular or self.regime == "slips",
            kg=self.volume_l * float(np.exp(home.uniform(math.log(0.008), math.log(0.06)))),
            kg_spread=0.6 if irregular else float(home.uniform(0.03, 0.2)),
            redose_at=0.8 * self.critical if seldom else 1.05 * self.low,
            batches=92 if self.regime == "long" else int(self.rng.integers(35, 55)),
        )

    def _setup(self, home: np.random.Generator) -> LineSetup:
        limits = ChlorineLimits(
            critical_low_mg_l=self.critical,
            low_mg_l=self.low,
            target_mg_l=self.target,
            high_mg_l=1.4 * self.target,
            label_max_mg_l=2 * self.target,
        )
        tank = a_tank(1, "Only", chlorine=limits, volume_l=self.volume_l, mix_minutes=4.0)
        commodity = _COMMODITIES[int(home.integers(len(_COMMODITIES)))]
        setup = a_setup(tank, commodity=commodity)
        return replace(setup, strip_pads_mg_l=SCALES[self.gauge == "strip 2"])

    # -- telling ---------------------------------------------------------------------------------

    def tell(self, event: Event) -> int:
        seq = len(self.out.entries)
        self.out.entries.append(Entry(seq, event.at, event, f"{seq}"))
        return seq

    @property
    def at(self) -> datetime:
        return START + timedelta(minutes=round(self.now_min, 3))

    def pass_(self, minutes: float) -> None:
        self.water.rest(minutes)
        self.now_min += minutes
        self.since_last += minutes

    # -- doing -----------------------------------------------------------------------------------

    def fill(self) -> None:
        self.water = WATERS[self.world](self.really_l, self.rng)
        self.tell(TankFilled(at=self.at, by="RM", tank=1, volume_l=self.volume_l))
        self.pass_(1.0)
        self.dose(self.target, settle=True)

    def dose(self, rise_mg_l: float, *, settle: bool, told: bool = True) -> None:
        poured = rise_mg_l * float(np.exp(0.04 * self.rng.standard_normal()))
        self.water.dose(poured * self.share * self.volume_l / self.really_l)
        if told:
            amount = Amount(round(rise_mg_l * self.volume_l / _STRENGTH_G_L, 1), "mL")
            self.tell(DoseAdded(at=self.at, by="RM", tank=1, product="bleach", amount=amount))
        self.added_at = self.now_min
        if settle:
            self.pass_(float(self.rng.uniform(4.5, 9)))

    def exchange(self, share: float) -> None:
        told_l = round(share * self.volume_l, 1)
        self.water.exchange(share * float(np.exp(0.08 * self.rng.standard_normal())))
        self.tell(WaterExchanged(at=self.at, by="RM", tank=1, volume_l=told_l))
        self.added_at = self.now_min

    def wash(self) -> None:
        habits, rng = self.habits, self.rng
        gap = habits.gap_min * float(np.exp(0.35 * rng.standard_normal()))
        if rng.random() < 0.03:
            gap += float(rng.uniform(10, 30))
        self.pass_(max(0.2, gap - self.since_last))
        kg = habits.kg * float(np.exp(habits.kg_spread * rng.standard_normal()))
        if rng.random() < 0.08:
            self.lot = f"L-{int(self.lot[2:]) + 1}"
            self.per_kg_mg *= float(np.exp(0.2 * rng.standard_normal()))
        told = round(kg, 2) if habits.weighed else None
        if self.regime == "slips" and self.washed == 0 and told is not None:
            told = round(told * float(rng.choice([0.01, 0.1, 10.0, 100.0])), 3)
        event = BatchWashed(at=self.at, by="RM", tanks=(1,), lot=self.lot, weight_kg=told)
        self.out.met[self.tell(event)] = self.water.free
        self.water.wash(kg * self.per_kg_mg * self._stray(rng))
        self.since_last = 0.0
        self.washed += 1

    def _stray(self, rng: np.random.Generator) -> float:
        if self.world == "bed":
            return float(np.exp(self.spread * np.clip(rng.standard_t(3), -5, 5) * 0.6))
        return float(np.exp(self.spread * rng.standard_normal()))

    def read(self) -> float:
        """Measure, write it down after a while, and note what would have come."""
        real = self.water.free
        mixed = self.now_min - self.added_at >= 4.0
        shown = self._shown(real, mixed=mixed)
        self.pass_(float(self.rng.uniform(0.5, 4.0)))
        if self.regime == "slips" and self.rng.random() < 0.04:
            shown = float(self.rng.choice([shown * 10, shown / 10, shown + 20, shown - 20]))
            shown = round(max(0.0, shown), 1)
        method = Method.STRIP if "strip" in self.gauge else Method(self.gauge)
        self.tell(ReadingTaken(at=self.at, by="RM", tank=1, fac_mg_l=shown, fac_method=method))
        low, critical = self._truth()
        self.out.looks.append(
            Look(
                upto=len(self.out.entries),
                at=self.at,
                true_mg_l=self.water.free,
                read_mg_l=shown,
                low=low,
                critical=critical,
                batches=self.washed,
                after_step=self.stepped,
                mixed=mixed,
            )
        )
        return shown

    def _shown(self, real: float, *, mixed: bool) -> float:
        rng = self.rng
        if not mixed:
            real *= float(np.exp(0.1 * rng.standard_normal()))
        if "strip" in self.gauge:
            eye = (real + 0.3 * self.water.combined) * self.bias
            eye *= float(np.exp(0.1 * rng.standard_normal()))
            pads = np.array(SCALES[self.gauge == "strip 2"])
            return float(pads[int(np.argmin(np.abs(pads - eye)))])
        error = 0.035 if self.gauge == "kit" else 0.03
        drift = 1.0 if self.gauge == "kit" else 1 + 0.00015 * self.now_min
        shown = real * self.bias * drift * (1 + error * float(rng.standard_normal()))
        shown += self.offset + 0.4 * float(rng.standard_normal())
        return round(max(0.0, round(shown / self.step_mg) * self.step_mg), 2)

    def _truth(self) -> tuple[float, float]:
        """Return batches until both limits, by a twin that goes on alike and adds nothing."""
        rng = np.random.default_rng([self.out.seed, len(self.out.entries), 79])
        water, habits = twin(self.water), self.habits
        found = {self.low: math.inf, self.critical: math.inf}
        before, since = water.free, self.since_last
        found = {limit: 0.0 if before < limit else when for limit, when in found.items()}
        for washed in range(FURTHEST + 1):
            gap = habits.gap_min * float(np.exp(0.35 * rng.standard_normal()))
            water.rest(max(0.2, gap - since))
            since, level = 0.0, water.free
            for limit, when in found.items():
                if math.isinf(when) and level < limit:
                    part = (before - limit) / max(before - level, 1e-9)
                    found[limit] = max(0.0, washed - 1 + part) if washed else 0.0
            if level < self.critical:
                break
            before = level
            kg = habits.kg * float(np.exp(habits.kg_spread * rng.standard_normal()))
            water.wash(kg * self.per_kg_mg * self._stray(rng))
        return found[self.low], found[self.critical]

    # -- a whole shift ---------------------------------------------------------------------------

    def run(self) -> Simulated:
        lots = (Lot(code="L-1", produce="produce"),)
        self.tell(ShiftStarted(at=self.at, by="RM", setup=self.out.setup, lots=lots))
        self.fill()
        shown, due = self.read(), 2
        last = 0
        halfway = self.habits.batches // 2
        while self.washed < self.habits.batches:
            self._between(halfway)
            self.wash()
            if self.washed - last < due:
                continue
            last, due = self.washed, max(1, self.habits.every + int(self.rng.integers(-1, 2)))
            self.pass_(float(self.rng.uniform(1.0, max(1.1, 0.6 * self.habits.gap_min))))
            shown = self.read()
            if shown < self.habits.redose_at:
                self.dose(max(5.0, self.target - shown), settle=False)
                if self.rng.random() < 0.6:
                    self.pass_(float(self.rng.uniform(4.5, 8)))
                    self.read()
        return self.out

    def _between(self, halfway: int) -> None:
        """Let happen what belongs to the regime."""
        if self.washed != halfway:
            return
        if self.regime == "step":
            self.stepped = True
            self.per_kg_mg *= 3.0
            if self.rng.random() < 0.5:
                self.lot = f"L-{int(self.lot[2:]) + 1}"
        elif self.regime == "exchanged":
            self.exchange(float(self.rng.uniform(0.25, 0.55)))
            self.dose(0.35 * self.target, settle=True)
        elif self.regime == "second fill":
            self.fill()
            self.read()
        elif self.regime == "forgotten":
            self.dose(float(self.rng.uniform(0.2, 0.5)) * self.target, settle=True, told=False)


def simulated(seed: int, *, shed: int | None = None, regime: str | None = None) -> Simulated:
    """Return the shift of a seed; world, regime and gauge go by it, evenly.

    Shifts of one ``shed`` have its produce, people, instruments and container in common.
    """
    place = seed if shed is None else shed
    world = ("pools", "bed")[place % 2]
    gauge = GAUGES[place // 2 % len(GAUGES)]
    kind = regime or REGIMES[seed // (2 * len(GAUGES)) % len(REGIMES)]
    return Shift(seed, world, kind, gauge, shed).run()
