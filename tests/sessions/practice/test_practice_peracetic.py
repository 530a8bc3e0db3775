"""A practice line kept with peracetic acid: its water, its bench, its set-up and its debrief."""

import math
from datetime import UTC, datetime

import pytest
from msgspec.structs import replace

from tests.sessions.practice.begun import CHAIN, WHO, begun
from tests.sessions.practice.pools import STEADY, a_line, in_plain_loops, still_model
from tests.shed import a_peracetic_setup, a_setup, a_tank
from tests.some import some
from washmon.chemistry.peracetic import PeraceticProduct, with_peracetic
from washmon.chemistry.water import ph_of, source_water
from washmon.line.events import DoseAdded
from washmon.line.flags import Amount
from washmon.line.practice_events import BehindTheScenes, WorldChange
from washmon.line.reading import PERACETIC_PADS_MG_L
from washmon.line.validate import cautions, faults
from washmon.sessions.debrief.additions import Harm
from washmon.sessions.debrief.facts import facts_of
from washmon.sessions.debrief.known import beside
from washmon.sessions.debrief.next_one import next_one
from washmon.sessions.debrief.score import debrief
from washmon.sessions.debrief.slips import SlipKind
from washmon.sessions.debrief.washed import Fate
from washmon.sessions.making.own_line import own_line, practice_tanks
from washmon.sessions.practice.attempt import BACKSTAGE
from washmon.sessions.practice.line import Truth, WashLine
from washmon.sessions.practice.parameters import PracticeError, PracticeInstrument, parameters
from washmon.sessions.practice.practice_setup import practice_setup
from washmon.sessions.practice.scenario import KeptWith
from washmon.sessions.practice.scenario_files import scenario_text, scenarios
from washmon.sessions.practice.water import TankWater, tap_water
from washmon.sessions.practice.world import World

PERACETIC = next(pair for pair in scenarios() if pair[0].line.peracetic)
SCENARIO, _ = PERACETIC
SETUP = a_peracetic_setup()


def pool(**holds: float) -> TankWater:
    """Return 1000 L of still water at 20 °C, kept with peracetic acid."""
    model = still_model()
    water = TankWater(model, peracetic=True)
    fresh = tap_water(STEADY.source, model, peracetic=True)
    water.wanted_l = 1000.0
    water.take(1000.0, replace(fresh, **holds))
    return water


def rested(water: TankWater, minutes: float) -> float:
    fresh = tap_water(STEADY.source, still_model(), peracetic=True)
    water.rest(minutes, STEADY, fresh)
    return water.level


def a_day(seed: int, tanks: int = 4) -> list[Truth]:
    one = SETUP.tanks[0]
    line = replace(
        SETUP, tanks=tuple(replace(one, number=number) for number in range(1, tanks + 1))
    )
    wash = a_line(World(), seed=seed, setup=line)
    numbers = tuple(range(1, tanks + 1))
    for number in numbers:
        wash.dose(number, 150.0)
    while wash.minutes < 600:
        wash.wash(numbers, 9.0, "L")
        wash.advance(4.0)
        if wash.measure(1, PracticeInstrument.PERACETIC_KIT).value < 35.0:
            wash.dose(1, 40.0)
    return [wash.truth(number) for number in numbers]


def test_half_of_it_is_gone_by_itself_after_the_published_half_life() -> None:
    # ECHA registration dossier 14885, 5.2.1: 31.7 h in surface water at 20 °C.
    assert rested(pool(level=40.0), 31.7 * 60) == pytest.approx(20.0, rel=0.02)


def test_one_demand_follows_the_closed_second_order_solution() -> None:
    # Two reactants, second order (any textbook of kinetics), at the rate of methionine, 4.6 per M
    # and s at pH 7: Du et al. 2018, Water Research X 1:100002.
    rate = 4.6 * 60.0 / 76_051.0
    water, over, minutes = pool(level=50.0, fast=30.0, slow=0.0), 20.0, 20.0
    loss = math.exp(-parameters().peracetic.decay_per_min * minutes)
    expected = over / (1.0 - 30.0 / 50.0 * math.exp(-rate * over * minutes))
    assert rested(water, minutes) == pytest.approx(expected * loss, abs=0.3)


def test_warm_water_loses_it_faster_as_the_published_activation_energies_say() -> None:
    # 30.0 and 34.9 kJ/mol: Water Sci. Technol. 2019, 80(12):2299; Arrhenius from 20 to 30 °C.
    least, most = (
        math.exp(energy / 8.314 * (1 / 293.15 - 1 / 303.15)) for energy in (29_980.0, 34_860.0)
    )
    assert least < parameters().peracetic.per_10_c < most


def test_what_went_in_is_there_used_up_or_decayed_and_the_peroxide_stays() -> None:
    water = pool(fast=15.0, slow=15.0)
    water.add_peracetic(50_000.0, 33_000.0, 0.3)
    rested(water, 240.0)
    book = water.book
    there = water.level * water.volume_l
    assert there + book.used_mg + book.decayed_mg == pytest.approx(50_000.0, rel=1e-9)
    assert book.used_mg > 10_000.0
    assert book.gassed_mg == 0.0
    assert water.contents.peroxide * water.volume_l == pytest.approx(33_000.0)
    assert water.contents.combined == 0.0


