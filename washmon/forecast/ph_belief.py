"""The fold of a fill's events into a belief of its pH: hypotheses, each with a Kalman filter.

A hypothesis is fixed: a source water, a product, an instrument. In each of them runs what changes:
the charge that strong base holds beside hypochlorite, and how far a batch of produce moves it. Of
hypochlorite only its excess caustic stays in that charge: chlorine that is used up takes its own
alkalinity along (see :func:`washmon.chemistry.water.with_chlorine_used`).
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from washmon.chemistry.acid import WeakAcid, anion_charge
from washmon.chemistry.constants import hydrogen
from washmon.chemistry.speciation import COLDEST_C, HOTTEST_C
from washmon.chemistry.water import CL2_MG_PER_MOL, Water, charge_at, ph_of
from washmon.forecast.kinetics import Floats
from washmon.forecast.ph_prior import LEVEL_SPREAD, PH_BIAS, PH_NOISE, Hypotheses
from washmon.line.events import Method, ReadingTaken
from washmon.line.reading import strip_range

BATCH_SHARE, BATCH_SPREAD = -0.002, 0.012
"""What a batch brings, as a share of what buffers: sap and juice are sour, degassing and soil work
the other way. Common practice, no published source: 0.3 mmol of acid per kg of leaf, 25 g of
produce to the litre."""
UNEVEN_SHARE = 0.005
"""How far one batch differs from the next. As shares, since a pH that keeps still by itself tells
little of how much acid would move it."""
PER_HOUR = 0.015
"""Of what buffers, what comes and goes with air and make-up water in an hour."""
BUFFER_MOL_L = 5e-4
"""What buffers beside carbonate: chlorine of 35 ppm."""
ACID_SPREAD = 0.07
"""Of an amount of acid: how it was measured, and its strength."""
DOSED_SPREAD = 0.1
"""Of a level that only a dose told: strength and volume (logarithmic)."""
FIRST_SPREAD = 0.005
"""Of the source's charge, from one filling to the next."""
_MISREAD, _MISREAD_DENSITY = 0.004, 0.2
"""How often a pH is of no use (the wrong tank, the wrong pad), and how dense those lie."""
_UNLOGGED, _JUMP = 0.03, 1.0
"""How often something moved the pH that nobody wrote down, and how far it did. Both: common
practice, no published source."""
LOWEST_PH, HIGHEST_PH = 2.0, 12.5
_LEAST = 1e-14
UNMIXED = 3.0
"""So much less a sample tells that was drawn before all had mixed in."""


