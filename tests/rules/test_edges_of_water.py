"""What rules find in the water at the edge of what they go by: when to check, change and hold."""

import re
from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from washmon.forecast.forecast_cache import ForecastCache
from washmon.line.events import (
    BatchWashed,
    Corrected,
    DoseAdded,
    HoldPlaced,
    Limit,
    Method,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    WaterExchanged,
)
from washmon.line.fill_water import FillWater
from washmon.line.flags import Amount, Flag, Level
from washmon.line.message import Message, say
from washmon.line.setup import LabelBasis, Margins, TemperatureRule, TemperatureRuleKind
from washmon.line.state import order
from washmon.rules import all_rules
from washmon.rules.base import Protects, RuleContext
from washmon.rules.catalogue import thresholds
from washmon.rules.discharge import before_discharge
from washmon.rules.entering import check_entry, unheld
from washmon.rules.holding import estimated, unestimated
from washmon.rules.in_question import (
    bridged_below,
    limits_failed,
    since_last_good_check,
    to_hold,
    windows,
)
from washmon.units import UnitSystem


def plain(*messages: Message) -> str:
    said = " ".join(say(message, UnitSystem.METRIC) for message in messages)
    return said.replace("\N{NO-BREAK SPACE}", " ")


def up(shed: Shed, rule: str) -> Flag:
    flag = shed.flag(rule) or shed.noted(rule)
    assert flag is not None, (shed.rules_up(), rule)
    return flag


def good(**tank: object) -> Shed:
    """Return a shed whose only tank is filled, dosed, measured and good."""
    shed = Shed(a_setup(replace(a_tank(1, "Only"), **tank)))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    return shed


def context(shed: Shed) -> RuleContext:
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    return RuleContext(shed.shift, tank, tank.fill, shed.now, frozenset())


# -- checks ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("kept_with", ["free chlorine", "peracetic acid"])
@pytest.mark.parametrize(
    ("batches", "said"), [(1, "A batch was washed in"), (2, "2 batches were washed in")]
)
def test_washing_in_unknown_water_is_told_by_its_batches_and_sanitizer(
    kept_with: str, batches: int, said: str
) -> None:
    shed = Shed(a_setup() if kept_with == "free chlorine" else a_peracetic_setup())
    shed.fill()
    shed.wait(3)
    first, *_ = shed.wash(batches)
    flag = up(shed, "first-reading")
    assert plain(flag.why) == f"{said} water in which {kept_with} was never measured."
    assert (flag.since, flag.level) == (first.event.at, Level.STOP)


def test_a_ph_that_was_never_measured_only_watches() -> None:
    shed = Shed()
    shed.fill()
    shed.read(fac=50)
    assert shed.flag("first-reading") is None
    shed.wash(1)
    assert up(shed, "first-reading").level is Level.WATCH


def test_what_was_added_is_checked_from_the_moment_it_has_mixed_in() -> None:
    shed = good()
    shed.dose(ml=10)
    dosed = shed.now
    shed.wait(4.9)
    assert shed.noted("check-after-adding") is None
    shed.wait(0.1)
    assert up(shed, "check-after-adding").since == dosed + timedelta(minutes=5)


@pytest.mark.parametrize(
    ("batches", "minutes", "said"),
    [
        (6, 0.0, "The last reading is 12 min and 6 batches old."),
        (5, 0.0, ""),
        (1, 30.0, "The last reading is 32 min and 1 batch old."),
        (1, 29.9, ""),  # 30 min, and a delay of two
        (2, 57.0, "The last reading is 61 min and 2 batches old."),
    ],
)
def test_a_check_is_overdue_as_soon_as_its_interval_is_over(
    batches: int, minutes: float, said: str
) -> None:
    shed = good()
    read = shed.now
    shed.wash(batches)
    shed.wait(minutes)
    flag = shed.flag("overdue")
    assert (plain(flag.why) if flag else "") == said
    assert flag is None or flag.since == read + timedelta(minutes=30)


