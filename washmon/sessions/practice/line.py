"""The simulated wash line: time, batches, additions and readings, and the truth behind them."""

from collections.abc import Sequence
from copy import deepcopy

import numpy as np
from msgspec import Struct

from washmon.chemistry.acid import acid_mol_per_unit, is_solid
from washmon.chemistry.speciation import hocl_share
from washmon.chemistry.water import CACO3_MG_PER_EQ, CHLORIDE_MG_PER_MOL
from washmon.line.product import peracetic_product, strength
from washmon.line.setup import LineSetup, Sanitizer, SanitizerKind
from washmon.sessions.practice.parameters import (
    Parameters,
    PracticeError,
    PracticeInstrument,
    parameters,
)
from washmon.sessions.practice.practice_instruments import Bench, CardSeen, Said
from washmon.sessions.practice.produce import Load, Produce
from washmon.sessions.practice.rates import demands
from washmon.sessions.practice.water import Book, Contents, TankWater, tap_water
from washmon.sessions.practice.world import World

_STREAM = 3
_LONGEST_MIN = 60.0 * 24
_HEAT_OF_PRODUCE = 0.9  # of water's, value from memory
_WARMED = 0.5  # how far produce takes on the water's temperature in a dunk: common practice


class Truth(Struct, frozen=True, kw_only=True):
    """What really is in a tank, by what it is kept with.

    The level of its sanitizer and the demand for it in mg/L, chlorine as Cl2; temperature in °C.
    """

    minutes: float
    tank: int
    level_mg_l: float
    combined_mg_l: float
    peroxide_mg_l: float
    fast_mg_l: float
    slow_mg_l: float
    cod_mg_l: float
    turbidity_ntu: float
    ph: float
    hocl_share: float
    alkalinity_mg_l: float
    chloride_mg_l: float
    water_c: float
    volume_l: float
    exposure_mg_min_l: float


