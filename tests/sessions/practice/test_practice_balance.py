"""Nothing is lost: chlorine, alkalinity and water of the practice line, whatever is done to it."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.sessions.practice.pools import STEADY, a_line, a_pool, still_model
from tests.shed import a_setup, a_tank
from washmon.chemistry.acid import AcidKind
from washmon.chemistry.water import CL2_MG_PER_MOL
from washmon.line.setup import Acid
from washmon.sessions.practice.line import WashLine
from washmon.sessions.practice.parameters import parameters
from washmon.sessions.practice.water import TankWater
from washmon.sessions.practice.world import World

AMOUNTS = st.floats(0.0, 400.0)
TANKS = st.sampled_from((1, 2))
ACTS: st.SearchStrategy[Callable[[WashLine], None]] = st.one_of(
    st.builds(lambda t, ml: lambda line: line.dose(t, ml), TANKS, AMOUNTS),
    st.builds(lambda t, ml: lambda line: line.acid(t, ml / 20.0), TANKS, AMOUNTS),
    st.builds(lambda kg: lambda line: line.wash((1, 2), kg), st.floats(0.1, 40.0)),
    st.builds(lambda minutes: lambda line: line.advance(minutes), st.floats(0.0, 90.0)),
    st.builds(
        lambda t, litres: lambda line: line.change_water(t, litres), TANKS, st.floats(1.0, 300.0)
    ),
    st.builds(lambda t: lambda line: line.fill(t), TANKS),
)
WORLDS = st.builds(
    lambda makeup, valve, commodity, decay: replace(
        STEADY,
        makeup_l_min=makeup,
        float_valve=valve,
        commodity=commodity,
        decay_share=decay,
        air_c=30.0,
    ),
    st.floats(0.0, 20.0),
    st.booleans(),
    st.sampled_from(sorted(parameters().commodity)),
    st.floats(0.0, 5.0),
)


@given(world=WORLDS, acts=st.lists(ACTS, max_size=25))
def test_chlorine_and_alkalinity_add_up_to_rounding(
    world: World, acts: list[Callable[[WashLine], None]]
) -> None:
    acid = Acid(key="acid", name="acid", kind=AcidKind.HYDROCHLORIC, strength_pct=31.45)
    tanks = (a_tank(1, "First", acid="acid"), a_tank(2, "Second", acid="acid"))
    line = a_line(world, setup=a_setup(*tanks, acids=(acid,)))
    for act in acts:
        act(line)
    for water in line._tanks.values():
        assert_balanced(water)
        assert min(water.level, water.contents.fast, water.contents.slow) >= 0.0


def assert_balanced(water: TankWater) -> None:
    book, holds = water.book, water.contents
    used = book.used_mg + book.decayed_mg + book.gassed_mg
    accounted = used + book.drawn_mg + water.volume_l * holds.level
    assert accounted == pytest.approx(book.added_mg, rel=1e-9, abs=1e-6)
    reacted = (book.used_mg + book.decayed_mg - book.gassed_mg) / CL2_MG_PER_MOL
    left = book.alkalinity_in_eq - book.acid_eq - book.alkalinity_drawn_eq - reacted
    assert water.volume_l * holds.alkalinity == pytest.approx(left, rel=1e-9, abs=1e-9)


@given(
    free=st.floats(0.0, 400.0),
    fast=st.floats(0.0, 2000.0),
    slow=st.floats(0.0, 2000.0),
    minutes=st.floats(0.0, 600.0),
)
def test_chlorine_never_goes_below_nothing(
    free: float, fast: float, slow: float, minutes: float
) -> None:
    pool, fresh = a_pool(parameters(), level=free, fast=fast, slow=slow)
    pool.rest(minutes, STEADY, fresh)
    assert 0.0 <= pool.level <= free * (1.0 + 1e-12)
    assert 0.0 <= pool.contents.fast <= fast * (1.0 + 1e-12)


def test_what_clings_to_produce_goes_from_tank_to_tank() -> None:
    line = a_line(tanks=2, model=still_model())
    line.dose(1, 200.0)
    before = line.level_mg_l(1)
    line.wash((1, 2), 100.0)
    # 35 mL/kg of 100 kg in 500 L: 3.5 of 503.5 parts of the first tank's water.
    assert line.level_mg_l(2) == pytest.approx(before * 3.5 / 503.5, rel=1e-6)
    assert line.truth(1).volume_l == pytest.approx(500.2 - 3.5)
    assert line.truth(2).fast_mg_l < line.truth(1).fast_mg_l


def test_a_float_valve_keeps_the_level_and_without_it_the_tank_runs_low() -> None:
    volumes = []
    for valve in (True, False):
        line = a_line(replace(STEADY, float_valve=valve))
        for _ in range(20):
            line.wash((1,), 50.0)
            line.advance(3.0)
        volumes.append(line.truth(1).volume_l)
    assert volumes[0] == pytest.approx(500.0)
    # Twenty times 50 kg at 35 mL/kg is 35 L; about half a litre evaporates.
    assert volumes[1] == pytest.approx(464.5, abs=0.5)


def test_a_change_of_half_the_water_halves_what_is_in_it() -> None:
    line = a_line()
    line.dose(1, 200.0)
    before = line.truth(1)
    line.change_water(1, before.volume_l / 2)
    after = line.truth(1)
    assert after.level_mg_l == pytest.approx(before.level_mg_l / 2)
    assert after.volume_l == pytest.approx(before.volume_l)


def test_make_up_water_dilutes_like_a_stirred_tank() -> None:
    # c = c0 exp(-Q t / V), any textbook; COD does not react here.
    pool, fresh = a_pool(parameters(), level=0.0, cod=400.0)
    pool.rest(100.0, replace(STEADY, makeup_l_min=10.0), fresh)
    assert pool.contents.cod == pytest.approx(400.0 * 2.718281828**-1.0, rel=2e-3)


def test_sand_settles_and_clay_stays() -> None:
    pool, fresh = a_pool(parameters(), level=0.0, silt=100.0, haze=50.0)
    pool.rest(120.0, STEADY, fresh)
    assert pool.contents.silt < 10.0
    assert pool.contents.haze == pytest.approx(50.0, rel=0.01)


def test_warm_produce_warms_the_water_by_the_heat_it_loses() -> None:
    line = a_line(replace(STEADY, pulp_c=30.0))
    line.wash((1,), 100.0)
    # 100 kg of 0.9 times water's heat, half exchanged: 45 L of water at 30 into 500 L at 20.
    assert line.truth(1).water_c == pytest.approx((500 * 20 + 45 * 30) / 545, abs=0.01)


def test_air_warms_the_tank_in_hours() -> None:
    pool, fresh = a_pool(parameters(), level=0.0, celsius=8.0)
    pool.rest(60.0, STEADY, fresh)
    assert 8.5 < pool.contents.celsius < 11.0
