"""Refusals that the chemistry shares: sentences for a supervisor, and the bounds behind them."""

from typing import TYPE_CHECKING, TypeVar

from washmon.units import PlainError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# A formula takes floats and gives a float, or takes arrays (broadcast) and gives an array.
Number = TypeVar("Number", float, "NDArray[np.float64]")

LARGEST_VOLUME_L = 1e6
_HUGE = 1e300


class ChemistryError(PlainError):
    """An amount that cannot be worked out, with the reason in one sentence."""


def within(value: Number, low: float, high: float = _HUGE) -> bool:
    """Tell whether a number, or each of an array, lies from low to high; NaN does not."""
    inside = (value >= low) & (value <= high)
    return inside if isinstance(inside, bool) else bool(inside.all())


def require(value: Number, what: str, low: float, high: float, unit: str = "") -> None:
    """Refuse a value outside low to high.

    Args:
        value: a number, or an array of any shape.
        what: it is, for the sentence.
        low: the least that may be, in the value's unit.
        high: the most.
        unit: for the sentence.

    Raises:
        ChemistryError: with a sentence that says what is plausible.
    """
    if not within(value, low, high):
        raise ChemistryError(
            "The {what} must be between {low} and {high}: check it and enter it again.",
            what=what,
            low=f"{low:g}",
            high=f"{high:g} {unit}".strip(),
        )


def require_water(volume_l: Number) -> None:
    """Refuse a tank without water, or one that no shed could house.

    Raises:
        ChemistryError: with a sentence that asks for the volume.
    """
    if not within(volume_l, 1e-3):
        raise ChemistryError("There is no water in this tank: enter its volume first.")
    if not within(volume_l, 0.0, LARGEST_VOLUME_L):
        raise ChemistryError(
            "More than {volume} L is not plausible for a tank: check its volume.",
            volume=f"{LARGEST_VOLUME_L:.0f}",
        )
