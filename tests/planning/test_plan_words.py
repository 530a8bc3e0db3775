"""How plans put figures into words."""

import pytest

from washmon.line.message import say
from washmon.line.plan import Span
from washmon.planning.plan_words import surprise
from washmon.units import UnitSystem


@pytest.mark.parametrize(
    ("span", "expected"), [(Span(49.6, 50.4), "50 was"), (Span(44.0, 56.0), "44–56 was")]
)
def test_a_range_that_reads_as_one_value_is_said_as_one(span: Span, expected: str) -> None:
    said = say(surprise(12.0, span), UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")
    assert said == f"It read 12 ppm, and {expected} expected: the plan goes by the reading."
