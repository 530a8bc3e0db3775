"""Amounts in the measures that a shed owns."""

from washmon.chemistry.measures import METRIC_SET, US_SET, Measured, in_measure
from washmon.line.flags import Amount
from washmon.line.setup import LineSetup
from washmon.units import Taste


def measured(amount: Amount, setup: LineSetup, *, never_more: bool = False) -> Measured:
    """Return an amount as the shed can measure it; a usual set stands in where none is named.

    Raises:
        ChemistryError: the amount is not above 0, or absurd.
    """
    usual = US_SET if setup.taste is Taste.US else METRIC_SET
    return in_measure(
        amount.value,
        setup.measures or usual,
        solid=amount.unit == "g",
        never_more=never_more,
    )
