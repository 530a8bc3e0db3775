"""What is read with something unfit: marked, told, and no proof of good water.

How long a check of an instrument lasts, and that a pack is not used past its date, is asked for by
its maker; 21 CFR 117.190 and 112.50 ask for the records. That a good value of an unfit instrument
counts as none is common practice, no published source.
"""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import START, Shed
from washmon.line.events import (
    Corrected,
    Instrument,
    InstrumentChecked,
    ReadingTaken,
    RegistersTold,
)
from washmon.line.fitness import Why, as_checked, made_with
from washmon.line.flags import StepKind
from washmon.line.fold import fold
from washmon.line.registers import Device, DeviceKind, Pack, PackKind, Registers, Thing
from washmon.reports.csv_export import in_csv
from washmon.reports.summing import summarize
from washmon.reports.tables import READINGS
from washmon.rules.in_question import since_last_good_check, to_hold

TODAY = START.date()
METER = Device(
    key="Meter A",
    name="Meter A",
    serial="0417",
    measures=("ph", "fac_mg_l"),
    check_days=7,
    checked_on=TODAY - timedelta(days=2),
)
STRIPS = Pack(key="Strips 12", name="Strips", lot="12", measures=("fac_mg_l",))


def a_shed(*things: Thing) -> Shed:
    shed = Shed(registers=things)
    shed.fill(1)
    return shed


def read(shed: Shed, thing: Thing, fac: float = 50.0) -> int:
    return shed.read(1, fac, ph=7.0, made_with={"fac_mg_l": thing.key}).seq


def check(
    shed: Shed, *, fit: bool, found: float = 7.0, which: str = "Meter A"
) -> InstrumentChecked:
    return InstrumentChecked(
        at=shed.now,
        by="RM",
        instrument=Instrument.PH_METER,
        standard=7.0,
        found=found,
        fit=fit,
        which=which,
    )


def why(shed: Shed, seq: int) -> Why | None:
    event = next(one.event for one in shed.shift.entries if one.seq == seq)
    assert isinstance(event, ReadingTaken)
    ((_, _, found),) = made_with(shed.shift, seq, event)
    return found


@pytest.mark.parametrize(
    ("thing", "expected"),
    [
        (METER, None),
        (replace(METER, checked_on=TODAY - timedelta(days=7)), None),
        (replace(METER, checked_on=TODAY - timedelta(days=8)), Why.OVERDUE),
        (replace(METER, checked_on=None), Why.UNCHECKED),
        (replace(METER, checked_on=None, check_days=None), None),
        (replace(METER, unfit_since=TODAY), Why.FAILED),
        (STRIPS, None),
        (replace(STRIPS, use_by=TODAY), None),
        (replace(STRIPS, use_by=TODAY - timedelta(days=1)), Why.PAST),
    ],
)
def test_what_was_known_when_it_was_read_says_whether_it_was_fit(
    thing: Thing, expected: Why | None
) -> None:
    shed = a_shed(thing)
    seq = read(shed, thing)
    assert why(shed, seq) is expected
    marked = {place for place, _ in shed.shift.tank(1).fills[0].unvouched}
    assert marked == ({seq} if expected else set())


def test_a_good_value_of_an_unfit_instrument_proves_no_good_water() -> None:
    fit, overdue = a_shed(METER), a_shed(replace(METER, checked_on=date(2026, 1, 1)))
    for shed in (fit, overdue):
        read(shed, METER)
        shed.wash(3)
    assert not to_hold(fit.shift, fit.shift.tank(1))
    assert len(to_hold(overdue.shift, overdue.shift.tank(1))) == 3
    assert len(since_last_good_check(overdue.shift.tank(1))) == 3
    assert "instrument-unfit" in overdue.rules_up()
    assert "instrument-unfit" not in fit.rules_up()


def test_time_in_limits_is_not_known_by_it_but_a_bad_value_counts() -> None:
    shed = a_shed(replace(METER, checked_on=None))
    read(shed, METER)
    shed.wash(5)
    read(shed, METER, 10.0)
    shed.wash(5)
    (first, _) = summarize(shed.shift)
    assert first.fac_time is not None
    assert first.fac_time.unknown == pytest.approx(0.5)
    assert first.fac_time.critical == pytest.approx(0.5)


def test_readings_within_limits_are_those_of_fit_instruments_only() -> None:
    shed = a_shed(METER)
    read(shed, METER)
    shed.wait(1).tell(check(shed, fit=False))
    read(shed.wait(1), METER)
    (first, _) = summarize(shed.shift)
    assert first.fac is not None
    assert (first.fac.count, first.fac.within, first.fac.at_least_critical) == (2, 0.5, 1)


def test_a_check_that_is_passed_makes_what_comes_after_it_count() -> None:
    shed = a_shed(replace(METER, unfit_since=TODAY))
    before = read(shed, METER)
    shed.wait(1).tell(check(shed, fit=True))
    after = read(shed.wait(1), METER)
    assert (why(shed, before), why(shed, after)) == (Why.FAILED, None)
    again = fold(shed.shift.chain, shed.shift.entries)
    assert again.tanks == shed.shift.tanks


def test_what_a_later_check_finds_off_is_marked_and_told_but_not_held_by_itself() -> None:
    shed = a_shed(METER)
    seq = read(shed, METER)
    shed.wash(2)
    shed.tell(check(shed, fit=False, found=8.0))
    assert why(shed, seq) is Why.OFF
    assert "instrument-unfit" in shed.rules_up()
    assert not to_hold(shed.shift, shed.shift.tank(1))


