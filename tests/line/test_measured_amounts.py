"""What is said of an amount by the measures that a shed owns."""

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.shed import a_setup
from washmon.chemistry.measures import MEASURES, US_SET
from washmon.chemistry.measuring import MeasuringCaution
from washmon.line.flags import Amount
from washmon.line.measure import how, measured
from washmon.line.message import say
from washmon.units import UnitSystem


def test_what_no_measure_is_near_says_what_works() -> None:
    setup = a_setup(measures=US_SET, taste=UnitSystem.US)
    small = measured(Amount(0.13, "mL"), setup)
    assert small.caution is MeasuringCaution.NOT_NEAR
    told = how(small)
    assert told is not None
    sentence = say(told, UnitSystem.US)
    assert "None of your measures comes near 0.13" in sentence
    assert "never the water into it" in sentence
    large = measured(Amount(9000.0, "mL"), setup)
    assert large.caution is MeasuringCaution.TOO_LARGE
    assert how(large) is not None
    assert how(measured(Amount(11.5, "mL"), setup)) is None


@given(value=st.floats(0.05, 3000), names=st.sets(st.sampled_from(sorted(MEASURES)), min_size=1))
@settings(max_examples=150)
def test_acid_is_never_rounded_up(value: float, names: set[str]) -> None:
    setup = a_setup(measures=tuple(sorted(names)))
    for unit in ("mL", "g"):
        found = measured(Amount(value, unit), setup, at_most=value)
        assert found.actual <= value * (1 + 1e-6)
