"""A random world: the set-up that the shed wrote down, and the truth that nobody there knows."""

import math

import numpy as np
from msgspec import Struct, structs

from tests.obedience.basin import Held, tap
from tests.obedience.mechanism import Mechanism, draw_mechanism
from tests.obedience.sheds import SetupDrawing, three_tubs
from washmon.line.events import Method
from washmon.line.setup import LineSetup, Look, SanitizerKind, Tank

PADS = (0.0, 10.0, 25.0, 50.0, 100.0, 200.0)
_TOLD_PADS = 0.7
"""How often the set-up tells what the pads of its strips stand for."""
_SCALES = (
    PADS,
    PADS,
    (0.0, 25.0, 50.0, 100.0, 200.0),
    (0.0, 10.0, 20.0, 50.0, 100.0, 200.0),
    (0.0, 5.0, 10.0, 25.0, 50.0, 75.0, 100.0, 150.0, 200.0),
)
_PERACETIC_SCALE = (0.0, 10.0, 20.0, 30.0, 50.0, 70.0, 85.0, 100.0)


class Batch(Struct, frozen=True, kw_only=True):
    """One batch as it really is: ``demand`` in mg of sanitizer per litre of the first tank."""

    kg: float
    lot: str
    demand: float
    ntu: float
    """By which it clouds the first tank, NTU."""
    told_kg: float | None


class Gauges(Struct, frozen=True, kw_only=True):
    """What a shed measures with, and how wrong it is."""

    level_by: Method
    ph_by: Method
    pads: tuple[float, ...]
    ph_step: float
    level_bias: float
    """As a share; it stays all shift."""
    level_error: float
    ph_bias: float
    ph_error: float
    combined_seen: float
    ntu_error: float = 0.07
    wild: float = 0.0
    """How often a reading is anything at all."""


class World(Struct, frozen=True, kw_only=True):
    """All that makes a shift."""

    seed: int
    setup: LineSetup
    gauges: Gauges
    mechanism: Mechanism
    batches: tuple[Batch, ...]
    pace: float
    """Of a batch, against the usual minutes."""
    released: float
    """The share of its dirt that a batch leaves in each tank."""
    dragged: float
    """Water that goes on with a batch, as a share of the first tank."""
    acid_meq_l: float
    """Acid (or, under 0, base) that a batch brings, meq per litre of the first tank."""
    strength_share: float
    """What is in the container against its label."""
    caustic: float
    volume_shares: tuple[float, ...]
    pour_error: float
    fresh: Held
    source: tuple[float, float]
    """Alkalinity, mg/L as CaCO3, and pH."""
    breaks: dict[int, float]
    """Minutes, by the number of batches before."""
    slips: bool
    """Whether entries are mistyped, forgotten, or late."""
    small_tubs: bool = False

    @property
    def longest_min(self) -> float:
        """So long a shift goes on at most, where its batches do not get done."""
        return _LONGEST_MIN + _LONGEST_BATCH_MIN * len(self.batches)


_SOFTEST_MG_L, _ALKALINITY_FOR_LEVEL = 30.0, 0.6
"""Softest water, mg/L as CaCO3, at all and for each mg/L of the target: in softer water the pH
crashes as the chlorine of a low pH is used up, whatever anybody does."""
_LONGEST_MIN, _LONGEST_BATCH_MIN = 120.0, 18.0
_WILD = 1.0 / 3.0
_MOST_OF_TARGET = 0.25
"""No batch takes more of a tank's target in one go."""
GONE_NTU, FAINT_NTU = 100.0, 50.0
"""From which cloudiness on a card in the sample is gone, or faint."""


def cloudiest(tank: Tank) -> float:
    """Return the true cloudiness (NTU) at which a tank's water is to be changed."""
    return tank.turbidity_max_ntu or (FAINT_NTU if tank.look_limit is Look.FAINT else GONE_NTU)


def draw_world(seed: int, *, slips: bool = False, batches: tuple[int, int] = (40, 70)) -> World:
    """Return the world of a seed, with so many batches (least and most)."""
    random = np.random.default_rng([seed, 11])
    level_by = list(Method)[int(random.choice(3, p=(0.45, 0.3, 0.25)))]
    drawing = SetupDrawing(random)
    setup = drawing.setup(level_by)
    least = max(_SOFTEST_MG_L, _ALKALINITY_FOR_LEVEL * setup.tanks[0].chlorine.target_mg_l)
    source = (_even(random, least, 220.0), float(random.uniform(6.9, 8.3)))
    setup = structs.replace(setup, source=drawing.told_source(*source))
    return _world(random, seed, setup, level_by, source, slips=slips, batches=batches)


def draw_wild(seed: int, *, batches: tuple[int, int] = (10, 20)) -> World:
    """Return a world in which every third reading is anything at all, whatever is in the water."""
    world = draw_world(seed, batches=batches)
    return structs.replace(world, gauges=structs.replace(world.gauges, wild=_WILD))


def draw_tubs(seed: int, *, batches: tuple[int, int] = (30, 30)) -> World:
    """Return a world of three small tubs with strips and spoons."""
    random = np.random.default_rng([seed, 12])
    source = (_even(random, 25.0, 100.0), float(random.uniform(7.0, 8.1)))
    world = _world(random, seed, three_tubs(), Method.STRIP, source, slips=False, batches=batches)
    gauges = structs.replace(world.gauges, pads=PADS, ph_by=Method.STRIP, ph_step=0.5)
    setup = structs.replace(world.setup, strip_pads_mg_l=())
    return structs.replace(world, setup=setup, gauges=gauges, small_tubs=True)


