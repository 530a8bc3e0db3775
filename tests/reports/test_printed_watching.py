"""What watched the water, on paper: checks of instruments, and rules that were off."""

from datetime import date

from msgspec.structs import replace

from tests.reports.paper_read import flat
from tests.shed import Shed, a_setup, a_tank
from washmon.line.events import DoseAdded, Instrument, InstrumentChecked
from washmon.line.flags import Amount
from washmon.line.fold import begin
from washmon.line.journal import extend
from washmon.line.registers import Container, Device
from washmon.line.setup import RuleOff, TemperatureRule, TemperatureRuleKind, Unfit
from washmon.reports.printed import printed


def test_the_record_tells_the_checks_of_instruments_with_their_values() -> None:
    # 21 CFR 117.190 asks for records of verification, calibration included.
    shed = Shed(a_setup(a_tank(1, "Only"), meter_checked_on=date(2026, 4, 20)))
    shed.tell(
        InstrumentChecked(
            at=shed.now,
            by="TK",
            instrument=Instrument.PH_METER,
            standard=7.0,
            found=7.3,
            against="buffer 7, lot B-12",
            adjusted=True,
        )
    )
    words = flat(printed(shed.shift))
    assert "pH meter checked 2026-04-20" in words
    assert "Strips good until not told" in words
    told = "Check of pH meter: it showed 7.3 in 7.0, against buffer 7, lot B-12, set right, fit"
    assert words.count(told) == 2  # beside the instruments, and among the actions
    assert "No rule was switched off." in words


def test_the_record_tells_until_when_the_strips_in_use_are_good() -> None:
    shed = Shed(a_setup(a_tank(1, "Only"), strips_use_by=date(2026, 5, 1)))
    pack = date(2027, 1, 31)
    shed.tell(InstrumentChecked(at=shed.now, by="TK", instrument=Instrument.STRIPS, use_by=pack))
    assert "Strips good until 2027-01-31" in flat(printed(shed.shift))


def test_the_record_tells_what_an_earlier_shift_left_unfit() -> None:
    left = Unfit(instrument="ORP probe", since=date(2026, 5, 6))
    words = flat(printed(Shed(a_setup(a_tank(1, "Only"), instruments_unfit=(left,))).shift))
    assert "Left unfit before this shift ORP probe, 2026-05-06" in words
    assert "Left unfit" not in flat(printed(Shed(a_setup(a_tank(1, "Only"))).shift))


def test_the_record_tells_which_rules_were_off_and_who_did_it_when_and_why() -> None:
    off = (
        RuleOff(rule="rinse-carry", reason="Fed on purpose.", by="BO", since=date(2026, 5, 2)),
        RuleOff(rule="long-gone", reason="It came and went."),
        RuleOff(rule="chlorine-critical", reason="It never is."),
    )
    words = flat(printed(Shed(a_setup(a_tank(1, "Only"), rules_off=off)).shift))
    assert "dirt carried into the rinse Fed on purpose. BO 2026-05-02" in words
    assert "long-gone It came and went." in words
    assert "It never is." not in words


def test_the_record_tells_the_critical_limits_beside_the_level() -> None:
    rule = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.0)
    tank = a_tank(
        2,
        "Second",
        temperature_rule=rule,
        critical_contact_s=45.0,
        critical_ph=8.0,
        critical_temperature=True,
    )
    words = flat(printed(Shed(a_setup(a_tank(1, "First"), tank)).shift))
    plain = words.replace("\N{NO-BREAK SPACE}", " ")
    assert "2 Second shorter than 45 s, over pH 8.0, too cold" in plain
    assert "Held, too" not in flat(printed(Shed(a_setup()).shift))


def test_the_record_of_an_imported_shift_does_not_pretend_that_rules_looked_on() -> None:
    started = Shed().shift.started
    ((first, _),) = extend("log", None, [replace(started, imported="log.csv")], started.at)
    words = flat(printed(begin("log", first)))
    assert words.count("No rule looked on") == 2  # beside the instruments, and for the flags
    assert "No rule was switched off" not in words
    assert "No flag came up" not in words


def test_the_record_names_what_was_measured_with_and_poured_from() -> None:
    meter = Device(
        key="Meter A",
        name="Meter A",
        serial="PH-0417",
        measures=("ph",),
        unfit_since=date(2026, 5, 1),
    )
    drum = Container(key="Drum 7", name="Drum", lot="B-2207", product="bleach")
    shed = Shed(registers=(meter, drum))
    shed.fill(1)
    shed.read(1, 50.0, ph=7.0, made_with={"ph": "Meter A"})
    shed.tell(
        DoseAdded(
            at=shed.now, by="RM", tank=1, product="bleach", amount=Amount(60, "mL"),
            container="Drum 7",
        )
    )  # fmt: skip
    words = flat(printed(shed.shift))
    assert "Measured with Meter A PH-0417, UNFIT: unfit by its check" in words
    assert "Poured from Drum B-2207" in words
    assert "Meter A, UNFIT:" in words  # beside the reading
    assert "proves no good water, and counts as not known" in words
