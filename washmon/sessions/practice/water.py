"""The water of one practice tank: what is in it, and what time does to it.

A tank is kept with chlorine or with peracetic acid. Its level C, free chlorine or the acid, meets a
fast and a slow demand, each second order, and decays to light and air::

    dC/dt = -kf C F - ks C S - d C      dF/dt = -kf C F      dS/dt = -ks C S

With the exposure x, the integral of C over time (mg min/L), both demands are known exactly,
F = F0 exp(-kf x) and S = S0 exp(-ks x), and C is what the balance leaves. So only x is stepped, and
the sanitizer is conserved to rounding whatever the step. Peracetic acid that is used up becomes
acetic acid; the peroxide that came with it stays (its own slow loss is left out: common practice).
"""

import math
from copy import copy
from typing import NamedTuple

from msgspec import Struct, structs

from washmon.chemistry.acid import PERACETIC, WEAK_ACIDS, AcidKind
from washmon.chemistry.chlorine_gas import dissolved_chlorine_mg_l
from washmon.chemistry.constants import hydrogen
from washmon.chemistry.peracetic import ACETIC_MG_PER_MOL, PAA_MG_PER_MOL
from washmon.chemistry.water import (
    CHLORIDE_MG_PER_MOL,
    CL2_MG_PER_MOL,
    Water,
    ph_of,
    source_water,
)
from washmon.sessions.practice.parameters import Parameters
from washmon.sessions.practice.rates import demands, rates_of
from washmon.sessions.practice.world import Source, World

SLOW_STEP_MIN = 2.0
"""For pH, gases, settling, warmth and make-up water, whose rates are under 0.05 in a minute."""
TURN = 0.5
"""How far sanitizer and fast demand may react in one step; see the test against scipy."""
REFERENCE_C = 20.0
_MOMENT_MIN = 1e-9
_NOTHING_MG_L = 0.01  # so little can be wrong by no more than itself
_STILL, _NEARLY_STRAIGHT = 1e-12, 1e-3


class Contents(Struct):
    """What a litre of the tank holds: sanitizer and the demand for it in mg/L, chlorine as Cl2."""

    level: float
    fast: float
    slow: float
    combined: float
    peroxide: float  # mg/L
    cod: float  # mg/L
    silt: float  # NTU that settles
    haze: float  # NTU that stays
    alkalinity: float  # eq/L
    carbonate: float  # mol/L
    salt: float  # mol/L, chloride and other strong anions
    acetic: float  # mol/L
    citric: float
    phosphoric: float
    celsius: float

    def mixed(self, other: "Contents", share: float) -> "Contents":
        """Return a mixture that has so large a share (0 to 1) of other water."""
        keep = 1.0 - share
        mine, theirs = structs.astuple(self), structs.astuple(other)
        return Contents(*[keep * a + share * b for a, b in zip(mine, theirs, strict=True)])

    def thickened(self, factor: float) -> "Contents":
        """Return what is left when pure water has gone: each litre holds so many times as much."""
        values = [factor * value for value in structs.astuple(self)]
        values[-1] = self.celsius
        return Contents(*values)

    def water(self, *, peracetic: bool = False) -> Water[float]:
        """Return it as the chemistry package sees it."""
        acids = (
            (PERACETIC, self.level / PAA_MG_PER_MOL if peracetic else 0.0),
            (WEAK_ACIDS[AcidKind.VINEGAR], self.acetic),
            (WEAK_ACIDS[AcidKind.CITRIC], self.citric),
            (WEAK_ACIDS[AcidKind.PHOSPHORIC], self.phosphoric),
        )
        return Water(
            self.alkalinity,
            self.carbonate,
            0.0 if peracetic else self.level / CL2_MG_PER_MOL,
            self.salt,
            self.celsius,
            tuple(pair for pair in acids if pair[1] > 0),
        )


