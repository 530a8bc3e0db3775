"""The record of one shift: what it says, and decisions on its holds."""

import io
import re
from collections.abc import Callable

from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import NOW, READER, some_shifts
from tests.shed import Shed, a_peracetic_setup
from tests.some import some
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.kit.confirm import SecretQuestion
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Text
from washmon.gui.logbook.decision import DecisionCard
from washmon.gui.logbook.logbook import Logbook
from washmon.gui.logbook.shift_page import ShiftPage, ShiftSummaryPage
from washmon.gui.logbook.shift_tables import listing
from washmon.line.events import Corrected, Decision, ReadingTaken
from washmon.line.fold import fold
from washmon.line.journal import SITE
from washmon.line.pins import hash_pin
from washmon.line.setup import Role
from washmon.line.site_events import PinSet
from washmon.reports.printed import printed
from washmon.reports.record_lists import LISTS
from washmon.store.store import Store
from washmon.units import UnitSystem


def opened(
    qtbot: QtBot, client: RecorderClient, chain: str, person: UserContext = READER
) -> ShiftPage:
    page = ShiftPage(client)
    qtbot.addWidget(page)
    page.resize(1366, 720)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.open(chain, person)
    return page


def texts(page: ShiftPage, key: str) -> list[list[str]]:
    return [[cell.text for cell in row] for row in page.lists[key].model.rows]


def words_of(page: ShiftPage) -> list[str]:
    return [
        label.text().replace("\N{NO-BREAK SPACE}", " ") for label in page.summary.findChildren(Text)
    ]


def test_the_head_says_which_shift_and_what_is_open(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client, "troubled")
    assert page.head.title.text().startswith("Leaf line, ")
    facts = page.head.facts.text()
    for part in ("Test shed, Bay 2", "baby chard", "supervisor RM (R. M.)", "lots L-1"):
        assert part in facts
    assert "handed over to TK" in facts
    assert "4 of 5 done. Not done: strips in date" in page.head.checks.text()
    assert page.head.state.text() == "Ended  ·  1 hold is open  ·  with TK"
    assert page.head.mark.isVisible()


def test_the_summary_stands_beside_each_other_by_tank(qtbot: QtBot, client: RecorderClient) -> None:
    words = words_of(opened(qtbot, client, "troubled"))
    for part in ("1  First dunk", "2  Second dunk", "3  Rinse", "16  (184 kg)", "22 · 52 · 55 ppm"):
        assert part in words
    assert "2 batches, 1 still open" in words


def test_figures_come_in_the_readers_units(qtbot: QtBot, client: RecorderClient) -> None:
    words = words_of(opened(qtbot, client, "troubled", UserContext("RM", UnitSystem.US)))
    assert "16  (406 lb)" in words
    assert any("fl oz" in word for word in words)


def test_a_correction_is_shown_as_one(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client, "troubled")
    (row,) = texts(page, "corrections")
    assert "480" in row[2]
    assert "48" in row[3]
    assert (row[1], row[4]) == ("TK", "a 0 too many")
    remarks = [row[-1] for row in texts(page, "readings") if row[-1]]
    assert len(remarks) == 1
    assert remarks[0].startswith("Corrected by TK: a 0 too many. It was: Reading tank 2: 480")


