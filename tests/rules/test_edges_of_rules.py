"""What rules say at the edge of what they go by, in words, worked out by hand."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.line.events import Instrument, InstrumentChecked, Method, ReadingTaken, WaterExchanged
from washmon.line.flags import Flag, Level
from washmon.line.message import Message, say
from washmon.line.setup import Stage
from washmon.rules.base import RuleContext
from washmon.rules.catalogue import thresholds
from washmon.rules.checks import check_overdue
from washmon.rules.demand import used_per_batch
from washmon.units import UnitSystem


def plain(*messages: Message) -> str:
    said = " ".join(say(message, UnitSystem.METRIC) for message in messages)
    return said.replace("\N{NO-BREAK SPACE}", " ")


def up(shed: Shed, rule: str, tank: int = 1) -> Flag:
    flag = shed.flag(rule, tank) or shed.noted(rule, tank)
    assert flag is not None, (shed.rules_up(tank), rule)
    return flag


def good(shed: Shed | None = None) -> Shed:
    """Return a shed whose first tank is filled, dosed, measured and good."""
    shed = shed or Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    return shed


@pytest.mark.parametrize(
    ("batches", "minutes", "said"),
    [
        (6, 30.0, ["after 6 batches or 30 min"]),
        (1, 30.0, ["after each batch or 30 min"]),
        (6, None, ["after 6 batches"]),
        (1, None, ["after each batch"]),
        (None, 45.0, ["after 45 min"]),
        (None, None, []),
    ],
)
def test_when_a_check_is_overdue_is_told_as_the_set_up_has_it(
    batches: int | None, minutes: float | None, said: list[str]
) -> None:
    setup = a_setup(a_tank(1, "Only", check_batches=batches, check_minutes=minutes))
    assert [plain(one.what) for one in thresholds(check_overdue, setup)] == said


def test_the_share_of_the_wash_that_a_rinse_may_carry_is_told_in_percent() -> None:
    shed = Shed(a_setup(a_tank(1, "Wash"), a_tank(2, "Rinse", Stage.RINSE)))
    for tank, ntu in ((1, 20.0), (2, 12.0)):
        shed.fill(tank)
        shed.read(tank, 50, ph=7.0, turbidity_ntu=ntu)
    assert "The rinse is at 12 NTU, the tank before it at 20 NTU: over 50 % of it" in plain(
        up(shed, "rinse-carry", 2).why
    )


@pytest.mark.parametrize(("found", "said"), [(100.0, ""), (99.9, "99.9 g/L by now, 80 % of the")])
def test_a_container_is_weak_under_four_fifths_of_its_label_and_not_at_them(
    found: float, said: str
) -> None:
    tested = replace(a_setup().sanitizers[0], tested_g_l=found, tested_on=START.date())
    shed = Shed(a_setup(a_tank(1, "Only"), sanitizers=(tested,)))  # 125 g/L by its label
    shed.fill()
    assert (shed.flag("product-weak") is not None) is bool(said)
    assert not said or said in plain(up(shed, "product-weak").why)


@pytest.mark.parametrize(("ph", "stops"), [(5.99, True), (6.0, False)])
def test_where_chlorine_is_not_known_gas_is_feared_under_ph_six_and_not_at_it(
    ph: float, *, stops: bool
) -> None:
    shed = Shed()
    shed.fill()
    shed.read(ph=ph)
    assert (shed.flag("ph-gas") is not None) is stops


@pytest.mark.parametrize(("ph", "level"), [(8.0, Level.WATCH), (8.01, Level.ACT)])
def test_a_ph_presses_over_eight_and_not_at_it(ph: float, level: Level) -> None:
    shed = good()
    shed.wait(1).read(fac=50, ph=ph)
    assert up(shed, "ph-high").level is level


def test_total_chlorine_of_nothing_is_no_combined_chlorine() -> None:
    shed = Shed()
    shed.fill()
    shed.read(fac=0.0, total_mg_l=0.0, ph=7.0)
    assert shed.noted("combined-high") is None


def a_check(shed: Shed, *, fit: bool, found: float = 7.0) -> InstrumentChecked:
    return InstrumentChecked(
        at=shed.now, by="RM", instrument=Instrument.PH_METER, standard=7.0, found=found, fit=fit
    )


def test_an_unfit_meter_is_told_since_its_check_or_since_it_was_read_after_it() -> None:
    shed = good()
    shed.tell(a_check(shed.wait(3), fit=False, found=7.9))
    checked = shed.now
    assert up(shed, "instrument-unfit").since == checked
    shed.wait(4).read(fac=50, ph=7.0, ph_method=Method.METER)
    assert up(shed, "instrument-unfit").since == checked + timedelta(minutes=4)


def test_only_what_was_washed_after_the_last_good_check_rests_on_an_unfit_meter() -> None:
    for count, said in ((0, ""), (1, "A batch was washed"), (2, "2 batches were washed")):
        shed = good()
        shed.wash(2)
        shed.tell(a_check(shed, fit=True))  # in the minute of the second batch
        shed.wait(1).read(fac=50, ph=7.0, ph_method=Method.METER)
        shed.wash(count)
        shed.wait(1).tell(a_check(shed, fit=False, found=7.9))
        more = plain(*up(shed, "instrument-unfit").more)
        assert said in more
        assert ("washed here since then" in more) is bool(count)


ALIKE = {"fac": 50.0, "ph": 7.0}


@pytest.mark.parametrize(
    ("batches", "others", "said"),
    [
        ((0, 2, 1, 1), {}, "The last 4 readings are all 50 ppm and pH 7.0, with 4 batches"),
        ((0, 1, 1, 1), {}, ""),  # three batches between four readings need not show
        ((0, 2, 2), {}, ""),  # three readings
        ((0, 2, 1, 1), {2: {"fac": 50.0, "ph": 7.1}}, ""),
        ((0, 2, 1, 1), {2: {"fac": 49.0, "ph": 7.0}}, ""),
        # What has no pH, no level, or was read with a strip of few colours is no such reading.
        ((0, 2, 2, 2), {2: {"fac": 50.0}}, ""),
        ((0, 2, 2, 2), {2: {"ph": 7.0}}, ""),
        ((0, 2, 2, 2), {2: {**ALIKE, "method": Method.STRIP}}, ""),
        ((0, 2, 1, 1, 1), {2: {**ALIKE, "method": Method.STRIP}}, "with 5 batches between"),
        ((0, 2, 1, 1, 1), {2: {"fac": 40.0}}, "with 5 batches between"),
        ((0, 2, 1, 1, 1), {0: {"fac": 51.0, "ph": 7.0}}, ""),
        ((0, 2, 2, 1, 1), {0: {"fac": 51.0, "ph": 7.0}}, "with 4 batches between"),
    ],
)
def test_four_readings_alike_with_four_batches_between_are_a_surprise(
    batches: tuple[int, ...], others: dict[int, dict[str, object]], said: str
) -> None:
    # So many: common practice, no published source.
    shed = Shed(a_setup(a_tank(1, "Only", check_batches=None, check_minutes=None)))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6)
    for place, count in enumerate(batches):
        shed.wash(count)
        shed.wait(1).read(**others.get(place, ALIKE))
    assert (shed.flag("reading-repeats") is not None) is bool(said)
    assert not said or said in plain(up(shed, "reading-repeats").why)


def test_what_went_in_in_the_minute_of_the_first_reading_explains_the_readings_after_it() -> None:
    for dose_first in (True, False):
        shed = good()
        if dose_first:
            shed.dose(ml=5)
        for _ in range(4):
            shed.read(fac=50.0, ph=7.1)
            if not dose_first and not shed.shift.tank(1).batches:
                shed.dose(ml=5)
            shed.wash(2)
        assert ("reading-repeats" in shed.rules_up()) is dose_first


@pytest.mark.parametrize(
    ("was", "now", "told"),
    [
        # As the reading is doubted when it is entered: common practice, no published source.
        (20.0, 35.0, False),
        (20.0, 35.5, True),
        (60.0, 90.0, False),
        (60.0, 90.5, True),
        (75.0, 60.0, False),
    ],
)
def test_a_rise_is_told_over_fifteen_ppm_and_over_half(
    was: float, now: float, *, told: bool
) -> None:
    shed = good()
    for level in (was, now):
        shed.wait(1).read(fac=level, ph=7.0)
        shed.wait(1).read(ph=7.0)  # says nothing of chlorine
    assert ("reading-jumps" in shed.rules_up()) is told


def used(shed: Shed) -> list[float]:
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    context = RuleContext(shed.shift, tank, tank.fill, shed.now, frozenset())
    return [one.mg_l for one in used_per_batch(context)]


def test_what_one_batch_used_up_counts_and_what_was_lost_without_any_does_not() -> None:
    shed = good()
    shed.wash(1)
    shed.read(fac=47, ph=7.0)
    shed.wait(20).read(fac=45, ph=7.0)
    shed.wash(2)
    shed.read(ph=7.0)  # says nothing of chlorine
    shed.read(fac=40, ph=7.0)
    assert used(shed) == [3.0, 2.5]


@pytest.mark.parametrize(
    ("dosed", "brought"),
    [("before the first", 0.0), ("after the first", 5.0), ("before the second", 5.0)],
)
def test_a_dose_counts_between_the_readings_that_it_was_entered_between(
    dosed: str, brought: float
) -> None:
    """All in one minute: 20 mL of 125 g/L bring 5 ppm to 500 L (mass balance)."""
    shed = Shed(a_setup(a_tank(1, "Only", mix_minutes=0.0)))
    shed.fill()
    for place in ("before the first", "after the first"):
        if dosed == place:
            shed.dose(ml=20)
        if place == "before the first":
            shed.read(fac=50, ph=7.0)
    shed.wash(1)
    if dosed == "before the second":
        shed.dose(ml=20)
    shed.read(fac=50, ph=7.0)
    if dosed == "before the first":
        shed.dose(ml=20)  # and one after both
    assert used(shed) == [pytest.approx(brought, rel=1e-3)]


def test_an_exchange_leaves_nobody_to_tell_what_was_used_up() -> None:
    shed = good()
    shed.wash(1)
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=100.0))
    shed.read(fac=40, ph=7.0)
    assert used(shed) == []
    shed.wash(1)
    shed.read(fac=38, ph=7.0)
    assert used(shed) == [2.0]


def test_a_chart_needs_eight_intervals_before_the_one_that_it_judges() -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.2: mean 2, moving range 0: all above it is out of the ordinary.
    for before, told in ((7, False), (8, True)):
        shed = good()
        level = 50
        for fall in (*([2] * before), 3):
            level -= fall
            shed.wash(1)
            shed.read(fac=level, ph=7.0)
        assert (shed.noted("demand-unusual") is not None) is told


def test_as_much_as_the_chart_has_room_for_is_ordinary() -> None:
    shed = good()
    level = 70
    shed.wait(1).read(fac=level, ph=7.0)
    for _ in range(9):
        level -= 2
        shed.wash(1)
        shed.read(fac=level, ph=7.0)
    assert shed.noted("demand-unusual") is None


@pytest.mark.parametrize(
    ("wash", "rinse", "told"),
    [
        (20.0, 10.0, False),
        (20.0, 10.4, True),
        (10.0, 9.0, True),
        (9.9, 9.0, False),  # water so clear carries nothing to speak of: common practice
        (None, 9.0, False),
        (20.0, None, False),
    ],
)
def test_a_rinse_is_held_against_the_tank_before_it(
    wash: float | None, rinse: float | None, *, told: bool
) -> None:
    shed = Shed(a_setup(a_tank(1, "Wash"), a_tank(2, "Dunk"), a_tank(3, "Rinse", Stage.RINSE)))
    shed.fill(1)
    shed.read(1, 50, ph=7.0, turbidity_ntu=50.0)
    assert shed.noted("rinse-carry", 3) is None
    shed.fill(3)
    shed.fill(2)
    for tank, ntu in ((2, wash), (3, rinse)):
        reading = ReadingTaken(at=shed.now, by="RM", tank=tank, ph=7.0, turbidity_ntu=ntu)
        shed.tell(reading)
    assert (shed.noted("rinse-carry", 3) is not None) is told
    assert shed.noted("rinse-carry", 2) is None  # a tank that washes carries nothing over


def test_a_rinse_behind_a_tank_without_water_is_held_against_the_one_before_that() -> None:
    shed = Shed(a_setup(a_tank(1, "Wash"), a_tank(2, "Dunk"), a_tank(3, "Rinse", Stage.RINSE)))
    for tank, ntu in ((1, 20.0), (3, 12.0)):
        shed.fill(tank)
        shed.read(tank, 50, ph=7.0, turbidity_ntu=ntu)
    assert shed.noted("rinse-carry", 3) is not None
    alone = Shed(a_setup(a_tank(1, "Wash"), a_tank(2, "Rinse", Stage.RINSE)))
    alone.fill(2)
    alone.read(2, 50, ph=7.0, turbidity_ntu=12.0)
    assert alone.noted("rinse-carry", 2) is None
    assert [rule for rule in alone.rules_up(2) if rule.startswith("broken")] == []


def test_a_container_that_aged_is_told_with_its_days_and_its_warmth() -> None:
    # Adam & Gordon (1999), by hand: 125 g/L at 30 °C, 76 % after 30 days.
    old = replace(
        a_setup().sanitizers[0], made_on=START.date() - timedelta(days=30), storage_c=30.0
    )
    shed = Shed(a_setup(a_tank(1, "Only"), sanitizers=(old,)))
    assert shed.flag("product-weak") is None  # nothing is kept with it yet
    shed.fill()
    assert "should hold 94.6 g/L by now, 76 % of the 125 g/L on its label, after 30 days at" in (
        plain(up(shed, "product-weak").why)
    )


def test_a_check_that_lacks_a_value_is_told_without_any() -> None:
    for standard, found in ((None, 7.9), (7.0, None)):
        shed = good()
        failed = replace(a_check(shed, fit=False), standard=standard, found=found)
        shed.tell(failed)
        said = plain(up(shed, "instrument-unfit").why)
        assert said.endswith("the pH meter may not be used.")