@pytest.mark.parametrize(
    ("batches", "level"), [(11, Level.WATCH), (12, Level.ACT), (13, Level.ACT)]
)
def test_a_check_presses_from_twice_its_interval_on(batches: int, level: Level) -> None:
    shed = good(check_minutes=None)
    shed.wash(batches)
    flag = up(shed, "overdue")
    assert flag.level is level
    assert flag.since == shed.now - timedelta(minutes=2 * batches)


def test_a_ph_may_be_twice_as_old() -> None:
    shed = good(check_minutes=None)
    for batches, said in (
        (11, ""),
        (1, "The last pH is 24 min and 12 batches old."),
        (1, "The last pH is 26 min and 13 batches old."),
    ):
        shed.wash(batches)
        shed.read(fac=50)
        flag = shed.flag("overdue")
        assert (plain(flag.why) if flag else "") == said
    one = good(check_batches=None, check_minutes=5.0)
    one.wash(1)
    one.wait(10).read(fac=50)
    assert plain(up(one, "overdue").why) == "The last pH is 12 min and 1 batch old."
    acid = Shed(a_peracetic_setup())
    acid.fill()
    acid.read(paa_mg_l=50, ph=7.0)
    acid.wash(12)
    acid.read(paa_mg_l=50)
    assert acid.flag("overdue") is None  # there the pH means nothing


# -- changes of water ------------------------------------------------------------------------------


def test_cloudy_water_comes_back_a_tenth_inside_its_limit() -> None:
    shed = good()
    for ntu, is_up in ((60.0, False), (61.0, True), (55.0, True), (53.0, False), (58.0, False)):
        shed.wait(1).read(turbidity_ntu=ntu)
        assert (shed.flag("cloudy") is not None) is is_up, ntu
    shed.read(turbidity_ntu=61.0)
    assert plain(up(shed, "cloudy").why).startswith("61 NTU is over 60 NTU.")


def test_hours_of_a_fill_are_over_to_the_minute() -> None:
    shed = good(hours_per_fill=0.5)
    shed.wait(23.9)  # six went by before the first reading
    assert shed.flag("hours") is None
    shed.wait(0.1)
    assert plain(up(shed, "hours").why).endswith("for 30 min; the set-up allows 30 min.")
    shed.wait(7)
    flag = up(shed, "hours")
    assert plain(flag.why).endswith("for 37 min; the set-up allows 30 min.")
    assert flag.since == shed.now - timedelta(minutes=7)


@pytest.mark.parametrize(
    ("washed", "level"), [(7, None), (8, Level.WATCH), (9, Level.WATCH), (10, Level.ACT)]
)
def test_batches_of_a_fill_are_announced_two_before(washed: int, level: Level | None) -> None:
    shed = good(batches_per_fill=10)
    shed.wash(washed)
    shed.read(fac=50, ph=7.0)
    flag = shed.flag("batches") or shed.noted("batches")
    assert (flag.level if flag else None) is level


@pytest.mark.parametrize(
    ("held", "noted"),
    [((2, 2), True), ((2, 3), False), ((3, 2), False), ((0, 2), True), ((2,), False)],
)
def test_two_doses_in_a_row_that_last_under_three_batches_are_noted(
    held: tuple[int, ...], *, noted: bool
) -> None:
    # The least that is worth a dose: three batches, as the set-up has it.
    shed = good()
    shed.wash(5)
    shed.read(fac=30, ph=7.0)
    for batches in held:
        shed.wait(1).dose()
        shed.wait(6).read(ph=7.0)  # says nothing of chlorine
        shed.read(fac=50, ph=7.0)
        shed.wash(batches)
        shed.wait(1).read(fac=34, ph=7.0)
        shed.wait(1).read(ph=7.0)
    low = shed.now - timedelta(minutes=1)
    flag = shed.noted("doses-do-not-hold")
    assert (flag is not None) is noted
    if flag is not None:
        assert f"held for: {held[0]} and {held[1]}; 3 is the least" in plain(flag.why)
        assert flag.since == low


