"""What keys do on the Board at rest: Space, F8, a scanner; and nothing anywhere else."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QScrollArea

from tests.gui.stand import Key, Stand, begin_shift
from washmon.gui.action_bar import Action
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.confirm import ConfirmQuestion
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.line.events import BatchWashed, Corrected, DoseAdded, NoteWritten, ReadingTaken
from washmon.line.flags import StepKind


@pytest.fixture
def stand(stand: Stand) -> Stand:
    """A running shift whose first tank is low: its plan asks for a dose."""
    begin_shift(stand.path)
    window = stand.open()
    window.client.enter(ReadingTaken(at=stand.now, by="RM", tank=1, fac_mg_l=31.0, ph=7.0))
    stand.qtbot.waitUntil(lambda: kind_of(stand, 1) is StepKind.DOSE)
    stand.board.board._changed.clear()  # as after a second
    return stand


def kind_of(stand: Stand, tank: int) -> StepKind:
    panel = stand.board.board.panel(tank)
    assert panel is not None
    return panel.step.kind


def scan(stand: Stand, code: str) -> None:
    """Type as a scanner does: the whole of it at once, and Enter."""
    QTest.keyClicks(stand.board, code)
    QTest.keyClick(stand.board, Key.Key_Return)


def note(stand: Stand, text: str) -> None:
    stand.type(Key.Key_F7, text)
    with stand.saving():
        stand.type(Key.Key_Return)


# --- Space


def test_space_takes_the_first_step_and_enter_confirms_its_amount(stand: Stand) -> None:
    stand.type(Key.Key_Space)
    sheet = stand.entries.sheet
    stand.qtbot.waitUntil(sheet.isVisible)
    assert sheet.tank == "1"
    assert sheet.values()["amount"]
    with stand.saving():
        stand.type(Key.Key_Return)
    assert isinstance(stand.last().event, DoseAdded)


def test_a_sheet_that_opens_over_another_leaves_the_board_at_rest(stand: Stand) -> None:
    for first, second in ((Key.Key_F7, Key.Key_F5), (Key.Key_F1, Key.Key_F7)):
        stand.type(first, second, Key.Key_Escape)
        assert stand.board.at_rest  # not a button of the header, which Space would press


@pytest.mark.parametrize("where", ["sheet", "why", "undo"])
def test_space_does_nothing_where_something_is_open(stand: Stand, where: str) -> None:
    if where == "sheet":
        stand.type(Key.Key_F1)
    elif where == "why":
        stand.why(1)
    else:
        note(stand, "muddy")
        stand.type(Key.Key_F8)
    before = len(stand.events)
    assert not stand.board.at_rest
    QTest.keyClick(stand.board, Key.Key_Space)
    stand.qtbot.wait(100)
    if where != "sheet":
        assert not stand.entries.sheet.isVisible()
    assert len(stand.events) == before


def test_space_presses_the_button_that_has_the_keyboard_and_nothing_else(stand: Stand) -> None:
    why = stand.panel(1).state.plan.why
    why.setFocus()
    assert not stand.board.at_rest
    stand.type(Key.Key_Space)
    assert stand.board.board.why.isVisible()
    stand.qtbot.wait(100)
    assert not stand.entries.sheet.isVisible()


def test_a_step_that_changed_just_now_is_asked_about(stand: Stand) -> None:
    stand.board.board._changed[1] = float("inf")
    stand.type(Key.Key_Space)
    stand.qtbot.waitUntil(lambda: bool(stand.board.findChildren(ConfirmQuestion)))
    (question,) = stand.board.findChildren(ConfirmQuestion)
    assert "This changed just now" in question.words.text()
    stand.type(Key.Key_Return)  # the resting finger says no
    assert not stand.entries.sheet.isVisible()
    stand.click(stand.panel(1).state.plan.answer)
    question = next(one for one in stand.board.findChildren(ConfirmQuestion) if one.isVisible())
    stand.click(question.yes)
    assert stand.entries.sheet.isVisible()


# --- a scanner


def test_a_scanned_lot_opens_its_batch_and_rubbish_opens_nothing(stand: Stand) -> None:
    scan(stand, "X Y Z 99")
    stand.qtbot.waitUntil(stand.board.message.isVisible)
    assert "X Y Z 99" in stand.board.message.words.text()
    assert not stand.entries.sheet.isVisible()
    scan(stand, "L-1")
    stand.qtbot.waitUntil(stand.entries.sheet.isVisible)
    assert stand.entries.sheet.values()["lot"] == "L-1"
    assert not any(isinstance(event, DoseAdded) for event in stand.events)


# --- Undo


def test_f8_and_enter_take_the_newest_entry_back_with_its_reason(stand: Stand) -> None:
    note(stand, "muddy crates")
    wrong = stand.last()
    assert stand.board.bar.buttons[Action.UNDO].label == "Undo"
    stand.type(Key.Key_F8)
    assert stand.board.sheets.undoing is not None
    assert "muddy crates" in stand.board.sheets.undoing.sheet.title.text()
    with stand.qtbot.waitSignals(
        [stand.board.sheets.undoing.saved, stand.window.client.snapshot_changed]
    ):
        stand.type(Key.Key_Return)
    undone = stand.last().event
    assert isinstance(undone, Corrected)
    assert (undone.entry, undone.instead) == (wrong.seq, None)
    assert undone.reason == "Entered by mistake"
    assert stand.board.message.words.text().startswith("Undone: ")
    assert stand.board.bar.buttons[Action.UNDO].label == "Correct"


def test_another_reason_is_a_digit_or_own_words(stand: Stand) -> None:
    note(stand, "muddy crates")
    stand.type(Key.Key_F8, "2")
    assert stand.board.sheets.undoing is not None
    with stand.qtbot.waitSignals(
        [stand.board.sheets.undoing.saved, stand.window.client.snapshot_changed]
    ):
        stand.type(Key.Key_Return)
    undone = stand.last().event
    assert isinstance(undone, Corrected)
    assert undone.reason == "Wrong tank"


def test_after_two_minutes_f8_opens_the_list(stand: Stand) -> None:
    note(stand, "muddy crates")
    stand.wait(2.1)
    assert stand.board.undoable is None
    assert stand.board.bar.buttons[Action.UNDO].label == "Correct"
    stand.type(Key.Key_F8)
    assert stand.entries.list.isVisible()


def test_an_entry_of_somebody_else_between_does_not_shift_undo_to_another(stand: Stand) -> None:
    note(stand, "muddy crates")
    mine = stand.last()
    theirs = NoteWritten(at=stand.now, by="TK", text="from beside")
    with stand.qtbot.waitSignal(stand.window.client.snapshot_changed):
        stand.window.client.enter(theirs)
    assert stand.board.undoable is not None
    assert stand.board.undoable.seq == mine.seq
    stand.window.settings.initials = "TK"
    stand.window._draw()
    assert stand.board.undoable is None


def test_what_cannot_be_corrected_offers_no_undo(stand: Stand) -> None:
    note(stand, "muddy crates")
    stand.type(Key.Key_F8)
    assert stand.board.sheets.undoing is not None
    with stand.qtbot.waitSignals(
        [stand.board.sheets.undoing.saved, stand.window.client.snapshot_changed]
    ):
        stand.type(Key.Key_Return)
    assert stand.board.undoable is None  # the newest is the correction; no older one comes instead


def test_ctrl_z_in_a_field_undoes_typing_and_nothing_else(stand: Stand) -> None:
    note(stand, "muddy crates")
    before = len(stand.events)
    stand.type(Key.Key_F7, "more")
    field = stand.entries.sheet.field("text")
    stand.key(Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert field.text != "more"
    assert len(stand.events) == before
    assert stand.entries.sheet.isVisible()


# --- the row of keys


# A menu asks to be raised and for the keyboard, which the offscreen platform has no way to grant.
@pytest.mark.qt_log_ignore("This plugin does not support", extend=True)
def test_in_a_narrow_window_keys_fold_into_the_menu_and_go_on_acting(stand: Stand) -> None:
    stand.window.resize(880, 500)
    stand.qtbot.waitUntil(lambda: bool(stand.board.bar.folded))
    bar = stand.board.bar
    shown = [button for button in bar.buttons.values() if button.isVisible()]
    stand.qtbot.waitUntil(
        lambda: all(one.width() >= one.minimumSizeHint().width() for one in shown)
    )
    assert bar.buttons[Action.READING].isVisible()
    assert not bar.buttons[Action.END].isVisible()
    stand.choose_in_menu(bar.actions_[Action.CORRECT])
    stand.qtbot.waitUntil(stand.entries.list.isVisible)
    stand.type(Key.Key_Escape, Key.Key_F10)
    assert stand.room is not None
    assert stand.room.name == "end"


def test_no_batch_is_saved_by_a_key_that_is_hammered(stand: Stand) -> None:
    for _ in range(10):
        QTest.keyClick(stand.board, Key.Key_Return)
    stand.qtbot.wait(60)
    assert not stand.entries.is_open
    assert sum(isinstance(event, BatchWashed) for event in stand.events) == 1


# --- what is typed is drawn before it is saved


def test_the_sheet_keeps_the_plot_in_view_with_what_is_typed_hollow(stand: Stand) -> None:
    stand.type(Key.Key_F1, "1")
    plot = stand.board.sheets.plot
    assert plot is not None
    assert plot.card.isVisible()
    before = plot.card.trend._view
    assert before is not None
    assert before.draft is None
    stand.type("44")
    drawn = plot.card.trend._view
    assert drawn is not None
    assert drawn.draft is not None
    assert drawn.draft.y == 44.0
    assert "It is in the operating band." in stand.entries.sheet.meaning.text()
    stand.write("20")
    assert "washing must stop" in stand.entries.sheet.meaning.text()
    stand.write("x")
    assert stand.entries.sheet.meaning.text() == ""
    shown = stand.panel(1).trend._view
    assert shown is not None
    assert shown.draft is None  # the Board shows what is so


def test_a_sheet_of_the_whole_line_has_no_plot(stand: Stand) -> None:
    stand.type(Key.Key_F1, "1")
    stand.type(Key.Key_Escape, Key.Key_F7)
    plot = stand.board.sheets.plot
    assert plot is not None
    assert not plot.card.isVisible()


@pytest.mark.parametrize("size", [(910, 480), (1024, 600), (1366, 768), (1920, 1080)])
def test_save_is_within_the_window_whatever_its_size(stand: Stand, size: tuple[int, int]) -> None:
    stand.window.resize(*size)
    for keys in ((Key.Key_F1, "1"), (Key.Key_F2,), (Key.Key_F3, "1"), (Key.Key_F12,)):
        stand.type(*keys)
        page = stand.board
        rounds = page.sheets.round is not None and page.sheets.round.is_open
        sheet: EntrySheet = stand.entries.sheet
        if rounds and page.sheets.round is not None:
            sheet = page.sheets.round.sheet
        stand.qtbot.waitUntil(sheet.isVisible)
        for button in (sheet.save, sheet.leave):
            stand.qtbot.waitUntil(button.isVisible)
            at = button.mapTo(stand.window, button.rect().bottomRight())
            assert stand.window.rect().contains(at), keys
        stand.type(Key.Key_Escape)
    assert (stand.window.width(), stand.window.height()) == size


@pytest.mark.parametrize("key", [Key.Key_F9, Key.Key_F10, Key.Key_F11, Key.Key_Help])
def test_what_a_small_window_has_no_room_for_is_scrolled_to(stand: Stand, key: Qt.Key) -> None:
    stand.window.resize(880, 440)
    stand.type(key)
    for button in stand.window.rooms.findChildren(PressButton):
        if not button.isVisible() or not button.isEnabled():
            continue
        stand._into_sight(button)
        at = button.mapTo(stand.window, button.rect().center())
        assert stand.window.rect().contains(at), button.label
    assert (stand.window.width(), stand.window.height()) == (880, 440)


def test_the_board_itself_never_scrolls_as_a_whole(stand: Stand) -> None:
    for size in ((880, 440), (1024, 600), (1366, 768)):
        stand.window.resize(*size)
        QApplication.processEvents()
        area = stand.window.centralWidget()
        assert isinstance(area, QScrollArea)
        assert not area.horizontalScrollBar().isVisible(), size
        assert not area.verticalScrollBar().isVisible(), size