class Book(Struct):
    """Where the sanitizer (mg) and the alkalinity (eq) of a tank came from and went."""

    added_mg: float = 0.0
    used_mg: float = 0.0
    decayed_mg: float = 0.0
    gassed_mg: float = 0.0
    drawn_mg: float = 0.0
    """Left with water; what came in with water counts against it."""
    alkalinity_in_eq: float = 0.0
    acid_eq: float = 0.0
    alkalinity_drawn_eq: float = 0.0


class _Held(NamedTuple):
    """What follows from the pH, and moves slowly."""

    minutes: float
    dioxide_share: float
    gas_share: float


def tap_water(source: Source, parameters: Parameters, *, peracetic: bool = False) -> Contents:
    """Return fresh water."""
    water = source_water(source.alkalinity_mg_l, source.ph, source.celsius, source.chloride_mg_l)
    fast, slow = demands(source.demand_mg_l, parameters, peracetic=peracetic)
    return Contents(
        level=0.0,
        fast=fast,
        slow=slow,
        combined=0.0,
        peroxide=0.0,
        cod=0.0,
        silt=0.0,
        haze=source.ntu,
        alkalinity=water.alkalinity_eq_l,
        carbonate=water.carbonate_mol_l,
        salt=water.salt_mol_l,
        acetic=0.0,
        citric=0.0,
        phosphoric=0.0,
        celsius=source.celsius,
    )


