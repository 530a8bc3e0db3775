"""The practice line as a whole: seeds, the trainer's hand, refusals, speed."""

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from tests.sessions.practice.pools import STEADY, a_line, in_plain_loops, still_model
from tests.shed import a_setup, a_tank
from washmon.sessions.practice.line import Truth, WashLine
from washmon.sessions.practice.parameters import Dirtiness, PracticeError, PracticeInstrument
from washmon.sessions.practice.world import World

HOURS = 10


def a_day(seed: int, tanks: int = 4) -> list[Truth]:
    line = a_line(World(), seed=seed, tanks=tanks)
    numbers = tuple(range(1, tanks + 1))
    for number in numbers:
        line.dose(number, 200.0)
    while line.minutes < HOURS * 60:
        line.wash(numbers, 9.0, "L")
        line.advance(4.0)
        if line.measure(1, PracticeInstrument.KIT).value < 35.0:
            line.dose(1, 60.0)
    return [line.truth(number) for number in numbers]


def test_the_same_seed_and_the_same_acts_give_the_same_day() -> None:
    assert a_day(4) == a_day(4)
    assert a_day(4) != a_day(5)


@pytest.mark.benchmark_ratio
def test_ten_hours_of_four_tanks_take_as_long_as_a_few_plain_loops() -> None:
    assert in_plain_loops(lambda: a_day(1)) < 20


def test_bleach_half_as_strong_raises_half_as_much() -> None:
    rises = []
    for share in (1.0, 0.5):
        line = a_line(replace(STEADY, strength_share=share), model=still_model())
        line.dose(1, 200.0)
        rises.append(line.level_mg_l(1))
    # 200 mL of 125 g/L in 500.2 L.
    assert rises[0] == pytest.approx(200.0 * 125.0 / 500.2)
    assert rises[1] == pytest.approx(rises[0] / 2)


def test_a_seeded_container_is_near_its_label_but_not_on_it() -> None:
    shares = [WashLine(a_setup(), World(), seed).strength_share for seed in range(200)]
    assert 0.75 <= min(shares) < 0.9
    assert 1.0 < max(shares) <= 1.13


def test_the_trainer_can_send_a_dirty_load_now() -> None:
    clean, dirty = a_line(seed=3), a_line(seed=3)
    dirty.world = replace(dirty.world, dirtiness=Dirtiness.MUDDY)
    for line in (clean, dirty):
        line.dose(1, 200.0)
        line.wash((1,), 20.0, "L")
        line.advance(10.0)
    assert dirty.level_mg_l(1) < clean.level_mg_l(1) - 2.0
    assert dirty.truth(1).turbidity_ntu > 4 * clean.truth(1).turbidity_ntu


def test_the_trainer_can_change_the_well() -> None:
    line = a_line()
    line.world = replace(line.world, source=replace(STEADY.source, alkalinity_mg_l=300.0))
    line.fill(1)
    assert line.truth(1).alkalinity_mg_l == pytest.approx(300.0, rel=1e-3)


def test_a_twin_has_the_same_future_and_leaves_the_line_alone() -> None:
    line = a_line(seed=8)
    line.dose(1, 200.0)
    twin = line.twin()
    before = line.truth(1)

    def go_on(one: WashLine) -> tuple[Truth, float]:
        one.wash((1,), 15.0, "L")
        one.dose(1, 30.0)
        one.advance(20.0)
        return one.truth(1), one.measure(1, PracticeInstrument.KIT).value

    ahead = go_on(twin)
    assert line.truth(1) == before
    assert go_on(line) == ahead


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (lambda line: line.dose(7, 10.0), "There is no tank 7."),
        (lambda line: line.dose(1, -1.0), "cannot be negative"),
        (lambda line: line.dose(1, float("nan")), "cannot be negative"),
        (lambda line: line.dose(1, 10.0, "lye"), "no product lye"),
        (lambda line: line.acid(1, 10.0, "lye"), "no acid lye"),
        (lambda line: line.acid(1, float("inf")), "cannot be negative"),
        (lambda line: line.wash((1,), 0.0), "needs a weight above 0"),
        (lambda line: line.wash((1, 9), 5.0), "There is no tank 9."),
        (lambda line: line.change_water(1, 501.0), "cannot lose more water"),
        (lambda line: line.change_water(1, 0.0), "or none"),
        (lambda line: line.fill(1, 0.0), "no water to fill in"),
        (lambda line: line.advance(-1.0), "Time can only go on"),
        (lambda line: line.advance(float("nan")), "Time can only go on"),
    ],
)
def test_what_can_not_be_is_refused_in_a_sentence(
    act: Callable[[WashLine], None], words: str
) -> None:
    line = a_line()
    before = line.truth(1)
    with pytest.raises(PracticeError, match=words):
        act(line)
    assert line.truth(1) == before


def test_an_empty_tank_can_be_neither_dosed_nor_read() -> None:
    line = WashLine(a_setup(a_tank(1, "Dunk")), STEADY, 1)
    line.advance(30.0)
    for act in (lambda: line.dose(1, 5.0), lambda: line.measure(1, PracticeInstrument.KIT)):
        with pytest.raises(PracticeError, match="has no water yet"):
            act()


def test_a_line_without_tanks_or_with_unknown_produce_is_refused() -> None:
    with pytest.raises(PracticeError, match="at least one tank"):
        WashLine(replace(a_setup(), tanks=()), STEADY, 1)
    with pytest.raises(PracticeError, match="does not know coal: choose one of cut_leafy_greens"):
        WashLine(a_setup(), replace(STEADY, commodity="coal"), 1)