class WashLine:
    """A wash line that behaves like water: the same seed and the same acts give the same shift.

    ``world`` may be replaced at any time, as a trainer does who wants a dirty load now.
    """

    def __init__(
        self,
        setup: LineSetup,
        world: World,
        seed: int,
        model: Parameters | None = None,
    ) -> None:
        """Build it with empty tanks.

        Raises:
            PracticeError: the set-up has no tanks or more than one kind of sanitizer, or the
                commodity is not in the model.
        """
        self._p = model or parameters()
        if not setup.tanks:
            raise PracticeError("Practice needs a line with at least one tank: choose another.")
        if world.commodity not in self._p.commodity:
            raise PracticeError(
                "The practice model does not know {commodity}: choose one of {known}.",
                commodity=world.commodity,
                known=", ".join(sorted(self._p.commodity)),
            )
        self.setup, self.world = setup, world
        self.peracetic = _kept_with_peracetic(setup)
        self.minutes = 0.0
        self._produce, self._bench = Produce(self._p, seed), Bench(self._p, seed)
        self._random = np.random.default_rng([seed, _STREAM])
        self.strength_share = self._share(
            world.strength_share, self._p.bleach.strength_mean, self._p.bleach.strength_error
        )
        self._volume_shares = {
            tank.number: self._share(world.volume_share, 1.0, self._p.tank.volume_error)
            for tank in setup.tanks
        }
        self._tanks = {
            tank.number: TankWater(self._p, peracetic=self.peracetic) for tank in setup.tanks
        }
        fresh = tap_water(world.source, self._p, peracetic=self.peracetic)
        self._fresh = (world.source, fresh)

    def _share(self, given: float | None, mean: float, error: float) -> float:
        drawn = mean + error * float(self._random.standard_normal())
        return min(max(drawn, mean - 3 * error), mean + 3 * error) if given is None else given

    def twin(self) -> "WashLine":
        """Return a copy with a future of its own: what would happen if nothing were done?

        Produce, hands and instruments would do the same to both.
        """
        other = object.__new__(WashLine)
        other.__dict__.update(self.__dict__)
        other._produce, other._bench = self._produce.copy(), self._bench.copy()
        other._random = deepcopy(self._random)
        other._tanks = {number: tank.copy() for number, tank in self._tanks.items()}
        return other

    # -- what happens ---------------------------------------------------------------------------

    def advance(self, minutes: float) -> None:
        """Let time pass.

        Raises:
            PracticeError: time would run backwards, or more than a day.
        """
        if not 0.0 <= minutes <= _LONGEST_MIN:
            raise PracticeError("Time can only go on, by a day at most.")
        fresh = self._tap()
        for tank in self._tanks.values():
            tank.rest(minutes, self.world, fresh)
        self.minutes += minutes

    def fill(self, tank: int, volume_l: float | None = None) -> None:
        """Drain a tank and fill it fresh, by what the person believes to be so many litres.

        Raises:
            PracticeError: no such tank, or no water.
        """
        water = self._tank(tank)
        believed = self.setup.tank(tank).volume_l if volume_l is None else volume_l
        if not believed > 0.0:
            raise PracticeError("There is no water to fill in: enter a volume.")
        water.draw(water.volume_l)
        water.wanted_l = believed * self._volume_shares[tank]
        water.unmixed_mg_l = 0.0
        water.take(water.wanted_l, self._tap())

    def change_water(self, tank: int, volume_l: float) -> None:
        """Drain some of the water and put as much fresh water in.

        Raises:
            PracticeError: no such tank, it is empty, or it does not hold as much.
        """
        water = self._filled(tank)
        litres = volume_l * self._volume_shares[tank]
        if not 0.0 < litres <= water.volume_l * (1.0 + 1e-9):
            raise PracticeError("A tank cannot lose more water than it holds, or none.")
        drawn, _ = water.draw(litres)
        water.take(drawn, self._tap())

    def dose(self, tank: int, amount: float, product: str | None = None) -> None:
        """Add sanitizer as its label counts it (mL, or g of a solid); its truth may be weaker.

        Raises:
            PracticeError: no such tank, product or water, a negative amount, or another kind.
            ChemistryError: the label tells no strength.
        """
        water = self._filled(tank)
        key = product or self.setup.tank(tank).sanitizer
        sanitizer = self.setup.sanitizer(key)
        if sanitizer is None:
            raise PracticeError("The set-up has no product {key}.", key=key)
        if (sanitizer.kind is SanitizerKind.PERACETIC) is not self.peracetic:
            raise PracticeError("{name} must not go into this tank.", name=sanitizer.name)
        real = self._measured_out(amount)
        _put_in(water, sanitizer, real, self.strength_share)

    def acid(self, tank: int, amount: float, product: str | None = None) -> None:
        """Add acid (mL, or g of a solid).

        Raises:
            PracticeError: no such tank or product, no water, or a negative amount.
            ChemistryError: an impossible product.
        """
        water = self._filled(tank)
        key = product or self.setup.tank(tank).acid
        acid = self.setup.acid(key)
        if acid is None:
            raise PracticeError("The set-up has no acid {key}.", key=str(key))
        real = self._measured_out(amount)
        mol = real * acid_mol_per_unit(acid.kind, acid.strength_pct)
        water.add_acid(acid.kind, mol, 0.0 if is_solid(acid.kind) else real / 1000.0)

    def _measured_out(self, amount: float) -> float:
        if not 0.0 <= amount < float("inf"):
            raise PracticeError("An amount cannot be negative: enter what went in.")
        error = self._p.bleach.amount_error * float(self._random.standard_normal())
        return amount * max(0.0, 1.0 + error)

    def wash(self, tanks: Sequence[int], kg: float, lot: str = "") -> None:
        """Wash a batch in these tanks, one after the other; water clings to it between them.

        Raises:
            PracticeError: no such tank, no water in it, or a weight of nothing.
        """
        if not 0.0 < kg < float("inf"):
            raise PracticeError("A batch needs a weight above 0.")
        basins = [self._filled(number) for number in tanks]
        usual = self._p.commodity[self.world.commodity]
        load = self._produce.load(self.world, lot)
        on_it, pulp_c = 1.0, self.world.pulp_c
        clinging: tuple[float, Contents] | None = None
        for basin in basins:
            if clinging:
                basin.take(*clinging)
            self._soil(basin, load, kg * on_it * usual.released)
            on_it *= 1.0 - usual.released
            pulp_c = self._warm(basin, kg, pulp_c)
            clinging = basin.draw(min(usual.dragout_l_kg * kg, basin.volume_l / 2))

    def _soil(self, basin: TankWater, load: Load, kg: float) -> None:
        """Let so many kilograms' worth of dirt come off."""
        usual = self._p.commodity[self.world.commodity]
        demand_mg = load.demand_g_kg * kg * 1000.0
        basin.add_dirt(
            *demands(demand_mg, self._p, peracetic=self.peracetic),
            load.cod_g_kg * kg * 1000.0,
            load.acid_mmol_kg * kg / 1000.0,
        )
        soil = load.soil_ntu_m3_kg * kg * 1000.0
        basin.add_soil(usual.settling_part * soil, (1.0 - usual.settling_part) * soil)

    @staticmethod
    def _warm(basin: TankWater, kg: float, pulp_c: float) -> float:
        """Exchange heat between water and produce; return how warm the produce leaves."""
        heat = _WARMED * _HEAT_OF_PRODUCE * kg
        flow = heat * (pulp_c - basin.contents.celsius) / (1.0 + heat / basin.volume_l)
        basin.contents.celsius += flow / basin.volume_l
        return pulp_c - flow / (_HEAT_OF_PRODUCE * kg)

    # -- what a person may see ------------------------------------------------------------------

    def measure(self, tank: int, instrument: PracticeInstrument) -> Said:
        """Return what an instrument says now, and the minutes that it takes; it passes no time.

        Raises:
            PracticeError: no such tank, or it is empty.
        """
        water = self._filled(tank)
        return self._bench.read(water, instrument, self.world)

    def measure_total(self, tank: int, instrument: PracticeInstrument) -> Said:
        """Return total chlorine as a kit or a meter says it.

        Raises:
            PracticeError: no such tank, or it is empty.
        """
        return self._bench.read_total(self._filled(tank), instrument, self.world)

    def look(self, tank: int) -> CardSeen:
        """Return how the card looks through a sample.

        Raises:
            PracticeError: no such tank, or it is empty.
        """
        return self._bench.look(self._filled(tank))

    def measure_pulp(self) -> Said:
        """Return the temperature inside the produce that waits."""
        return self._bench.read_pulp(self.world.pulp_c)

    # -- what nobody sees -----------------------------------------------------------------------

    def level_mg_l(self, tank: int) -> float:
        """Return the true level of a tank's sanitizer, mg/L."""
        return self._filled(tank).level

    def book(self, tank: int) -> Book:
        """Return where the sanitizer and the alkalinity of a tank went."""
        return self._tank(tank).book

    def truth(self, tank: int) -> Truth:
        """Return what really is in a tank.

        Raises:
            PracticeError: no such tank, or it is empty.
        """
        return _truth(self.minutes, tank, self._filled(tank))

    def _tap(self) -> Contents:
        source = self.world.source
        if self._fresh[0] is not source:
            self._fresh = (source, tap_water(source, self._p, peracetic=self.peracetic))
        return self._fresh[1]

    def _tank(self, number: int) -> TankWater:
        if number not in self._tanks:
            raise PracticeError("There is no tank {number}.", number=str(number))
        return self._tanks[number]

    def _filled(self, number: int) -> TankWater:
        water = self._tank(number)
        if water.volume_l <= 0.0:
            raise PracticeError("Tank {number} has no water yet: fill it.", number=str(number))
        return water


