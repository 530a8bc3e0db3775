"""An amount that a hand will pour, in the measure that is owned."""

from dataclasses import dataclass

from washmon.chemistry.measures import CAUTION_TEXT, Caution, Measured, in_measure
from washmon.line.calculations.asking import Circumstances
from washmon.line.calculations.result import Value
from washmon.line.message import Figure, Message
from washmon.units import Kind

_BLANK = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class Pour:
    """So many mL, or g of a solid, and how they are measured."""

    value: float
    solid: bool
    measured: Measured
    decimal_point: str
    never_more: bool

    @property
    def words(self) -> str:
        """The amount as it is measured; the amount itself where no measure is small enough."""
        if self.never_more and self.measured.caution is Caution.TOO_SMALL:
            unit = "g" if self.solid else "mL"
            number = f"{self.value:.2g}".replace(".", self.decimal_point)
            return f"{number}{_BLANK}{unit}"
        return self.measured.describe(self.decimal_point)

    def span(self, low: float, high: float) -> str:
        """Return a range in the same measure, without its unit."""
        return self.measured.span(low, high, self.decimal_point).partition(_BLANK)[0]

    @property
    def figure(self) -> Figure:
        """The exact amount."""
        return Figure(self.value, Kind.MASS if self.solid else Kind.SMALL_VOLUME)

    @property
    def notes(self) -> tuple[Message, ...]:
        """What to think of when measuring it."""
        caution = self.measured.caution
        return () if caution is None else (Message(CAUTION_TEXT[caution]),)

    @property
    def data(self) -> dict[str, Value]:
        """The amount as plain values."""
        return {
            "amount": round(self.value, 3),
            "unit": "g" if self.solid else "mL",
            "measured": self.words,
            "measured_error_pct": round(100 * self.measured.error_fraction, 1),
        }


def pour(
    value: float, circumstances: Circumstances, *, solid: bool = False, never_more: bool = False
) -> Pour:
    """Return an amount (mL, or g of a solid) as it can be measured; acid is never rounded up.

    Raises:
        ChemistryError: the amount is not above 0, or absurd.
    """
    measured = in_measure(value, circumstances.owned, solid=solid, never_more=never_more)
    return Pour(value, solid, measured, circumstances.decimal_point, never_more)