def test_its_acetic_acid_lowers_the_ph_as_the_chemistry_says() -> None:
    # The chemistry's own test holds it against PHREEQC.
    water = pool()
    water.add_peracetic(50_000.0, 33_000.0, 0.0)
    share = parameters().peracetic.acetic_share
    product = PeraceticProduct(15.0, 10.0, 1.12, acetic_pct=15.0 * share)
    source = STEADY.source
    tap = source_water(source.alkalinity_mg_l, source.ph, source.celsius, source.chloride_mg_l)
    expected = ph_of(with_peracetic(tap, 50.0, product))
    assert water.ph == pytest.approx(expected, abs=0.01)
    assert expected < source.ph - 0.5


def test_the_label_s_percent_by_weight_raises_the_level() -> None:
    line = a_line(STEADY, model=still_model(), setup=SETUP)
    line.dose(1, 150.0)
    grams = 150.0 * 1.12 * 0.15
    assert line.level_mg_l(1) == pytest.approx(grams * 1000.0 / 500.15)
    assert line.truth(1).peroxide_mg_l == pytest.approx(line.level_mg_l(1) * 10.0 / 15.0)


def test_bleach_never_goes_into_it_nor_both_kinds_into_one_line() -> None:
    bleach = a_setup().sanitizers[0]
    both = replace(SETUP, sanitizers=(*SETUP.sanitizers, bleach))
    with pytest.raises(PracticeError, match="must not go into"):
        a_line(setup=both).dose(1, 100.0, bleach.key)
    mixed = replace(both, tanks=(*SETUP.tanks, a_tank(2, "Polish")))
    with pytest.raises(PracticeError, match="one kind of sanitizer"):
        WashLine(mixed, World(), 1)


def test_the_bench_measures_it_and_its_peroxide() -> None:
    line = a_line(STEADY, model=still_model(), setup=SETUP, seed=3)
    line.dose(1, 150.0)
    line.advance(30.0)
    level, peroxide = line.level_mg_l(1), line.truth(1).peroxide_mg_l
    assert line.measure(1, PracticeInstrument.PERACETIC_STRIP).value in PERACETIC_PADS_MG_L
    for one in (PracticeInstrument.PERACETIC_KIT, PracticeInstrument.PERACETIC_METER):
        assert line.measure(1, one).value == pytest.approx(level, rel=0.15, abs=2.0)
    read = line.measure(1, PracticeInstrument.PEROXIDE_STRIP).value
    assert read == pytest.approx(peroxide, rel=0.4, abs=5.0)


def test_the_same_seed_and_the_same_acts_give_the_same_day() -> None:
    assert a_day(4, 2) == a_day(4, 2)
    assert a_day(4, 2) != a_day(5, 2)


@pytest.mark.benchmark_ratio
def test_ten_hours_of_four_tanks_take_as_long_as_a_few_plain_loops() -> None:
    assert in_plain_loops(lambda: a_day(1)) < 20  # as with chlorine


def test_the_practice_line_keeps_the_law_and_gets_no_other_acid() -> None:
    setup = practice_setup("leafy_greens", 2, peracetic=True)
    assert faults(setup) == []
    assert not [one for one in cautions(setup, datetime.now(UTC).date()) if "173.315" in str(one)]
    assert setup.acids == ()
    assert all(tank.peracetic is not None and tank.acid is None for tank in some(setup.tanks))


def test_a_shed_of_peracetic_acid_can_practise_on_its_own_line() -> None:
    assert [tank.peracetic for tank in own_line(SETUP).tanks] == [SETUP.tanks[0].peracetic]
    mixed = replace(SETUP, tanks=(*SETUP.tanks, a_tank(2, "Polish")))
    assert [tank.number for tank in practice_tanks(mixed)] == [2]


def test_the_scenario_says_what_its_line_is_kept_with() -> None:
    assert SCENARIO.line.kept_with is KeptWith.PERACETIC
    assert 'kept_with = "peracetic acid"' in scenario_text(SCENARIO)


def test_a_batch_is_washed_well_without_a_ph_and_read_beside_the_truth() -> None:
    run = begun(PERACETIC)
    run.wash(WHO)
    facts = facts_of(CHAIN, run.entries)
    assert {one.fate for one in facts.known} == {Fate.WELL}
    seen = beside(facts, 1, run.now)
    assert seen is not None
    assert seen.read_mg_l == pytest.approx(seen.true_mg_l, rel=0.2)
    assert facts.tanks[0].level_ok_min == facts.tanks[0].ph_ok_min


def test_too_much_peroxide_by_many_doses_is_an_unsafe_act() -> None:
    run = begun(PERACETIC)
    product = run.state.setup.sanitizers[0].key
    much = Amount(120.0, "mL")
    for _ in range(2):
        run.stage.advance(90.0)
        run.enter(DoseAdded(at=run.now, by=WHO, tank=2, product=product, amount=much))
    found = debrief(CHAIN, run.entries)
    assert Harm.OVER_PEROXIDE in {one.harm for one in found.facts.unsafe}
    assert SlipKind.OVER_PEROXIDE in {one.kind for one in found.slips}
    advised = next_one(found, [scenario for scenario, _ in scenarios()])
    assert advised is not None
    assert (advised.again, advised.scenario) == (True, SCENARIO)


def test_water_under_the_critical_low_is_found() -> None:
    run = begun(PERACETIC)
    change = WorldChange(decay_share=20.0)
    run.enter(BehindTheScenes(at=run.now, by=BACKSTAGE, change=change))
    run.stage.advance(200.0)
    run.wash(WHO)
    low = facts_of(CHAIN, run.entries).low
    assert {(one.tank, one.held) for one in low} == {(1, False), (2, False)}
