"""The registers by hand: add, change, retire, and what a shift does to them."""

from datetime import timedelta

import pytest
from PySide6.QtCore import Qt

from tests.gui.registers.registers_hands import page, registers
from tests.gui.stand import Key, Stand, begin_shift
from tests.shed import START, a_setup
from washmon.gui.kit.confirm import ConfirmQuestion
from washmon.gui.registers.page import RegistersPage
from washmon.gui.rooms import Room
from washmon.line.events import DoseAdded, RegistersTold
from washmon.line.flags import Amount
from washmon.line.journal import SITE
from washmon.line.kinds import EntryKind
from washmon.line.registers import Container, Device, Pack
from washmon.line.site_events import RegistersUsed, SetupSaved, ThingRegistered
from washmon.store.store import Store

TODAY = START.date()
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


@pytest.fixture
def stand(stand: Stand) -> Stand:
    begin_shift(stand.path)
    return stand


def write(stand: Stand, found: RegistersPage, **texts: str) -> None:
    fields = found.thing.fields
    for key, text in texts.items():
        fields[key].put(text)
    with stand.qtbot.waitSignal(found.loaded):
        stand.key(Key.Key_Return)


def test_an_instrument_is_registered_and_told_to_the_shift_that_runs(stand: Stand) -> None:
    stand.open()
    found = page(stand)
    stand.key(Key.Key_Insert)
    stand.qtbot.waitUntil(found.thing.isVisible)
    stand.type("Meter A", Key.Key_Tab, "PH-0417")
    write(stand, found, measures="ph", check_days="7", checked_on=TODAY.isoformat())
    assert registers(stand).things == (
        Device(
            key="Meter A PH-0417",
            name="Meter A",
            serial="PH-0417",
            measures=("ph",),
            check_days=7,
            checked_on=TODAY,
        ),
    )
    assert isinstance(stand.events[-1], RegistersTold)
    row = found.list.list.model.row(0)
    assert [cell.text for cell in row[:3]] == ["in order", "Meter A PH-0417", "meter"]


def test_what_can_not_be_read_is_said_beside_its_field_and_nothing_typed_is_lost(
    stand: Stand,
) -> None:
    stand.open()
    found = page(stand)
    found.list.add_asked.emit("pack")
    fields = found.thing.fields
    for key, text in {"name": "Strips", "measures": "fac_mg_l", "use_by": "31.5."}.items():
        fields[key].put(text)
    stand.key(Key.Key_Return)
    assert "This is no date" in fields["use_by"].fault.text
    assert fields["name"].text == "Strips"
    assert found.unsaved
    fields["use_by"].put("2026-12-31")
    fields["measures"].put("")
    stand.key(Key.Key_Return)
    stand.qtbot.waitUntil(lambda: fields["measures"].fault.text != "")
    assert fields["measures"].fault.text == "Say what is measured with it."
    assert registers(stand).things == ()


def test_a_container_is_drawn_down_by_doses_and_told_anew(stand: Stand) -> None:
    saved = SetupSaved(at=START, by="RM", setup=a_setup())
    with Store.open(stand.path) as store:
        store.append(SITE, [saved], START)
    stand.open()
    found = page(stand)
    found.list.add_asked.emit("container")
    write(stand, found, name="Drum", lot="7", full="20", reorder_at="1 L")
    (drum,) = registers(stand).things
    assert isinstance(drum, Container)
    assert (drum.full, drum.reorder_at) == (Amount(20_000, "mL"), 1000.0)
    stand.window.go(Room.BOARD)
    stand.board.open_entry(EntryKind.DOSE, tank=1)
    with stand.saving():
        stand.type("60", Key.Key_Return)
    dose = stand.last().event
    assert isinstance(dose, DoseAdded)
    assert dose.container == drum.key
    found = page(stand)
    stand.qtbot.waitUntil(
        lambda: "19.9\N{NO-BREAK SPACE}L left" in found.list.list.model.row(0)[4].text
    )
    found.list.change_asked.emit(drum)
    write(stand, found, left="10")
    (again,) = registers(stand).things
    assert isinstance(again, Container)
    assert again.otherwise == pytest.approx(9_940)