def test_a_check_of_one_meter_says_nothing_of_the_other() -> None:
    other = replace(METER, key="Meter B", name="Meter B")
    shed = a_shed(METER, other)
    shed.tell(check(shed, fit=False, which="Meter B"))
    seq = read(shed.wait(1), METER)
    assert why(shed, seq) is None


def test_a_check_that_is_withdrawn_is_forgotten() -> None:
    shed = a_shed(METER)
    wrong = shed.tell(check(shed, fit=False))
    seq = read(shed.wait(1), METER)
    assert why(shed, seq) is Why.FAILED
    shed.tell(Corrected(at=shed.now, by="RM", entry=wrong.seq, reason="the other meter"))
    assert why(shed, seq) is None
    assert shed.shift.tank(1).fills[0].unvouched == frozenset()
    assert as_checked(shed.shift, METER) == METER


def test_what_is_registered_in_mid_shift_counts_from_then_on_and_in_a_replay() -> None:
    shed = a_shed(METER)
    pack = replace(STRIPS, use_by=TODAY - timedelta(days=3))
    shed.tell(RegistersTold(at=shed.now, by="TK", things=(pack,)))
    seq = read(shed, pack)
    assert why(shed, seq) is Why.PAST
    again = fold(shed.shift.chain, shed.shift.entries)
    assert again.registers == shed.shift.registers
    assert again.tanks == shed.shift.tanks


def test_the_csv_file_names_instrument_pack_and_why_it_was_unfit() -> None:
    shed = a_shed(replace(METER, unfit_since=TODAY))
    read(shed, METER)
    shed.read(1, 50.0)
    rows = in_csv(READINGS, READINGS.rows(shed.shift)).text.splitlines()[-2:]
    names = [column.name for column in READINGS.columns]
    assert names[-2:] == ["made_with", "unfit"]
    assert rows[0].endswith("fac_mg_l: Meter A 0417,fac_mg_l: unfit by its check")
    assert rows[1].endswith(",,")


def test_a_shift_without_registers_reads_as_it_did() -> None:
    shed = Shed()
    shed.fill(1)
    shed.read(1, 50.0, ph=7.0)
    assert shed.shift.registers == Registers()
    assert shed.shift.tank(1).fills[0].unvouched == frozenset()


def test_a_reagent_past_its_date_makes_what_a_kit_read_no_proof() -> None:
    kit = Device(key="Kit", name="Kit", kind=DeviceKind.KIT, measures=("fac_mg_l",))
    drops = Pack(
        key="Drops",
        name="Drops",
        kind=PackKind.REAGENT,
        lot="9",
        measures=("fac_mg_l",),
        use_by=TODAY - timedelta(days=1),
    )
    shed = a_shed(kit, drops)
    used = {"fac_mg_l": "Drops"}
    seq = shed.read(1, 50.0, made_with={"fac_mg_l": "Kit"}, reagents=used).seq
    assert shed.shift.tank(1).fills[0].unvouched == {(seq, "fac_mg_l")}
    assert "instrument-unfit" in shed.rules_up()
    (row,) = in_csv(READINGS, READINGS.rows(shed.shift)).text.splitlines()
    assert "fac_mg_l: Kit; fac_mg_l: Drops 9" in row
    assert "fac_mg_l: past its date" in row


def test_the_plan_asks_for_another_that_is_fit_else_for_a_check() -> None:
    overdue = replace(METER, checked_on=date(2026, 1, 1))
    alone, beside = a_shed(overdue), a_shed(overdue, STRIPS)
    for shed in (alone, beside):
        read(shed, overdue)
        shed.wait(6)
    assert alone.plan(1).now.kind is StepKind.VERIFY
    assert beside.plan(1).now.kind is StepKind.CHECK
    alone.tell(check(alone, fit=True))
    assert alone.plan(1).now.kind is StepKind.CHECK
    two = a_shed(overdue, replace(METER, key="Meter B", name="Meter B"))
    read(two, overdue)
    assert two.wait(6).plan(1).now.kind is StepKind.CHECK
    two.tell(check(two, fit=False, which="Meter B"))  # in this very minute
    assert two.plan(1).now.kind is StepKind.VERIFY


ACTS = st.sampled_from(["read", "late", "fail", "pass", "told", "withdraw"])


@given(st.lists(ACTS, min_size=1, max_size=12))
def test_what_is_marked_step_by_step_is_marked_by_folding_anew(acts: list[str]) -> None:
    shed = a_shed(METER)
    for act in acts:
        shed.wait(1)
        match act:
            case "read":
                read(shed, METER)
            case "late":
                at = shed.now - timedelta(seconds=90)
                made = {"fac_mg_l": METER.key}
                shed.tell(ReadingTaken(at=at, by="RM", tank=1, fac_mg_l=44.0, made_with=made))
            case "fail" | "pass":
                shed.tell(check(shed, fit=act == "pass"))
            case "told":
                overdue = replace(METER, checked_on=date(2026, 1, 1))
                shed.tell(RegistersTold(at=shed.now, by="RM", things=(overdue,)))
            case "withdraw":
                kinds = InstrumentChecked | ReadingTaken
                wrong = (one for one in shed.shift.entries[::-1] if isinstance(one.event, kinds))
                entry = next(wrong, None)
                if entry is not None:
                    event = Corrected(at=shed.now, by="RM", entry=entry.seq, reason="slip")
                    shed.tell(event)
    again = fold(shed.shift.chain, shed.shift.entries)
    assert again.tanks == shed.shift.tanks
    assert again.registers == shed.shift.registers
