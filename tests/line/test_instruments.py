"""Checks of instruments: what is taken, what is asked about, and what the next shift remembers."""

from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.line.check import check
from washmon.line.events import Corrected, Instrument, InstrumentChecked
from washmon.line.fold import fold
from washmon.line.instruments import meter_checked_on, newest, remembered, strips_use_by
from washmon.line.message import say
from washmon.line.record import missing
from washmon.line.setup import Unfit
from washmon.units import UnitSystem

METER = InstrumentChecked(
    at=START, by="RM", instrument=Instrument.PH_METER, standard=7.0, found=7.05
)
PACK = InstrumentChecked(
    at=START, by="RM", instrument=Instrument.STRIPS, lot="S-9", use_by=date(2026, 9, 30)
)


def a_shed() -> Shed:
    return Shed(
        a_setup(
            a_tank(1, "Only"),
            meter_checked_on=date(2026, 4, 1),
            strips_use_by=date(2026, 4, 30),
        )
    )


@pytest.mark.parametrize(
    ("event", "field"),
    [
        (replace(METER, found=None), "found"),
        (replace(METER, standard=None), "standard"),
        (replace(METER, found=None, standard=None), "found"),
        (replace(METER, found=15.0), "found"),
        (replace(METER, standard=float("nan")), "standard"),
        (replace(METER, against="x" * 2001), "against"),
        (replace(PACK, use_by=None), "use_by"),
        (replace(METER, instrument=Instrument.ORP_PROBE, standard=5000.0), "standard"),
    ],
)
def test_a_check_that_tells_nothing_or_cannot_be_is_refused_beside_its_field(
    event: InstrumentChecked, field: str
) -> None:
    verdict = check(a_shed().shift, event, START)
    assert [fault.field for fault in verdict.faults] == [field]


def test_an_instrument_that_was_far_off_and_not_set_right_is_asked_about() -> None:
    # 0.2 of a pH: common practice, no published source.
    shift = a_shed().shift
    off = replace(METER, found=7.3)
    (doubt,) = check(shift, off, START).doubts
    assert say(doubt, UnitSystem.METRIC).startswith("It showed 7.3 in 7.0 and was not set right")
    for fine in (METER, replace(off, adjusted=True), replace(off, fit=False)):
        assert check(shift, fine, START).doubts == ()
    old = replace(PACK, use_by=date(2026, 5, 6))
    assert len(check(shift, old, START).doubts) == 1


def test_the_newest_of_shift_and_set_up_counts() -> None:
    shed = a_shed()
    assert meter_checked_on(shed.shift) == date(2026, 4, 1)
    assert strips_use_by(shed.shift) == date(2026, 4, 30)
    shed.tell(METER)
    shed.tell(PACK)
    assert meter_checked_on(shed.shift) == START.date()
    assert strips_use_by(shed.shift) == date(2026, 9, 30)
    shed.tell(replace(METER, at=START + timedelta(minutes=5), fit=False, found=8.0))
    assert meter_checked_on(shed.shift) == START.date()
    last = newest(shed.shift, Instrument.PH_METER)
    assert last is not None
    assert not last.fit
    assert fold(shed.shift.chain, shed.shift.entries) == shed.shift


def test_the_next_shift_remembers_a_check_and_forgets_one_that_was_withdrawn() -> None:
    shed = a_shed()
    setup = shed.shift.setup
    entry = shed.tell(METER)
    told = remembered(setup, shed.shift, METER)
    assert told.meter_checked_on == START.date()
    pack = shed.tell(PACK)
    told = remembered(told, shed.shift, PACK)
    assert told.strips_use_by == date(2026, 9, 30)
    for wrong in (entry, pack):
        never = Corrected(at=START, by="RM", entry=wrong.seq, reason="another shed's")
        shed.tell(never)
        told = remembered(told, shed.shift, never)
    assert told == setup


def test_the_next_shift_remembers_what_was_left_unfit_until_it_passes() -> None:
    shed = a_shed()
    orp = Unfit(instrument="ORP probe", since=date(2026, 5, 1))
    setup = replace(shed.shift.setup, instruments_unfit=(orp,))  # saved by another meanwhile
    failed = replace(METER, found=8.0, fit=False)
    entry = shed.tell(failed)
    meter = Unfit(instrument="pH meter", since=START.date())
    told = remembered(setup, shed.shift, failed)
    assert told.instruments_unfit == (orp, meter)
    assert told.meter_checked_on == date(2026, 4, 1)
    never = Corrected(at=START, by="RM", entry=entry.seq, reason="another shed's")
    shed.tell(never)
    assert remembered(told, shed.shift, never) == setup
    again = replace(METER, at=START + timedelta(minutes=5))
    shed.tell(again)
    assert remembered(told, shed.shift, again).instruments_unfit == (orp,)


def test_a_check_of_the_wrong_instrument_is_set_right_for_the_next_shift() -> None:
    shed = a_shed()
    failed = replace(METER, found=8.0, fit=False)
    entry = shed.tell(failed)
    told = remembered(shed.shift.setup, shed.shift, failed)
    probe = replace(failed, instrument=Instrument.ORP_PROBE, standard=470.0, found=300.0)
    swapped = Corrected(at=START, by="RM", entry=entry.seq, reason="the probe", instead=probe)
    shed.tell(swapped)
    told = remembered(told, shed.shift, swapped)
    assert [one.instrument for one in told.instruments_unfit] == ["ORP probe"]
    never = Corrected(at=START, by="RM", entry=entry.seq, reason="neither")
    shed.tell(never)
    assert remembered(told, shed.shift, never) == shed.shift.setup


def test_practice_and_other_entries_change_no_set_up() -> None:
    shed = a_shed()
    setup = shed.shift.setup
    shed.tell(METER)
    practice = replace(shed.shift, started=replace(shed.shift.started, practice=True))
    assert remembered(setup, practice, METER) == setup
    assert remembered(setup, shed.shift, shed.fill().event) == setup


def test_a_check_of_an_instrument_stands_for_the_tick_that_it_was_checked() -> None:
    # 21 CFR 117.190: verification, calibration with it, is on record.
    shed = a_shed()
    text = "Nobody ticked that strips and meter were checked."
    assert text in [one.text for one in missing(shed.shift)]
    shed.tell(METER)
    assert text not in [one.text for one in missing(shed.shift)]


def test_an_instrument_that_was_left_unfit_is_named_before_the_shift_is_signed() -> None:
    shed = a_shed()
    text = "The last check of the {instrument} found it unfit for use."
    shed.tell(replace(METER, found=8.0, fit=False))
    (message,) = (one for one in missing(shed.shift) if one.text == text)
    assert message.values == {"instrument": "pH meter"}
    left = Unfit(instrument="ORP probe", since=date(2026, 5, 1))
    next_day = Shed(a_setup(a_tank(1, "Only"), instruments_unfit=(left,)))
    assert text in [one.text for one in missing(next_day.shift)]
    shed.tell(METER)
    assert text not in [one.text for one in missing(shed.shift)]
