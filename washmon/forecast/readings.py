"""How likely a reading is at each level the water may have, by what the method can tell."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from washmon.forecast.kinetics import Floats
from washmon.line.events import Method
from washmon.line.strip import strip_range

_LOGISTIC = 3**0.5 / np.pi
"""Scale of a logistic error over its standard deviation; people judge near shades about so."""
_FREEDOM = 5.0
_STUDENT_AT_0 = 8 / (3 * np.pi * np.sqrt(5.0))


@dataclass(frozen=True)
class Accuracy:
    """How far methods are off: shares of the reading, and mg/L. Common practice, no source."""

    kit_share: float = 0.036
    kit_mg_l: float = 0.6
    meter_share: float = 0.04
    meter_mg_l: float = 0.6
    eye_share: float = 0.085
    eye_mg_l: float = 0.8
    strip_min: float = 1.5
    kit_min: float = 3.0
    meter_min: float = 4.0
    """From the sample to the entry, minutes: reading it, measuring the rest, writing it down."""
    long_tails: bool = True
    """A number that is far off is rare, but less so than a normal error says (Student's t)."""

    def lag(self, method: Method) -> timedelta:
        """Return how long before its entry the sample was taken."""
        minutes = {Method.STRIP: self.strip_min, Method.KIT: self.kit_min}
        return timedelta(minutes=minutes.get(method, self.meter_min))

    def deviation_mg_l(self, value_mg_l: float, method: Method) -> float:
        """Return the standard deviation of a reading by kit or meter, mg/L."""
        if method is Method.METER:
            return float(np.hypot(self.meter_share * value_mg_l, self.meter_mg_l))
        return float(np.hypot(self.kit_share * value_mg_l, self.kit_mg_l))


USUAL_ACCURACY = Accuracy()


@dataclass(frozen=True)
class Seen:
    """A reading of free chlorine, mg/L, made so many times less sure where the water is unmixed."""

    value_mg_l: float
    method: Method
    doubt: float = 1.0

    def likelihood(self, level: Floats, accuracy: Accuracy) -> Floats:
        """Return the probability of a strip's pad, or the density (L/mg) of a number, per level."""
        if self.method is Method.STRIP:
            width = np.hypot(accuracy.eye_share * level, accuracy.eye_mg_l) * self.doubt * _LOGISTIC
            low, high = strip_range(self.value_mg_l)
            under_high = _logistic((high - level) / width)
            under_low = _logistic((low - level) / width)
            if low <= 0:
                under_low = np.zeros_like(level)
            return np.maximum(under_high - under_low, 0.0)
        deviation = self.doubt * accuracy.deviation_mg_l(self.value_mg_l, self.method)
        off: Floats = (self.value_mg_l - level) / deviation
        density: Floats
        if accuracy.long_tails:
            density = _STUDENT_AT_0 * (1 + off**2 / _FREEDOM) ** (-(_FREEDOM + 1) / 2) / deviation
        else:
            density = np.exp(-0.5 * off**2) / (deviation * np.sqrt(2 * np.pi))
        return density

    def draw(self, rng: np.random.Generator, count: int, accuracy: Accuracy) -> Floats:
        """Return levels that this reading alone would suggest."""
        if self.method is Method.STRIP:
            return rng.uniform(*strip_range(self.value_mg_l), count)
        width = self.doubt * accuracy.deviation_mg_l(self.value_mg_l, self.method)
        return np.maximum(self.value_mg_l + width * rng.standard_normal(count), 0.0)

    def likelihood_at_random(self, highest_mg_l: float) -> float:
        """Return how likely the reading is of water that may have any level up to a highest."""
        if self.method is Method.STRIP:
            low, high = strip_range(self.value_mg_l)
            return (high - low) / max(highest_mg_l, high)
        return 1.0 / max(highest_mg_l, self.value_mg_l, 1.0)


def _logistic(x: Floats) -> Floats:
    answer: Floats = 0.5 * (1 + np.tanh(0.5 * x))
    return answer