def test_a_dose_that_was_never_good_counts_once_something_was_washed_after_it() -> None:
    shed = good()
    shed.wash(5)
    shed.read(fac=20, ph=7.0)
    for washed in (0, 0, 1):
        shed.wait(1).dose()
        shed.wash(washed)
        shed.wait(6).read(fac=30, ph=7.0)
        assert shed.noted("doses-do-not-hold") is None
    shed.wait(1).dose()
    shed.wash(2)
    shed.wait(6).read(fac=30, ph=7.0)
    assert "held for: 1 and 2;" in plain(up(shed, "doses-do-not-hold").why)


# -- what is held, and what was in question when ---------------------------------------------------


def test_what_was_washed_in_unknown_water_may_have_met_too_little() -> None:
    shed = Shed(a_setup(a_tank(1, "Only", critical_ph=8.5)))
    shed.fill()
    shed.wash(1)
    shed.read(fac=50, ph=8.8)
    (window,) = windows(shed.shift.tank(1))
    assert limits_failed(shed.shift.tank(1), window) == {Limit.UNCHECKED, Limit.PH}


def test_nothing_is_in_question_where_there_is_no_water() -> None:
    assert since_last_good_check(Shed().shift.tank(1)) == ()


def test_a_decision_covers_what_was_known_when_it_was_made_and_no_more() -> None:
    """A hold and its decision are entered; what was told right after them was not known."""
    shed = good()
    first = shed.wash(1)[0].seq
    shed.wait(1).read(fac=20, ph=7.0)
    shed.hold(first)
    bad = shed.shift.entries[-2]
    assert isinstance(bad.event, ReadingTaken)
    fine = replace(bad.event, fac_mg_l=40.0)
    shed.tell(Corrected(at=shed.now, by="RM", entry=bad.seq, reason="typed", instead=fine))
    assert to_hold(shed.shift, shed.shift.tank(1)) == {}


def test_batches_of_one_minute_are_told_in_the_order_of_the_journal() -> None:
    shed = good()
    for text in "abc":
        shed.tell(NoteWritten(at=shed.now, by="RM", text=text))
    for lot in ("L-2", "L-1"):
        shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot=lot))
    shed.wait(1).read(fac=20, ph=7.0)
    assert "L-2, L-1" in plain(up(shed, "hold").why)


def test_what_a_person_claims_of_a_hold_is_not_kept() -> None:
    hold = HoldPlaced(
        at=good().now,
        by="RM",
        tank=1,
        batches=(4,),
        reason="low",
        chances=(0.5,),
        failed=(Limit.LOW,),
    )
    plain_hold = replace(hold, chances=(), failed=())
    assert unestimated(hold) == plain_hold
    corrected = Corrected(at=hold.at, by="RM", entry=7, reason="x", instead=hold)
    assert unestimated(corrected) == replace(corrected, instead=plain_hold)
    note = NoteWritten(at=hold.at, by="RM", text="x")
    assert unestimated(note) is note
    assert estimated(good().shift, note, {}, hold.at) is note


def test_a_shift_ends_with_a_word_on_what_is_in_question() -> None:
    shed = good()
    assert unheld(shed.shift) is None
    for count, said in ((1, "One batch is in question"), (2, "2 batches are in question")):
        other = good()
        other.wash(count)
        other.wait(1).read(fac=20, ph=7.0)
        found = unheld(other.shift)
        assert found is not None
        assert plain(found).startswith(said)
        end = ShiftEnded(at=other.now, by="RM")
        doubts = [plain(one) for one in check_entry(other.shift, end, other.now).doubts]
        assert [one for one in doubts if one.startswith(said)]


@pytest.mark.parametrize(
    ("count", "said"),
    [(1, "One batch that is in question"), (2, "2 batches that are in question")],
)
def test_a_correction_that_frees_batches_is_asked_about(count: int, said: str) -> None:
    shed = good()
    shed.wash(count)
    bad = shed.wait(1).read(fac=20, ph=7.0)
    assert isinstance(bad.event, ReadingTaken)
    better = replace(bad.event, fac_mg_l=45.0)
    event = Corrected(at=shed.now, by="RM", entry=bad.seq, reason="typed", instead=better)
    doubts = [plain(one) for one in check_entry(shed.shift, event, shed.now).doubts]
    assert [one for one in doubts if one.startswith(said)]
    other = replace(event, instead=replace(bad.event, fac_mg_l=21.0))
    doubts = [plain(one) for one in check_entry(shed.shift, other, shed.now).doubts]
    assert not [one for one in doubts if "in question" in one]


