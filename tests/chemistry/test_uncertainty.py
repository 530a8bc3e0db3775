"""How sure an amount is."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.uncertainty import ErrorRange, largest_rise, reached


def test_a_rise_carries_its_errors_as_squares() -> None:
    # Errors that do not depend on each other add as squares (JCGM 100:2008, 5.1.2).
    found = reached(ErrorRange(50.0, 55.0, 60.0), 45.0, under=0.1, over=0.2)
    assert found.best == pytest.approx(100.0)
    assert found.high - found.best == pytest.approx(math.hypot(5.0, 9.0))
    assert found.best - found.low == pytest.approx(math.hypot(5.0, 4.5))


@given(
    level=st.floats(0, 200),
    wide=st.floats(0, 0.5),
    over=st.floats(0, 0.5),
    maximum=st.floats(5, 200),
)
def test_the_largest_rise_comes_up_to_the_maximum_and_no_further(
    level: float, wide: float, over: float, maximum: float
) -> None:
    was = ErrorRange(0.9 * level, level, (1 + wide) * level)
    if was.high >= maximum:
        with pytest.raises(ChemistryError, match="add nothing"):
            largest_rise(was, maximum, over)
        return
    most = largest_rise(was, maximum, over)
    assert reached(was, most, over, over).high == pytest.approx(maximum, rel=1e-6)
