"""The working volume from inside measurements."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from washmon.line.setup import InsideMeasurements, Shape
from washmon.line.volume import MeasurementError, working_volume_l

lengths = st.floats(1.0, 1_000.0)


def inside(
    shape: Shape, width: float, depth: float, length: float | None = None
) -> InsideMeasurements:
    return InsideMeasurements(shape=shape, width_cm=width, depth_cm=depth, length_cm=length)


def test_a_cube_of_one_foot_holds_7_48_us_gallons() -> None:
    # 1 ft3 = 1728 in3 and 1 US gal = 231 in3 by definition (NIST Handbook 44, appendix C).
    litres = working_volume_l(inside(Shape.RECTANGULAR, 30.48, 30.48, 30.48))
    assert litres / 3.785411784 == pytest.approx(1728 / 231, rel=1e-12)


def test_a_round_tank_is_a_cylinder() -> None:
    assert working_volume_l(inside(Shape.ROUND, 100, 50)) == pytest.approx(125 * math.pi)


def test_a_full_trough_is_half_a_cylinder() -> None:
    full = working_volume_l(inside(Shape.TROUGH, 60, 30, 400))
    assert full == pytest.approx(math.pi * 30**2 / 2 * 400 / 1000)


@given(radius=lengths, part=st.floats(0.01, 1.0), length=lengths)
def test_a_trough_agrees_with_the_integral_over_its_depth(
    radius: float, part: float, length: float
) -> None:
    depth = part * radius
    # The chord at height y over the bottom is 2 sqrt(2 R y - y^2). With y = s^2 the integrand is
    # smooth at the bottom, so that quad reaches full accuracy.
    area, _ = quad(lambda s: 4 * s * s * math.sqrt(2 * radius - s * s), 0, math.sqrt(depth))
    found = working_volume_l(inside(Shape.TROUGH, 2 * radius, depth, length))
    assert found == pytest.approx(area * length / 1000, rel=1e-8)


@given(width=lengths, depth=lengths, length=lengths)
def test_twice_the_length_is_twice_the_water(width: float, depth: float, length: float) -> None:
    one = working_volume_l(inside(Shape.RECTANGULAR, width, depth, length))
    two = working_volume_l(inside(Shape.RECTANGULAR, width, depth, 2 * length))
    assert two == pytest.approx(2 * one)


@pytest.mark.parametrize("nonsense", [0.0, -3.0, math.nan, math.inf, 20_000.0])
@pytest.mark.parametrize("field", ["width_cm", "depth_cm", "length_cm"])
def test_nonsense_is_refused_beside_its_field(field: str, nonsense: float) -> None:
    sizes = {"width_cm": 50.0, "depth_cm": 20.0, "length_cm": 100.0, field: nonsense}
    with pytest.raises(MeasurementError) as refusal:
        working_volume_l(InsideMeasurements(shape=Shape.RECTANGULAR, **sizes))
    assert refusal.value.field == field
    assert str(refusal.value).endswith(".")


def test_a_trough_can_not_be_deeper_than_its_radius() -> None:
    with pytest.raises(MeasurementError, match="half as deep") as refusal:
        working_volume_l(inside(Shape.TROUGH, 60, 30.1, 400))
    assert refusal.value.field == "depth_cm"


@pytest.mark.parametrize("shape", [Shape.RECTANGULAR, Shape.TROUGH])
def test_a_length_is_needed_where_the_shape_has_one(shape: Shape) -> None:
    with pytest.raises(MeasurementError, match="needed") as refusal:
        working_volume_l(inside(shape, 60, 20))
    assert refusal.value.field == "length_cm"


def test_a_round_tank_has_no_length() -> None:
    with pytest.raises(MeasurementError, match="no length"):
        working_volume_l(inside(Shape.ROUND, 60, 20, 100))
