"""What produce brings in, against what is published of leafy greens."""

import math
from statistics import fmean, median, stdev

import pytest
from msgspec.structs import replace

from tests.sessions.practice.pools import STEADY, a_line, still_model
from washmon.sessions.practice.parameters import Dirtiness, parameters
from washmon.sessions.practice.produce import Produce

# Juice released per kg, mL: whole baby spinach 2.26, shredded romaine 82.1, shredded iceberg 94.5
# (Weng et al., Assessment and speciation of chlorine demand in fresh-cut produce wash water).
# Homogenised romaine, 6.6 g in a litre, uses up 150 mg/L (Pre-Oxidation of Spent Lettuce
# Wash Water by Continuous Advanced Oxidation Process, 2021): 22.7 g of chlorine per kg of leaf. The
# product of the two is the published spread.
PER_KG_OF_LEAF = 150.0 / 6.6
SPINACH, ROMAINE, ICEBERG = (ml / 1000.0 * PER_KG_OF_LEAF for ml in (2.26, 82.1, 94.5))


def demand_g_kg(commodity: str, kg: float, seed: int, minutes: float = 90.0) -> float:
    """Return what a kg takes out of 500 L with 110 mg/L in so many minutes, without air."""
    line = a_line(replace(STEADY, commodity=commodity), model=still_model(), seed=seed)
    line.dose(1, 440.0)
    line.wash((1,), kg)
    start = line.level_mg_l(1)
    line.advance(minutes)
    return 0.5 * (start - line.level_mg_l(1)) / kg


@pytest.mark.parametrize(("commodity", "kg"), [("leafy_greens", 50.0), ("cut_leafy_greens", 8.0)])
def test_chlorine_falls_per_kilogram_of_leaf_within_the_published_spread(
    commodity: str, kg: float
) -> None:
    falls = [demand_g_kg(commodity, kg, seed) for seed in range(40)]
    assert SPINACH < median(falls) < ICEBERG


def test_shredded_romaine_takes_as_much_as_its_juice() -> None:
    falls = [demand_g_kg("cut_leafy_greens", 8.0, seed) for seed in range(60)]
    # Weng et al.: 82.1 mL/kg; a single dunk here takes off 85 %.
    assert median(falls) == pytest.approx(0.85 * ROMAINE, rel=0.2)


def test_half_of_the_demand_of_90_minutes_is_gone_in_five() -> None:
    # Weng et al.: 50 % of the demand within the first 5 min of 90.
    early = demand_g_kg("cut_leafy_greens", 10.0, 3, minutes=5.0)
    assert early / demand_g_kg("cut_leafy_greens", 10.0, 3) == pytest.approx(0.5, abs=0.1)


def test_demand_goes_on_after_90_minutes() -> None:
    # Weng et al.: "sustained chlorine demand over 90-min periods".
    at_90 = demand_g_kg("cut_leafy_greens", 20.0, 3)
    assert demand_g_kg("cut_leafy_greens", 20.0, 3, minutes=180.0) > 1.05 * at_90


def test_loads_are_lognormal_about_the_usual_one() -> None:
    usual, world = (
        parameters().commodity["root_vegetables"],
        replace(STEADY, commodity="root_vegetables"),
    )
    produce = Produce(parameters(), 5)
    loads = [math.log(produce.load(world, "L").demand_g_kg) for _ in range(4000)]
    assert stdev(loads) == pytest.approx(usual.batch_spread, rel=0.05)
    lots = [
        fmean(math.log(produce.load(world, f"L{n}").demand_g_kg) for _ in range(20))
        for n in range(400)
    ]
    assert fmean(lots) == pytest.approx(math.log(usual.demand_g_kg), abs=0.06)
    within = usual.batch_spread / math.sqrt(20)
    assert stdev(lots) == pytest.approx(math.hypot(usual.lot_spread, within), rel=0.1)


def test_a_dirtier_load_brings_more_of_everything() -> None:
    found = []
    for dirtiness in Dirtiness:
        load = Produce(parameters(), 5).load(replace(STEADY, dirtiness=dirtiness), "L")
        found.append((load.demand_g_kg, load.soil_ntu_m3_kg))
    assert found == sorted(found)
    assert found[-1][0] > 3 * found[0][0]


def test_measuring_does_not_change_what_comes_next() -> None:
    first, second = a_line(seed=9), a_line(seed=9)
    second.measure_pulp()
    second.look(1)
    for line in (first, second):
        line.wash((1,), 20.0, "L")
    assert first.truth(1) == second.truth(1)
