"""How likely a reading is at each level the water may have, by what the method can tell."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from washmon.forecast.kinetics import Floats
from washmon.line.events import Method
from washmon.line.reading import PADS_MG_L, Pads, strip_range, usable_pads
from washmon.line.setup import LineSetup

_LOGISTIC = 3**0.5 / np.pi
"""Scale of a logistic error over its standard deviation; people judge near shades about so."""
_FREEDOM = 5.0
_STUDENT_AT_0 = 8 / (3 * np.pi * np.sqrt(5.0))


def _student(t: Floats) -> Floats:
    """Return the distribution function of Student's t of five degrees, in its closed form.

    Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.7.3.
    """
    angle = np.arctan(t / np.sqrt(_FREEDOM))
    cos = np.cos(angle)
    answer: Floats = 0.5 + (angle + np.sin(angle) * (cos + 2 / 3 * cos**3)) / np.pi
    return answer


_SHARES = (np.arange(16) + 0.5) / 16
_LOGISTIC_ERRORS = np.log(_SHARES / (1 - _SHARES))
_GRID = np.linspace(-8.0, 8.0, 1601)
_STUDENT_ERRORS = np.interp(_SHARES, _student(_GRID), _GRID)
"""Errors that stand for all: so many equal parts of their distribution, the middle of each."""


@dataclass(frozen=True)
class Accuracy:
    """How far methods are off: shares of the reading, and mg/L. Common practice, no source."""

    kit_share: float = 0.036
    kit_mg_l: float = 0.6
    meter_share: float = 0.04
    meter_mg_l: float = 0.6
    eye_share: float = 0.085
    eye_mg_l: float = 0.8
    strip_min: float = 1.0
    kit_min: float = 2.0
    meter_min: float = 2.0
    """From the sample to the entry, minutes: reading it, measuring the rest, writing it down."""
    pads: Pads = PADS_MG_L
    """Of the strips in use, mg/L."""
    long_tails: bool = True
    """A number that is far off is rare, but less so than a normal error says (Student's t)."""

    def lag(self, method: Method) -> timedelta:
        """Return how long before its entry the sample was taken."""
        minutes = {Method.STRIP: self.strip_min, Method.KIT: self.kit_min}
        return timedelta(minutes=minutes.get(method, self.meter_min))

    def deviation_mg_l(self, value_mg_l: Floats | float, method: Method) -> Floats:
        """Return the standard deviation of readings by kit or meter, mg/L."""
        share, least = self.kit_share, self.kit_mg_l
        if method is Method.METER:
            share, least = self.meter_share, self.meter_mg_l
        deviation: Floats = np.hypot(share * value_mg_l, least)
        return deviation

    def eye_width(self, level: Floats) -> Floats:
        """Return the scale of the logistic error of reading a strip, mg/L, at each level."""
        width: Floats = np.hypot(self.eye_share * level, self.eye_mg_l) * _LOGISTIC
        return width

    def readings_of(self, level: Floats, method: Method) -> Floats:
        """Return equally likely readings, mg/L, of water that looks like these levels to a method.

        The bias of the instrument must be in the levels already.
        """
        if method is Method.STRIP:
            eye = level + self.eye_width(level) * _LOGISTIC_ERRORS[:, None]
            pads = np.array(self.pads)
            seen: Floats = pads[np.searchsorted((pads[1:] + pads[:-1]) / 2, eye.ravel())]
            return seen
        off = _STUDENT_ERRORS[:, None] * self.deviation_mg_l(level, method)
        read: Floats = np.maximum(level + off, 0.0).ravel()
        return read


USUAL_ACCURACY = Accuracy()


def accuracy_of(setup: LineSetup) -> Accuracy:
    """Return how far the instruments of a line are off: its strips have the pads of their pack."""
    pads = usable_pads(setup.strip_pads_mg_l)
    return USUAL_ACCURACY if pads == PADS_MG_L else Accuracy(pads=pads)


@dataclass(frozen=True)
class Seen:
    """A reading of free chlorine, mg/L, made so many times less sure where the water is unmixed."""

    value_mg_l: float
    method: Method
    doubt: float = 1.0

    def likelihood(self, level: Floats, accuracy: Accuracy) -> Floats:
        """Return the probability of a strip's pad, or the density (L/mg) of a number, per level."""
        if self.method is Method.STRIP:
            width = accuracy.eye_width(level) * self.doubt
            low, high = strip_range(self.value_mg_l, accuracy.pads)
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

    def tails(self, level: Floats, accuracy: Accuracy) -> tuple[Floats, Floats]:
        """Return how likely a reading up to this one is, and one from this one on, per level."""
        if self.method is Method.STRIP:
            low, high = strip_range(self.value_mg_l, accuracy.pads)
            width = accuracy.eye_width(level) * self.doubt
            upto, from_ = _logistic((high - level) / width), _logistic((level - low) / width)
            if low <= 0:
                from_ = np.ones_like(level)
            if self.value_mg_l >= accuracy.pads[-1]:
                upto = np.ones_like(level)
            return upto, from_
        deviation = self.doubt * accuracy.deviation_mg_l(self.value_mg_l, self.method)
        upto = _student((self.value_mg_l - level) / deviation)
        return upto, 1 - upto

    def draw(self, rng: np.random.Generator, count: int, accuracy: Accuracy) -> Floats:
        """Return levels that this reading alone would suggest."""
        if self.method is Method.STRIP:
            return rng.uniform(*strip_range(self.value_mg_l, accuracy.pads), count)
        width = self.doubt * accuracy.deviation_mg_l(self.value_mg_l, self.method)
        return np.maximum(self.value_mg_l + width * rng.standard_normal(count), 0.0)

    def likelihood_at_random(self, highest_mg_l: float, accuracy: Accuracy) -> float:
        """Return how likely the reading is of water that may have any level up to a highest."""
        if self.method is Method.STRIP:
            low, high = strip_range(self.value_mg_l, accuracy.pads)
            return (high - low) / max(highest_mg_l, high)
        return 1.0 / max(highest_mg_l, self.value_mg_l, 1.0)


def _logistic(x: Floats) -> Floats:
    answer: Floats = 0.5 * (1 + np.tanh(0.5 * x))
    return answer
