"""How much restores the target in water that still has demand waiting, and when that is no use."""

from datetime import date

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from washmon.chemistry.checks import ChemistryError
from washmon.forecast.chances import Chances
from washmon.forecast.kinetics import Chlorine
from washmon.forecast.outlook import Pace, Range, range_of, run
from washmon.forecast.particles import Particles
from washmon.line.flags import Amount
from washmon.line.product import dose
from washmon.line.setup import LineSetup, Tank
from washmon.line.strength import strength_on

_SETTLED_MIN = 5.0
"""After mixing: by then the fast demand has had its share (Weng et al.: half within 5 min)."""
_HOUR_MIN = 60.0
_FORWARD = 20
_THERE = 0.97
_ROUNDS = 3


class Restoring(Struct, frozen=True, kw_only=True):
    """The dose that brings the water to its target once it is mixed and has settled.

    ``rise_mg_l`` is by the product's strength on the day, in clean water. ``eaten_mg_l`` of it goes
    to demand that waits in the water. ``capped`` where the label's maximum allows no more (the
    container may have lost nothing of its strength), so the target is not reached. ``amount`` is
    missing where the product's strength is not known.
    """

    rise_mg_l: float
    eaten_mg_l: float
    reached: Range
    amount: Amount | None
    capped: bool


class Holding(Struct, frozen=True, kw_only=True):
    """Whether dosing this water still pays against a water change.

    Chlorine in g as Cl2: to bring this water to its target and keep it there for an hour against
    what waits in it, and to bring fresh water there. What new batches bring comes on top of both.
    """

    batches_per_dose: Range
    """Washed after that dose before the level is under the operating low."""
    batches_in_fresh: Range
    keep_g: Range
    change_g: float
    no_longer: bool


def restoring(setup: LineSetup, tank: Tank, particles: Particles, on: date) -> Restoring | None:
    """Return the dose that restores the target, or nothing where the water is there already.

    ``on`` is the day on which it is poured: the product is as strong as it is by then.
    """
    target, level = tank.chlorine.target_mg_l, particles.water.level
    settled_min = max(0.0, tank.mix_minutes) + _SETTLED_MIN
    undosed = float(np.median(particles.propagated(settled_min).water.level))
    if undosed >= _THERE * target:
        return None
    room = tank.chlorine.label_max_mg_l - float(np.quantile(level, 0.9))
    strongest = max(float(np.quantile(particles.strength, 0.9)), _undecayed(setup, tank, on))
    most = max(0.0, room / strongest)
    rise = min(most, target - undosed)
    for _ in range(_ROUNDS):
        reached = particles.dosed(rise).propagated(settled_min).water.level
        rise = min(most, max(0.0, rise + target - float(np.median(reached))))
    if rise <= 0:
        return None
    reached = particles.dosed(rise).propagated(settled_min).water.level
    return Restoring(
        rise_mg_l=rise,
        eaten_mg_l=float(np.median(level + rise * particles.strength - reached)),
        reached=range_of(reached),
        amount=_amount(setup, tank, particles.volume_l, rise, on),
        capped=rise >= most,
    )


def holding(
    tank: Tank,
    particles: Particles,
    pace: Pace,
    *,
    rise_mg_l: float,
    chances: Chances,
) -> Holding:
    """Weigh dosing this water on against a water change."""
    limits, water, tap = tank.chlorine, particles.water, chances.tap_demand_mg_l
    both = particles.dosed(rise_mg_l).beside(_fresh(particles, limits.target_mg_l, tap))
    gone_on = run(
        both.propagated(tank.mix_minutes),
        replace(pace, since_min=pace.minutes),
        limits.low_mg_l,
        batch_spread=chances.batch,
        most=_FORWARD,
    )
    batches = gone_on.until(limits.low_mg_l)[0]
    per_dose, per_fill = range_of(batches[: particles.count]), range_of(batches[particles.count :])
    slow = water.slow * -np.expm1(-particles.rates.slow * limits.target_mg_l * _HOUR_MIN)
    gap = np.maximum(limits.target_mg_l - water.level, 0.0)
    keep = range_of((gap + water.fast + slow) * particles.volume_l / 1000)
    change = (limits.target_mg_l + tap) * particles.volume_l / 1000
    short = per_dose.mid < min(tank.min_batches_per_dose, per_fill.mid - 1)
    return Holding(
        batches_per_dose=per_dose,
        batches_in_fresh=per_fill,
        keep_g=keep,
        change_g=change,
        no_longer=keep.mid > change or short,
    )


def _fresh(particles: Particles, target_mg_l: float, tap_demand_mg_l: float) -> Particles:
    """Return a fill of tap water with its first dose."""
    tap = np.full(particles.count, tap_demand_mg_l / 2)
    return particles.holding(Chlorine(np.full(particles.count, target_mg_l), tap, tap))


def _undecayed(setup: LineSetup, tank: Tank, on: date) -> float:
    """Return how many times stronger a container is than on its day, if it has lost nothing."""
    product = setup.sanitizer(tank.sanitizer)
    try:
        strength = None if product is None else strength_on(product, on)
    except ChemistryError:
        strength = None
    return 1.0 if strength is None else strength.undecayed / strength.best


def _amount(
    setup: LineSetup, tank: Tank, volume_l: float, rise_mg_l: float, on: date
) -> Amount | None:
    product = setup.sanitizer(tank.sanitizer)
    if product is None:
        return None
    try:
        return dose(product, volume_l, 0.0, rise_mg_l, on)
    except ChemistryError:
        return None
