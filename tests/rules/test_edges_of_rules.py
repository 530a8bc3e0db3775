"""What rules say at the edge of what they go by, in words, worked out by hand."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.line.events import Instrument, InstrumentChecked, Method
from washmon.line.flags import Flag, Level
from washmon.line.message import Message, say
from washmon.line.setup import Stage
from washmon.rules.catalogue import thresholds
from washmon.rules.checks import check_overdue
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
