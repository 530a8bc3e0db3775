"""The review of shifts: what waits, read one after the other, signed alone or together."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.logbook.past import days_ago, keep, troubled_shift
from tests.gui.logbook.to_sign import BOSS, PIN, whole_shift, with_a_boss
from tests.gui.stand import Stand
from tests.shed import START
from washmon.gui.client import RecorderClient
from washmon.gui.kit.confirm import ConfirmQuestion
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.review.page import ReviewPage
from washmon.gui.rooms import Room
from washmon.line.events import NoteWritten, ShiftReviewed, ShiftSigned
from washmon.line.journal import SITE
from washmon.line.pins import hash_pin
from washmon.line.setup import Role
from washmon.line.site_events import CourseSet, PinSet, SetupSaved, TrainingSigned
from washmon.line.training import Course, Trained
from washmon.store.store import Store

Key = Qt.Key
GOOD = ("good-1", "good-2", "good-3")


def sign(store: Store, chain: str) -> None:
    covers = store.head(chain) or ""
    store.append(
        chain, [ShiftSigned(at=START, by="RM", role=Role.SUPERVISOR, covers=covers)], START
    )


def some_to_review(store: Store) -> None:
    """Three shifts in which nothing deviates, and one in trouble before them."""
    store.append(SITE, [SetupSaved(at=START, by="BO", setup=with_a_boss())], START)
    keep(store, troubled_shift(days_ago(9)).shift, "troubled")
    sign(store, "troubled")
    for chain in GOOD:
        keep(store, whole_shift(), chain)
        sign(store, chain)


def opened(qtbot: QtBot, client: RecorderClient) -> ReviewPage:
    page = ReviewPage(client)
    qtbot.addWidget(page)
    page.resize(1366, 720)
    page.show()
    with qtbot.waitSignal(page.queue.looked):
        page.open(BOSS)
    qtbot.waitUntil(lambda: len(page.queue.known) == len(page.queue.waiting) > 0)
    return page


def read(qtbot: QtBot, page: ReviewPage, act: Callable[[], object]) -> None:
    with qtbot.waitSignal(page.reading.loaded):
        act()


def enter(client: RecorderClient, chain: str) -> None:
    """Write into a past shift behind the page's back."""
    note = NoteWritten(at=START, by="RM", text="the pump was louder")
    client.recorder.enter(note, chain=chain, sure=True).result(10)


def reviews(client: RecorderClient, chain: str) -> list[ShiftReviewed]:
    entries = client.recorder.read(lambda store: store.entries(chain)).result(10)
    return [one.event for one in entries if isinstance(one.event, ShiftReviewed)]


