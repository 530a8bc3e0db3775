"""What speaks against an entry: faults that refuse it and doubts that ask once."""

import math
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import START, Shed, a_peracetic_setup, a_setup, a_tank
from tests.strategies import SHIFT_STARTED, events
from washmon.chemistry.acid import AcidKind
from washmon.line.check import Verdict, check, starting_faults
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    Corrected,
    Decision,
    DoseAdded,
    Event,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    LinePaused,
    LineResumed,
    Method,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flag_events import Acknowledged, FlagsChanged
from washmon.line.flags import Amount
from washmon.line.fold import begin, step
from washmon.line.journal import Entry, extend
from washmon.line.message import say
from washmon.line.setup import Acid, SourceWater
from washmon.line.site_events import SetupSaved
from washmon.units import UnitSystem


@pytest.fixture
def shed() -> Shed:
    """A shed with water in tank 1, measured."""
    made = Shed()
    made.fill()
    made.wait(10)
    made.read(fac=50, ph=7.0)
    made.wait(5)
    return made


def verdict(shed: Shed, event: Event) -> Verdict:
    """Check an event, and see that all that is said can be read."""
    found = check(shed.shift, event, shed.now)
    for message in (*(fault.message for fault in found.faults), *found.doubts):
        assert "{" not in say(message, UnitSystem.US, decimal_point=",")
    return found


def fields(shed: Shed, event: Event) -> list[str]:
    return [fault.field for fault in verdict(shed, event).faults]


def doubts(shed: Shed, event: Event) -> str:
    found = verdict(shed, event)
    assert not found.faults
    return " ".join(say(doubt, UnitSystem.METRIC) for doubt in found.doubts)


def reading(shed: Shed, **values: Any) -> ReadingTaken:
    return replace(ReadingTaken(at=shed.now, by="RM", tank=1), **values)


def dose(shed: Shed, value: float = 60.0, unit: str = "mL", **changes: Any) -> DoseAdded:
    made = DoseAdded(at=shed.now, by="RM", tank=1, product="bleach", amount=Amount(value, unit))
    return replace(made, **changes)


def acid(shed: Shed, value: float = 60.0, unit: str = "mL", **changes: Any) -> AcidAdded:
    made = AcidAdded(at=shed.now, by="RM", tank=1, product="vinegar", amount=Amount(value, unit))
    return replace(made, **changes)


def batch(shed: Shed, **changes: Any) -> BatchWashed:
    return replace(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot="L-1"), **changes)


def test_a_usual_reading_is_taken_at_once(shed: Shed) -> None:
    assert verdict(shed, reading(shed, fac_mg_l=48.0, ph=7.1)) == Verdict()


# What no water and no instrument can show: common practice, no published source, but for pH and
# the freezing of water.
@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("fac_mg_l", -1.0),
        ("fac_mg_l", 5000.0),
        ("total_mg_l", 5000.0),
        ("ph", 15.0),
        ("ph", -0.5),
        ("turbidity_ntu", -3.0),
        ("turbidity_ntu", 1e6),
        ("water_c", 900.0),
        ("water_c", -40.0),
        ("pulp_c", 900.0),
        ("orp_mv", 9000.0),
    ],
)
def test_a_value_that_cannot_be_is_refused_at_its_field(
    shed: Shed, field: str, value: float
) -> None:
    assert fields(shed, reading(shed, **{field: value})) == [field]


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("field", ["fac_mg_l", "ph", "water_c", "orp_mv"])
def test_what_is_no_number_is_refused_in_a_sentence_that_can_be_read(
    shed: Shed, field: str, value: float
) -> None:
    assert fields(shed, reading(shed, **{field: value})) == [field]


@pytest.mark.parametrize(("weight", "contact"), [(-5.0, 60.0), (math.nan, 60.0), (20.0, 0.0)])
def test_a_batch_of_an_impossible_weight_or_time_is_refused(
    shed: Shed, weight: float, contact: float
) -> None:
    assert fields(shed, batch(shed, weight_kg=weight, contact_s=contact)) in (
        ["weight_kg"],
        ["contact_s"],
    )


def test_a_ph_of_four_is_possible_but_doubted(shed: Shed) -> None:
    assert "4.0 is an unusual pH" in doubts(shed, reading(shed, ph=4.0))


def test_a_reading_of_nothing_is_refused(shed: Shed) -> None:
    assert fields(shed, reading(shed)) == [""]


def test_free_chlorine_over_total_is_doubted(shed: Shed) -> None:
    assert "which it includes" in doubts(shed, reading(shed, fac_mg_l=50.0, total_mg_l=40.0))


def test_a_jump_without_a_dose_is_doubted_and_with_one_it_is_not(shed: Shed) -> None:
    assert "without a dose" in doubts(shed, reading(shed, fac_mg_l=90.0))
    shed.dose()
    shed.wait(6)
    assert doubts(shed, reading(shed, fac_mg_l=90.0)) == ""


