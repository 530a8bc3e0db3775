"""The hidden water of one vessel: what it holds, and what time and hands do to it.

The acid-base balance is the usual one of aquatic chemistry (Stumm & Morgan, Aquatic Chemistry), in
fresh water at 20 °C and without activities: plain on purpose, and none of the program's own.
"""

import math
from copy import copy

from msgspec import Struct, field, structs

from tests.obedience.mechanism import Mechanism
from washmon.chemistry.acid import AcidKind

CL2_MG_PER_MOL = 70_906.0
CACO3_MG_PER_EQ = 50_043.5
_STEP_MIN = 0.5
_WARM, _MOST_NEWTON = 1e-5, 40

# pK at 20 °C, rounded as in the usual tables (values from memory).
_CARBONIC, _BICARBONATE, _WATER, _HYPOCHLOROUS = 10**-6.38, 10**-10.38, 10**-14.17, 10**-7.58
_WEAK = {
    AcidKind.VINEGAR: (10**-4.76,),
    AcidKind.CITRIC: (10**-3.14, 10**-4.77, 10**-6.39),
    AcidKind.PHOSPHORIC: (10**-2.12, 10**-7.21, 10**-12.4),
}
_AIR_CARBONIC_MOL_L = 1.7e-5


class Held(Struct, kw_only=True):
    """What a litre holds: mg/L, eq/L, mol/L and NTU."""

    free: float = 0.0
    """The sanitizer: free chlorine as Cl2, or peracetic acid."""
    demand: list[float] = field(default_factory=list)
    """Waiting in each pool, as mg/L of the sanitizer."""
    combined: float = 0.0
    ntu: float = 0.0
    alkalinity: float = 0.0
    carbonate: float = 0.0
    acids: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    """Acetic, citric, phosphoric."""
    peroxide: float = 0.0
    hedp: float = 0.0

    def mixed(self, other: "Held", share: float) -> "Held":
        """Return a mixture that has so large a share of other water."""

        def between(one: float, two: float) -> float:
            return (1.0 - share) * one + share * two

        return Held(
            free=between(self.free, other.free),
            demand=[between(a, b) for a, b in zip(self.demand, other.demand, strict=True)],
            combined=between(self.combined, other.combined),
            ntu=between(self.ntu, other.ntu),
            alkalinity=between(self.alkalinity, other.alkalinity),
            carbonate=between(self.carbonate, other.carbonate),
            acids=[between(a, b) for a, b in zip(self.acids, other.acids, strict=True)],
            peroxide=between(self.peroxide, other.peroxide),
            hedp=between(self.hedp, other.hedp),
        )

    def copy(self) -> "Held":
        """Return the same again, to go its own way."""
        return structs.replace(self, demand=[*self.demand], acids=[*self.acids])


def charge(held: Held, ph: float) -> float:
    """Return the strong base (eq/L) that this water would need to be at a pH."""
    h: float = 10.0**-ph
    first = _CARBONIC * h
    both = _CARBONIC * _BICARBONATE
    total = held.carbonate * (first + 2.0 * both) / (h * h + first + both)
    total += held.free / CL2_MG_PER_MOL * _HYPOCHLOROUS / (_HYPOCHLOROUS + h)
    total += _WATER / h - h
    for amount, constants in zip(held.acids, _WEAK.values(), strict=True):
        if amount > 0.0:
            total += amount * _protons(constants, h)
    return total


def _protons(constants: tuple[float, ...], h: float) -> float:
    part, whole, given = 1.0, 1.0, 0.0
    for lost, constant in enumerate(constants, start=1):
        part *= constant / h
        whole += part
        given += lost * part
    return given / whole


def ph_of(held: Held, near: float = 7.5) -> float:
    """Return the pH: Newton's steps on a charge that rises with pH, kept short."""
    ph = near
    for _ in range(_MOST_NEWTON):
        off = charge(held, ph) - held.alkalinity
        slope = (charge(held, ph + 1e-4) - off - held.alkalinity) / 1e-4
        step = -off / max(slope, 1e-9)
        ph = min(max(ph + min(max(step, -0.5), 0.5), 1.0), 13.0)
        if abs(step) < _WARM:
            break
    return ph


def tap(alkalinity_mg_l: float, ph: float, demand: list[float], ntu: float) -> Held:
    """Return fresh water of this alkalinity (mg/L as CaCO3) and pH."""
    held = Held(demand=[*demand], ntu=ntu, alkalinity=alkalinity_mg_l / CACO3_MG_PER_EQ)
    bare = charge(held, ph)
    held.carbonate = 1.0
    one = charge(held, ph) - bare
    held.carbonate = max(0.0, held.alkalinity - bare) / one
    return held


