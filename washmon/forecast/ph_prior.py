"""What a source, a product and an instrument may be, before any pH was read: the hypotheses.

They are spread evenly, not drawn by chance: a Kronecker sequence with the roots of
x^(d+1) = x + 1 as steps (Niederreiter, Random Number Generation and Quasi-Monte Carlo Methods), so
that the same set-up always gives the same ones.
"""

from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from washmon.chemistry.water import Water, source_water
from washmon.forecast.kinetics import Floats
from washmon.line.events import Method
from washmon.line.fill_water import REPORT_ERROR, USUAL_CHLORIDE_MG_L
from washmon.line.product import caustic_of
from washmon.line.reading import PH_ERROR
from washmon.line.same import Same
from washmon.line.setup import Sanitizer, SourceWater

COUNT = 512
SOFTEST_MG_L, HARDEST_MG_L = 12.0, 500.0
"""Alkalinity of a source of which nothing is known, each decade as likely as the next: the range
of :data:`washmon.chemistry.titration.UNKNOWN_ALKALINITY` with room about it."""
SOURCE_PH, SOURCE_PH_SPREAD = 7.6, 0.5
LEAST_PH, MOST_PH = 5.5, 9.5
"""Of the source: common practice, no published source."""
CAUSTIC_PER_MOL, CAUSTIC_SPREAD, TOLD_CAUSTIC_SPREAD = 0.08, 0.6, 0.1
"""Excess caustic, mol/mol, and its logarithmic spread: 0.2 to 1.0 % of NaOH in a 12.5 % product is
0.03 to 0.15 (supplier data, value from memory)."""
REPORT_IS_WRONG = 0.1
"""How likely the source is not what the set-up says: a slip of the pen, another well, a season.
Common practice, no published source."""
PH_BIAS = {Method.STRIP: 0.12, Method.KIT: 0.08, Method.METER: 0.05}
"""Standard deviation of what a person, a lot or a calibration reads too high, all day long."""
PH_NOISE = {Method.STRIP: 0.2, Method.KIT: 0.1, Method.METER: 0.05}
"""Standard deviation of one reading beside that: pads of a strip are half a unit apart. Both:
common practice, no published source."""
LEVEL_SPREAD = {Method.STRIP: 0.15, Method.KIT: 0.05, Method.METER: 0.05}
"""Logarithmic spread of free chlorine about its reading, for its share in the charge."""


@dataclass(frozen=True, eq=False)
class Hypotheses:
    """Sources, products and instruments that may be; each field has one value for each of them."""

    alkalinity_mg_l: Floats
    water: Water[Floats]
    caustic_per_mol: Floats
    bias: Floats
    """Of pH readings, in standard deviations of their method."""
    level: Floats
    """Of free chlorine readings, the same."""
    log_chance: Floats


def hypotheses(source: SourceWater, product: Sanitizer | None, celsius: float) -> Hypotheses:
    """Return what may be, for a source and a product as the set-up tells them."""
    return _hypotheses(Same(source), Same(product), 5.0 * round(celsius / 5.0))


@lru_cache(maxsize=64)
def _hypotheses(
    source: Same[SourceWater], product: Same[Sanitizer | None], celsius: float
) -> Hypotheses:
    alkalinity, ph, caustic, bias, level = (_even(COUNT, 5, row) for row in range(5))
    mg_l, log_chance = _alkalinity(source.part, alkalinity)
    source_ph = np.clip(_source_ph(source.part, normal(ph)), LEAST_PH, MOST_PH)
    chloride = source.part.chloride_mg_l
    fresh = USUAL_CHLORIDE_MG_L if chloride is None else chloride
    return Hypotheses(
        alkalinity_mg_l=mg_l,
        water=source_water(mg_l, source_ph, np.full(COUNT, celsius), np.full(COUNT, fresh)),
        caustic_per_mol=_caustic(product.part, normal(caustic)),
        bias=normal(bias),
        level=normal(level),
        log_chance=log_chance,
    )


def _alkalinity(source: SourceWater, even: Floats) -> tuple[Floats, Floats]:
    """Return alkalinities and the logarithm of how likely each is."""
    anything = SOFTEST_MG_L * (HARDEST_MG_L / SOFTEST_MG_L) ** even
    told = source.alkalinity_mg_l
    if told is None:
        return anything, np.zeros_like(even)
    error = source.alkalinity_error_mg_l
    spread = (REPORT_ERROR * told if error is None else error) / 2
    as_told = np.maximum(told + spread * normal(even), 0.02 * told)
    by_turns = np.arange(even.size) % 2 == 0  # half of them, so that either is seen finely
    chance = np.where(by_turns, 1 - REPORT_IS_WRONG, REPORT_IS_WRONG)
    return np.where(by_turns, as_told, anything), np.log(chance)


def _source_ph(source: SourceWater, even: Floats) -> Floats:
    if source.ph is None:
        spread = SOURCE_PH_SPREAD if source.ph_error is None else source.ph_error / 2
        return SOURCE_PH + spread * even
    error = PH_ERROR[Method.METER] if source.ph_error is None else source.ph_error
    return source.ph + error / 2 * even


def _caustic(product: Sanitizer | None, even: Floats) -> Floats:
    told = caustic_of(product)
    if told is None:
        caustic: Floats = CAUSTIC_PER_MOL * np.exp(CAUSTIC_SPREAD * even)
        return caustic
    as_told: Floats = told * np.exp(TOLD_CAUSTIC_SPREAD * even)
    return as_told


def _even(count: int, rows: int, row: int) -> Floats:
    """Return numbers spread evenly between 0 and 1, so that rows together fill their space."""
    root = 1.5
    for _ in range(30):
        root = (1 + root) ** (1 / (rows + 1))
    places: Floats = np.arange(1, count + 1, dtype=np.float64)
    even: Floats = (0.5 + places * root ** -(row + 1)) % 1.0
    return even


@lru_cache(maxsize=8)
def even_normal(count: int, rows: int, row: int) -> Floats:
    """Return numbers spread as a normal error is, evenly with those of the other rows."""
    return normal(_even(count, rows, row))


def normal(even: Floats) -> Floats:
    """Return the numbers under which such shares of a standard normal error lie."""
    inverse = NormalDist().inv_cdf
    return np.array([inverse(float(share)) for share in np.clip(even, 1e-4, 1 - 1e-4)])