def test_readings_mark_what_is_outside_and_leave_out_what_nobody_measured(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = opened(qtbot, client, "troubled")
    model = page.lists["readings"].model
    assert "ORP" not in model.heads
    marked = [cell for row in model.rows for cell in row if cell.look]
    assert marked
    assert marked[0].text.replace("\N{NO-BREAK SPACE}", " ") == "22 ppm by meter"


def test_flags_tell_when_they_rose_were_seen_and_cleared(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = opened(qtbot, client, "troubled")
    rows = texts(page, "flags")
    assert page.shift is not None
    assert len(rows) == len(page.shift.open_flags) + len(page.shift.closed_flags)
    assert any(row[4].endswith("RM") for row in rows)
    assert all(row[6] for row in some(rows))


def test_an_empty_list_says_so(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client, "quiet")
    page.show_holds()
    assert page.lists["holds"].nothing.isVisible()
    assert not page.lists["holds"].table.isVisible()
    assert page.tabs.tabText(page.tabs.currentIndex()) == "Holds  0"


def test_an_open_hold_is_decided_in_place_after_the_end(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = opened(qtbot, client, "troubled")
    page.head.decide.click()
    (card,) = page.cards
    assert "not estimated" in card.likely.text()  # it was told without the program's own word
    card.open.click()
    card.save.click()
    assert card.decision.fault.isVisible()
    assert card.reason.fault.isVisible()
    card.decision.put(Decision.WASH_AGAIN.value)
    assert card.water.fault.isVisible()
    card.water.put("changed")
    card.prevention.put("checked twice as often")
    QTest.keyClicks(card.reason.editor, "washed again at 52 ppm")
    with qtbot.waitSignal(page.loaded):
        QTest.keyClick(card.reason.editor, Qt.Key.Key_Return)
    assert page.cards == []
    assert page.head.state.text() == "Ended"
    (row,) = texts(page, "holds")
    assert row[6] == "Wash again"
    assert row[7].endswith("RM")
    assert row[8] == "washed again at 52 ppm"
    held = client.recorder.read(lambda store: fold("troubled", store.entries("troubled"))).result()
    assert held.open_holds == ()
    assert "troubled" not in client.recorder.read(lambda s: s.shifts_without_summary()).result()


def deciding(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> tuple[ShiftPage, DecisionCard]:
    """Return a page with an open hold with a decision filled in and sent, in a shed with PINs."""

    page = opened(qtbot, open_client(with_pin), "troubled")
    page.head.decide.click()
    (card,) = page.cards
    card.open.click()
    card.decision.put(Decision.DISCARD.value)
    card.reason.put("2 batches dumped")
    card.water.put("changed the water of tank 2")
    card.prevention.put("checked twice as often")
    card.save.click()
    qtbot.waitUntil(lambda: card.sending.question is not None)
    return page, card


def with_pin(store: Store) -> None:
    some_shifts(store)
    pin = PinSet(at=NOW, by="BO", who="RM", hash=hash_pin("rake 22"), role=Role.SUPERVISOR)
    store.append(SITE, [pin], NOW)


def answer_with(card: DecisionCard, pin: str) -> SecretQuestion:
    question = card.sending.question
    assert question is not None
    assert question.secret.editor.hasFocus()
    question.secret.put(pin)
    QTest.keyClick(question.secret.editor, Qt.Key.Key_Return)
    return question


def test_where_there_are_pins_a_decision_asks_for_that_of_who_decides(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    _page, card = deciding(qtbot, open_client)
    first = answer_with(card, "rake 23")
    qtbot.waitUntil(lambda: card.sending.question not in {None, first})
    assert card.sending.question is not None
    assert "not the PIN of RM" in card.sending.question.secret.fault.text
    with qtbot.waitSignal(card.decided):
        answer_with(card, "rake 22")


def test_a_pin_that_is_not_given_saves_nothing_and_keeps_what_was_typed(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    _page, card = deciding(qtbot, open_client)
    assert card.sending.question is not None
    QTest.keyClick(card.sending.question, Qt.Key.Key_Escape)
    assert card.message.words.text() == "Nothing was saved: it is done with a PIN."
    assert card.reason.text == "2 batches dumped"
    assert card.save.isEnabled()


def test_a_decision_that_can_not_be_saved_says_why(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    client = open_client(some_shifts, read_only=True)
    page = opened(qtbot, client, "troubled")
    page.show_holds()
    (card,) = page.cards
    card.open.click()
    card.decision.put(Decision.DISCARD.value)
    card.reason.put("old")
    card.water.put("changed")
    card.prevention.put("checked more often")
    card.save.click()
    qtbot.waitUntil(lambda: card.message.words.text() != "")
    assert "only reads" in card.message.words.text()
    assert card.save.isEnabled()
    card.cancel.click()
    assert not card.form.isVisible()


def test_a_shift_that_is_not_there_is_told(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client, "no-such-shift")
    assert "no such shift" in page.bar.message.words.text()
    assert not page.export_summary.isEnabled()


def test_the_running_shift_can_be_read_too(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client, "running")
    assert page.head.state.text() == "Running"
    assert "since 07:00, last entry 07:05" in page.head.facts.text()


def test_session_file_and_replay_are_asked_for_by_chain(
    qtbot: QtBot, client: RecorderClient
) -> None:
    book = Logbook(client)
    qtbot.addWidget(book)
    book.show()
    with qtbot.waitSignal(book.list.loaded):
        book.open(READER)
    with qtbot.waitSignal(book.page.loaded):
        book.list.opened.emit("quiet")
    with qtbot.waitSignal(book.session_file_asked) as asked:
        book.page.session_file.click()
    assert asked.args == ["quiet"]
    with qtbot.waitSignal(book.replay_asked) as asked:
        book.page.replay.click()
    assert asked.args == ["quiet"]
    with qtbot.waitSignal(book.scenario_asked) as asked:
        book.page.head.scenario.click()
    assert asked.args == ["quiet"]
    with qtbot.waitSignal(book.list.loaded):
        QTest.keyClick(book.page, Qt.Key.Key_Escape)
    assert book.list.isVisible()
    with qtbot.waitSignal(book.left):
        book.list.back.click()


def test_the_end_of_a_shift_shows_its_summary_and_a_way_out(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = ShiftSummaryPage(client)
    qtbot.addWidget(page)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.open("troubled", READER)
    assert page.back.label == "Done"
    assert not page.replay.isVisible()
    assert page.summary.isVisible()
    with qtbot.waitSignal(page.left):
        page.back.click()


def test_an_entry_that_came_late_says_when_it_was_written_down() -> None:
    shed = Shed()
    shed.fill()
    at = shed.now
    shed.wait(10).tell(ReadingTaken(at=at, by="RM", tank=1, fac_mg_l=50))
    shed.wait(10).tell(ReadingTaken(at=at, by="RM", tank=1, fac_mg_l=48))
    remarks = [row[-1].text for row in listing(LISTS["readings"], shed.shift, READER).rows]
    assert remarks == ["", "Written down at 07:20."]


def test_peracetic_acid_is_judged_by_its_own_limits() -> None:
    shed = Shed(a_peracetic_setup())  # 30 to 70 mg/L, critical under 20
    shed.fill()
    for level in (50, 25, 15):
        shed.tell(ReadingTaken(at=shed.now, by="RM", tank=1, fac_mg_l=1, paa_mg_l=level, ph=4.0))
    looks = [
        [cell.look for cell in row] for row in listing(LISTS["readings"], shed.shift, READER).rows
    ]
    assert [[look for look in row if look] for row in looks] == [
        [],
        [MarkState.ACT],
        [MarkState.STOP],
    ]


def test_a_second_correction_says_what_the_first_had_made_of_the_entry() -> None:
    shed = Shed()
    shed.fill()
    read = shed.wait(5).read(fac=48)
    for level in (98, 46):
        right = ReadingTaken(at=read.event.at, by="RM", tank=1, fac_mg_l=level)
        shed.tell(Corrected(at=shed.now, by="TK", entry=read.seq, reason="no", instead=right))
    rows = [
        [cell.text for cell in row]
        for row in listing(LISTS["corrections"], shed.shift, READER).rows
    ]
    assert ["48" in rows[0][2], "98" in rows[0][3]] == [True, True]
    assert ["98" in rows[1][2], "46" in rows[1][3]] == [True, True]
    words = " ".join(
        page.extract_text() for page in PdfReader(io.BytesIO(printed(shed.shift))).pages
    )
    listed = words.split("It is now")[1].split("Flags")[0]
    assert re.findall(r"(\d+)\s+ppm", listed) == ["48", "98", "98", "46"]