class Basin:
    """One vessel: its litres, and what they hold."""

    def __init__(self, mechanism: Mechanism, *, peracetic: bool, mix_min: float) -> None:
        self._m, self.peracetic = mechanism, peracetic
        self.volume_l = 0.0
        self.held = Held(demand=[0.0] * len(mechanism.pools))
        self.unmixed, self.unmixed_ph = 0.0, 0.0
        self._mixes_per_min = 4.0 / mix_min
        self._ph: float | None = None
        self._near = 7.5

    @property
    def free(self) -> float:
        """The level, mg/L."""
        return self.held.free

    @property
    def ph(self) -> float:
        """The pH; 7 where peracetic acid is kept, whose pH nobody asks for."""
        if self.peracetic or self.volume_l <= 0.0:
            return 7.0
        if self._ph is None:
            self._ph = self._near = ph_of(self.held, self._near)
        return self._ph

    def twin(self) -> "Basin":
        """Return a vessel with the same water, to try something on."""
        twin = copy(self)
        twin.held = self.held.copy()
        return twin

    def fill(self, litres: float, fresh: Held) -> None:
        """Let all water go, and take fresh water in."""
        self.volume_l, self.held = litres, fresh.copy()
        self.unmixed = self.unmixed_ph = 0.0
        self._ph = None

    def exchange(self, litres: float, other: Held) -> None:
        """Let so much water go, and take as much other water in."""
        share = min(max(litres / self.volume_l, 0.0), 1.0)
        self.held = self.held.mixed(other, share)
        self._ph = None

    def add_chlorine(self, milligrams: float, caustic: float) -> None:
        """Take hypochlorite with its excess caustic (mol/mol)."""
        rise = milligrams / self.volume_l
        self.held.free += rise
        self.held.alkalinity += rise / CL2_MG_PER_MOL * (1.0 + caustic)
        self.unmixed += rise
        self._ph = None

    def add_peracetic(self, paa_mg: float, peroxide_mg: float, hedp_mg: float) -> None:
        """Take a product of peracetic acid."""
        self.held.free += paa_mg / self.volume_l
        self.held.peroxide += peroxide_mg / self.volume_l
        self.held.hedp += hedp_mg / self.volume_l
        self.unmixed += paa_mg / self.volume_l

    def add_acid(self, kind: AcidKind, mol: float) -> None:
        """Take acid: one proton at once from a strong one."""
        before = self.ph
        if kind in _WEAK:
            self.held.acids[list(_WEAK).index(kind)] += mol / self.volume_l
        else:
            self.held.alkalinity -= mol / self.volume_l
        self._ph = None
        self.unmixed_ph += self.ph - before

    def soil(self, demand_mg: float, ntu_l: float, acid_eq: float) -> None:
        """Take what comes off a batch."""
        at_once = min(self._m.at_once * demand_mg / self.volume_l, self.held.free)
        rest = (1.0 - self._m.at_once) * demand_mg / self.volume_l
        for place, pool in enumerate(self._m.pools):
            self.held.demand[place] += pool.share * rest
        self._use(at_once)
        self.held.ntu += ntu_l / self.volume_l
        self.held.alkalinity -= acid_eq / self.volume_l
        self._ph = None

    def rest(self, minutes: float) -> None:
        """Let time pass."""
        if self.volume_l <= 0.0 or minutes <= 0.0:
            return
        steps = math.ceil(minutes / _STEP_MIN)
        for _ in range(steps):
            self._react(minutes / steps)
        mixing = math.exp(-self._mixes_per_min * minutes)
        self.unmixed *= mixing
        self.unmixed_ph *= mixing
        if not self.peracetic:
            self._breathe(minutes)
        self._ph = None

    def _react(self, minutes: float) -> None:
        held, m, level = self.held, self._m, self.held.free
        if level <= 0.0:
            return
        scale, there = level / 50.0, level / (level + 1.0)
        wanted = []
        for waiting, pool in zip(held.demand, m.pools, strict=True):
            rate = pool.rate * there * (scale if pool.order == 1.0 else scale**pool.order)
            wanted.append(waiting * -math.expm1(-rate * minutes))
        burnt = held.combined * -math.expm1(-m.burn * scale * minutes) if m.burn else 0.0
        lost = level * -math.expm1(-m.loss * minutes)
        asked = sum(wanted) + burnt / 2.0 + lost
        part = min(1.0, 0.98 * level / asked) if asked > 0.0 else 1.0
        for place, amount in enumerate(wanted):
            held.demand[place] -= part * amount
            held.combined += part * amount * m.pools[place].binds
        held.combined -= part * burnt
        self._use(part * asked)

    def _use(self, mg_l: float) -> None:
        """Take sanitizer away: hypochlorite becomes chloride, and its alkalinity goes with it."""
        self.held.free = max(0.0, self.held.free - mg_l)
        if not self.peracetic:
            self.held.alkalinity -= mg_l / CL2_MG_PER_MOL

    def _breathe(self, minutes: float) -> None:
        h = 10.0**-self._near
        first = _CARBONIC / h
        dioxide = self.held.carbonate / (1.0 + first + first * _BICARBONATE / h)
        excess = dioxide - _AIR_CARBONIC_MOL_L
        self.held.carbonate -= excess * -math.expm1(-self._m.degassing * minutes)