@pytest.mark.parametrize(
    ("before", "now", "words"),
    [
        (1.5, 15.0, "far over"),  # the point slipped: 1.5 was meant
        (3.0, 30.0, "without a dose"),
        (1.5, 2.0, ""),
        (50.0, 5.0, ""),  # dirt can do that: only a forecast knows better
        (4.0, 1.5, ""),
    ],
)
def test_a_level_ten_times_off_is_doubted(before: float, now: float, words: str) -> None:
    shed = Shed()
    shed.fill()
    shed.wait(10).read(1, before, ph=7.0)
    shed.wait(5)
    said = doubts(shed, reading(shed, fac_mg_l=now, fac_method=Method.KIT))
    assert words in said
    assert bool(words) is bool(said)


def test_a_dose_excuses_no_more_than_it_can_have_brought(shed: Shed) -> None:
    shed.dose()  # 15 mg/L
    shed.wait(6)
    assert doubts(shed, reading(shed, fac_mg_l=90.0)) == ""
    over = doubts(shed, reading(shed, fac_mg_l=500.0))
    assert "far over the 70\N{NO-BREAK SPACE}ppm at most" in over
    fresh = Shed()
    fresh.fill()
    assert doubts(fresh, reading(fresh, fac_mg_l=4.0)) == ""  # what the tap brings is not known
    fresh.dose(ml=8)  # 2 mg/L
    fresh.wait(6)
    assert "far over" in doubts(fresh, reading(fresh, fac_mg_l=15.0))


def test_a_forecast_says_what_a_surprise_is(shed: Shed) -> None:
    def said(level: float, expected: tuple[float, float]) -> str:
        event = reading(shed, fac_mg_l=level, fac_method=Method.KIT)
        found = check(shed.shift, event, shed.now, expected)
        return " ".join(say(doubt, UnitSystem.METRIC) for doubt in found.doubts)

    shed.wash(8)
    assert said(30.0, (25.0, 40.0)) == ""
    assert said(3.0, (25.0, 40.0)).startswith("3\N{NO-BREAK SPACE}ppm is far under")
    assert said(0.5, (25.0, 40.0)).startswith("0.5\N{NO-BREAK SPACE}ppm is far under")
    assert said(5.0, (25.0, 40.0)) == ""
    assert said(0.0, (25.0, 40.0)) == ""  # nothing at all is no slip of a point
    assert "far over" in said(44.0, (2.0, 4.0))
    assert "far over" in said(44.0, (0.2, 0.8))
    assert "far over" not in said(44.0, (0.0, 0.0))  # nothing was expected: no factor of it
    assert said(4.4, (2.0, 4.0)) == ""


@pytest.mark.parametrize("add", [Shed.dose, Shed.acid])
def test_a_reading_before_the_last_addition_has_mixed_in_is_doubted(
    shed: Shed, add: Callable[[Shed], Entry]
) -> None:
    add(shed)
    early = shed.now + timedelta(minutes=3)
    shed.wait(10)
    read = reading(shed, ph=7.0, fac_mg_l=52.0)
    assert "not mixed yet until 07:20: it may read wrong" in doubts(shed, replace(read, at=early))
    assert doubts(shed, reading(shed, at=early, water_c=12.0)) == ""
    assert doubts(shed, read) == ""


def test_a_reading_in_the_minute_of_a_dose_is_doubted(shed: Shed) -> None:
    shed.dose()
    assert "not mixed yet" in doubts(shed, reading(shed, fac_mg_l=60.0))


def test_a_reading_is_doubted_until_the_newest_of_two_additions_has_mixed_in(shed: Shed) -> None:
    shed.acid()
    shed.wait(10).dose()
    soon = reading(shed, at=shed.now + timedelta(minutes=3), ph=7.0, fac_mg_l=52.0)
    shed.wait(10)
    assert "not mixed yet until 07:30: it may read wrong" in doubts(shed, soon)


def test_what_lies_in_the_future_is_refused_but_for_a_minute_of_slack(shed: Shed) -> None:
    ahead = reading(shed, fac_mg_l=48.0, at=shed.now + timedelta(minutes=5))
    assert fields(shed, ahead) == ["at"]
    assert fields(shed, replace(ahead, at=shed.now + timedelta(seconds=30))) == []


def test_what_lies_before_the_shift_is_refused(shed: Shed) -> None:
    assert "at" in fields(shed, reading(shed, ph=7.0, at=START - timedelta(minutes=1)))


def test_what_lies_before_the_first_filling_is_refused_not_lost() -> None:
    shed = Shed().wait(30)
    shed.fill()
    shed.wait(5)
    early = reading(shed, fac_mg_l=48.0, at=shed.now - timedelta(minutes=20))
    assert fields(shed, early) == ["at"]


