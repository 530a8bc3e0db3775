"""Corrections that would turn bad water into good, or free what it washed, are asked about."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from washmon.line.events import BatchWashed, Correctable, Corrected, ReadingTaken
from washmon.line.journal import Entry
from washmon.line.message import say
from washmon.line.setup import LabelBasis, TemperatureRule, TemperatureRuleKind
from washmon.rules.entering import check_entry
from washmon.units import UnitSystem


def doubts(shed: Shed, entry: Entry, instead: Correctable | None) -> str:
    correction = Corrected(
        at=shed.now, by="RM", entry=entry.seq, reason="a slip of the hand", instead=instead
    )
    verdict = check_entry(shed.shift, correction, shed.now)
    assert verdict.faults == ()
    said = " ".join(say(doubt, UnitSystem.METRIC) for doubt in verdict.doubts)
    return said.replace("\N{NO-BREAK SPACE}", " ")


def changed(entry: Entry, **changes: object) -> Correctable:
    assert isinstance(entry.event, Correctable)
    return replace(entry.event, **changes)


def cold_shed() -> Shed:
    """A dump tank that must be 5 °C warmer than the produce, or else what it washed is held."""
    warmer = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.0)
    shed = Shed(a_setup(a_tank(1, "Dump", temperature_rule=warmer, critical_temperature=True)))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(1, 50, ph=7.0, water_c=26.0, pulp_c=20.0)
    return shed


def test_water_that_was_too_cold_is_not_warmed_unasked() -> None:
    shed = cold_shed()
    shed.wash(2)
    cold = shed.read(1, 50, ph=7.0, water_c=10.0, pulp_c=20.0)
    said = doubts(shed, cold, changed(cold, water_c=25.0))
    assert "turns water of 10 °C for produce of 20 °C, which was too cold, into 25 °C" in said
    assert "2 batches that are in question would not be any more" in said
    assert "into 10 °C for 4 °C" in doubts(shed, cold, changed(cold, pulp_c=4.0))
    for gone in (None, changed(cold, water_c=None), changed(cold, pulp_c=None)):
        assert "takes away water of 10 °C" in doubts(shed, cold, gone)
    assert doubts(shed, cold, changed(cold, water_c=12.0)) == ""


def test_cold_water_that_is_no_critical_limit_may_be_corrected() -> None:
    warmer = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.0)
    shed = Shed(a_setup(a_tank(1, "Dump", temperature_rule=warmer)))
    shed.fill()
    cold = shed.read(1, 50, ph=7.0, water_c=10.0, pulp_c=20.0)
    assert doubts(shed, cold, changed(cold, water_c=25.0)) == ""


def test_a_batch_that_stayed_too_short_is_not_made_longer_unasked() -> None:
    shed = Shed(a_setup(a_tank(1, "First", critical_contact_s=60.0)))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(1, 50, ph=7.0)
    (short,) = shed.wash(contact_s=20.0)
    said = doubts(shed, short, changed(short, contact_s=90.0))
    assert said == "This turns 20 s in the water, less than 60 s, into 90 s: was it never so?"
    for gone in (None, changed(short, contact_s=None)):
        assert "takes away that a batch stayed 20 s" in doubts(shed, short, gone)
    assert doubts(shed, short, changed(short, contact_s=59.0)) == ""
    (long,) = shed.wash(contact_s=60.0)
    assert doubts(shed, long, changed(long, contact_s=90.0)) == ""


def test_peracetic_acid_over_the_law_is_not_lowered_unasked() -> None:
    setup = a_peracetic_setup()
    limits = setup.tanks[0].peracetic
    assert limits is not None
    limits = replace(limits, label_max_mg_l=90.0)
    shed = Shed(replace(setup, tanks=(replace(setup.tanks[0], peracetic=limits),)))
    shed.fill()
    over = shed.read(1, paa_mg_l=85.0)
    said = doubts(shed, over, changed(over, paa_mg_l=50.0))
    assert "turns 85 ppm of peracetic acid, which was not good, into 50 ppm" in said
    within = shed.read(1, paa_mg_l=80.0)
    assert doubts(shed, within, changed(within, paa_mg_l=50.0)) == ""


def test_total_chlorine_over_the_label_is_not_lowered_unasked() -> None:
    tank = a_tank(1, "First")
    by_total = replace(tank.chlorine, label_basis=LabelBasis.TOTAL)
    shed = Shed(a_setup(replace(tank, chlorine=by_total)))
    shed.fill()
    over = shed.read(1, 60, total_mg_l=120.0)
    assert "turns 120 ppm of total chlorine" in doubts(shed, over, changed(over, total_mg_l=90.0))


def test_no_correction_whatever_frees_batches_unasked() -> None:
    """Not even a bad reading that is only moved to before the batches."""
    shed = cold_shed()
    shed.wash(3)
    bad = shed.read(1, 10, ph=7.0)
    earlier = bad.event.at - timedelta(minutes=7)  # before all of them
    said = doubts(shed, bad, changed(bad, at=earlier, fac_mg_l=12.0))
    assert said == "3 batches that are in question would not be any more: was it never so?"


@pytest.mark.parametrize("instead", [True, False])
def test_a_batch_that_never_was_is_no_batch_that_gets_free(*, instead: bool) -> None:
    shed = cold_shed()
    (washed,) = shed.wash()
    shed.read(1, 10, ph=7.0)
    assert isinstance(washed.event, BatchWashed)
    right = changed(washed, lot="L-2") if instead else None
    assert doubts(shed, washed, right) == ""


def test_batches_on_hold_stay_there_and_need_no_question() -> None:
    shed = cold_shed()
    (washed,) = shed.wash()
    bad = shed.read(1, 10, ph=7.0)
    shed.hold(washed.seq)
    assert isinstance(bad.event, ReadingTaken)
    said = doubts(shed, bad, changed(bad, fac_mg_l=50.0))
    assert "turns 10 ppm of free chlorine" in said
    assert "in question" not in said