@dataclass(frozen=True, eq=False)
class PhBelief:
    """What is believed of a fill's water as of an event; arrays over the hypotheses."""

    among: Hypotheses
    at: datetime
    batches: int
    base: Floats
    """Charge of strong base beside hypochlorite, eq/L."""
    drift: Floats
    """Of the base with each batch, eq/L."""
    variance: tuple[Floats, Floats, Floats]
    """Of the base, of both together, of the drift."""
    celsius: float
    level_mg_l: float = 0.0
    level_spread: float = DOSED_SPREAD
    """Of free chlorine about its level, logarithmic."""
    level_batches: int = 0
    """Washed when the level was told last, by a reading or a dose."""
    salt_mol_l: float = 0.0
    used_mg_l: float = 0.0
    acids: tuple[tuple[WeakAcid, float], ...] = ()
    log_likelihood: Floats | None = None
    """Of all pH readings of the fill; ``None`` where there are none."""

    @property
    def levels_mol_l(self) -> Floats:
        """Free chlorine in each hypothesis."""
        return self.level_mg_l / CL2_MG_PER_MOL * np.exp(self.level_spread * self.among.level)

    @property
    def water(self) -> Water[Floats]:
        """The water in each hypothesis."""
        levels, none = self.levels_mol_l, 0.0 * self.base
        return Water(
            alkalinity_eq_l=self.base + levels,
            carbonate_mol_l=self.among.water.carbonate_mol_l,
            chlorine_mol_l=levels,
            salt_mol_l=self.salt_mol_l + none,
            temperature_c=self.celsius + none,
            acids=tuple((acid, mol_l + none) for acid, mol_l in self.acids),
        )

    # --- what happens

    def until(self, at: datetime, batches: int) -> "PhBelief":
        """Return the belief after time and batches; a moment that is past counts as the same."""
        washed = max(0, batches - self.batches)
        hours = max(0.0, (at - self.at) / timedelta(hours=1))
        if not washed and not hours:
            return self
        own, both, drift = self.variance
        buffer = _buffer_mol_l(self.among)
        noise = (washed * UNEVEN_SHARE**2 + min(hours, 24.0) * PER_HOUR**2) * buffer**2
        return replace(
            self,
            at=max(self.at, at),
            batches=self.batches + washed,
            base=self.base + washed * self.drift,
            variance=(
                own + 2 * washed * both + washed**2 * drift + noise,
                both + washed * drift,
                drift,
            ),
        )

    def dosed(self, rise_mg_l: float) -> "PhBelief":
        """Return the belief after hypochlorite that raises free chlorine by so much."""
        mol_l = rise_mg_l / CL2_MG_PER_MOL
        return replace(
            self,
            base=self.base + mol_l * self.among.caustic_per_mol,
            level_mg_l=self.level_mg_l + rise_mg_l,
            level_spread=max(self.level_spread, DOSED_SPREAD),
            level_batches=self.batches,
            salt_mol_l=self.salt_mol_l + mol_l,
        )

    def acidified(self, acid: WeakAcid | None, mol_l: float) -> "PhBelief":
        """Return the belief after an acid; ``None`` for one that gives its proton whole."""
        own, both, drift = self.variance
        if acid is None:
            off = ACID_SPREAD * mol_l
            return replace(
                self,
                base=self.base - mol_l,
                variance=(own + off**2, both, drift),
                salt_mol_l=self.salt_mol_l + mol_l,
            )
        k = self.water.constants
        given = anion_charge(
            acid, hydrogen(7.0 + 0.0 * self.base), k.gamma, self.water.temperature_c
        )
        held = dict(self.acids)
        held[acid] = held.get(acid, 0.0) + mol_l
        return replace(
            self,
            variance=(own + (ACID_SPREAD * mol_l * given) ** 2, both, drift),
            acids=tuple(held.items()),
        )

    def exchanged(self, share: float) -> "PhBelief":
        """Return the belief after fresh water took the place of a share (0 to 1) of it."""
        stays = 1.0 - share
        own, both, drift = self.variance
        fresh = self.among.water.alkalinity_eq_l
        off = 0.1 * share * (fresh - self.base)
        return replace(
            self,
            base=stays * self.base + share * fresh,
            variance=(stays**2 * own + off**2, stays * both, drift),
            level_mg_l=stays * self.level_mg_l,
            acids=tuple((acid, stays * mol_l) for acid, mol_l in self.acids),
        )

    def read(self, reading: ReadingTaken, *, unsure: bool) -> "PhBelief":
        """Return the belief after a reading; ``unsure`` where the water was not mixed yet."""
        found = self
        if reading.water_c is not None:
            found = replace(found, celsius=min(max(reading.water_c, COLDEST_C), HOTTEST_C))
        if reading.fac_mg_l is not None:
            level = self._level_read(reading.fac_mg_l, reading.fac_method)
            used = found.level_mg_l - level
            found = replace(
                found,
                level_mg_l=level,
                level_spread=LEVEL_SPREAD[reading.fac_method],
                level_batches=self.batches,
                used_mg_l=max(0.0, found.used_mg_l + used),
                salt_mol_l=found.salt_mol_l + max(0.0, used) / CL2_MG_PER_MOL,
            )
        if reading.ph is None:
            return found
        return found.ph_read(reading.ph, reading.ph_method, unsure=unsure)

    def _level_read(self, fac_mg_l: float, method: Method) -> float:
        """Return free chlorine after a reading; of a strip's wide pads mass balance picks the part.

        Since the last reading or dose produce used some of it up: half way to the pad's own number.
        """
        if method is not Method.STRIP or self.level_mg_l <= 0:
            return fac_mg_l
        low, high = strip_range(fac_mg_l)
        inside = min(max(self.level_mg_l, low), high)
        return inside if self.batches == self.level_batches else 0.5 * (inside + fac_mg_l)

    def ph_read(self, ph: float, method: Method, *, unsure: bool) -> "PhBelief":
        """Weigh three stories, as of one reading: as expected, misread, or something unlogged."""
        water = self.water
        expected = plausible(ph_of(water))
        slope = 0.1 / (charge_at(water, expected + 0.05) - charge_at(water, expected - 0.05))
        own, both, drift = self.variance
        noise = PH_NOISE[method] * (UNMIXED if unsure else 1.0)
        off = ph - PH_BIAS[method] * self.among.bias - expected
        spread = slope**2 * own + noise**2
        jumped_own = own + (_JUMP / slope) ** 2
        jumped_spread = slope**2 * jumped_own + noise**2
        usual = (1 - _MISREAD - _UNLOGGED) * _density(off, spread)
        jumped = _UNLOGGED * _density(off, jumped_spread)
        every = usual + jumped + _MISREAD * _MISREAD_DENSITY
        share, jump_share = usual / every, jumped / every
        gain, jump_gain = own * slope / spread, jumped_own * slope / jumped_spread
        # Far from what was expected the titration curve is no straight line.
        far = charge_at(water, plausible(expected + off)) - charge_at(water, expected)
        jumps = jump_gain * slope * far
        moves = share * gain * off + jump_share * jumps
        between = share * (gain * off) ** 2 + jump_share * jumps**2 - moves**2
        held = share * (1 - gain * slope) * own + jump_share * (1 - jump_gain * slope) * jumped_own
        gain_drift = share * both * slope / spread
        before = 0.0 if self.log_likelihood is None else self.log_likelihood
        return replace(
            self,
            base=self.base + moves,
            drift=self.drift + gain_drift * off,
            variance=(
                np.maximum(held + (1 - share - jump_share) * own + between, _LEAST),
                both * (1 - share * gain * slope),
                np.maximum(drift - gain_drift * slope * both, _LEAST),
            ),
            log_likelihood=before + np.log(every),
        )


def plausible(ph: Floats) -> Floats:
    """Return pH values inside what water can have; a sum of absurd readings has no other."""
    kept: Floats = np.clip(np.nan_to_num(ph, nan=7.0), LOWEST_PH, HIGHEST_PH)
    return kept


def _density(off: Floats, spread: Floats) -> Floats:
    """Return the density of a normal error with a variance."""
    density: Floats = np.exp(-0.5 * off**2 / spread) / np.sqrt(2 * np.pi * spread)
    return density


def first_belief(among: Hypotheses, at: datetime, celsius: float) -> PhBelief:
    """Return what is believed of fresh water."""
    base, buffer = among.water.alkalinity_eq_l, _buffer_mol_l(among)
    return PhBelief(
        among=among,
        at=at,
        batches=0,
        base=base,
        drift=BATCH_SHARE * buffer,
        variance=((FIRST_SPREAD * base) ** 2 + 1e-10, 0.0 * base, (BATCH_SPREAD * buffer) ** 2),
        celsius=celsius,
        salt_mol_l=float(np.mean(among.water.salt_mol_l)),
    )


def _buffer_mol_l(among: Hypotheses) -> Floats:
    return among.water.carbonate_mol_l + BUFFER_MOL_L