def test_a_reading_is_held_against_both_ends_of_what_was_expected() -> None:
    shed = good()
    shed.wash(2)
    forecasts = ForecastCache().renewed(shed.shift, shed.now)
    reading = ReadingTaken(at=shed.now, by="RM", tank=1, fac_mg_l=48.0, ph=7.0)

    def doubts(low: float, high: float) -> int:
        level = replace(forecasts[1].level, low=low, mid=(low + high) / 2, high=high)
        ahead = replace(forecasts[1], level=level)
        return len(check_entry(shed.shift, reading, shed.now, ahead).doubts)

    usual = len(check_entry(shed.shift, reading, shed.now).doubts)
    assert doubts(40.0, 55.0) == usual
    assert doubts(900.0, 990.0) == doubts(0.5, 1.0) == usual + 1


# -- what is drained, and what the label speaks of -------------------------------------------------


def drained(shed: Shed) -> str:
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    return plain(*before_discharge(FillWater(shed.shift.setup, tank.spec, tank.fill)))


@pytest.mark.parametrize(
    ("readings", "level"),
    [
        ([{"fac": 0.09}], ""),
        ([{"fac": 0.1}], "0.1 ppm"),
        ([], ""),
        ([{"fac": 50.0, "total_mg_l": 60.0}], "60 ppm"),
        ([{"fac": 60.0, "total_mg_l": 50.0}], "60 ppm"),  # free is part of total
        ([{"total_mg_l": 60.0}, {"fac": 40.0}], "40 ppm"),  # read later
        ([{"fac": 40.0}, {"total_mg_l": 60.0}], "60 ppm"),
    ],
)
def test_what_is_drained_is_told_by_what_was_read_last(
    readings: list[dict[str, float]], level: str
) -> None:
    shed = Shed()
    shed.fill()
    for values in readings:
        fac = values.get("fac")
        total = values.get("total_mg_l")
        reading = ReadingTaken(at=shed.wait(1).now, by="RM", tank=1, fac_mg_l=fac, total_mg_l=total)
        shed.tell(reading)
    assert (f"takes {level} chlorine out of 500 L" in drained(shed)) is bool(level)
    assert bool(drained(shed)) is bool(level)


def test_water_of_peracetic_acid_needs_no_thiosulfate() -> None:
    shed = Shed(a_peracetic_setup())
    shed.fill()
    shed.read(fac=5.0, paa_mg_l=50.0)
    assert drained(shed) == ""


@pytest.mark.parametrize(
    ("basis", "said"),
    [
        (LabelBasis.FREE, "100 ppm free chlorine"),
        (LabelBasis.TOTAL, "100 ppm total chlorine"),
    ],
)
def test_the_label_is_told_with_what_it_speaks_of(basis: LabelBasis, said: str) -> None:
    chlorine = replace(a_tank(1, "x").chlorine, label_basis=basis)
    shed = good(chlorine=chlorine)
    shed.wait(1).read(fac=120.0, ph=7.0, total_mg_l=130.0)
    flag = up(shed, "chlorine-label")
    assert said in plain(flag.why)
    assert plain(flag.why).startswith("120 ppm" if basis is LabelBasis.FREE else "130 ppm")


@pytest.mark.parametrize(
    ("free", "total", "said"),
    [
        (8.0, 80.0, "72 ppm of 80 ppm total chlorine is combined, 90 %; over 80 % the"),
        (16.0, 80.0, ""),
    ],
)
def test_combined_chlorine_is_told_as_a_share_of_the_total(
    free: float, total: float, said: str
) -> None:
    shed = Shed(a_setup(a_tank(1, "Only"), margins=Margins(combined_share=0.8)))
    shed.fill()
    shed.read(fac=free, total_mg_l=total, ph=7.0)
    flag = shed.noted("combined-high")
    assert (flag is not None) is bool(said)
    assert flag is None or plain(flag.why).startswith(said)


