"""An amount that a hand will pour, in the measure that is owned."""

from dataclasses import dataclass

from washmon.chemistry.diluting import with_dilution
from washmon.chemistry.measuring import MeasuredAmount
from washmon.line.calculations.asking import Circumstances
from washmon.line.calculations.result import Value
from washmon.line.measure import how
from washmon.line.message import Figure, Message
from washmon.units import Kind


@dataclass(frozen=True, slots=True)
class Pour:
    """So many mL, or g of a solid, and how they are measured."""

    value: float
    solid: bool
    measured: MeasuredAmount
    decimal_point: str

    @property
    def actual(self) -> float:
        """What is really added, mL or g."""
        return self.measured.actual

    @property
    def words(self) -> str:
        """The amount as it is measured; in mL or g where nothing owned comes near."""
        return self.measured.describe(self.decimal_point)

    @property
    def figure(self) -> Figure:
        """The exact amount."""
        return self.exactly(self.value)

    def exactly(self, value: float) -> Figure:
        """Return any amount of it, as it is."""
        return Figure(value, Kind.MASS if self.solid else Kind.SMALL_VOLUME)

    @property
    def notes(self) -> tuple[Message, ...]:
        """What to think of when measuring it."""
        found = how(self.measured, self.decimal_point)
        return () if found is None else (found,)

    @property
    def data(self) -> dict[str, Value]:
        """The amount as plain values."""
        return {
            "amount": self.value,
            "unit": "g" if self.solid else "mL",
            "measured": self.words,
            "measured_error_pct": 100 * (self.actual / self.value - 1),
        }


def pour(
    value: float,
    circumstances: Circumstances,
    *,
    solid: bool = False,
    at_most: float | None = None,
) -> Pour:
    """Return an amount (mL, or g of a solid) as it can be measured, never over ``at_most``.

    Raises:
        ChemistryError: the amount is not above 0, or absurd.
    """
    measured = with_dilution(value, circumstances.owned, solid=solid, at_most=at_most)
    return Pour(value, solid, measured, circumstances.decimal_point)