def test_an_entry_that_comes_late_is_held_against_the_water_of_its_time(shed: Shed) -> None:
    shed.fill(volume_l=300.0)
    late = WaterExchanged(at=shed.now - timedelta(minutes=3), by="RM", tank=1, volume_l=400.0)
    assert fields(shed, late) == []
    assert fields(shed, replace(late, at=shed.now)) == ["volume_l"]


def test_nobody_enters_nothing(shed: Shed) -> None:
    assert fields(shed, reading(shed, ph=7.0, by="  ")) == ["by"]


@pytest.mark.parametrize("make", [reading, dose, acid])
def test_a_tank_without_water_takes_nothing_but_its_filling(
    shed: Shed, make: Callable[..., Event]
) -> None:
    values = {"ph": 7.0} if make is reading else {}
    assert fields(shed, make(shed, tank=2, **values)) == ["tank"]
    assert fields(shed, TankFilled(at=shed.now, by="RM", tank=2, volume_l=500.0)) == []


def test_a_tank_that_is_not_there_is_refused(shed: Shed) -> None:
    assert fields(shed, reading(shed, tank=9, ph=7.0)) == ["tank"]
    assert fields(shed, TankFilled(at=shed.now, by="RM", tank=9, volume_l=500.0)) == ["tank"]
    assert fields(shed, batch(shed, tanks=(9,))) == ["tank"]


@pytest.mark.parametrize("value", [math.nan, math.inf, 0.0, 1e9])
def test_water_of_an_impossible_volume_is_refused(shed: Shed, value: float) -> None:
    fill = TankFilled(at=shed.now, by="RM", tank=1, volume_l=value)
    exchange = WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=value)
    assert set(fields(shed, fill)) == {"volume_l"}
    assert set(fields(shed, exchange)) == {"volume_l"}


def test_a_filling_far_from_the_usual_is_doubted(shed: Shed) -> None:
    assert "far from" in doubts(shed, TankFilled(at=shed.now, by="RM", tank=1, volume_l=50.0))


def test_more_water_than_the_tank_holds_cannot_be_exchanged(shed: Shed) -> None:
    exchange = WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=600.0)
    assert fields(shed, exchange) == ["volume_l"]


@pytest.mark.parametrize("value", [0.0, -5.0, math.nan, math.inf])
def test_an_amount_is_above_nothing_and_finite(shed: Shed, value: float) -> None:
    assert fields(shed, dose(shed, value)) == ["amount"]
    assert fields(shed, acid(shed, value)) == ["amount"]


def test_a_dose_over_the_label_is_doubted_and_an_absurd_one_is_refused(shed: Shed) -> None:
    # By mass balance 1 mL of 125 g/L raises 500 L by 0.25 mg/L: White, Handbook of Chlorination
    # (1972).
    assert "label maximum of 100" in doubts(shed, dose(shed, 500.0))
    assert fields(shed, dose(shed, 5000.0)) == ["amount"]


def test_an_amount_in_the_wrong_measure_is_refused(shed: Shed) -> None:
    assert fields(shed, dose(shed, unit="g")) == ["amount"]
    assert fields(shed, acid(shed, unit="g")) == ["amount"]
    solid = Acid(key="citric", name="citric acid", kind=AcidKind.CITRIC, strength_pct=100.0)
    other = Shed(a_setup(acids=(solid,)))
    other.fill()
    assert fields(other, acid(other, product="citric")) == ["amount"]
    assert fields(other, acid(other, product="citric", amount=Amount(20.0, "g"))) == []


def test_a_product_of_unknown_strength_is_refused_not_guessed() -> None:
    setup = a_setup()
    weak = replace(setup.sanitizers[0], strength=None, basis=None)
    shed = Shed(replace(setup, sanitizers=(weak,)))
    shed.fill()
    assert fields(shed, dose(shed)) == ["amount"]


def test_products_outside_the_set_up_are_refused(shed: Shed) -> None:
    assert fields(shed, dose(shed, product="other")) == ["product"]
    assert fields(shed, acid(shed, product="other")) == ["product"]


def test_more_acid_than_a_tank_takes_is_refused(shed: Shed) -> None:
    assert fields(shed, acid(shed, 6000.0)) == ["amount"]


def test_a_dose_that_adds_up_to_more_than_the_label_is_doubted(shed: Shed) -> None:
    # 50 mg/L was read; 240 mL of 125 g/L raises 500 L by 60 mg/L (mass balance: White, 1972).
    assert "to 110\N{NO-BREAK SPACE}ppm, over the label maximum" in doubts(shed, dose(shed, 240.0))
    shed.read(fac=30)
    assert "label maximum" not in doubts(shed, dose(shed, 240.0))


