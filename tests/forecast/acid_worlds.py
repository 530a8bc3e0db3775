"""Tanks whose pH is brought down by obeying the acid step; the water itself is PHREEQC's."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from tests.chemistry.geochemistry import FORMULAS, ph_after
from tests.shed import Shed, a_setup, a_tank
from washmon.chemistry.acid import ACIDS, AcidKind
from washmon.chemistry.water import CL2_MG_PER_MOL
from washmon.forecast.acid_step import AcidStep, acid_step
from washmon.forecast.ph import PhForecast, ph_forecast
from washmon.forecast.ph_particles import PhRange
from washmon.line.events import AcidAdded, Method
from washmon.line.product import acid_mol
from washmon.line.setup import Acid, ChlorineLimits, LineSetup, SourceWater
from washmon.units import UnitSystem

SPOONS = ("quarter_teaspoon", "half_teaspoon", "teaspoon", "tablespoon", "cup")
Eye = Callable[[float, np.random.Generator], float]
"""From the true pH to the one that is read."""


def by_meter(ph: float, rng: np.random.Generator) -> float:
    return round(ph + rng.uniform(-0.1, 0.1), 1)


def by_pads(ph: float, rng: np.random.Generator) -> float:
    """Read a strip with pads half a unit apart, by an eye that is off by 0.15 (one sigma)."""
    return round(2 * (ph + rng.normal(0.0, 0.15))) / 2


@dataclass
class Acidified:
    """What came of a tank."""

    alkalinity_mg_l: float
    start: float
    steps: list[AcidStep] = field(default_factory=list)
    true: list[float] = field(default_factory=list)
    """The pH after each step."""

    @property
    def end(self) -> float:
        return self.true[-1] if self.true else self.start

    @property
    def lowest(self) -> float:
        return min(self.true, default=self.start)


@dataclass(frozen=True)
class World:
    """A source, a product, a tank and an acid that nobody told the program of."""

    alkalinity_mg_l: float
    source_ph: float
    caustic: float
    level_mg_l: float
    volume_l: float = 500.0
    kind: AcidKind = AcidKind.VINEGAR
    acid_is: float = 1.0
    """So many times what its label says."""
    measures: tuple[str, ...] = ()
    told_mg_l: float | None = None
    """Alkalinity as the set-up tells it, right or wrong."""

    def setup(self) -> LineSetup:
        level = self.level_mg_l
        limits = ChlorineLimits(
            critical_low_mg_l=0.4 * level,
            low_mg_l=0.6 * level,
            target_mg_l=level,
            high_mg_l=1.5 * level,
            label_max_mg_l=2 * level,
        )
        pct = ACIDS[self.kind].strength_pct
        acid = Acid(key="acid", name="acid", kind=self.kind, strength_pct=pct)
        return a_setup(
            a_tank(1, "Dunk", volume_l=self.volume_l, chlorine=limits, acid="acid"),
            acids=(acid,),
            measures=self.measures,
            source=SourceWater(alkalinity_mg_l=self.told_mg_l),
            taste=UnitSystem.US if self.measures else UnitSystem.METRIC,
        )

    def ph(self, acid_mol_l: float) -> float:
        """Return PHREEQC's pH after the dose and so much acid."""
        dose = self.level_mg_l / CL2_MG_PER_MOL
        acid = {FORMULAS[self.kind]: acid_mol_l} if acid_mol_l else {}
        reaction = {"NaHyp": dose, "NaOH": self.caustic * dose, "NaCl": dose} | acid
        return ph_after(self.alkalinity_mg_l, self.source_ph, 20.0, reaction)


def a_world(rng: np.random.Generator, **changes: Any) -> World:
    """Return any plausible world."""
    world = World(
        alkalinity_mg_l=rng.uniform(20, 400),
        source_ph=rng.uniform(7.0, 8.4),
        caustic=rng.uniform(0, 0.2),
        level_mg_l=float(rng.choice([25.0, 50.0, 75.0, 100.0, 150.0])),
        acid_is=rng.uniform(0.93, 1.05),
    )
    return replace(world, **changes)


def look(shed: Shed) -> PhForecast:
    found = ph_forecast(shed.shift, shed.shift.tanks[0], shed.now)
    assert found is not None
    return found


def obeyed(world: World, rng: np.random.Generator, eye: Eye, method: Method) -> Acidified:
    """Fill, dose, read, and add what is asked for until nothing is."""
    setup = world.setup()
    shed = Shed(setup)
    shed.fill(volume_l=world.volume_l)
    shed.dose(ml=world.volume_l * world.level_mg_l / 125.0)
    came, added = Acidified(world.alkalinity_mg_l, world.ph(0.0)), 0.0
    for _ in range(12):
        ph = eye(world.ph(added), rng)
        shed.wait(6).read(1, world.level_mg_l, method=Method.KIT, ph=ph, ph_method=method)
        asked = acid_step(look(shed))
        if not isinstance(asked, AcidStep):
            return came
        poured = AcidAdded(at=shed.now, by="RM", tank=1, product="acid", amount=asked.amount)
        shed.tell(poured)
        added += world.acid_is * acid_mol(setup.acids[0], asked.amount) / world.volume_l
        came.steps.append(asked)
        came.true.append(world.ph(added))
    return came


def covers(range_: PhRange, ph: float) -> bool:
    return range_.lowest <= ph <= range_.highest
