"""What if and what next, asked at the real window; nothing is entered by it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from pytestqt.qtbot import QtBot

from tests.gui.stand import Key, Stand, begin_shift
from washmon.gui.action_bar import Action
from washmon.gui.kit import theme
from washmon.gui.what_if_asker import WhatIfAsker


@pytest.fixture
def stand(qtbot: QtBot, tmp_path: Path) -> Iterator[Stand]:
    made = Stand(qtbot, tmp_path)
    begin_shift(made.path)
    window = made.open()
    qtbot.waitUntil(lambda: window.snapshot is not None and len(window.snapshot.forecasts) == 2)
    yield made
    made.leave()


def asked(stand: Stand) -> WhatIfAsker:
    stand.key(Key.Key_W, Qt.KeyboardModifier.AltModifier)
    asker = stand.board.sheets.what_if
    assert asker is not None
    stand.qtbot.waitUntil(lambda: asker.is_open)
    return asker


def said(asker: WhatIfAsker) -> str:
    return asker.sheet.meaning.text().replace("\N{NO-BREAK SPACE}", " ")


def test_one_key_asks_and_a_line_and_a_second_fan_answer(stand: Stand) -> None:
    before = len(stand.events)
    asker = asked(stand)
    assert asker.sheet.tank == "1"
    stand.qtbot.waitUntil(lambda: "It should read " in said(asker))
    assert "after 12 batches" in said(asker)
    view = asker.card.trend._view
    assert view is not None
    assert len(view.supposed) == 13
    assert view.fan  # what comes otherwise is still there
    assert "The pH then " in said(asker)
    assert asker.ph.isVisible()
    assert len(asker.ph.view.fan) == 13
    assert asker.ph.accessibleDescription().count("–") == 1
    paper, strip = theme.current().card, asker.ph.grab().toImage()
    drawn = {strip.pixelColor(x, strip.height() // 2).name() for x in range(strip.width())}
    assert drawn - {QColor(paper).name()}
    shown = stand.panel(1).trend._view
    assert shown is not None
    assert shown.supposed == ()  # the Board shows what is so
    twelve = said(asker)
    stand.type("3")  # the first key replaces what stands there
    stand.qtbot.waitUntil(lambda: "after 3 batches" in said(asker))
    stand.type(Key.Key_Return, "100")
    stand.qtbot.waitUntil(lambda: said(asker) != twelve and "after 3 batches" in said(asker))
    stand.type(Key.Key_Return, "20")
    stand.qtbot.waitUntil(lambda: "Until the end of the shift, 20 more batches: " in said(asker))
    assert "hypochlorite" in said(asker)
    assert "readings" in said(asker)
    stand.type(Key.Key_Return)
    assert not asker.is_open
    assert stand.board.at_rest
    assert len(stand.events) == before


def test_it_asks_about_the_tank_whose_panel_has_the_keyboard(stand: Stand) -> None:
    stand.panel(2).state.setFocus()
    asker = asked(stand)
    assert asker.sheet.tank == "2"
    stand.click(asker.sheet.field("water").input.button("change"))  # type: ignore[attr-defined]
    stand.qtbot.waitUntil(lambda: "after 12 batches" in said(asker))
    stand.write("x")
    stand.qtbot.waitUntil(lambda: bool(asker.sheet.field("batches").fault.text))
    stand.type(Key.Key_Escape)
    assert not asker.is_open


def test_bench_sheets_are_saved_from_the_board(stand: Stand) -> None:
    page, target = stand.board, stand.folder / "bench.pdf"
    page.bar.actions_[Action.BENCH_SHEETS].trigger()
    saver = page.bench_sheets.saver
    assert saver.dialog is not None
    saver.dialog.reject()
    with stand.qtbot.waitSignal(page.bench_sheets.done):
        saver.chosen.emit(str(target))
    assert target.read_bytes().startswith(b"%PDF")
    with stand.qtbot.waitSignal(page.bench_sheets.failed):
        saver.chosen.emit(str(stand.folder / "nowhere" / "bench.pdf"))
    assert page.message.words.text()