# -- what a rule sees ------------------------------------------------------------------------------


def test_people_come_before_the_law_the_law_before_produce_and_work_last() -> None:
    assert sorted(Protects, key=lambda one: one.rank) == [
        Protects.PEOPLE,
        Protects.LAW,
        Protects.PRODUCE,
        Protects.WORK,
    ]
    assert [one.rank for one in sorted(Protects, key=lambda one: one.rank)] == [0, 1, 2, 3]


def test_what_sets_right_a_level_or_a_ph_is_what_went_in_after_it() -> None:
    shed = good()
    shed.wait(1).read(fac=30, ph=8.3)
    reading = shed.shift.tank(1).fills[-1].readings[-1]
    told = context(shed)
    assert not told.treated_since(reading)
    assert not told.treated_since(reading, with_acid=True)
    shed.acid(ml=20)
    assert not context(shed).treated_since(reading)
    assert context(shed).treated_since(reading, with_acid=True)
    shed.dose(ml=20)
    assert context(shed).treated_since(reading)
    other = good()
    other.wait(1).read(fac=30, ph=8.3)
    reading = other.shift.tank(1).fills[-1].readings[-1]
    other.tell(WaterExchanged(at=other.now, by="RM", tank=1, volume_l=100.0))
    assert context(other).treated_since(reading)
    assert context(other).treated_since(reading, with_acid=True)


def test_acid_is_read_by_a_ph_after_it_mixed_or_not_at_all() -> None:
    shed = good()
    acid = shed.acid(ml=20)
    found = context(shed).unread_acid()
    assert found is not None
    assert found.seq == acid.seq
    shed.wait(1).read(ph=7.0)  # it has not mixed in, but somebody looked
    assert context(shed).unread_acid() is None
    assert context(shed).unverified_ph() is not None
    assert order(shed.shift.tank(1).fills[-1].acids[-1]) < (shed.now, 0)


@pytest.mark.parametrize(
    ("kind", "listed", "least"),
    [
        (
            TemperatureRuleKind.WARMER,
            "water less than 2 °C warmer than the pulp",
            "the water should be at least 12 °C",
        ),
        (
            TemperatureRuleKind.NOT_COLDER,
            "water more than 2 °C colder than the pulp",
            "the water should be at least 8 °C",
        ),
    ],
)
def test_water_too_cold_is_told_with_what_it_should_be(
    kind: TemperatureRuleKind, listed: str, least: str
) -> None:
    wanted = TemperatureRule(kind=kind, by_c=2.0)
    shed = good(temperature_rule=wanted)
    shed.read(water_c=7.0, pulp_c=10.0)
    flag = up(shed, "water-too-cold")
    assert plain(flag.why).startswith(f"The water is 7 °C, the pulp 10 °C; {least}.")
    found = next(one for one in all_rules() if one.id == "water-too-cold")
    assert [plain(one.what) for one in thresholds(found, shed.shift.setup)] == [listed]


def test_what_a_second_fill_read_before_its_use_bridges_to_the_first_bad_check_in_use() -> None:
    shed = good(second_volume_l=400.0)
    shed.fill(1, 400.0, second=True)
    shed.dose(1, 160, second=True)
    shed.wait(6).read(1, 50, ph=7.0, second=True)
    shed.swap()
    washed = [entry.seq for entry in shed.wash(4)]
    shed.wait(1).read(1, 15, ph=7.0)
    chances = bridged_below(context(shed))
    assert list(chances) == washed
    found = list(chances.values())
    assert found == sorted(found)
    assert found[0] < 0.1
    assert found[-1] > 0.9
    dosed = good(second_volume_l=400.0)
    dosed.fill(1, 400.0, second=True)
    dosed.dose(1, 160, second=True)
    dosed.wait(6).read(1, 50, ph=7.0, second=True)
    dosed.swap()
    dosed.wash(2)
    dosed.tell(WaterExchanged(at=dosed.now, by="RM", tank=1, volume_l=50.0))
    dosed.wash(2)
    dosed.wait(1).read(1, 15, ph=7.0)
    assert bridged_below(context(dosed)) == {}  # nobody knows what the exchange left