def test_what_is_left_is_told_anew_though_more_was_poured_than_it_held(stand: Stand) -> None:
    drum = Container(key="D", name="Drum", product="bleach", full=Amount(20_000, "mL"))
    used = RegistersUsed(at=START, by="RM", shift="past", drawn={"D": 25_000.0}, made_with={})
    with Store.open(stand.path) as store:
        saved = SetupSaved(at=START, by="RM", setup=a_setup())
        told = ThingRegistered(at=START, by="RM", what=drum)
        store.append(SITE, [saved, told, used], START)
    stand.open()
    found = page(stand)
    assert found.list.list.model.row(0)[4].text.startswith("Empty by what was poured")
    found.list.change_asked.emit(drum)
    found.thing.fields["left"].put("21")
    stand.key(Key.Key_Return)
    assert "more than it holds when full" in found.thing.fields["left"].fault.text
    write(stand, found, left="3")
    known = registers(stand)
    assert known.left(known.of(Container)[0]) == Amount(3_000, "mL")


def test_what_is_retired_is_offered_no_more_and_can_come_back(stand: Stand) -> None:
    pack = Pack(key="S", name="Strips", measures=("fac_mg_l",), opened_on=TODAY)
    with Store.open(stand.path) as store:
        store.append(SITE, [ThingRegistered(at=START, by="RM", what=pack)], START)
    stand.open()
    found = page(stand)
    stand.qtbot.waitUntil(lambda: found.list.chosen is not None)
    with stand.qtbot.waitSignal(found.loaded):
        stand.click(found.list.retire)
    assert registers(stand).measuring("fac_mg_l") == []
    assert found.list.retire.label == "Use again"
    with stand.qtbot.waitSignal(found.loaded):
        stand.click(found.list.retire)
    assert registers(stand).measuring("fac_mg_l") == [pack]


def test_what_is_chosen_stays_chosen_when_it_is_retired(stand: Stand) -> None:
    packs = [Pack(key=one, name="Strips", lot=one, measures=("fac_mg_l",)) for one in ("A", "B")]
    with Store.open(stand.path) as store:
        told = [ThingRegistered(at=START, by="RM", what=one) for one in packs]
        store.append(SITE, told, START)
    stand.open()
    found = page(stand)
    with stand.qtbot.waitSignal(found.loaded):
        stand.click(found.list.retire)
    assert found.list.chosen is not None
    assert (found.list.chosen.key, found.list.retire.label) == ("A", "Use again")
    assert found.list.message.words.text() == "Retired: Strips A"
    with stand.qtbot.waitSignal(found.loaded):
        stand.click(found.list.retire)
    assert registers(stand).measuring("fac_mg_l") == packs


def test_the_page_is_reached_from_the_menu_and_left_by_esc(stand: Stand) -> None:
    stand.open()
    stand.choose_in_menu(stand.menu_line(Room.REGISTERS))
    stand.wait_for(Room.REGISTERS)
    stand.key(Key.Key_Escape)
    stand.wait_for(Room.BOARD)


def test_a_window_that_only_reads_shows_and_changes_nothing(stand: Stand) -> None:
    with Store.open(stand.path):
        stand.open(read_only=True)
        stand.window.go(Room.REGISTERS)
        found = stand.page(RegistersPage)
        stand.qtbot.waitUntil(lambda: not found.list.add.isEnabled())
        assert not found.list.change.isEnabled()


def test_checks_are_charted(stand: Stand) -> None:
    from washmon.line.events import Instrument, InstrumentChecked  # noqa: PLC0415

    meter = Device(key="Meter A", name="Meter A", measures=("ph",), check_days=7)
    check = InstrumentChecked(
        at=START + timedelta(minutes=1),
        by="RM",
        instrument=Instrument.PH_METER,
        standard=7.0,
        found=7.08,
        which="Meter A",
    )
    with Store.open(stand.path) as store:
        store.append(SITE, [ThingRegistered(at=START, by="RM", what=meter)], START)
        store.append("shift-now", [check], START)
    stand.open()
    found = page(stand)
    stand.qtbot.waitUntil(lambda: found.list.chosen is not None)
    with stand.qtbot.waitSignal(found.checks.loaded):
        stand.click(found.list.checks)
    (panel,) = found.checks.chart.view.panels
    assert [round(point.y or 0.0, 2) for point in panel.points] == [0.08]  # type: ignore[union-attr]
    stand.key(Qt.Key.Key_Escape)
    stand.qtbot.waitUntil(found.list.isVisible)


def test_what_was_written_is_not_lost_by_esc(stand: Stand) -> None:
    stand.open()
    found = page(stand)
    stand.key(Key.Key_Insert)
    stand.qtbot.waitUntil(found.thing.isVisible)
    stand.type("Meter A", Key.Key_Escape)
    (question,) = found.thing.findChildren(ConfirmQuestion)
    stand.click(question.no)
    assert found.thing.fields["name"].text == "Meter A"
    stand.key(Key.Key_Escape)
    (question,) = [one for one in found.thing.findChildren(ConfirmQuestion) if one.isVisible()]
    stand.click(question.yes)
    assert found.list.isVisible()