class TankWater:
    """The water in one tank. It starts empty; minutes, litres and mg throughout."""

    def __init__(self, parameters: Parameters, *, peracetic: bool = False) -> None:
        self._p, self.peracetic = parameters, peracetic
        self._rates = rates_of(parameters, peracetic=peracetic)
        self.volume_l = 0.0
        self.wanted_l = 0.0
        self.contents = Contents(*[0.0] * len(Contents.__struct_fields__))
        self.unmixed_mg_l = 0.0
        self.exposure_mg_min_l = 0.0
        self.book = Book()
        self._held: _Held | None = None

    @property
    def level(self) -> float:
        """Free chlorine, or peracetic acid where it is kept with that, mg/L."""
        return self.contents.level

    @property
    def ph(self) -> float:
        """The pH now; 7 of an empty tank."""
        return ph_of(self._water()) if self.volume_l else 7.0

    def copy(self) -> "TankWater":
        """Return a twin that goes its own way."""
        twin = copy(self)
        twin.contents, twin.book = copy(self.contents), copy(self.book)
        return twin

    # -- water --------------------------------------------------------------------------------

    def take(self, litres: float, contents: Contents) -> None:
        """Take water in."""
        if litres <= 0.0:
            return
        volume = self.volume_l + litres
        self.contents = self.contents.mixed(contents, litres / volume)
        self.volume_l = volume
        self.book.drawn_mg -= litres * contents.level
        self.book.alkalinity_in_eq += litres * contents.alkalinity
        self._held = None

    def draw(self, litres: float) -> tuple[float, Contents]:
        """Let water go; return how much there was to go, and what it held."""
        litres = min(max(litres, 0.0), self.volume_l)
        self.volume_l -= litres
        self.book.drawn_mg += litres * self.contents.level
        self.book.alkalinity_drawn_eq += litres * self.contents.alkalinity
        return litres, copy(self.contents)

    # -- additions ----------------------------------------------------------------------------

    def add_chlorine(self, milligrams: float, added_l: float) -> None:
        """Take hypochlorite: its caustic, its chloride and its water come along."""
        self._thin(added_l)
        rise = milligrams / self.volume_l
        mol = rise / CL2_MG_PER_MOL
        c, base = self.contents, mol * (1.0 + self._p.bleach.caustic_per_mol)
        c.level += rise
        c.alkalinity += base
        c.salt += mol
        self.book.added_mg += milligrams
        self.book.alkalinity_in_eq += base * self.volume_l
        self.unmixed_mg_l += rise
        self._held = None

    def add_peracetic(self, milligrams: float, peroxide_mg: float, added_l: float) -> None:
        """Take peracetic acid: its peroxide, acetic acid and water come along."""
        self._thin(added_l)
        c, rise = self.contents, milligrams / self.volume_l
        c.level += rise
        c.peroxide += peroxide_mg / self.volume_l
        c.acetic += rise * self._p.peracetic.acetic_share / ACETIC_MG_PER_MOL
        self.book.added_mg += milligrams
        self.unmixed_mg_l += rise
        self._held = None

    def add_acid(self, kind: AcidKind, mol: float, added_l: float) -> None:
        """Take an acid."""
        self._thin(added_l)
        amount = mol / self.volume_l
        c = self.contents
        if kind.strong:
            c.alkalinity -= amount
            c.salt += amount
            self.book.acid_eq += mol
        elif kind is AcidKind.VINEGAR:
            c.acetic += amount
        elif kind is AcidKind.CITRIC:
            c.citric += amount
        else:
            c.phosphoric += amount
        self._held = None

    def add_dirt(self, fast_mg: float, slow_mg: float, cod_mg: float, acid_eq: float) -> None:
        """Take what comes off produce and is dissolved."""
        c, volume = self.contents, self.volume_l
        c.fast += fast_mg / volume
        c.slow += slow_mg / volume
        c.cod += cod_mg / volume
        c.alkalinity -= acid_eq / volume
        c.salt += acid_eq / volume
        self.book.acid_eq += acid_eq
        self._held = None

    def add_soil(self, silt_ntu_l: float, haze_ntu_l: float) -> None:
        """Take cloudiness, NTU times litres."""
        self.contents.silt += silt_ntu_l / self.volume_l
        self.contents.haze += haze_ntu_l / self.volume_l

    def _thin(self, litres: float) -> None:
        """Let the water of an addition in, pure and as warm as the tank."""
        if litres > 0.0:
            self.contents = self.contents.thickened(self.volume_l / (self.volume_l + litres))
            self.volume_l += litres

    # -- time ---------------------------------------------------------------------------------

    def rest(self, minutes: float, world: World, fresh: Contents) -> None:
        """Let time pass."""
        if self.volume_l <= 0.0:
            return
        while minutes > _MOMENT_MIN:
            span = min(minutes, SLOW_STEP_MIN)
            self._flow(span / 2, world, fresh)
            self._react(span, world)
            self._breathe(span, world)
            self._flow(span / 2, world, fresh)
            minutes -= span

    def _flow(self, minutes: float, world: World, fresh: Contents) -> None:
        gone = 1.0 - math.exp(-self._p.air.evaporation_per_min * minutes)
        self.contents = self.contents.thickened(1.0 / (1.0 - gone))
        self.volume_l *= 1.0 - gone
        held = self._held
        if world.makeup_l_min > 0.0:
            share = 1.0 - math.exp(-world.makeup_l_min * minutes / self.volume_l)
            drawn, _ = self.draw(share * self.volume_l)
            self.take(drawn, fresh)
        if world.float_valve:
            self.take(self.wanted_l - self.volume_l, fresh)
        self._held = held  # so little changes nothing in the pH

    def _react(self, minutes: float, world: World) -> None:
        """Step the exposure by exponential steps of third order (Rosenbrock's second stage)."""
        k, held = self._rates, self._chemistry()
        warmth = k.per_10_c ** ((self.contents.celsius - REFERENCE_C) / 10.0)
        fast = k.fast * warmth
        slow = fast * k.slow_share
        decay = k.decay * warmth * world.decay_share
        gas = k.gas * held.gas_share
        c, left = self.contents, minutes
        while left > _MOMENT_MIN:
            turnover = fast * (c.level + c.fast) + slow * c.slow + decay + gas
            spent = c.level < _NOTHING_MG_L or turnover == 0.0
            step = left if spent else min(left, TURN / turnover)
            x = _exposure(c, step, fast, slow, decay + gas)
            self._book_exposure(x, fast, slow, decay, gas)
            left -= step
        c.combined *= math.exp(-self._p.kinetics.combined_loss_per_min * warmth * minutes)

    def _book_exposure(self, x: float, fast: float, slow: float, decay: float, gas: float) -> None:
        c, book, volume = self.contents, self.book, self.volume_l
        by_fast = -c.fast * math.expm1(-fast * x)
        by_slow = -c.slow * math.expm1(-slow * x)
        used, decayed, gassed = by_fast + by_slow, decay * x, gas * x
        c.fast -= by_fast
        c.slow -= by_slow
        c.level = max(0.0, c.level - used - decayed - gassed)  # never under 0 by rounding
        c.combined += self._rates.combined_yield * by_fast
        # Hypochlorite becomes chloride and its alkalinity goes; Cl2 takes an acid with it.
        change = (used + decayed - gassed) / self._rates.mg_per_mol
        if self.peracetic:
            c.acetic += change
        else:
            c.alkalinity -= change
            c.salt += change
        book.used_mg += used * volume
        book.decayed_mg += decayed * volume
        book.gassed_mg += gassed * volume
        self.exposure_mg_min_l += x

    def _breathe(self, minutes: float, world: World) -> None:
        air, c, held = self._p.air, self.contents, self._chemistry()
        excess = c.carbonate * held.dioxide_share - air.air_carbonic_mol_l
        c.carbonate -= excess * -math.expm1(-air.degassing_per_min * minutes)
        c.celsius += (world.air_c - c.celsius) * -math.expm1(-air.warming_per_min * minutes)
        c.silt *= math.exp(-self._p.tank.settling_per_min * minutes)
        mixing = self._p.tank.mixing_per_min * world.mixing_share
        self.unmixed_mg_l *= math.exp(-mixing * minutes)
        left = held.minutes - minutes
        self._held = held._replace(minutes=left) if left > 0.0 else None

    def _water(self) -> Water[float]:
        return self.contents.water(peracetic=self.peracetic)

    def _chemistry(self) -> _Held:
        if self._held is None:
            water = self._water()
            ph = ph_of(water)
            h, k = hydrogen(ph), water.constants
            dioxide = 1.0 / (1.0 + k.k1 / h + k.k1 * k.k2 / (h * h))
            chloride = min(water.salt_mol_l * CHLORIDE_MG_PER_MOL, 20_000.0)
            gas = 0.0
            if not self.peracetic:
                gas = dissolved_chlorine_mg_l(1.0, ph, self.contents.celsius, chloride)
            self._held = _Held(SLOW_STEP_MIN * 2, dioxide, gas)
        return self._held


def _exposure(c: Contents, minutes: float, fast: float, slow: float, loss: float) -> float:
    """Return the exposure (mg min/L) of a step.

    x' = C(x) is convex and falling, so the first stage never takes more sanitizer than there is;
    the second, of third order, stands in unless it would.
    """
    slope = -(fast * c.fast + slow * c.slow + loss)
    z = slope * minutes
    if z > -_STILL:
        return c.level * minutes
    first = math.expm1(z) / z
    x = c.level * minutes * first
    bend = _level_after(c, x, fast, slow, loss) - c.level - slope * x
    straight = z > -_NEARLY_STRAIGHT
    third = 1.0 / 6.0 + z / 24.0 if straight else (first - 1.0 - z / 2.0) / (z * z)
    better = x + 2.0 * minutes * third * bend
    return better if _level_after(c, better, fast, slow, loss) >= 0.0 else x


def _level_after(c: Contents, x: float, fast: float, slow: float, loss: float) -> float:
    used = c.fast * math.expm1(-fast * x) + c.slow * math.expm1(-slow * x)
    return c.level + used - loss * x