def test_a_second_whole_dose_before_the_first_was_measured_is_doubted(shed: Shed) -> None:
    shed.read(fac=30)
    shed.dose(ml=40.0)
    shed.wait(10)
    assert doubts(shed, dose(shed, 40.0)) == ""  # 40 mg/L so far: the other half of a dose
    shed.dose(ml=40.0)
    shed.wait(10)
    assert "was not measured yet" in doubts(shed, dose(shed, 40.0))
    shed.read(fac=33)
    assert doubts(shed, dose(shed, 40.0)) == ""


def test_fresh_water_is_dosed_twice_only_after_asking() -> None:
    shed = Shed()
    shed.fill()
    assert doubts(shed, dose(shed, 200.0)) == ""
    shed.dose(ml=200.0)
    shed.wait(10)
    assert "was not measured yet" in doubts(shed, dose(shed, 200.0))


def test_water_that_was_exchanged_took_chlorine_with_it(shed: Shed) -> None:
    shed.read(fac=90)
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=250.0))
    assert "label" not in doubts(shed, dose(shed, 120.0))  # 45 + 30


def test_acid_is_doubted_under_the_target_and_more_where_gas_comes_off(shed: Shed) -> None:
    assert doubts(shed, acid(shed)) == ""
    shed.read(fac=50, ph=6.8)
    assert "under the target of 7" in doubts(shed, acid(shed))
    shed.read(fac=50, ph=5.8)
    assert "makes chlorine gas" in doubts(shed, acid(shed))


def test_acid_is_weighed_by_what_it_neutralises() -> None:
    # 31.45 % hydrochloric acid is 10.0 mol/L (1.16 kg/L, 36.46 g/mol), vinegar 0.83 mol/L: the same
    # volume does twelve times as much.
    strong = Acid(
        key="muriatic", name="muriatic acid", kind=AcidKind.HYDROCHLORIC, strength_pct=31.45
    )
    shed = Shed(a_setup(acids=(strong, *a_setup().acids)))
    shed.fill()
    muriatic = acid(shed, product="muriatic")
    assert doubts(shed, replace(muriatic, amount=Amount(30.0, "mL"))) == ""
    assert fields(shed, replace(muriatic, amount=Amount(1000.0, "mL"))) == ["amount"]
    assert doubts(shed, acid(shed, 360.0)) == ""


def test_acid_that_uses_up_the_alkalinity_of_the_report_is_doubted() -> None:
    # 500 L at 50 mg/L as CaCO3 holds 0.5 eq; 1 L of 5 % vinegar brings 0.83 eq.
    shed = Shed(a_setup(source=SourceWater(alkalinity_mg_l=50.0)))
    shed.fill()
    assert doubts(shed, acid(shed, 300.0)) == ""
    assert "In water of 50 mg/L alkalinity" in doubts(shed, acid(shed, 1000.0))


def acid_shed(ph: float, **source: float) -> Shed:
    """500 L that were dosed and read."""
    shed = Shed(a_setup(a_tank(1, "Flume"), source=SourceWater(**source)))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=ph)
    shed.wait(1)
    return shed


def test_acid_that_takes_the_ph_far_down_is_doubted_though_nobody_told_the_alkalinity() -> None:
    """1,247 mL, where the 1 was meant as the tank: on a line of one tank it is a digit."""
    for ph in (7.0, 7.5, 8.0, 8.3):
        shed = acid_shed(ph)
        assert "under 6.5" in doubts(shed, acid(shed, 1247.0))
        assert "under 6.5" in doubts(shed, acid(shed, 1000.0))  # ten times what was meant
        assert doubts(shed, acid(shed, 247.0)) == ""
        assert doubts(shed, acid(shed, 65.0)) == ""  # the careful step of such a tank


def test_acid_is_held_against_a_ph_that_was_read_in_the_same_minute() -> None:
    shed = acid_shed(8.0)
    shed.read(ph=7.2)
    assert "takes the pH from 7.2 to" in doubts(shed, acid(shed, 1247.0))


def test_acid_that_was_not_read_since_counts_with_what_comes_on_top() -> None:
    shed = acid_shed(7.5)
    shed.acid(ml=500)
    shed.wait(6)
    assert "under 6.5" in doubts(shed, acid(shed, 247.0))
    shed.read(ph=7.4)
    shed.wait(1)
    assert "under 6.5" not in doubts(shed, acid(shed, 247.0))


def test_in_hard_water_that_was_told_more_acid_passes_unasked() -> None:
    shed = acid_shed(8.0, alkalinity_mg_l=300.0)
    assert doubts(shed, acid(shed, 1247.0)) == ""
    soft = acid_shed(8.0, alkalinity_mg_l=30.0)
    assert "In water of 30 mg/L alkalinity" in doubts(soft, acid(soft, 600.0))


