"""The start and the end of a shift, on a real recorder and database."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.entry.bench import Bench
from tests.shed import Shed, a_setup, a_tank
from tests.some import some
from washmon.gui.context import UserContext
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.shift.end import ShiftEnd, letting_go, matters
from washmon.gui.shift.start import LotFields, ShiftStart
from washmon.line.events import (
    BatchWashed,
    HoldPlaced,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
)
from washmon.line.flags import Amount
from washmon.line.journal import SITE
from washmon.line.registers import Container, Device, Pack
from washmon.line.sent import went
from washmon.line.setup import Lot, Role, Unfit
from washmon.line.setup import Person as Member
from washmon.line.site_events import CourseSet, ThingRegistered, TrainingSigned
from washmon.line.training import Course, Trained, after_months
from washmon.planning.advice import advise
from washmon.planning.snapshot import Snapshot
from washmon.store.errors import DiskFull
from washmon.units import UnitSystem

LEADS = (
    Member(initials="RM", name="R. M.", role=Role.SUPERVISOR),
    Member(initials="AB", name="A. B.", role=Role.SUPERVISOR),
    Member(initials="TK", name="T. K.", role=Role.LINE_WORKER),
)


@pytest.fixture
def bench(qtbot: QtBot, tmp_path: Path) -> Iterator[Bench]:
    """A shed in which no shift runs yet."""
    made = Bench(qtbot, tmp_path, a_setup(people=LEADS))
    yield made
    made.close()


@pytest.fixture
def start(bench: Bench) -> ShiftStart:
    page = ShiftStart(bench.client, bench.window)
    page.setGeometry(bench.window.rect())
    page.open(bench.setup)
    page.show()
    return page


def lot(page: ShiftStart, at: int) -> LotFields:
    row = page.lots.rows[at]
    assert isinstance(row, LotFields)
    return row


def tick_all(page: ShiftStart) -> None:
    for button in page.checks.buttons.values():
        button.click()


def begin(bench: Bench, page: ShiftStart) -> ShiftStarted:
    with bench.qtbot.waitSignals([page.started, bench.client.snapshot_changed]):
        page.start.click()
    return bench.shift.started


def test_a_shift_begins_with_its_lead_its_lots_and_its_checks(
    bench: Bench, start: ShiftStart
) -> None:
    start.supervisor.put("AB")
    lot(start, 0).code.put("LB-1")
    start.lots.add()
    lot(start, 1).code.put("LB-2")
    lot(start, 1).produce.put("kale")
    lot(start, 1).source.put("North field")
    tick_all(start)
    started = begin(bench, start)
    assert started.by == "AB"
    assert started.lots == (
        Lot(code="LB-1", produce="baby chard"),
        Lot(code="LB-2", produce="kale", source="North field"),
    )
    assert started.checks
    assert all(check.done for check in some(started.checks))


def test_only_those_who_may_lead_are_offered(start: ShiftStart) -> None:
    start.supervisor.put("TK")
    assert start.supervisor.text == ""
    start.supervisor.put("AB")
    assert start.supervisor.text == "AB"


def test_whose_training_is_due_again_is_told_beside_the_name_of_who_leads(
    bench: Bench, start: ShiftStart
) -> None:
    on = (bench.now - timedelta(days=400)).date()
    what = Trained(
        person="AB", scenario="One", attempt="p", head="ab", on=on, advice="off", score=90.0
    )
    course = CourseSet(at=bench.now, by="RM", course=Course(scenarios=("One",)))
    signed = TrainingSigned(at=bench.now, by="RM", what=what)
    bench.client.recorder.read(
        lambda store: store.append(SITE, [course, signed], bench.now)
    ).result(10)
    start.open(bench.setup)
    start.supervisor.row.button("RM").click()
    bench.client.recorder.read(lambda _store: None).result(10)
    assert not start.trained.isVisible()
    start.supervisor.row.button("AB").click()
    bench.qtbot.waitUntil(start.trained.isVisible)
    until = after_months(on, 12).isoformat()
    assert start.trained.text() == f"AB: training is due again since {until}."


def test_what_is_missing_is_said_beside_its_field(bench: Bench, start: ShiftStart) -> None:
    start.start.click()
    assert start.supervisor.fault.text != ""
    assert lot(start, 0).code.fault.text != ""
    assert bench.snapshot.shift is None


def test_a_lot_that_stands_there_twice_is_said(bench: Bench, start: ShiftStart) -> None:
    start.supervisor.put("RM")
    start.lots.add()
    bench.qtbot.waitUntil(lot(start, 1).isVisible)
    for at in (0, 1):
        lot(start, at).code.put("LB-1")
    start.start.click()
    assert "twice" in lot(start, 1).code.fault.text


def test_what_was_not_checked_is_asked_about_once_and_recorded(
    bench: Bench, start: ShiftStart
) -> None:
    start.supervisor.put("RM")
    lot(start, 0).code.put("LB-1")
    tick_all(start)
    start.checks.buttons["goggles and gloves on"].click()
    start.start.click()
    assert "goggles and gloves on" in start.message.words.text()
    start.start.click()  # pressed once more it asks once more
    assert bench.snapshot.shift is None
    with bench.qtbot.waitSignals([start.started, bench.client.snapshot_changed]):
        start.anyway.click()
    started = bench.shift.started
    assert {one.item for one in started.checks if not one.done} == {"goggles and gloves on"}


def test_a_product_past_its_date_is_told_before_the_start(bench: Bench, start: ShiftStart) -> None:
    assert start.products.text == ""
    (bleach,) = bench.setup.sanitizers
    old = replace(bleach, use_by=bench.now.date() - timedelta(days=1))
    start.open(replace(bench.setup, sanitizers=(old,)))
    assert "use-by" in start.products.text
    assert bleach.name in start.products.text


def test_an_instrument_left_unfit_is_told_before_the_start(bench: Bench, start: ShiftStart) -> None:
    left = Unfit(instrument="pH meter", since=bench.now.date() - timedelta(days=1))
    start.open(replace(bench.setup, instruments_unfit=(left,)))
    assert "the pH meter may not be used" in start.products.text


def test_what_presses_in_the_registers_is_told_before_the_start(
    bench: Bench, start: ShiftStart
) -> None:
    today = bench.now.date()
    strips = Pack(key="S", name="Strips", lot="12", measures=("ph",), use_by=date(2026, 1, 31))
    drum = Container(
        key="D", name="Drum", lot="7", product="bleach", full=Amount(500, "mL"), reorder_at=2_000.0
    )
    meter = Device(key="M", name="Meter", measures=("ph",), check_days=7, checked_on=today)
    told = [ThingRegistered(at=bench.now, by="RM", what=one) for one in (meter, drum, strips)]
    bench.client.recorder.read(lambda store: store.append(SITE, told, bench.now)).result(10)
    start.open(bench.setup)
    bench.qtbot.waitUntil(lambda: "Strips" in start.products.text)
    assert start.products.text.splitlines() == [
        "Strips 12: Past its date: it was good until 2026-01-31.",
        "Drum 7: Order more: little of it is left in all.",
    ]


def test_a_tick_is_a_mark_as_well_as_a_colour(start: ShiftStart) -> None:
    button = start.checks.buttons["product label read"]
    assert "✓" not in button.label
    button.click()
    assert "✓" in button.label


def test_a_full_disk_at_the_start_keeps_all_that_was_filled_in(
    bench: Bench, start: ShiftStart, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise DiskFull("The disk is full: free some space, then try again.")

    start.supervisor.put("RM")
    lot(start, 0).code.put("LB-1")
    tick_all(start)
    with monkeypatch.context() as disk:
        disk.setattr(bench.store, "begin", full)
        start.start.click()
        bench.qtbot.waitUntil(lambda: "disk is full" in start.message.words.text())
    assert lot(start, 0).code.text == "LB-1"
    assert begin(bench, start).by == "RM"


def test_a_second_shift_beside_a_running_one_is_refused_in_a_sentence(
    bench: Bench, start: ShiftStart
) -> None:
    bench.begin()
    start.supervisor.put("RM")
    lot(start, 0).code.put("LB-1")
    tick_all(start)
    start.start.click()
    bench.qtbot.waitUntil(lambda: "end it first" in start.message.words.text())


def test_escape_leaves_the_start(bench: Bench, start: ShiftStart) -> None:
    with bench.qtbot.waitSignal(start.left):
        QTest.keyClick(start, Qt.Key.Key_Escape)


def test_what_is_open_at_the_end_is_told_holds_first() -> None:
    shed = Shed()
    for tank in (1, 2):
        shed.fill(tank)
        shed.read(tank, 50, ph=7.0)
    (batch,) = shed.wash(1, tanks=(1, 2))
    shed.hold(batch.seq)
    shed.wait(1)
    shed.read(1, 30)
    advice = advise(shed.shift, shed.now)
    snapshot = Snapshot(now=shed.now, shift=shed.shift, advice=advice)
    found = matters(snapshot, UserContext("RM", UnitSystem.METRIC))
    assert found[0][0] is MarkState.STOP
    assert "On hold" in found[0][1]
    assert any(look is MarkState.ACT and "First dunk" in words for look, words in found)
    unknown = [words for look, words in found if look is MarkState.UNKNOWN]
    assert len(unknown) == 1
    assert "Second dunk" in unknown[0]


@pytest.fixture
def end(bench: Bench) -> ShiftEnd:
    """The end of a shift with one batch on hold."""
    bench.begin()
    bench.tell(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500.0))
    bench.tell(ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=50.0))
    batch = bench.tell(BatchWashed(at=bench.now, by="RM", tanks=(1,), lot="L-1"))
    bench.tell(HoldPlaced(at=bench.now, by="RM", tank=1, batches=(batch.seq,), reason="glass"))
    page = ShiftEnd(bench.client, bench.window)
    page.setGeometry(bench.window.rect())
    page.open(bench.snapshot, bench.person)
    page.show()
    return page


def test_a_shift_with_a_hold_ends_once_somebody_takes_it(bench: Bench, end: ShiftEnd) -> None:
    end.note.put("pump is loud")
    end.end.click()
    assert end.holds_to is not None
    bench.qtbot.waitUntil(lambda: end.form.fields()["holds_to"].fault.text != "")
    assert end.note.text == "pump is loud"
    end.holds_to.put("TK")
    with bench.qtbot.waitSignals([end.ended, bench.client.snapshot_changed]):
        end.end.click()
    ended = bench.shift.ended
    assert isinstance(ended, ShiftEnded)
    assert (ended.holds_to, ended.note) == ("TK", "pump is loud")


def test_where_a_lot_went_is_told_before_the_end(bench: Bench, end: ShiftEnd) -> None:
    assert end.holds_to is not None
    end.holds_to.put("TK")
    end.lots["L-1"].put("Green market")
    end.end.click()  # a batch of it is on hold
    bench.qtbot.waitUntil(lambda: not end.anyway.isHidden())
    assert "on hold" in end.message.words.text()
    assert end.lots["L-1"].text == "Green market"
    with bench.qtbot.waitSignals([end.ended, bench.client.snapshot_changed]):
        end.anyway.click()
    assert list(went(bench.shift).values()) == ["Green market"]
    assert bench.shift.ended is not None


def test_the_end_names_its_shift(bench: Bench, end: ShiftEnd) -> None:
    assert end.holds_to is not None
    end.holds_to.put("TK")
    with bench.qtbot.waitSignal(end.ended) as told:
        end.end.click()
    assert told.args == [bench.shift.chain]


def test_escape_leaves_the_end_and_the_shift_goes_on(bench: Bench, end: ShiftEnd) -> None:
    with bench.qtbot.waitSignal(end.left):
        QTest.keyClick(end, Qt.Key.Key_Escape)
    bench.tell(NoteWritten(at=bench.now, by="RM", text="going on"))
    assert bench.shift.ended is None


def test_an_end_without_holds_asks_nobody(bench: Bench) -> None:
    bench.begin()
    page = ShiftEnd(bench.client, bench.window)
    page.open(bench.snapshot, bench.person)
    assert page.holds_to is None
    with bench.qtbot.waitSignal(page.ended):
        page.end.click()


def test_the_end_tells_what_takes_the_chlorine_out_where_the_water_is_let_go() -> None:
    shed = Shed()
    shed.fill()
    shed.read(fac=40)
    snapshot = Snapshot(now=shed.now, shift=shed.shift, advice=advise(shed.shift, shed.now))
    (said,) = letting_go(snapshot, UserContext("RM", UnitSystem.METRIC))
    # AWWA table 7-2: 2.98 g thiosulfate pentahydrate to the gram; 500 L * 40 mg/L = 20 g.
    assert "60\N{NO-BREAK SPACE}g sodium thiosulfate" in said
    assert "local" in said


def test_the_end_names_a_second_fill_that_still_waits() -> None:
    shed = Shed(a_setup(a_tank(1, "Dunk", second_volume_l=400.0)))
    shed.fill()
    shed.read(fac=50, ph=7.0)
    person = UserContext("RM", UnitSystem.METRIC)
    for waits in (False, True):
        snapshot = Snapshot(now=shed.now, shift=shed.shift, advice=advise(shed.shift, shed.now))
        told = [words for _, words in matters(snapshot, person)]
        assert ("1 Dunk: its second fill still waits" in told) is waits
        shed.fill(1, 400.0, second=True)


def test_a_shift_with_batches_in_question_ends_only_after_asking(bench: Bench) -> None:
    bench.begin()
    bench.tell(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500.0))
    bench.tell(ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=50.0))
    bench.wait(2)
    bench.tell(BatchWashed(at=bench.now, by="RM", tanks=(1,), lot="L-1"))
    bench.wait(2)
    bench.tell(ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=5.0))
    page = ShiftEnd(bench.client, bench.window)
    page.open(bench.snapshot, bench.person)
    page.show()
    assert matters(bench.snapshot, bench.person)[0] == (
        MarkState.STOP,
        "One batch is in question and not on hold: hold it first.",
    )
    page.end.click()
    bench.qtbot.waitUntil(lambda: "not on hold" in page.message.words.text())
    assert page.anyway.isVisible()
    with bench.qtbot.waitSignal(page._sending.doubted):
        page.end.click()  # pressed once more it asks once more
    assert bench.shift.ended is None
    with bench.qtbot.waitSignals([page.ended, bench.client.snapshot_changed]):
        page.anyway.click()
    ended = bench.shift.ended
    assert isinstance(ended, ShiftEnded)
    assert ended.doubts == ("One batch is in question and not on hold: hold it first.",)


def test_a_shift_that_is_asked_about_anew_is_asked_again(bench: Bench) -> None:
    bench.begin()
    bench.tell(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500.0))
    bench.wait(2)
    batch = bench.tell(BatchWashed(at=bench.now, by="RM", tanks=(1,), lot="L-1"))
    bench.wait(2)
    bench.tell(ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=5.0))
    page = ShiftEnd(bench.client, bench.window)
    page.open(bench.snapshot, bench.person)
    page.end.click()
    bench.qtbot.waitUntil(lambda: page.anyway.isVisibleTo(page))
    bench.tell(HoldPlaced(at=bench.now, by="RM", tank=1, batches=(batch.seq,), reason="low"))
    page.open(bench.snapshot, bench.person)
    assert not page.anyway.isVisibleTo(page)
    assert page.holds_to is not None
    page.holds_to.put("TK")
    with bench.qtbot.waitSignals([page.ended, bench.client.snapshot_changed]):
        page.end.click()
    assert isinstance(bench.shift.ended, ShiftEnded)
    assert bench.shift.ended.doubts == ()