def _put_in(water: TankWater, product: Sanitizer, amount: float, share: float) -> None:
    """Put a sanitizer in (mL, or g of a solid) that is so much (1: all) of its label."""
    if water.peracetic:
        contents = peracetic_product(product)
        mg_per_pct = 10.0 * amount * contents.density_kg_l
        acid_mg = mg_per_pct * contents.paa_pct * share
        water.add_peracetic(acid_mg, mg_per_pct * contents.peroxide_pct, amount / 1000.0)
        return
    grams = amount * strength(product) * share / 1000.0
    liquid = product.kind is not SanitizerKind.CALCIUM
    water.add_chlorine(grams * 1000.0, amount / 1000.0 if liquid else 0.0)


def _kept_with_peracetic(setup: LineSetup) -> bool:
    """Tell whether the tanks of a line are kept with peracetic acid.

    Raises:
        PracticeError: some are and some are not, and water clings to the produce between them.
    """
    kinds = {tank.peracetic is not None for tank in setup.tanks}
    if len(kinds) > 1:
        raise PracticeError("A practice line has one kind of sanitizer: choose one for all tanks.")
    return kinds == {True}


def _truth(minutes: float, tank: int, water: TankWater) -> Truth:
    c, ph = water.contents, water.ph
    return Truth(
        minutes=minutes,
        tank=tank,
        level_mg_l=c.level,
        combined_mg_l=c.combined,
        peroxide_mg_l=c.peroxide,
        fast_mg_l=c.fast,
        slow_mg_l=c.slow,
        cod_mg_l=c.cod,
        turbidity_ntu=c.silt + c.haze,
        ph=ph,
        hocl_share=hocl_share(ph, c.celsius),
        alkalinity_mg_l=c.alkalinity * CACO3_MG_PER_EQ,
        chloride_mg_l=c.salt * CHLORIDE_MG_PER_MOL,
        water_c=c.celsius,
        volume_l=water.volume_l,
        exposure_mg_min_l=water.exposure_mg_min_l,
    )
