"""The acid that is asked for: what it may never do, and how few steps it takes."""

from statistics import median
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings, target
from hypothesis import strategies as st

from tests.forecast.acid_worlds import (
    SPOONS,
    Acidified,
    World,
    a_world,
    by_meter,
    by_pads,
    covers,
    look,
    obeyed,
)
from tests.shed import Shed, a_setup, a_tank
from washmon.chemistry.acid import AcidKind
from washmon.forecast.acid_step import AcidStep, acid_step
from washmon.line.events import Method
from washmon.line.message import Message
from washmon.line.setup import PhLimits

TANKS = 100
"""Of each kind. Of 900 by meter, 900 by strip, 1,800 with errors chosen none fell under 6.5."""


def asked(shed: Shed) -> AcidStep:
    found = acid_step(look(shed))
    assert isinstance(found, AcidStep), found
    return found


@pytest.mark.parametrize("answer", [8.3, 8.2, 8.1])
def test_a_response_within_the_error_of_the_meter_does_not_unlock_a_large_step(
    answer: float,
) -> None:
    """500 L, 50 ppm, 8.3, 65 mL: after 8.2 it was 1000 mL, after 8.1 again 65 mL."""
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(1, 50, method=Method.METER, ph=8.3)
    shed.acid(ml=65)
    shed.wait(6).read(1, 50, method=Method.METER, ph=answer)
    step = asked(shed)
    assert 65 <= step.amount.value <= 130
    assert step.after.lowest >= 6.5


def run(count: int, **changes: Any) -> list[Acidified]:
    chances = [np.random.default_rng(place) for place in range(count)]
    return [obeyed(a_world(rng, **changes), rng, by_meter, Method.METER) for rng in chances]


def test_none_of_many_tanks_by_meter_falls_under_its_low_limit_and_two_steps_do() -> None:
    came = run(TANKS)
    assert min(one.lowest for one in came) >= 6.5
    steps = [len(one.steps) for one in came if one.steps]
    assert median(steps) <= 2
    assert max(steps) <= 3
    assert max(one.end for one in came) < 7.7
    told = [covers(s.after, ph) for one in came for s, ph in zip(one.steps, one.true, strict=True)]
    assert sum(told) / len(told) > 0.93


def test_none_of_many_tubs_by_strip_and_teaspoon_falls_under_it_and_two_steps_do() -> None:
    came = []
    for place in range(TANKS):
        rng = np.random.default_rng(place)
        tub = a_world(rng, volume_l=rng.uniform(15, 23), measures=SPOONS)
        came.append(obeyed(tub, rng, by_pads, Method.STRIP))
    assert min(one.lowest for one in came) >= 6.5
    steps = [len(one.steps) for one in came if one.steps]
    assert median(steps) <= 2
    assert max(steps) <= 3
    assert max(one.end for one in came) < 8.0  # pads cannot tell 7.5 from 7.75


@pytest.mark.parametrize("kind", [kind for kind in AcidKind if kind is not AcidKind.VINEGAR])
def test_every_acid_keeps_the_low_limit(kind: AcidKind) -> None:
    came = run(40, kind=kind)
    assert min(one.lowest for one in came) >= 6.5
    assert max(len(one.steps) for one in came) <= 3


def test_soft_water_and_sour_sources_keep_the_low_limit() -> None:
    soft = run(40, alkalinity_mg_l=12.0, source_ph=8.6)
    sour = run(40, source_ph=6.9)
    for came in (soft, sour):
        assert min(one.lowest for one in came if one.steps) >= 6.5


ERRORS = st.lists(st.sampled_from([-0.1, 0.0, 0.1]), min_size=12, max_size=12)


@given(
    errors=ERRORS,
    alkalinity=st.floats(20, 400),
    source_ph=st.floats(7.0, 8.4),
    caustic=st.floats(0, 0.2),
    level=st.sampled_from([25.0, 50.0, 100.0, 150.0]),
)
@settings(max_examples=80, deadline=None)
def test_readings_chosen_inside_their_error_do_not_lead_under_the_limit(
    errors: list[float], alkalinity: float, source_ph: float, caustic: float, level: float
) -> None:
    left = iter(errors)
    world = World(alkalinity, source_ph, caustic, level)
    came = obeyed(
        world, np.random.default_rng(0), lambda ph, _: round(ph + next(left), 2), Method.METER
    )
    target(-came.lowest)
    assert not came.steps or came.lowest >= 6.4
    # One of a hundred may come under 6.5 by what is told; under 6.4 none did, searched for.


def test_the_report_of_another_source_does_not_take_soft_water_too_low() -> None:
    for place in range(30):
        rng = np.random.default_rng(place)
        world = a_world(rng, alkalinity_mg_l=30.0, told_mg_l=200.0)
        came = obeyed(world, rng, by_meter, Method.METER)
        assert came.lowest >= 6.4


def test_inside_the_limits_no_acid_is_due_unless_it_is_asked_for() -> None:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.dose(ml=200)
    shed.acid(ml=300)
    for _ in range(3):
        shed.wait(6).read(1, 50, ph=7.5)
    found = acid_step(look(shed))
    assert isinstance(found, Message)
    assert "inside its limits" in found.text
    assert isinstance(acid_step(look(shed), anyway=True), AcidStep)


def test_without_an_acid_in_the_set_up_the_reason_is_told() -> None:
    shed = Shed(a_setup(a_tank(1, "Only", acid=None)))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(1, 50, ph=8.8)
    assert isinstance(acid_step(look(shed)), Message)


@given(
    story=st.lists(
        st.tuples(st.floats(5, 10), st.floats(0, 150), st.sampled_from(list(Method))),
        min_size=1,
        max_size=6,
    ),
    low=st.floats(6.2, 7.0),
)
@settings(max_examples=60, deadline=None)
def test_whatever_is_read_the_step_keeps_the_limit_by_all_that_is_known(
    story: list[tuple[float, float, Method]], low: float
) -> None:
    limits = PhLimits(low=low, target=low + 0.4, high=low + 0.8)
    shed = Shed(a_setup(a_tank(1, "Only", ph=limits)))
    shed.fill()
    for ph, level, method in story:
        shed.wait(6).read(1, level, method=method, ph=ph, ph_method=method)
        found = acid_step(look(shed))
        if isinstance(found, AcidStep):
            assert found.after.lowest >= low
            assert found.amount.value > 0
            shed.acid(ml=found.amount.value)


def test_a_step_at_most_doubles_until_the_answer_is_known() -> None:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.dose(ml=200)
    shed.acid(ml=10)
    for _ in range(2):
        shed.wait(6).read(1, 50, ph=8.3)
    known = look(shed)
    assert not known.narrow
    assert asked(shed).amount.value <= 20
