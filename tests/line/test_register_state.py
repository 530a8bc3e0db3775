"""How registered things stand: what presses first, what is used first, what is ordered.

First expired, first out is common practice, no published source; so are the days ahead.
"""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import a_setup
from tests.some import some
from washmon.line.flags import Amount, Level
from washmon.line.message import say
from washmon.line.register_state import Stock, state_of, worst_first
from washmon.line.registers import Container, Device, Pack, Registers, Thing
from washmon.units import UnitSystem

TODAY = date(2026, 5, 7)
METER = Device(key="A", name="Meter A", measures=("ph",), check_days=7, checked_on=TODAY)
STRIPS = Pack(key="S", name="Strips", measures=("fac_mg_l",), use_by=TODAY + timedelta(days=99))
DRUM = Container(key="D", name="Drum", product="bleach", full=Amount(20_000, "mL"))


def stock(*things: Thing, **drawn: float) -> Stock:
    return Stock(registers=Registers(things=things), drawn=drawn, setup=a_setup())


def told(thing: Thing, about: Stock | None = None) -> tuple[Level | None, str]:
    state = state_of(thing, about or stock(thing), TODAY)
    said = " ".join(say(one, UnitSystem.METRIC) for one in state.words)
    return state.level, said.replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(
    ("thing", "level", "words"),
    [
        (METER, None, "Checked; due again by 2026-05-14."),
        (
            replace(METER, checked_on=TODAY - timedelta(days=6)),
            Level.WATCH,
            "Its check is due by 2026-05-08.",
        ),
        (
            replace(METER, checked_on=TODAY - timedelta(days=7)),
            Level.WATCH,
            "Its check is due by 2026-05-07.",
        ),
        (
            replace(METER, checked_on=TODAY - timedelta(days=8)),
            Level.ACT,
            "Its check is overdue: it was due by 2026-05-06.",
        ),
        (
            replace(METER, checked_on=None),
            Level.ACT,
            "Never checked: check it before it is used.",
        ),
        (replace(METER, check_days=None), None, ""),
        (STRIPS, None, "Good until 2026-08-14."),
        (
            replace(STRIPS, use_by=TODAY),
            Level.WATCH,
            "Use it first: it is good until 2026-05-07.",
        ),
        (
            replace(STRIPS, use_by=TODAY - timedelta(days=1)),
            Level.STOP,
            "Past its date: it was good until 2026-05-06.",
        ),
        (replace(METER, unfit_since=TODAY), Level.STOP, "Unfit by its check of 2026-05-07."),
        (replace(STRIPS, unfit_since=TODAY), Level.STOP, "Unfit by its check of 2026-05-07."),
        (replace(STRIPS, retired_on=TODAY, unfit_since=TODAY), None, "Retired on 2026-05-07."),
    ],
)
def test_a_thing_tells_how_it_stands(thing: Thing, level: Level | None, words: str) -> None:
    assert told(thing) == (level, words)


def test_what_was_poured_is_gone_and_more_is_ordered_by_what_is_left_in_all() -> None:
    first = replace(DRUM, reorder_at=15_000.0, use_by=TODAY + timedelta(days=60))
    second = replace(DRUM, key="E", name="Drum E", use_by=TODAY + timedelta(days=30))
    both = stock(first, second, D=19_000.0, E=6_000.0)
    assert told(first, both) == (
        Level.WATCH,
        "Order more: little of it is left in all. 1 L left.",
    )
    assert told(second, both) == (None, "14 L left. Use this one first.")


def test_an_empty_one_and_one_of_another_strength_are_told() -> None:
    assert told(DRUM, stock(DRUM, D=20_001.0))[0] is Level.WATCH
    level, words = told(replace(DRUM, strength=10.0))
    assert level is Level.WATCH
    assert "Its label says 10 %, the set-up 12.5 %: doses go by the set-up." in words


def test_the_worst_comes_first_and_what_is_retired_last() -> None:
    old = replace(STRIPS, key="O", name="Old", use_by=TODAY - timedelta(days=1))
    late = replace(METER, key="L", name="Late", checked_on=None)
    gone = replace(old, key="G", name="Gone", retired_on=TODAY)
    about = stock(gone, METER, late, old)
    assert [one.key for one, _ in worst_first(about, TODAY)] == ["O", "L", "A", "G"]


@given(
    st.lists(st.floats(0, 30_000), max_size=12),
    st.floats(-5_000, 5_000),
)
def test_never_less_than_nothing_is_left_and_never_more_than_was_told(
    doses: list[float], otherwise: float
) -> None:
    drum = replace(DRUM, otherwise=otherwise)
    left = [stock(drum, D=sum(doses[:n])).left(drum) for n in range(len(doses) + 1)]
    amounts = [one.value for one in left if one is not None]
    assert all(0 <= one <= 25_000 for one in some(amounts))
    assert amounts == sorted(amounts, reverse=True)
