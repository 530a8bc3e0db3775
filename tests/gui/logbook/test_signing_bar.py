"""Signing a shift where it is read: who, PIN, what the record lacks, what came after."""

import sqlite3
from collections.abc import Callable

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import READER, some_shifts
from tests.gui.logbook.listed import chains, shown_list
from tests.gui.logbook.past import days_ago, keep
from tests.gui.logbook.to_sign import BOSS, PIN, whole_shift, with_a_boss
from tests.shed import START
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext as Reader
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.logbook.shift_page import ShiftPage
from washmon.gui.logbook.shift_rows import Only
from washmon.line.events import (
    Corrected,
    ReadingTaken,
    ShiftReviewed,
    ShiftSigned,
)
from washmon.line.fold import fold
from washmon.line.journal import SITE
from washmon.line.pins import hash_pin
from washmon.line.setup import Role
from washmon.line.signing import SigningStage, signing
from washmon.line.site_events import PinSet, SetupSaved
from washmon.store.store import Store
from washmon.units import UnitSystem


@pytest.fixture(scope="module")
def kept() -> str:
    return hash_pin(PIN)


def fill(store: Store) -> None:
    store.append(SITE, [SetupSaved(at=START, by="BO", setup=with_a_boss())], START)
    keep(store, whole_shift(), "whole")


def signed(store: Store) -> None:
    fill(store)
    covers = store.head("whole") or ""
    event = ShiftSigned(at=START, by="RM", role=Role.SUPERVISOR, covers=covers)
    store.append("whole", [event], START)


def reviewed(store: Store) -> None:
    signed(store)
    covers = store.head("whole") or ""
    event = ShiftReviewed(at=START, by="BO", role=Role.MANAGER, covers=covers)
    store.append("whole", [event], START)


def opened(
    qtbot: QtBot, client: RecorderClient, reader: Reader = READER, chain: str = "whole"
) -> ShiftPage:
    page = ShiftPage(client)
    qtbot.addWidget(page)
    page.resize(1366, 720)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.open(chain, reader)
    return page


def stage(page: ShiftPage) -> SigningStage:
    assert page.shift is not None
    return signing(page.shift).stage