def test_what_waits_is_listed_the_longest_first_with_what_deviates(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    page = opened(qtbot, open_client(some_to_review))
    first, second = page.queue.model.row(0), page.queue.model.row(1)
    assert [cell.text for cell in first[1:4]] == ["Leaf line", "RM", "7 of 7 working days"]
    assert first[3].look is MarkState.WATCH
    assert first[4].look is MarkState.ACT
    assert first[4].text.startswith("5 readings, ")
    assert (second[3].text, second[3].look) == ("1 of 7 working days", None)
    assert (second[4].text, second[4].look) == ("Nothing deviates", MarkState.IN_LIMITS)
    assert page.queue.sign_all.label == "Sign 3 in which nothing deviates"


def test_shifts_are_read_one_after_the_other_by_keys_only_what_deviates_unfolded(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    page = opened(qtbot, open_client(some_to_review))
    qtbot.waitUntil(page.queue.table.hasFocus)
    read(qtbot, page, lambda: QTest.keyClick(page.queue.table, Key.Key_Return))
    readings = next(one for one in page.reading.parts if one.table.accessibleName() == "Readings")
    assert readings.words.text() == "Readings: 14, 5 deviate"
    assert readings.model.rowCount() == 5
    readings.more.click()
    assert readings.model.rowCount() == 14
    assert not page.reading.before.isEnabled()
    alt = Qt.KeyboardModifier.AltModifier
    read(qtbot, page, lambda: QTest.keyClick(page, Key.Key_Right, alt))
    assert page.reading.sums.text() == "Nothing deviates."
    assert not any(one.table.isVisible() for one in page.reading.parts)
    assert page.reading.waits.text() == "2 of 4: waits 1 of 7 working days"
    read(qtbot, page, lambda: QTest.keyClick(page, Key.Key_Left, alt))
    assert page.reading.sums.text().startswith("Deviates: ")
    QTest.keyClick(page, Key.Key_Escape)
    assert page.queue.isVisible()


def test_a_shift_is_signed_by_itself_where_it_was_read(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    client = open_client(some_to_review)
    page = opened(qtbot, client)
    read(qtbot, page, lambda: page.read(GOOD[0]))
    bar = page.reading.signing
    bar.review.click()
    read(qtbot, page, bar.save.click)
    assert page.reading.message.words.text() == "The signature is in the journal."
    (review,) = reviews(client, GOOD[0])
    assert (review.by, review.days, review.together) == ("BO", 1, False)
    with qtbot.waitSignal(page.queue.loaded):
        page.reading.back.click()
    assert len(page.queue.waiting) == 3


def test_those_in_which_nothing_deviates_are_signed_together_with_one_pin(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    def with_pin(store: Store) -> None:
        some_to_review(store)
        given = PinSet(at=START, by="BO", who="BO", hash=hash_pin(PIN), role=Role.MANAGER)
        store.append(SITE, [given], START)

    client = open_client(with_pin)
    page = opened(qtbot, client)
    page.queue.sign_all.click()
    bar = page.queue.together
    assert "and" not in bar.words.text().split(":")[-1]
    assert bar.pin.editor.hasFocus()
    QTest.keyClicks(bar.pin.editor, "rake 23")
    with qtbot.waitSignal(bar._sending.refused):
        QTest.keyClick(bar.pin.editor, Key.Key_Return)
    assert bar.pin.fault.words.text() == "This is not the PIN of BO."
    QTest.keyClicks(bar.pin.editor, PIN)
    with qtbot.waitSignal(bar.done):
        bar.save.click()
    assert page.queue.message.words.text() == "3 shifts are signed."
    assert [len(reviews(client, chain)) for chain in (*GOOD, "troubled")] == [1, 1, 1, 0]
    assert len({one.covers for chain in GOOD for one in reviews(client, chain)}) == 3
    qtbot.waitUntil(lambda: len(page.queue.waiting) == 1)
    assert not page.queue.sign_all.isVisible()


def test_one_that_changed_since_it_was_looked_into_is_left_out_of_a_lot(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    client = open_client(some_to_review)
    page = opened(qtbot, client)
    page.queue.sign_all.click()
    enter(client, GOOD[1])
    with qtbot.waitSignal(page.queue.together.done) as done:
        page.queue.together.save.click()
    count, (left_out,) = done.args
    assert count == 2
    assert "look again, then sign" in left_out
    assert page.queue.message.words.text().startswith("2 shifts are signed. ")
    assert not reviews(client, GOOD[1])


def test_who_reads_is_told_when_the_shift_changes_and_must_look_again(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    client = open_client(some_to_review)
    page = opened(qtbot, client)
    read(qtbot, page, lambda: page.read(GOOD[0]))
    page.reading.signing.review.click()
    enter(client, GOOD[0])
    read(qtbot, page, page.reading.signing.save.click)
    assert "shown anew: look again" in page.reading.message.words.text()
    assert page.reading.sums.text().startswith("Deviates: ")
    assert not reviews(client, GOOD[0])
    read(qtbot, page, lambda: page.read(GOOD[1]))
    enter(client, GOOD[1])
    read(qtbot, page, page.reading.look_again)  # as its timer does
    assert "shown anew: look again" in page.reading.message.words.text()


def test_a_note_outlasts_an_entry_that_comes_while_it_is_written(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    client = open_client(some_to_review)
    page = opened(qtbot, client)
    read(qtbot, page, lambda: page.read(GOOD[0]))
    signing = page.reading.signing
    signing.review.click()
    signing.note.put("looked at the pump, too")
    who = signing.who.text
    enter(client, GOOD[0])
    read(qtbot, page, page.reading.look_again)  # as its timer does
    assert "shown anew: look again" in page.reading.message.words.text()
    assert signing.form.isVisible()
    assert (signing.note.text, signing.who.text) == ("looked at the pump, too", who)
    enter(client, GOOD[0])
    read(qtbot, page, signing.save.click)  # refused, as it was not seen
    assert signing.note.text == "looked at the pump, too"
    read(qtbot, page, signing.save.click)
    (review,) = reviews(client, GOOD[0])
    assert review.note == "looked at the pump, too"
    assert not signing.form.isVisible()
    signing.cancel.click()
    assert not page.unsaved


def test_nothing_that_waits_is_said_in_its_place(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    page = ReviewPage(open_client(lambda _store: None))
    qtbot.addWidget(page)
    page.show()
    with qtbot.waitSignal(page.queue.looked):
        page.open(BOSS)
    assert page.queue.nothing.isVisible()
    assert not page.queue.read.isEnabled()


@pytest.mark.parametrize(("who", "shown"), [("BO", True), ("RM", False)])
def test_a_manager_sees_one_line_of_what_waits_and_opens_the_review_by_it(
    stand: Stand, who: str, *, shown: bool
) -> None:
    with Store.open(stand.path) as store:
        some_to_review(store)
    window = stand.open()
    window._choose_person(who)
    line = window.header.waiting
    if not shown:
        window.client.recorder.read(lambda _store: None).result(10)
        assert not line.isVisible()
        return
    stand.qtbot.waitUntil(line.isVisible)
    assert line.button.label == "4 to review, day 7 of 7"
    assert line.mark.look is MarkState.WATCH
    stand.click(line.button)
    stand.wait_for(Room.REVIEW)


@pytest.mark.parametrize(("who", "shown"), [("BO", True), ("RM", False)])
def test_a_manager_sees_one_line_of_training_that_is_due_and_opens_it(
    stand: Stand, who: str, *, shown: bool
) -> None:
    what = Trained(
        person="RM",
        scenario="First fill by the book",
        attempt="practice-1",
        head="ab",
        on=(START - timedelta(days=400)).date(),
        advice="off",
        score=90.0,
    )
    course = CourseSet(at=START, by="BO", course=Course(scenarios=(what.scenario,)))
    with Store.open(stand.path) as store:
        saved = SetupSaved(at=START, by="BO", setup=with_a_boss())
        signed = TrainingSigned(at=START, by="BO", what=what)
        store.append(SITE, [saved, course, signed], START)
    window = stand.open()
    window._choose_person(who)
    line = window.header.training
    if not shown:
        window.client.recorder.read(lambda _store: None).result(10)
        assert not line.isVisible()
        return
    stand.qtbot.waitUntil(line.isVisible)
    assert line.button.label == "RM to train"
    assert not line.mark.isVisible()
    stand.click(line.button)
    stand.wait_for(Room.TRAINING)


def test_a_note_on_a_review_counts_as_written_until_it_is_put_off(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    page = opened(qtbot, open_client(some_to_review))
    page.queue.sign_all.click()
    assert not page.unsaved
    page.queue.together.note.put("looked at the pump, too")
    assert page.unsaved
    page.queue.together.cancel.click()
    assert not page.unsaved


def test_the_next_shift_is_not_read_over_a_note_half_written(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    page = opened(qtbot, open_client(some_to_review))
    read(qtbot, page, lambda: page.read("troubled"))
    page.reading.signing.review.click()
    page.reading.signing.note.put("the strips were wet")
    QTest.keyClick(page, Key.Key_Right, Qt.KeyboardModifier.AltModifier)
    (question,) = page.reading.findChildren(ConfirmQuestion)
    question.no.click()
    assert page.reading.signing.note.text == "the strips were wet"
    QTest.keyClick(page, Key.Key_Right, Qt.KeyboardModifier.AltModifier)
    (question,) = [one for one in page.reading.findChildren(ConfirmQuestion) if one.isVisible()]
    read(qtbot, page, question.yes.click)
    assert page.reading.waits.text().startswith("2 of 4")
