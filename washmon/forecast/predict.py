"""What would come of it: particles after something is done, and what an instrument will read then.

Pure: no clock and no random number but those that belong to the particles' own fill.
"""

from dataclasses import replace

import numpy as np

from washmon.forecast.kinetics import Chlorine, Floats
from washmon.forecast.outlook import Ahead, Pace, Range, range_of, run
from washmon.forecast.particles import Particles, normals
from washmon.forecast.prior import Trait
from washmon.forecast.readings import USUAL_ACCURACY, Accuracy, Seen
from washmon.line.events import Method
from washmon.line.reading import Pads

_DOSE, _DOSE_SPREAD = 2, 0.04
TAP_DEMAND_MG_L = 1.0
"""Of fresh water, mg/L as Cl2; common practice, no published source."""


def after_dose(particles: Particles, rise_mg_l: float) -> Particles:
    """Return the particles after a dose that raises clean water so far, mg/L, as is said of it.

    How strong the product really is, and how well it was measured out, is as unsure as it is known;
    nothing has reacted yet: let it rest for the minutes of mixing.
    """
    error = np.exp(_DOSE_SPREAD * normals(particles.seed, _DOSE, 1, particles.count)[0])
    level = particles.level + max(rise_mg_l, 0.0) * error * particles.strength
    return particles.holding(particles.water._replace(level=level))


def after_exchange(particles: Particles, share: float) -> Particles:
    """Return the particles after a share of the water, 0 to 1, was let out for fresh water.

    With 1 it is a fresh fill, without chlorine.
    """
    part = min(max(share, 0.0), 1.0)
    level, fast, slow = (now * (1 - part) for now in particles.water)
    tap = part * TAP_DEMAND_MG_L / 2
    return particles.holding(Chlorine(level, fast + tap, slow + tap))


def after_rest(particles: Particles, minutes: float) -> Particles:
    """Return the particles after some minutes in which nothing is washed or added."""
    return particles.propagated(minutes)


def run_ahead(particles: Particles, pace: Pace, n_batches: int) -> Ahead:
    """Return the particles looked ahead through so many batches: minutes, and levels in mg/L.

    ``pace.kg`` must be known: :attr:`washmon.forecast.look_ahead.Forecast.pace` has it.
    """
    return run(particles, pace, most=n_batches)


def levels_ahead(particles: Particles, pace: Pace, n_batches: int) -> Floats:
    """Return free chlorine, mg/L, that each of the next batches meets: a column for each particle.

    Row 0 is what the next batch meets, row 1 what the one after it meets; the last, row
    ``n_batches``, is what is left at the end of the time after the last batch.
    """
    return run_ahead(particles, pace, n_batches).levels[1:]


def chances_under(levels: Floats, limit_mg_l: float) -> Floats:
    """Return the chance of being under a limit at each moment, a row of ``levels`` each."""
    chances: Floats = np.mean(levels < limit_mg_l, axis=-1)
    return chances


def will_read(
    particles: Particles,
    method: Method,
    scale: Pads | None = None,
    accuracy: Accuracy = USUAL_ACCURACY,
) -> Range:
    """Return between which values this shed's instrument will read in 8 of 10 cases, mg/L.

    Its own bias counts, so far as readings told of it; a strip reads one of the pads of its
    ``scale`` (mg/L, rising; the usual one if none is given).
    """
    told = accuracy if scale is None else replace(accuracy, pads=scale)
    return range_of(told.readings_of(particles.level * _bias(particles, method), method))


def surprise(
    particles: Particles,
    value_mg_l: float,
    method: Method,
    scale: Pads | None = None,
    accuracy: Accuracy = USUAL_ACCURACY,
) -> float:
    """Return how likely a reading at least as far off on its side was, both sides counted, 0 to 1.

    Near 1 it is just what was expected; 0.02 is what one reading in fifty does.
    """
    told = accuracy if scale is None else replace(accuracy, pads=scale)
    seen = particles.level * _bias(particles, method)
    below, above = Seen(value_mg_l, method).tails(seen, told)
    return min(1.0, 2.0 * min(float(np.mean(below)), float(np.mean(above))))


def _bias(particles: Particles, method: Method) -> Floats:
    trait = Trait.STRIP if method is Method.STRIP else Trait.KIT
    bias: Floats = np.exp(particles.traits[trait])
    return bias
