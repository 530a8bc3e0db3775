"""A small model of wash water, so that the numbers in the demo sessions hang together.

Free chlorine meets a fast and a slow demand, second order in both: k = 0.0133 L/(mg min) and half
of the demand fast (Abnavi et al. 2021, bioRxiv 2021.02.12.430939; Weng et al., chlorine demand in
wash water); the slow rate, a twentieth, and the loss to air are common practice, no published
source. pH follows from washmon.chemistry.water, with carbon dioxide slowly leaving the water.
"""

from dataclasses import dataclass, field, replace
from math import exp

from msgspec import Struct

from washmon.chemistry.acid import AcidKind, acid_mol_per_unit
from washmon.chemistry.water import (
    CL2_MG_PER_MOL,
    Water,
    ph_of,
    source_water,
    with_acid,
    with_chlorine_used,
    with_hypochlorite,
)

FAST_L_MG_MIN = 0.0133
SLOW_L_MG_MIN = FAST_L_MG_MIN / 20
FAST_SHARE = 0.5
LOSS_PER_MIN = 0.0008
AIR_MOL_L = 1.7e-5
"""Carbon dioxide in water that stands in air, value from memory."""


class Source(Struct, frozen=True, kw_only=True):
    """What comes out of the tap; ``demand_mg_l`` is what it uses up by itself."""

    alkalinity_mg_l: float
    ph: float
    celsius: float
    ntu: float = 1.0
    demand_mg_l: float = 1.0
    degassing_per_min: float = 0.002


class Produce(Struct, frozen=True, kw_only=True):
    """What a kilogram brings in: chlorine demand (g/kg) and NTU in 1000 L; how warm it is.

    ``carried`` is the share of it that goes on into the next tank.
    """

    demand_g_kg: float
    ntu_per_kg_m3: float
    pulp_c: float
    carried: float = 0.15


@dataclass
class TankWater:
    """The water in one tank, in mg/L and minutes."""

    source: Source
    volume_l: float
    celsius: float = 0.0
    fast: float = 0.0
    slow: float = 0.0
    ntu: float = 0.0
    water: Water[float] = field(init=False)

    def __post_init__(self) -> None:
        """Begin with fresh water."""
        self.refill()

    @property
    def free(self) -> float:
        """Free chlorine, mg/L."""
        return self.water.chlorine_mol_l * CL2_MG_PER_MOL

    @property
    def ph(self) -> float:
        """The pH now."""
        return ph_of(self.water)

    def refill(self) -> None:
        """Take fresh water from the tap."""
        tap = self.source
        self.water = source_water(tap.alkalinity_mg_l, tap.ph, tap.celsius, 20.0)
        self.celsius, self.ntu = tap.celsius, tap.ntu
        self.fast, self.slow = tap.demand_mg_l * FAST_SHARE, tap.demand_mg_l * (1 - FAST_SHARE)

    def exchange(self, litres: float) -> None:
        """Put fresh water in place of some of it."""
        old, stays = self.water, 1 - litres / self.volume_l
        fast, slow, ntu = self.fast, self.slow, self.ntu
        self.refill()
        new = self.water

        def mixed(before: float, fresh: float) -> float:
            return stays * before + (1 - stays) * fresh

        self.water = Water(
            mixed(old.alkalinity_eq_l, new.alkalinity_eq_l),
            mixed(old.carbonate_mol_l, new.carbonate_mol_l),
            stays * old.chlorine_mol_l,
            mixed(old.salt_mol_l, new.salt_mol_l),
            new.temperature_c,
            tuple((kind, stays * mol) for kind, mol in old.acids),
        )
        self.fast, self.slow = mixed(fast, self.fast), mixed(slow, self.slow)
        self.ntu = mixed(ntu, self.ntu)

    def dose(self, rise_mg_l: float) -> None:
        """Take hypochlorite."""
        self.water = with_hypochlorite(self.water, rise_mg_l)

    def acid(self, kind: AcidKind, amount: float, strength_pct: float) -> None:
        """Take an acid, in mL or g."""
        mol_l = amount * acid_mol_per_unit(kind, strength_pct) / self.volume_l
        self.water = with_acid(self.water, kind, mol_l)

    def wash(self, produce: Produce, kg: float) -> None:
        """Take what a batch brings in."""
        demand = produce.demand_g_kg * kg * 1000 / self.volume_l
        self.fast += FAST_SHARE * demand
        self.slow += (1 - FAST_SHARE) * demand
        self.ntu += produce.ntu_per_kg_m3 * kg * 1000 / self.volume_l

    def rest(self, minutes: float) -> None:
        """Let chlorine be used up and carbon dioxide leave."""
        free = self.free
        fast = self.fast * (1 - exp(-FAST_L_MG_MIN * free * minutes))
        slow = self.slow * (1 - exp(-SLOW_L_MG_MIN * free * minutes))
        used = min(free, fast + slow + LOSS_PER_MIN * free * minutes)
        share = used / (fast + slow + LOSS_PER_MIN * free * minutes) if used else 0.0
        self.fast -= share * fast
        self.slow -= share * slow
        self.water = with_chlorine_used(self.water, used)
        self._degas(minutes)

    def _degas(self, minutes: float) -> None:
        first, hydrogen = self.water.constants.k1, 10.0**-self.ph
        rest = 1 + first / hydrogen + first * self.water.constants.k2 / hydrogen**2
        dioxide = max(0.0, self.water.carbonate_mol_l / rest - AIR_MOL_L)
        gone = dioxide * self.source.degassing_per_min * minutes
        self.water = replace(self.water, carbonate_mol_l=self.water.carbonate_mol_l - gone)
