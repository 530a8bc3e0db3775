"""The plan while a flag is shelved: weighed all the same, but not what is said to be done now."""

from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.planning.steps import ADDITIONS
from tests.shed import Shed, a_setup, a_tank
from washmon.line.flag_events import FlagShelved
from washmon.line.flags import StepKind
from washmon.line.fold import fold
from washmon.line.setup import Stage
from washmon.planning.advice import TankAdvice, advise


def a_shed(**tank: object) -> Shed:
    shed = Shed(a_setup(a_tank(1, "Only", Stage.WASH, **tank)))
    shed.fill()
    return shed


def shelve(shed: Shed, rule: str, minutes: float = 20) -> None:
    shed.look()
    shed.shelve(rule, minutes=minutes)


def test_what_is_shelved_is_not_in_now() -> None:
    shed = a_shed()
    shed.wait(10).read(fac=30, ph=7.0)
    assert shed.plan().now.kind is StepKind.DOSE
    shelve(shed, "chlorine-low")
    plan = shed.plan()
    assert plan.now.kind is not StepKind.DOSE
    assert "chlorine-low" not in plan.answers
    shed.wait(21)
    assert "chlorine-low" in shed.plan().answers


def test_a_shelved_watch_is_not_in_now() -> None:
    shed = a_shed()
    shed.wait(10).read(fac=70, ph=7.8)
    assert shed.plan().now.kind is StepKind.ACID
    shelve(shed, "ph-high")
    plan = shed.plan()
    assert plan.now.kind not in ADDITIONS
    assert plan.feed


def test_acid_that_is_shelved_keeps_even_the_first_dose_back() -> None:
    shed = a_shed()
    shed.read(ph=8.2)
    assert shed.plan().now.kind is StepKind.ACID
    shelve(shed, "ph-high")
    assert shed.plan().now.kind not in ADDITIONS


def test_a_shelved_water_change_lets_the_level_be_kept() -> None:
    shed = a_shed(hours_per_fill=0.5, check_minutes=None)
    shed.wait(40).read(fac=30, ph=7.0)
    assert shed.flag("chlorine-low") is not None
    shelve(shed, "hours")
    plan = shed.plan()
    assert plan.now.kind is StepKind.DOSE
    assert plan.answers == ("chlorine-low",)


KINDS = st.sampled_from(["read low", "read good", "read ph", "dose", "acid", "wash", "wait"])


def _do(shed: Shed, what: str) -> None:
    match what:
        case "read low":
            shed.read(fac=30, ph=7.9)
        case "read good":
            shed.read(fac=50, ph=7.0)
        case "read ph":
            shed.read(ph=8.3)
        case "dose":
            shed.dose()
        case "acid":
            shed.acid()
        case "wash":
            shed.wash(2)
        case "wait":
            shed.wait(7)


def _without_shelving(shed: Shed) -> TankAdvice:
    kept = tuple(e for e in shed.shift.entries if not isinstance(e.event, FlagShelved))
    return advise(fold(shed.shift.chain, kept), shed.now).tank(1)


STORIES = st.lists(st.tuples(KINDS, st.integers(0, 3)), min_size=4, max_size=14)


@settings(max_examples=40, deadline=None)
@given(STORIES)
def test_shelving_never_brings_an_addition_nor_changes_what_is_raised(
    story: list[tuple[str, int]],
) -> None:
    """Whatever is shelved: no acid beside hypochlorite, none on top of what was not checked.

    What is advised to be added is advised without the shelving, too, or answers a finding that only
    had to wait for its turn, a water change that was put off aside; and a flag is journaled as
    cleared only where its rule no longer says it.
    """
    shed = a_shed()
    mix = timedelta(minutes=5)
    for what, place in story:
        shed.wait(1)
        _do(shed, what)
        shed.look()
        up = [one.flag for one in shed.shift.open_flags if one.flag.never_shelved is None]
        if place < len(up) and (1, up[place].rule) not in shed.shift.shelved_at(shed.now):
            shelve(shed, up[place].rule, minutes=10 + 10 * place)
        advice, without = shed.look().tank(1), _without_shelving(shed)
        plain, found = without.plan, {flag.rule for flag in without.flags}
        kind, fill = advice.plan.now.kind, shed.shift.tank(1).fill
        assert fill is not None
        if kind is StepKind.ACID:
            assert all(one.event.at + mix <= shed.now for one in (*fill.doses, *fill.acids))
        if kind is StepKind.DOSE:
            assert all(one.event.at + mix <= shed.now for one in fill.acids)
        if kind in {*ADDITIONS, StepKind.LOWER}:
            answered = advice.plan.answers and {*advice.plan.answers} <= found
            assert answered or plain.now.kind in {kind, StepKind.CHANGE_WATER}
        said = {flag.rule for flag in (*advice.flags, *advice.shelved)}
        assert {one.flag.rule for one in shed.shift.open_flags} == said