def test_chlorine_and_peracetic_acid_are_never_mixed() -> None:
    paa = a_peracetic_setup()
    bleach = a_setup().sanitizers[0]
    vinegar = a_setup().acids
    both = replace(
        paa,
        tanks=(*paa.tanks, a_tank(2, "Rinse")),
        sanitizers=(*paa.sanitizers, bleach),
        acids=vinegar,
    )
    shed = Shed(both)
    shed.fill(1)
    shed.fill(2)
    assert fields(shed, dose(shed)) == ["product"]
    assert fields(shed, acid(shed)) == ["product"]
    assert fields(shed, dose(shed, tank=2, product="paa")) == ["product"]
    assert fields(shed, dose(shed, 50.0, product="paa")) == []
    assert fields(shed, dose(shed, tank=2)) == []


# Hypochlorite and acid give off chlorine gas: the usual caution of labels and safety data sheets.
@pytest.mark.parametrize("minutes", [0, 1, 4])
def test_acid_within_the_mixing_time_of_a_dose_is_doubted(shed: Shed, minutes: int) -> None:
    shed.dose()
    shed.wait(minutes)
    assert "chlorine gas" in doubts(shed, acid(shed))


@pytest.mark.parametrize("minutes", [0, 1, 4])
def test_a_dose_within_the_mixing_time_of_acid_is_doubted(shed: Shed, minutes: int) -> None:
    shed.acid()
    shed.wait(minutes)
    assert "chlorine gas" in doubts(shed, dose(shed))


def test_the_order_in_which_both_are_written_down_makes_no_difference(shed: Shed) -> None:
    shed.dose()
    assert "chlorine gas" in doubts(shed, acid(shed, at=shed.now - timedelta(minutes=2)))


def test_acid_after_the_mixing_time_is_not_doubted(shed: Shed) -> None:
    shed.dose()
    shed.wait(5)
    assert doubts(shed, acid(shed)) == ""


def test_a_batch_needs_a_lot_and_tanks_once_each(shed: Shed) -> None:
    assert fields(shed, batch(shed, lot=" ")) == ["lot"]
    assert fields(shed, batch(shed, tanks=())) == ["tanks"]
    assert fields(shed, batch(shed, tanks=(1, 1))) == ["tanks"]


def test_a_batch_in_water_that_was_never_measured_is_doubted(shed: Shed) -> None:
    shed.fill(tank=2)
    assert "Nothing was measured" in doubts(shed, batch(shed, tanks=(1, 2)))


@pytest.mark.parametrize("typed", [0.14, 1.4, 140.0, 1400.0])
def test_an_odd_weight_is_asked_about_from_the_first_batch_on(shed: Shed, typed: float) -> None:
    """A slip of a factor of ten in the only weight would mislead the forecast most of all."""
    shed.read(1, 50, ph=7.0)
    assert "right?" in doubts(shed, batch(shed, weight_kg=typed))
    assert doubts(shed, batch(shed, weight_kg=14.0)) == ""
    for _ in range(3):
        shed.tell(batch(shed, weight_kg=14.0))
    assert "weighed about 14\xa0kg so far" in doubts(shed, batch(shed, weight_kg=typed))
    assert doubts(shed, batch(shed, weight_kg=30.0)) == ""  # heavy, and may well be
    shed.tell(batch(shed, weight_kg=typed))
    assert doubts(shed, batch(shed, weight_kg=typed)) == ""  # it was said to be right


@pytest.mark.parametrize(
    ("kg", "asked"), [(1.5, False), (1.49, True), (100.0, False), (100.1, True)]
)
def test_a_first_weight_is_held_against_the_water_up_to_the_ends_of_what_is_usual(
    shed: Shed, kg: float, *, asked: bool
) -> None:
    # 3 to 200 g for a litre of the 500 L: common practice, no published source.
    shed.read(1, 50, ph=7.0)
    assert ("unusual weight of a batch" in doubts(shed, batch(shed, weight_kg=kg))) is asked


@pytest.mark.parametrize(("kg", "asked"), [(3.5, False), (3.49, True), (56.0, False), (56.1, True)])
def test_a_weight_is_asked_about_from_four_times_the_others_on(
    shed: Shed, kg: float, *, asked: bool
) -> None:
    # Four times, common practice, no published source.
    shed.read(1, 50, ph=7.0)
    for _ in range(3):
        shed.tell(batch(shed, weight_kg=14.0))
    assert ("weighed about" in doubts(shed, batch(shed, weight_kg=kg))) is asked


def test_another_lot_may_weigh_what_it_likes_next_to_its_own(shed: Shed) -> None:
    shed.read(1, 50, ph=7.0)
    for lot, kg in (("herbs", 2.0), ("melons", 40.0)):
        shed.tell(batch(shed, lot=lot, weight_kg=kg))
    assert doubts(shed, batch(shed, lot="melons", weight_kg=38.0)) == ""
    assert "about 2\xa0kg" in doubts(shed, batch(shed, lot="herbs", weight_kg=38.0))