def _volume_share(random: np.random.Generator) -> float:
    return float(np.clip(1.0 + 0.04 * random.standard_normal(), 0.9, 1.1))


def _world(
    random: np.random.Generator,
    seed: int,
    setup: LineSetup,
    level_by: Method,
    source: tuple[float, float],
    *,
    slips: bool,
    batches: tuple[int, int],
) -> World:
    count = int(random.integers(batches[0], batches[1] + 1))
    mechanism = draw_mechanism(random)
    peracetic = setup.tanks[0].peracetic is not None
    tap_demand = _even(random, 0.2, 2.0)
    demand = [tap_demand * pool.share for pool in mechanism.pools]
    released = float(random.uniform(0.55, 0.85))
    calcium = setup.sanitizers[0].kind is SanitizerKind.CALCIUM
    gauges = _gauges(random, level_by, peracetic=peracetic)
    if not peracetic and level_by is Method.STRIP and float(random.random()) < _TOLD_PADS:
        setup = structs.replace(setup, strip_pads_mg_l=gauges.pads)
    acid_share = float(np.clip(random.normal(0.03, 0.06), -0.1, 0.15))
    return World(
        seed=seed,
        setup=setup,
        gauges=gauges,
        mechanism=mechanism,
        batches=_batches(random, setup, count, released),
        pace=_even(random, 0.7, 1.4),
        released=released,
        dragged=_even(random, 0.001, 0.012),
        acid_meq_l=acid_share * source[0] / 50.0 / 40.0,
        strength_share=_strength(random),
        caustic=float(random.uniform(0.02, 0.15) if calcium else random.uniform(0.0, 0.2)),
        volume_shares=tuple(_volume_share(random) for _ in setup.tanks),
        pour_error=0.03,
        fresh=tap(source[0], source[1], demand, _even(random, 0.3, 3.0)),
        source=source,
        breaks=_breaks(random, count),
        slips=slips,
    )


_STRENGTHS = ((0.6, 0.85), (0.85, 1.03), (1.03, 1.1))
"""Of a container against its label, and below how often each."""


def _strength(random: np.random.Generator) -> float:
    low, high = _STRENGTHS[int(random.choice(len(_STRENGTHS), p=(0.25, 0.7, 0.05)))]
    return float(random.uniform(low, high))


def _breaks(random: np.random.Generator, count: int) -> dict[int, float]:
    many = int(random.choice(3, p=(0.4, 0.4, 0.2)))
    return {
        int(random.integers(5, max(6, count - 3))): float(random.uniform(15.0, 45.0))
        for _ in range(many)
    }


def _gauges(random: np.random.Generator, level_by: Method, *, peracetic: bool) -> Gauges:
    by_strip = level_by is Method.STRIP
    bias, error = {
        Method.STRIP: (0.05, 0.08),
        Method.KIT: (0.03, 0.04),
        Method.METER: (0.025, 0.03),
    }[level_by]
    ph_strip = float(random.random()) < (0.5 if by_strip else 0.1)
    pads = _PERACETIC_SCALE if peracetic else _SCALES[int(random.integers(len(_SCALES)))]
    return Gauges(
        level_by=level_by,
        ph_by=Method.STRIP if ph_strip else Method.METER,
        pads=pads,
        ph_step=float(random.choice((0.5, 0.25), p=(0.6, 0.4))) if ph_strip else 0.1,
        level_bias=bias * _bounded(random),
        level_error=error,
        ph_bias=(0.1 if ph_strip else 0.05) * _bounded(random),
        ph_error=0.15 if ph_strip else 0.03,
        combined_seen=float(random.uniform(0.0, 0.15)),
    )


def _bounded(random: np.random.Generator) -> float:
    return float(np.clip(random.standard_normal(), -2.0, 2.0))


def _batches(
    random: np.random.Generator, setup: LineSetup, count: int, released: float
) -> tuple[Batch, ...]:
    first = setup.tanks[0]
    target = first.limits.target_mg_l
    usual = target * min(0.15, 0.038 * math.exp(0.5 * _bounded(random)))
    kg = first.volume_l * _even(random, 0.02, 0.12)
    ntu = cloudiest(first) / float(random.uniform(20.0, 90.0))
    regular = int(random.integers(3))
    weight_spread = (0.06, 0.35, 0.25)[regular]
    spread = float(random.uniform(0.1, 0.35))
    found: list[Batch] = []
    lot, factor, dirt = 0, 1.0, 1.0
    lots_long = int(random.integers(12, 40))
    for number in range(count):
        if number and number % lots_long == 0:
            lot += 1
            factor = float(np.clip(factor * 3.0 ** float(random.uniform(-1.0, 1.0)), 0.4, 3.0))
            dirt = math.exp(0.5 * _bounded(random))
        share = math.exp(weight_spread * _bounded(random))
        mine = share * factor * math.exp(spread * _bounded(random))
        found.append(
            Batch(
                kg=max(0.1, round(kg * share, 1)),
                lot=f"L-{lot + 1}",
                demand=min(usual * mine, _MOST_OF_TARGET * target) / released,
                ntu=ntu * share * dirt * math.exp(0.3 * _bounded(random)) / released,
                told_kg=None if regular == 2 else max(0.1, round(kg * share, 1)),
            )
        )
    return tuple(found)


def _even(random: np.random.Generator, low: float, high: float) -> float:
    """Draw from a range, evenly on a logarithmic scale."""
    return math.exp(float(random.uniform(math.log(low), math.log(high))))