def test_a_level_is_told_with_the_limit_that_it_is_under() -> None:
    for level, rule, said in (
        (20.0, "chlorine-critical", "20 ppm is under the critical low of 25 ppm:"),
        (30.0, "chlorine-low", "30 ppm is under 35 ppm."),
        (80.0, "chlorine-high", "80 ppm is over the operating high of 75 ppm."),
    ):
        shed = good()
        shed.wait(1).read(fac=level, ph=7.0)
        flag = up(shed, rule)
        assert plain(flag.why).startswith(said)
        assert flag.since == shed.now
    for level, rule, said in (
        (15.0, "paa-critical", "15 ppm is under the critical low of 20 ppm:"),
        (25.0, "paa-low", "25 ppm is under 30 ppm."),
        (75.0, "paa-high", "75 ppm is over the operating high of 70 ppm."),
    ):
        acid = Shed(a_peracetic_setup())
        acid.fill()
        acid.read(paa_mg_l=level)
        assert plain(up(acid, rule).why).startswith(said)


@pytest.mark.parametrize(
    ("method", "error"), [(Method.METER, 0.1), (Method.KIT, 0.2), (Method.STRIP, 0.3)]
)
def test_gas_is_told_with_all_that_it_was_worked_out_from(method: Method, error: float) -> None:
    # 50 ppm of chloride, usual in fresh water, and half of all that was dosed.
    shed = Shed()
    shed.fill()
    shed.dose(ml=400)  # 100 mg/L
    shed.wait(6).read(fac=100, ph=5.2, ph_method=method)
    said = plain(up(shed, "ph-gas").why)
    assert said.startswith("At pH 5.2, 100 ppm free chlorine and about 100 ppm chloride, still air")
    assert said.endswith("0.5 ppm is the limit for 8 hours of work.")
    # So far the pH may be off (common practice), and gas goes as the acid does.
    held = re.search(r"may hold ([\d.]+) ppm to ([\d.]+) ppm", said)
    assert held is not None
    likely, most = (float(one) for one in held.groups())
    assert most / likely == pytest.approx(10**error, rel=0.03)


def test_a_high_ph_is_told_with_what_is_active_at_it_and_at_the_target() -> None:
    # Morris (1966), pKa 7.58 at 20 °C: 28 % at pH 8.0, 79 % at 7.0.
    shed = good()
    shed.wait(1).read(fac=50, ph=8.0)
    assert plain(up(shed, "ph-high").why) == (
        "At pH 8.0 about 28 % of the free chlorine is active (HOCl); at 7.0 it is 79 %."
    )


@pytest.mark.parametrize(
    ("product", "said"),
    [
        ({"peroxide_pct": 20.0}, "bring 67 ppm hydrogen peroxide, over the limit of 59 ppm;"),
        (
            {"hedp_pct": 1.6},
            "bring 5.4 ppm of the stabiliser HEDP, over the limit of 4.8 ppm;",
        ),
        ({}, ""),
    ],
)
def test_what_all_doses_bring_beside_the_acid_is_held_against_the_law(
    product: dict[str, float], said: str
) -> None:
    # 21 CFR 173.315(a)(5). 150 mL of 1.12 kg/L to 500 L: 3.36 mg/L for each percent.
    shed = Shed(a_peracetic_setup(**product))
    shed.fill()
    dose = DoseAdded(at=shed.now, by="RM", tank=1, product="paa", amount=Amount(150.0, "mL"))
    shed.tell(dose)
    flag = shed.flag("peroxide-limit")
    assert (flag is not None) is bool(said)
    if flag is not None:
        assert said in plain(flag.why)
        assert (flag.level, flag.since) == (Level.ACT, dose.at)