def test_a_batch_through_a_stopped_tank_is_asked_about(shed: Shed) -> None:
    before = shed.now
    assert doubts(shed, batch(shed)) == ""
    shed.wait(2).read(fac=10)
    shed.look()
    said = doubts(shed, batch(shed))
    assert said == (
        "Tank 1 is stopped: free chlorine under the critical low. Stop feeding. What goes through "
        "it all the same is to be held."
    )
    assert doubts(shed, batch(shed, at=before)) == ""  # written down late: it came before
    assert "Tank 2" not in doubts(shed, batch(shed, tanks=(1,)))
    shed.dose(ml=200)
    shed.wait(6).read(fac=50)
    shed.look()
    assert doubts(shed, batch(shed)) == ""


def test_a_hold_that_is_asked_for_stops_nothing_more(shed: Shed) -> None:
    shed.wash()
    shed.wait(2).read(fac=10)
    shed.dose(ml=200)
    shed.wait(6).read(fac=50)
    assert "hold" in {flag.rule for flag in shed.look().flags}
    assert doubts(shed, batch(shed)) == ""


def test_a_hold_is_of_batches_that_were_washed_and_says_why(shed: Shed) -> None:
    hold = HoldPlaced(at=shed.now, by="RM", tank=1, batches=(99,), reason="low")
    assert fields(shed, hold) == ["batches"]
    assert fields(shed, replace(hold, batches=())) == ["batches"]
    (washed,) = shed.wash()
    assert fields(shed, replace(hold, tank=9, batches=(washed.seq,))) == ["tank"]
    assert fields(shed, replace(hold, batches=(washed.seq,), reason="")) == ["reason"]
    assert fields(shed, replace(hold, batches=(washed.seq,))) == []


def test_only_an_open_hold_can_be_decided_on(shed: Shed) -> None:
    (washed,) = shed.wash()
    held = shed.hold(washed.seq)
    release = HoldReleased(
        at=shed.now,
        by="RM",
        hold=held.seq,
        decision=Decision.DISCARD,
        reason="the one batch is thrown away",
        found="the one batch met too little",
        water="measured in the First dunk",
        prevention="the lot L-1 is washed last",
    )
    assert fields(shed, release) == []
    assert doubts(shed, release) == ""
    for part in ("found", "reason", "water", "prevention"):
        assert fields(shed, replace(release, **{part: "  "})) == [part]
        assert fields(shed, replace(release, **{part: "x" * 2001})) == [part]
    assert fields(shed, replace(release, by="TK")) == ["by"]  # a line worker
    shed.tell(release)
    assert fields(shed, release) == ["hold"]


def test_a_decision_says_in_each_part_what_was_done_in_this_shift(shed: Shed) -> None:
    (washed, other) = shed.wash(2)
    held = shed.hold(washed.seq)
    release = HoldReleased(
        at=shed.now,
        by="RM",
        hold=held.seq,
        decision=Decision.DISCARD,
        reason="the one batch is thrown away",
        found="lot L-1 was under the critical low",
        water="First dunk drained",
        prevention="read before each lot",
    )
    for part in ("found", "reason", "water", "prevention"):
        assert fields(shed, replace(release, **{part: "x"})) == [part]
        assert fields(shed, replace(release, **{part: "12 3"})) == [part]
        assert fields(shed, replace(release, **{part: "abc"})) == [part]
        assert fields(shed, replace(release, **{part: "L-1 abc"})) == []
        said = doubts(shed, replace(release, **{part: "everything is fine again"}))
        assert "names no batch, amount or act of this shift" in said
    copied = replace(release, water=release.found + ".")
    assert fields(shed, copied) == ["water"]
    # What was not done here is no act of this shift; once it is, it is.
    dosed = replace(release, water="dosed by hand")
    assert "names no batch" in doubts(shed, dosed)
    shed.dose(ml=140.0)
    assert doubts(shed, dosed) == ""
    assert doubts(shed, replace(release, water="140 mL by hand")) == ""
    assert doubts(shed, replace(release, water="at 07:00, by hand")) == ""
    assert "names no batch" in doubts(shed, replace(release, water="at 23:11, by hand"))
    shed.tell(release)
    again = shed.hold(other.seq)
    said = doubts(shed, replace(release, hold=again.seq))
    assert "This was written of another hold, word for word" in said


def test_a_shift_with_open_holds_ends_only_with_somebody_named_for_them(shed: Shed) -> None:
    first, second = shed.wash(2)
    shed.hold(first.seq)
    end = ShiftEnded(at=shed.now, by="RM")
    assert fields(shed, end) == ["holds_to"]

    def told() -> str:
        return say(verdict(shed, end).faults[0].message, UnitSystem.METRIC)

    assert told() == "One hold is open: say who takes it over."
    shed.hold(second.seq)
    assert told() == "2 holds are open: say who takes them over."
    assert fields(shed, replace(end, holds_to="XX")) == ["holds_to"]
    assert fields(shed, replace(end, holds_to="TK")) == []


