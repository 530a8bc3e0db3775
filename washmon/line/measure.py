"""Amounts in the measures that a shed owns."""

from washmon.chemistry.diluting import with_dilution
from washmon.chemistry.measures import METRIC_SET, US_SET
from washmon.chemistry.measuring import MeasuredAmount, MeasuringCaution
from washmon.line.flags import Amount
from washmon.line.message import Message
from washmon.line.setup import LineSetup
from washmon.units import UnitSystem


def owned(setup: LineSetup) -> tuple[str, ...]:
    """Return the names of the measures a shed owns; a usual set stands in where none is named."""
    return setup.measures or (US_SET if setup.taste is UnitSystem.US else METRIC_SET)


def measured(
    amount: Amount,
    setup: LineSetup,
    *,
    at_most: Amount | float | None = None,
    at_least: Amount | float | None = None,
) -> MeasuredAmount:
    """Return an amount as the shed can measure it: the owned measure that comes nearest.

    What is really added is never over ``at_most`` (what label or law allow, or what the pH stands).
    Where nothing owned is within 10 %, an owned one from ``at_least`` up will do, if that is given;
    else the amount is told in mL or g, and :func:`how` says what works.

    Raises:
        ChemistryError: the amount is not above 0, or absurd.
    """
    most = at_most.value if isinstance(at_most, Amount) else at_most
    least = at_least.value if isinstance(at_least, Amount) else at_least
    solid = amount.unit == "g"
    return with_dilution(amount.value, owned(setup), solid=solid, at_most=most, at_least=least)


def how(measured: MeasuredAmount, decimal_point: str = ".") -> Message | None:
    """Return how an amount is measured that no owned measure comes near; nothing where one does."""
    if measured.caution is None:
        return None
    amount = measured.describe(decimal_point)
    if measured.caution is MeasuringCaution.TOO_LARGE:
        return Message(
            "{times} fillings are easily miscounted: use a larger measure, or tick them off.",
            {"times": measured.fillings},
        )
    dilution = measured.dilution
    if dilution is None:
        return Message(
            "None of your measures comes near {amount}: use one that does, and enter it in the "
            "set-up.",
            {"amount": amount},
        )
    return Message(
        "None of your measures comes near {amount}. Make a dilution first: stir {part} of it into "
        "{water} of clean water in a clean jug, never the water into it; then add {take} of that, "
        "and throw the rest away.",
        {
            "amount": amount,
            "part": dilution.part.describe(decimal_point),
            "water": dilution.water.describe(decimal_point),
            "take": dilution.take.describe(decimal_point),
        },
    )
