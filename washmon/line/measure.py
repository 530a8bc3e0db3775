"""Amounts in the measures that a shed owns."""

import math

from washmon.chemistry.measures import METRIC_SET, US_SET, Caution, Measured, in_measure
from washmon.line.flags import Amount
from washmon.line.setup import LineSetup
from washmon.units import Taste


def measured(amount: Amount, setup: LineSetup, *, never_more: bool = False) -> Measured:
    """Return an amount as the shed can measure it; a usual set stands in where none is named.

    ``never_more`` (for acid) rounds down. An amount under the smallest measure owned stays what it
    is, in mL or g, with the caution TOO_SMALL: never is the measure's size told in its place.

    Raises:
        ChemistryError: the amount is not above 0, or absurd.
    """
    usual = US_SET if setup.taste is Taste.US else METRIC_SET
    found = in_measure(
        amount.value,
        setup.measures or usual,
        solid=amount.unit == "g",
        never_more=never_more,
    )
    too_small = found.caution is Caution.TOO_SMALL
    if found.actual > amount.value and (never_more or too_small):
        return _bare(amount, found.caution)
    return found


def _bare(amount: Amount, caution: Caution | None) -> Measured:
    """Return an amount in its own unit, rounded down to two figures."""
    step = 10.0 ** (math.floor(math.log10(amount.value)) - 1)
    count = math.floor(amount.value / step + 1e-9) * step
    error = count / amount.value - 1
    return Measured(count, amount.unit, step, 1.0, count, error, 1, caution)