def test_after_the_end_only_notes_holds_decisions_and_corrections_are_taken(shed: Shed) -> None:
    (washed,) = shed.wash()
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    assert fields(shed, reading(shed, ph=7.0)) == [""]
    hold = HoldPlaced(at=shed.now, by="RM", tank=1, batches=(washed.seq,), reason="found glass")
    assert fields(shed, hold) == []
    assert fields(shed, NoteWritten(at=shed.now, by="RM", text="swept")) == []


def test_a_shift_goes_only_to_somebody_in_the_set_up(shed: Shed) -> None:
    assert fields(shed, HandedOver(at=shed.now, by="RM", to="XX")) == ["to"]
    assert fields(shed, HandedOver(at=shed.now, by="RM", to="TK")) == ["to"]  # a line worker
    assert fields(shed, HandedOver(at=shed.now, by="RM", to="RM")) == []


@pytest.mark.parametrize(("text", "found"), [("", ["text"]), ("x" * 2001, ["text"]), ("ok", [])])
def test_a_note_has_words_but_not_too_many(shed: Shed, text: str, found: list[str]) -> None:
    assert fields(shed, NoteWritten(at=shed.now, by="RM", text=text)) == found


def test_only_a_flag_that_is_up_can_be_acknowledged(shed: Shed) -> None:
    seen = Acknowledged(at=shed.now, by="RM", tank=1, rule="chlorine-low")
    assert fields(shed, seen) == [""]
    shed.read(fac=30)
    shed.look()
    assert fields(shed, seen) == []


def corrected(shed: Shed, entry: int, instead: Any, reason: str = "misread") -> Corrected:
    return Corrected(at=shed.now, by="RM", entry=entry, reason=reason, instead=instead)


def test_a_correction_is_of_the_same_kind_and_says_why(shed: Shed) -> None:
    read = shed.read(fac=48)
    assert fields(shed, corrected(shed, read.seq, dose(shed))) == ["entry"]
    assert fields(shed, corrected(shed, read.seq, None, reason=" ")) == ["reason"]
    assert fields(shed, corrected(shed, read.seq, reading(shed, fac_mg_l=45.0))) == []
    assert fields(shed, corrected(shed, read.seq, None)) == []


def test_a_line_is_paused_once_and_goes_on_only_after_that(shed: Shed) -> None:
    pause = LinePaused(at=shed.now, by="RM")
    resume = LineResumed(at=shed.now, by="RM")
    assert (fields(shed, pause), fields(shed, resume)) == ([], [""])
    assert fields(shed, replace(pause, reason=" ")) == ["reason"]
    entry = shed.tell(pause)
    shed.wait(10)
    assert fields(shed, replace(pause, at=shed.now)) == [""]
    assert fields(shed, replace(resume, at=shed.now)) == []
    assert fields(shed, replace(resume, at=shed.now - timedelta(minutes=12))) == ["at"]
    assert fields(shed, corrected(shed, entry.seq, replace(pause, reason="pump"))) == []
    assert fields(shed, corrected(shed, entry.seq, None)) == []


def test_what_is_no_entry_of_a_person_cannot_be_corrected(shed: Shed) -> None:
    assert fields(shed, corrected(shed, 0, None)) == ["entry"]
    assert fields(shed, corrected(shed, 999, None)) == ["entry"]


def test_a_correction_is_checked_like_the_entry_it_replaces(shed: Shed) -> None:
    read = shed.read(fac=48)
    for wrong, field in (
        (reading(shed, fac_mg_l=5000.0), "fac_mg_l"),
        (reading(shed, tank=9, fac_mg_l=45.0), "tank"),
        (reading(shed), ""),
        (reading(shed, ph=7.0, at=START - timedelta(hours=1)), "at"),
        (reading(shed, ph=7.0, at=shed.now + timedelta(hours=1)), "at"),
    ):
        assert fields(shed, corrected(shed, read.seq, wrong)) == [field]
    assert "unusual" in doubts(shed, corrected(shed, read.seq, reading(shed, ph=4.0)))


def test_a_correction_is_not_held_against_the_value_that_it_takes_away(shed: Shed) -> None:
    wrong = shed.read(fac=5)
    right = reading(shed, fac_mg_l=50.0)
    assert "without a dose" in doubts(shed, right)
    assert "without a dose" not in doubts(shed, corrected(shed, wrong.seq, right))