def test_a_supervisor_signs_with_initials_where_there_are_no_pins(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    page = opened(qtbot, open_client(fill))
    bar = page.signing
    assert bar.words.text() == "Not signed yet."
    assert not bar.review.isVisible()
    bar.sign.click()
    assert bar.who.text == "RM"
    assert not bar.pin.isVisible()
    with qtbot.waitSignal(page.loaded):
        bar.save.click()
    assert stage(page) is SigningStage.SIGNED
    assert bar.words.text().startswith("Signed by RM (supervisor), ")
    assert bar.words.text().endswith("Waits for a review.")
    assert not bar.sign.isVisible()
    assert not bar.form.isVisible()


def test_a_manager_reviews_with_a_pin_given_in_place(
    qtbot: QtBot, open_client: Callable[..., RecorderClient], kept: str
) -> None:
    def with_pin(store: Store) -> None:
        signed(store)
        store.append(
            SITE, [PinSet(at=START, by="BO", who="BO", hash=kept, role=Role.MANAGER)], START
        )

    page = opened(qtbot, open_client(with_pin), BOSS)
    bar = page.signing
    bar.review.click()
    assert bar.pin.editor.hasFocus()
    QTest.keyClicks(bar.pin.editor, "rake 23")
    with qtbot.waitSignal(bar._sending.refused):
        QTest.keyClick(bar.pin.editor, Qt.Key.Key_Return)
    assert bar.pin.fault.words.text() == "This is not the PIN of BO."
    assert bar.pin.text == ""
    QTest.keyClicks(bar.pin.editor, PIN)
    bar.note.put("looks good")
    with qtbot.waitSignal(page.loaded):
        QTest.keyClick(bar.pin.editor, Qt.Key.Key_Return)
    assert stage(page) is SigningStage.REVIEWED
    assert "Reviewed by BO (manager)" in bar.words.text()
    assert not bar.review.isVisible()
    assert bar.mark.look is MarkState.IN_LIMITS


def test_what_the_record_lacks_is_named_before_it_is_signed(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    page = opened(
        qtbot, open_client(lambda store: keep(store, whole_shift(checked=False), "whole"))
    )
    bar = page.signing
    bar.sign.click()
    with qtbot.waitSignal(bar._sending.doubted):
        bar.save.click()
    assert "strips and meter" in bar.message.words.text()
    assert bar.anyway.isVisibleTo(bar)
    with qtbot.waitSignal(bar._sending.doubted):
        bar.save.click()  # pressed once more it asks once more
    with qtbot.waitSignal(page.loaded):
        bar.anyway.click()
    assert "Signed with 1 gap in the record." in bar.words.text()


def test_only_who_may_is_offered(qtbot: QtBot, open_client: Callable[..., RecorderClient]) -> None:
    def offered(page: ShiftPage) -> list[str]:
        combo = page.signing.who.editor
        return [str(combo.itemData(at)) for at in range(combo.count())]

    page = opened(qtbot, open_client(fill), Reader("TK", UnitSystem.METRIC))
    page.signing.sign.click()
    assert offered(page) == ["RM", "BO"]
    page.signing.save.click()
    assert page.signing.who.fault.isVisible()
    page.signing.cancel.click()
    assert page.signing.sign.isVisible()
    assert not page.signing.form.isVisible()


def test_a_shift_that_was_corrected_after_signing_says_so_for_good(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    def corrected(store: Store) -> None:
        reviewed(store)
        right = ReadingTaken(at=days_ago(1), by="RM", tank=1, fac_mg_l=45, ph=7.0)
        wrong = Corrected(at=START, by="TK", entry=3, reason="misread", instead=right)
        store.append("whole", [wrong], START)

    page = opened(qtbot, open_client(corrected), BOSS)
    bar = page.signing
    assert stage(page) is SigningStage.CHANGED
    said = f"Signed, then corrected at entry {page.shift.last_seq if page.shift else 0}."
    assert said in bar.words.text()
    assert bar.sign.label == "Sign again"
    bar.review.click()
    with qtbot.waitSignal(page.loaded):
        bar.save.click()
    assert stage(page) is SigningStage.REVIEWED
    assert said in bar.words.text()


def test_a_running_shift_has_no_signatures(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    page = opened(qtbot, open_client(some_shifts), chain="running")
    assert not page.signing.isVisible()


def test_practice_is_not_signed(qtbot: QtBot, open_client: Callable[..., RecorderClient]) -> None:
    def practice(store: Store) -> None:
        shift = whole_shift()
        first, *rest = shift.entries
        started = replace(shift.started, practice=True)
        practised = fold(shift.chain, [replace(first, event=started), *rest])
        keep(store, practised, "whole")

    client = open_client(practice)
    assert not opened(qtbot, client).signing.isVisible()
    page = shown_list(qtbot, client)
    page.filters.only.put(Only.UNSIGNED)
    page.filters.only.changed.emit()
    assert chains(page) == []


def test_the_list_shows_what_is_unsigned(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    def both(store: Store) -> None:
        signed(store)
        some_shifts(store)

    page = shown_list(qtbot, open_client(both))
    assert "whole" in chains(page)
    for only, shown in (
        (Only.UNSIGNED, ["troubled", "quiet"]),
        (Only.OPEN_HOLDS, ["troubled"]),
        (Only.OUTSIDE, ["troubled"]),
    ):
        page.filters.only.put(only)
        page.filters.only.changed.emit()
        assert chains(page) == shown, only
    page.filters.only.put(Only.ALL)
    page.filters.only.changed.emit()
    states = [page.model.row(at)[-1].text for at in range(len(page.model.shifts))]
    assert states[chains(page).index("whole")] == "Signed, waits for review"


def flip(client: RecorderClient, seq: int, old: bytes, new: bytes) -> None:
    """Change what is stored, as somebody with a database tool would."""
    db = sqlite3.connect(client.recorder.read(lambda store: store.path).result(10))
    db.execute("DROP TRIGGER IF EXISTS journal_never_updated")
    (body,) = db.execute(
        "SELECT body FROM journal WHERE chain = 'whole' AND seq = ?", [seq]
    ).fetchone()
    assert old in body
    forged = body.replace(old, new)
    db.execute("UPDATE journal SET body = ? WHERE chain = 'whole' AND seq = ?", [forged, seq])
    db.commit()
    db.close()


def test_a_value_that_was_changed_behind_the_journals_back_is_named(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    client = open_client(reviewed)
    page = opened(qtbot, client)
    assert not page.alarm.isVisible()
    flip(client, 3, b'"fac_mg_l":50', b'"fac_mg_l":80')
    with qtbot.waitSignal(page.loaded):
        page.open("whole", READER)
    assert page.alarm.isVisible()
    assert "Entry 3: its content or its time was changed" in page.alarm.words.text()
    assert page.signing.mark.look is MarkState.STOP
    assert not page.signing.sign.isVisible()
    assert not page.signing.review.isVisible()
