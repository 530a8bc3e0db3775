"""From the keyboard through the sheets to the journal, on a real recorder and database."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from tests.gui.entry.bench import Bench
from tests.shed import a_setup, a_tank
from washmon.gui.entry.ask import kind_for
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    ClockChanged,
    Corrected,
    Decision,
    DoseAdded,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    Instrument,
    InstrumentChecked,
    LinePaused,
    LineResumed,
    Method,
    NoteWritten,
    ReadingTaken,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flags import Amount, Level, Step, StepKind
from washmon.line.kinds import EntryKind
from washmon.line.message import Message
from washmon.line.setup import ChlorineLimits, LabelBasis
from washmon.planning.snapshot import Snapshot
from washmon.store.errors import DiskFull

ENTER = Qt.Key.Key_Return
ESC = Qt.Key.Key_Escape


def wash(bench: Bench, times: int = 1, weight_kg: float | None = None) -> list[int]:
    seqs = []
    for _ in range(times):
        bench.wait(1)
        batch = BatchWashed(at=bench.now, by="RM", tanks=(1, 2), lot="L-1", weight_kg=weight_kg)
        seqs.append(bench.tell(batch).seq)
    return seqs


def fault(bench: Bench, field: str) -> str:
    return bench.sheet.field(field).fault.text


def test_a_reading_takes_a_tank_two_numbers_and_four_enters(bench: Bench) -> None:
    bench.open(EntryKind.READING)
    with bench.saving():
        bench.press("1", "48", ENTER, "7.1", ENTER, ENTER)
    read = bench.last(ReadingTaken)
    assert (read.tank, read.fac_mg_l, read.ph) == (1, 48.0, 7.1)
    assert (read.by, read.at) == ("RM", bench.now)
    assert not bench.entry.is_open
    (said,) = bench.said
    assert "48" in said
    assert "7.1" in said


def test_the_method_is_kept_from_the_last_reading_of_the_tank(bench: Bench) -> None:
    bench.open(EntryKind.READING, tank=1)
    bench.sheet.field("fac_method").put("kit")
    with bench.saving():
        bench.press("48", ENTER, ENTER, ENTER)
    bench.open(EntryKind.READING, tank=1)
    assert bench.sheet.field("fac_method").text == "kit"
    bench.open(EntryKind.READING, tank=2)
    assert bench.sheet.field("fac_method").text == "strip"
    assert bench.last(ReadingTaken).fac_method is Method.KIT


def test_text_that_is_no_number_gets_its_sentence_and_keeps_all_that_was_typed(
    bench: Bench,
) -> None:
    bench.open(EntryKind.READING, tank=1)
    bench.press("48 spoons", ENTER, "7.1", ENTER, ENTER)
    assert "spoons" in fault(bench, "fac_mg_l")
    assert bench.sheet.values()["fac_mg_l"] == "48 spoons"
    assert bench.sheet.values()["ph"] == "7.1"


def test_a_value_that_cannot_be_is_refused_beside_its_field(bench: Bench) -> None:
    bench.open(EntryKind.READING, tank=1)
    before = len(bench.events)
    bench.press("48", ENTER, "15", ENTER, ENTER)
    bench.qtbot.waitUntil(lambda: fault(bench, "ph") != "")
    assert fault(bench, "fac_mg_l") == ""
    assert len(bench.events) == before
    bench.sheet.field("ph").put("7.5")
    with bench.saving():
        bench.press(ENTER, ENTER)
    assert bench.last(ReadingTaken).ph == 7.5


def test_a_doubt_is_asked_once_and_then_recorded_with_the_entry(bench: Bench) -> None:
    bench.open(EntryKind.READING, tank=1)
    bench.press("48", ENTER, "4", ENTER, ENTER)
    bench.qtbot.waitUntil(lambda: bench.sheet.doubted)
    assert "unusual pH" in bench.sheet.message.words.text()
    with bench.saving():
        bench.sheet.anyway.click()
    assert bench.last(ReadingTaken).ph == 4.0
    assert len(bench.last(ReadingTaken).doubts) == 1


def test_a_doubt_can_be_answered_by_changing_the_value(bench: Bench) -> None:
    bench.open(EntryKind.READING, tank=1)
    bench.press("48", ENTER, "4", ENTER, ENTER)
    bench.qtbot.waitUntil(lambda: bench.sheet.doubted)
    bench.press(ESC)
    assert bench.entry.is_open
    bench.sheet.field("ph").put("7")
    with bench.saving():
        bench.sheet.save.click()
    assert bench.last(ReadingTaken).doubts == ()


def test_a_full_disk_says_so_and_loses_nothing(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise DiskFull("The disk is full: free some space, then try again.")

    bench.open(EntryKind.READING, tank=1)
    with monkeypatch.context() as disk:
        disk.setattr(bench.store, "append", full)
        bench.press("48", ENTER, "7.1", ENTER, ENTER)
        bench.qtbot.waitUntil(lambda: "disk is full" in bench.sheet.message.words.text())
    assert bench.sheet.isVisible()
    assert bench.sheet.values()["fac_mg_l"] == "48"
    with bench.saving():
        bench.sheet.save.click()
    assert bench.last(ReadingTaken).fac_mg_l == 48.0


def test_a_fault_of_the_program_does_not_leave_the_sheet_waiting(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("a bug")

    bench.open(EntryKind.READING, tank=1)
    with monkeypatch.context() as disk:
        disk.setattr(bench.store, "append", broken)
        bench.press("48", ENTER, ENTER, ENTER)
        bench.qtbot.waitUntil(lambda: "a bug" in bench.sheet.message.words.text())
    with bench.saving():
        bench.sheet.save.click()


def test_a_second_enter_while_saving_makes_no_second_entry(bench: Bench) -> None:
    bench.open(EntryKind.READING, tank=1)
    before = len(bench.events)
    bench.sheet.field("fac_mg_l").put("48")
    with bench.saving():
        bench.sheet.save.click()
        bench.sheet.save.click()
    assert len(bench.events) == before + 1


def test_more_asks_for_the_seldom_used_fields_and_keeps_what_was_typed(bench: Bench) -> None:
    bench.open(EntryKind.READING, tank=1)
    assert "orp_mv" not in bench.sheet.values()
    bench.press("48")
    bench.sheet.more.click()
    assert bench.sheet.values()["fac_mg_l"] == "48"
    bench.sheet.field("orp_mv").put("650")
    bench.sheet.field("at").put("5")
    with bench.saving():
        bench.sheet.save.click()
    read = bench.last(ReadingTaken)
    assert (read.fac_mg_l, read.orp_mv) == (48.0, 650.0)
    assert read.at == bench.now - timedelta(minutes=5)


def test_a_time_before_the_shift_is_refused_at_its_field(bench: Bench) -> None:
    bench.open(EntryKind.READING, tank=1)
    bench.sheet.more.click()
    bench.sheet.field("ph").put("7")
    bench.sheet.field("at").put("500")
    bench.sheet.save.click()
    bench.qtbot.waitUntil(lambda: "before the shift" in fault(bench, "at"))


def test_a_batch_takes_two_enters_and_keeps_lot_and_weight(bench: Bench) -> None:
    wash(bench, weight_kg=12.0)
    bench.open(EntryKind.BATCH)
    with bench.saving():
        bench.press(ENTER, ENTER)
    batch = bench.last(BatchWashed)
    assert (batch.lot, batch.weight_kg, batch.tanks) == ("L-1", 12.0, (1, 2))


def test_a_batch_can_be_of_a_new_lot_through_one_tank(bench: Bench) -> None:
    bench.open(EntryKind.BATCH)
    bench.sheet.field("new_lot").put("L-9")
    bench.sheet.field("tanks").put("2")
    bench.sheet.field("weight_kg").put("20 lb")
    with bench.saving():
        bench.sheet.save.click()
    batch = bench.last(BatchWashed)
    assert (batch.lot, batch.tanks) == ("L-9", (2,))
    # 1 lb is 0.45359237 kg: NIST SP 811, Appendix B.
    assert batch.weight_kg == pytest.approx(20 * 0.45359237)


def low(bench: Bench, fac: float = 30.0) -> Step:
    """Measure too little chlorine in tank 1 and return the step that its plan then asks for."""
    bench.tell(ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=fac, ph=7.0))
    bench.qtbot.waitUntil(lambda: planned(bench, 1).kind is StepKind.DOSE)
    return planned(bench, 1)


def planned(bench: Bench, tank: int) -> Step:
    return bench.snapshot.advice.tank(tank).plan.now


def test_who_added_what_the_plan_asks_for_only_presses_enter(bench: Bench) -> None:
    step = low(bench)
    bench.open(EntryKind.DOSE, tank=1, done=True)
    advised = bench.sheet.values()["amount"]
    with bench.saving():
        bench.press(ENTER)
    dose = bench.last(DoseAdded)
    assert step.amount is not None
    assert dose.amount.value == pytest.approx(step.amount.value, rel=0.05)
    assert dose.as_entered.startswith(advised)
    assert (dose.tank, dose.product) == (1, "bleach")


def test_what_is_typed_replaces_what_the_plan_asks_for(bench: Bench) -> None:
    low(bench)
    bench.open(EntryKind.DOSE, tank=1, done=True)
    with bench.saving():
        bench.press("70", ENTER)
    assert bench.last(DoseAdded).amount == Amount(70.0, "mL")


def test_where_nobody_says_that_it_was_done_the_advice_is_only_greyed(bench: Bench) -> None:
    low(bench)
    bench.open(EntryKind.DOSE, tank=1)
    assert bench.sheet.values()["amount"] == ""
    assert "advised" in bench.sheet.field("amount").spec.hint
    bench.press(ENTER)
    assert fault(bench, "amount") != ""


@pytest.mark.parametrize(("text", "ml"), [("1/2 cup", 118.29411825), ("2.3 tsp", 11.3365196)])
def test_an_amount_may_be_written_in_any_measure(bench: Bench, text: str, ml: float) -> None:
    # 1 US cup is 236.5882365 mL and 1 US teaspoon 4.92892159375 mL: NIST Handbook 44, Appendix C.
    bench.open(EntryKind.DOSE, tank=1)
    with bench.saving():
        bench.press(text, ENTER)
    dose = bench.last(DoseAdded)
    assert dose.amount.value == pytest.approx(ml, rel=1e-6)
    assert dose.as_entered == text


def test_a_unit_of_another_kind_gets_its_sentence(bench: Bench) -> None:
    bench.open(EntryKind.DOSE, tank=1)
    bench.press("60 g", ENTER)
    assert "is a weight" in fault(bench, "amount")
    assert bench.sheet.values()["amount"] == "60 g"


def test_acid_soon_after_a_dose_is_doubted_and_the_caution_is_shown(bench: Bench) -> None:
    bench.tell(
        DoseAdded(at=bench.now, by="RM", tank=1, product="bleach", amount=Amount(40.0, "mL"))
    )
    bench.wait(1)
    bench.open(EntryKind.ACID, tank=1)
    assert "chlorine gas" in bench.sheet.note.text()
    bench.press("20", ENTER)
    bench.qtbot.waitUntil(lambda: bench.sheet.doubted)
    assert "chlorine gas" in bench.sheet.message.words.text()
    with bench.saving():
        bench.sheet.anyway.click()
    assert bench.last(AcidAdded).doubts


def test_a_water_change_is_one_enter_and_a_part_needs_its_volume(bench: Bench) -> None:
    bench.open(EntryKind.WATER, tank=2)
    with bench.saving():
        bench.press(ENTER)
    assert bench.last(TankFilled).volume_l == 500.0
    bench.open(EntryKind.WATER, tank=1)
    bench.sheet.field("which").put("part")
    bench.press(ENTER)
    assert fault(bench, "volume_l") != ""
    with bench.saving():
        bench.press("100", ENTER)
    exchange = bench.last(WaterExchanged)
    assert (exchange.tank, exchange.volume_l) == (1, 100.0)


def test_batches_in_question_are_ready_to_hold_with_the_reason(bench: Bench) -> None:
    seqs = wash(bench, 3)
    bench.wait(1)
    bench.tell(ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=10.0))
    bench.qtbot.waitUntil(lambda: any(f.rule == "hold" for f in bench.snapshot.advice.flags))
    bench.open(EntryKind.HOLD, tank=1)
    with bench.saving():
        bench.press(ENTER)
    hold = bench.last(HoldPlaced)
    assert hold.batches == tuple(seqs)
    assert "chlorine" in hold.reason


def test_the_last_batches_can_be_held_by_their_number(bench: Bench) -> None:
    seqs = wash(bench, 4)
    bench.open(EntryKind.HOLD, tank=1)
    bench.sheet.field("last_n").put("2")
    bench.press(ENTER)
    assert fault(bench, "reason") != ""
    with bench.saving():
        bench.press("glass seen", ENTER)
    assert bench.last(HoldPlaced).batches == tuple(seqs[-2:])


def test_a_hold_is_decided_on_with_a_reason(bench: Bench) -> None:
    seqs = wash(bench, 2)
    held = bench.tell(
        HoldPlaced(at=bench.now, by="RM", tank=1, batches=tuple(seqs), reason="too low")
    )
    bench.open(EntryKind.RELEASE)
    bench.sheet.save.click()
    assert fault(bench, "decision") != ""
    bench.sheet.field("decision").put("discard")
    found = "too low: 2 batches, 07:21, 07:22, lot L-1"
    assert bench.sheet.field("found").text == found
    bench.sheet.field("reason").put("both batches composted")
    bench.sheet.field("water").put("changed")
    bench.sheet.field("prevention").put("checked twice as often")
    with bench.saving():
        bench.sheet.save.click()
    released = bench.last(HoldReleased)
    assert (released.found, released.water) == (found, "changed")
    assert released.prevention == "checked twice as often"
    assert (released.hold, released.decision) == (held.seq, Decision.DISCARD)


def test_a_note_is_entered(bench: Bench) -> None:
    bench.open(EntryKind.NOTE, tank=2)
    with bench.saving():
        bench.press("pump is loud", ENTER)
    assert bench.last(NoteWritten).text == "pump is loud"
    assert bench.last(NoteWritten).tank == 2


def test_a_pause_takes_a_word_or_only_enter_and_can_be_corrected(bench: Bench) -> None:
    bench.open(EntryKind.PAUSE)
    with bench.saving():
        bench.sheet.save.click()
    assert bench.last(LinePaused).reason == "break"
    pause = next(one for one in bench.shift.entries if isinstance(one.event, LinePaused))
    bench.open(EntryKind.CORRECTION, correcting=pause)
    bench.sheet.field("words").put("belt torn")
    bench.sheet.field("why").put("it was the belt")
    with bench.saving():
        bench.sheet.save.click()
    assert bench.shift.paused is not None
    assert bench.shift.paused.placed.reason == "belt torn"
    bench.open(EntryKind.CORRECTION, correcting=pause)
    assert bench.sheet.field("words").text == "belt torn"
    bench.wait(5)
    bench.open(EntryKind.RESUME)
    with bench.saving():
        bench.press(ENTER)
    assert bench.last(LineResumed).at == bench.now
    assert bench.shift.resumed_at == bench.now


def test_the_entry_to_correct_is_chosen_from_a_list_newest_first(bench: Bench) -> None:
    wash(bench)
    bench.open(EntryKind.CORRECTION)
    assert "Batch" in bench.entry.list.list.item(0).text()
    bench.press(Qt.Key.Key_Down, ENTER)
    assert bench.sheet.values()["fac_mg_l"] == "50"
    assert bench.sheet.tank == "2"


def test_a_correction_keeps_what_was_not_changed_and_needs_a_reason(bench: Bench) -> None:
    wrong = bench.tell(
        ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=48.37, ph=7.0, turbidity_ntu=5.0)
    )
    bench.wait(3)
    bench.open(EntryKind.CORRECTION, correcting=wrong)
    bench.sheet.field("ph").put("7.4")
    bench.sheet.save.click()
    assert fault(bench, "why") != ""
    bench.sheet.field("why").put("misread")
    with bench.saving():
        bench.sheet.save.click()
    correction = bench.last(Corrected)
    assert (correction.entry, correction.reason) == (wrong.seq, "misread")
    right = correction.instead
    assert isinstance(right, ReadingTaken)
    assert (right.fac_mg_l, right.ph, right.turbidity_ntu) == (48.37, 7.4, 5.0)
    assert right.at == bench.now - timedelta(minutes=3)
    bench.open(EntryKind.CORRECTION, correcting=wrong)
    assert bench.sheet.values()["ph"] == "7.4"


def test_an_entry_can_be_moved_to_another_tank(bench: Bench) -> None:
    wrong = bench.tell(
        DoseAdded(
            at=bench.now,
            by="RM",
            tank=1,
            product="bleach",
            amount=Amount(60.0, "mL"),
            as_entered="60 mL",
        )
    )
    bench.open(EntryKind.CORRECTION, correcting=wrong)
    assert bench.sheet.tanks is not None
    bench.sheet.tanks.button("2").click()
    bench.sheet.field("why").put("it was tank 2")
    with bench.saving():
        bench.sheet.save.click()
    right = bench.last(Corrected).instead
    assert isinstance(right, DoseAdded)
    assert (right.tank, right.amount, right.as_entered) == (2, Amount(60.0, "mL"), "60 mL")


def test_an_entry_can_be_withdrawn(bench: Bench) -> None:
    (seq,) = wash(bench)
    entry = next(one for one in bench.shift.entries if one.seq == seq)
    bench.open(EntryKind.CORRECTION, correcting=entry)
    bench.sheet.field("never").put("never")
    bench.sheet.field("why").put("entered twice")
    with bench.saving():
        bench.sheet.save.click()
    assert bench.last(Corrected).instead is None
    assert bench.shift.tank(1).batches == 0


def test_a_correction_can_itself_be_corrected(bench: Bench) -> None:
    wrong = bench.tell(ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=48.0))
    right = ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=45.0)
    fixed = bench.tell(
        Corrected(at=bench.now, by="RM", entry=wrong.seq, reason="misread", instead=right)
    )
    bench.open(EntryKind.CORRECTION, correcting=fixed)
    assert bench.sheet.values()["fac_mg_l"] == "45"
    bench.sheet.field("fac_mg_l").put("46")
    bench.sheet.field("why").put("looked again")
    with bench.saving():
        bench.sheet.save.click()
    assert bench.last(Corrected).entry == wrong.seq


def test_where_an_entry_cannot_be_corrected_the_list_is_shown(bench: Bench) -> None:
    entry = bench.tell(HandedOver(at=bench.now, by="RM", to="RM"))
    bench.open(EntryKind.CORRECTION, correcting=entry)
    assert bench.entry.list.isVisible()
    assert not bench.sheet.isVisible()


def test_every_step_that_asks_for_something_has_its_entry() -> None:
    silent = {StepKind.WAIT, StepKind.LOOK}
    for kind in StepKind:
        assert (kind_for(Step(kind=kind, say=Message("x"))) is None) == (kind in silent)


def test_leaving_tells_and_enters_nothing(bench: Bench) -> None:
    before = len(bench.events)
    for kind in (EntryKind.READING, EntryKind.CORRECTION):
        bench.open(kind, **({"tank": 1} if kind is EntryKind.READING else {}))
        with bench.qtbot.waitSignal(bench.entry.left):
            bench.press(ESC)
        assert not bench.entry.is_open
    assert len(bench.events) == before


def test_the_keyboard_goes_back_to_where_it_was(bench: Bench) -> None:
    other, before = (QPushButton(name, bench.window) for name in ("other", "before"))
    for button in (other, before):
        button.show()
    before.setFocus()
    bench.open(EntryKind.READING, tank=1)
    bench.press(ESC)
    assert bench.window.focusWidget() is before
    bench.open(EntryKind.READING, tank=1)
    with bench.saving():
        bench.press("48", ENTER, ENTER, ENTER)
    assert bench.window.focusWidget() is before


def test_without_a_shift_there_is_nothing_to_enter_into(bench: Bench) -> None:
    with pytest.raises(ValueError, match="no shift"):
        bench.entry.open(EntryKind.NOTE, Snapshot(now=bench.now), bench.person)


def test_a_meter_is_checked_by_its_standard_and_what_it_showed(bench: Bench) -> None:
    bench.open(EntryKind.INSTRUMENT)
    with bench.saving():
        bench.press("7", ENTER, "7.06", ENTER)
    check = bench.last(InstrumentChecked)
    assert (check.instrument, check.standard, check.found) == (Instrument.PH_METER, 7.0, 7.06)
    assert (check.fit, check.adjusted, check.by) == (True, False, "RM")
    assert "it showed 7.06 in 7.0" in bench.said[0]


def test_a_new_pack_of_strips_needs_its_day_and_takes_a_lot(bench: Bench) -> None:
    bench.open(EntryKind.INSTRUMENT)
    assert bench.sheet.tanks is not None
    bench.sheet.tanks.button("4").click()
    bench.press("soon", ENTER, "S-12", ENTER)
    assert "no date" in fault(bench, "use_by")
    bench.sheet.field("use_by").put("")
    with bench.saving():
        bench.press("2026-09-30", ENTER, ENTER)
    pack = bench.last(InstrumentChecked)
    assert (pack.instrument, pack.lot) == (Instrument.STRIPS, "S-12")
    assert str(pack.use_by) == "2026-09-30"


def test_a_meter_that_was_far_off_is_asked_about_and_a_check_can_be_corrected(bench: Bench) -> None:
    bench.open(EntryKind.INSTRUMENT)
    bench.press("7", ENTER, "7.6", ENTER)
    bench.qtbot.waitUntil(lambda: bench.sheet.doubted)
    with bench.saving():
        bench.sheet.anyway.click()
    wrong = next(one for one in bench.shift.entries if isinstance(one.event, InstrumentChecked))
    bench.open(EntryKind.CORRECTION, correcting=wrong)
    assert bench.sheet.field("found").text == "7.6"
    bench.sheet.field("fit").put("no")
    bench.sheet.field("why").setFocus()
    with bench.saving():
        bench.press("it was never set right", ENTER)
    corrected = bench.last(Corrected)
    assert isinstance(corrected.instead, InstrumentChecked)
    assert (corrected.instead.fit, corrected.instead.found) == (False, 7.6)


def test_the_sheet_opens_for_the_instrument_that_a_flag_is_about(bench: Bench) -> None:
    bench.tell(
        InstrumentChecked(
            at=bench.now,
            by="RM",
            instrument=Instrument.STRIPS,
            standard=50.0,
            found=20.0,
            fit=False,
        )
    )
    flag = next(one for one in bench.snapshot.advice.flags if one.rule == "instrument-unfit")
    bench.open(EntryKind.INSTRUMENT, flag=flag)
    assert bench.sheet.tank == "4"
    assert next(iter(bench.sheet.grid.fields)) == "use_by"


def one_tank(qtbot: QtBot, folder: Path, **tank: Any) -> Bench:
    """A shift on a line of one tank, with water that was dosed and measured."""
    bench = Bench(qtbot, folder, a_setup(a_tank(1, "Flume", **tank)))
    bench.begin()
    volume_l = bench.setup.tanks[0].volume_l
    bench.tell(TankFilled(at=bench.now, by="RM", tank=1, volume_l=volume_l))
    bench.wait(10)
    bench.tell(ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=50.0, ph=7.8))
    bench.wait(10)
    return bench


def test_a_digit_for_the_only_tank_is_a_digit_and_the_slip_is_asked_about(
    qtbot: QtBot, tmp_path: Path
) -> None:
    """A hand that knows longer lines types 1 for the tank, then 247: that makes 1,247 mL."""
    bench = one_tank(qtbot, tmp_path)
    bench.open(EntryKind.ACID)
    before = len(bench.events)
    bench.press("1", "247", ENTER)
    bench.qtbot.waitUntil(lambda: bench.sheet.doubted)
    assert "under 6.5: check the amount" in bench.sheet.message.words.text()
    bench.press(ENTER)
    assert len(bench.events) == before
    bench.sheet.field("amount").put("247")
    with bench.saving():
        bench.sheet.save.click()
    assert bench.last(AcidAdded).amount == Amount(247.0, "mL")
    bench.open(EntryKind.READING)
    bench.press("1", "50", ENTER, "7.1", ENTER, ENTER)
    bench.qtbot.waitUntil(lambda: bench.sheet.doubted)  # 150 ppm
    assert "without a dose" in bench.sheet.message.words.text()
    bench.close()


def test_too_much_is_not_saved_by_pressing_enter_and_is_believed_where_it_is(
    qtbot: QtBot, tmp_path: Path
) -> None:
    """45 cups into 600 gal are some 580 ppm, where the label allows 200."""
    limits = ChlorineLimits(
        critical_low_mg_l=30,
        low_mg_l=40,
        target_mg_l=100,
        high_mg_l=150,
        label_max_mg_l=200,
        label_basis=LabelBasis.FREE,
    )
    bench = one_tank(qtbot, tmp_path, chlorine=limits, volume_l=2271.0)
    before = len(bench.events)
    bench.open(EntryKind.DOSE)
    bench.sheet.field("amount").put("45 cups")
    bench.press(ENTER, ENTER)
    bench.qtbot.waitUntil(lambda: bench.sheet.doubted)
    bench.press(ENTER)
    assert not bench.sheet.doubted
    assert len(bench.events) == before
    bench.press(ENTER)
    bench.qtbot.waitUntil(lambda: bench.sheet.doubted)
    with bench.saving():
        bench.sheet.anyway.click()
    (flag,) = (one for one in bench.snapshot.advice.flags if one.level is Level.STOP)
    assert flag.rule == "label-by-dose"
    bench.wait(2)
    bench.open(EntryKind.BATCH)
    bench.press(ENTER, ENTER, ENTER, ENTER)
    bench.qtbot.waitUntil(lambda: bench.sheet.doubted)
    assert "Tank 1 is stopped: over the label" in bench.sheet.message.words.text()
    bench.close()


def test_times_that_were_wrong_are_moved_together_with_the_start(bench: Bench) -> None:
    bench.wait(30)
    began = bench.shift.started.at
    bench.open(EntryKind.CLOCK)
    bench.sheet.field("reason").put("the laptop was slow")
    bench.sheet.field("span").put("nine")
    bench.sheet.save.click()
    assert "hours and minutes" in fault(bench, "span")
    bench.sheet.field("span").put("0:20")
    with bench.saving():
        bench.sheet.save.click()
    moved = bench.last(ClockChanged)
    assert (moved.by_s, moved.by) == (1200, "RM")
    assert bench.shift.started.at == began + timedelta(minutes=20)
    (said,) = bench.said
    assert "20 min" in said