def test_a_correction_of_a_bad_reading_to_a_good_one_is_asked_about(shed: Shed) -> None:
    bad = shed.read(fac=5, ph=7.0)
    said = doubts(shed, corrected(shed, bad.seq, reading(shed, fac_mg_l=50.0, ph=7.0)))
    assert "turns 5\N{NO-BREAK SPACE}ppm of free chlorine" in said
    assert "into 50\N{NO-BREAK SPACE}ppm" in said
    assert doubts(shed, corrected(shed, bad.seq, reading(shed, fac_mg_l=7.0, ph=7.0))) == ""
    for gone in (None, reading(shed, ph=7.0)):
        assert "takes away 5" in doubts(shed, corrected(shed, bad.seq, gone))
    good = shed.read(fac=50, ph=7.0)
    assert doubts(shed, corrected(shed, good.seq, reading(shed, fac_mg_l=5.0, ph=7.0))) == ""


def test_a_correction_of_a_ph_that_was_too_high_is_asked_about() -> None:
    shed = Shed(a_setup(a_tank(1, "Flume", critical_ph=7.5)))
    shed.fill()
    bad = shed.read(fac=50, ph=8.5)
    said = doubts(shed, corrected(shed, bad.seq, reading(shed, fac_mg_l=50.0, ph=7.0)))
    assert "turns a pH of 8.5" in said


def test_what_was_corrected_once_is_compared_as_it_stands(shed: Shed) -> None:
    read = shed.read(fac=50)
    shed.tell(corrected(shed, read.seq, reading(shed, fac_mg_l=5.0)))
    assert "turns 5" in doubts(shed, corrected(shed, read.seq, reading(shed, fac_mg_l=50.0)))


def test_a_correction_takes_no_batch_out_of_a_hold(shed: Shed) -> None:
    first, second = (entry.seq for entry in shed.wash(2))
    held = shed.hold(first)
    hold = HoldPlaced(at=shed.now, by="RM", tank=1, batches=(first, second), reason="low")
    assert fields(shed, corrected(shed, held.seq, hold)) == []
    for instead in (None, replace(hold, batches=(second,))):
        assert fields(shed, corrected(shed, held.seq, instead)) == ["entry"]


def test_a_hold_that_was_decided_on_is_not_corrected(shed: Shed) -> None:
    (washed,) = shed.wash()
    held = shed.hold(washed.seq)
    shed.tell(
        HoldReleased(at=shed.now, by="RM", hold=held.seq, decision=Decision.DISCARD, reason="low")
    )
    wider = HoldPlaced(at=shed.now, by="RM", tank=1, batches=(washed.seq,), reason="lower")
    assert fields(shed, corrected(shed, held.seq, wider)) == ["entry"]


def test_water_is_measured_before_it_goes(shed: Shed) -> None:
    change = TankFilled(at=shed.now, by="RM", tank=1, volume_l=500.0)
    assert doubts(shed, change) == ""
    shed.wash()
    assert "one batch was washed" in doubts(shed, replace(change, at=shed.now))
    shed.wash(2)
    assert "3 batches were washed" in doubts(shed, replace(change, at=shed.now))
    shed.read(ph=7.0)
    assert "3 batches" in doubts(shed, replace(change, at=shed.now))
    shed.read(fac=48)
    assert doubts(shed, replace(change, at=shed.now)) == ""


def test_a_shift_does_not_begin_in_the_future_nor_by_nobody(shed: Shed) -> None:
    started = shed.shift.started
    assert starting_faults(started, started.at) == ()
    (ahead,) = starting_faults(started, started.at - timedelta(minutes=5))
    (nobody,) = starting_faults(replace(started, by=" "), started.at)
    assert (ahead.field, nobody.field) == ("at", "by")


def test_what_belongs_to_no_shift_is_refused(shed: Shed) -> None:
    for event in (
        SetupSaved(at=shed.now, by="RM", setup=a_setup()),
        FlagsChanged(at=shed.now, by="rules", upto=0),
        shed.shift.started,
    ):
        assert fields(shed, event) == [""]


def test_a_tank_that_mixes_slowly_keeps_both_apart_for_longer() -> None:
    shed = Shed(a_setup(a_tank(1, "Flume", mix_minutes=15.0)))
    shed.fill()
    shed.dose()
    shed.wait(10)
    assert "within 15\N{NO-BREAK SPACE}min" in doubts(shed, acid(shed))


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(started=SHIFT_STARTED, past=st.lists(events(), max_size=6), event=events())
def test_no_event_on_any_state_makes_the_check_fail(
    started: Event, past: list[Event], event: Event
) -> None:
    ((entry, _),) = extend("any", None, [started], START)
    state = begin("any", entry)
    for one in past:
        ((entry, _),) = extend("any", entry, [one], START)
        state = step(state, entry)
    found = check(state, event, START)
    assert all(say(fault.message, UnitSystem.US) for fault in found.faults)
    assert all(say(doubt, UnitSystem.METRIC) for doubt in found.doubts)
