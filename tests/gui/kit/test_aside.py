"""What a thread finds reaches the window, or nobody where it was closed meanwhile."""

import gc
import threading
from functools import partial

import pytest
from PySide6.QtCore import QEvent, QObject, Slot
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from washmon.gui.kit.working import Aside, Step, Tell, Working

LONG_S = 10.0


class Hearer(QObject):
    """Something of a window that waits for findings."""

    def __init__(self) -> None:
        super().__init__()
        self.heard: list[tuple[object, bool]] = []

    @Slot(object)
    def hear(self, found: object) -> None:
        self.heard.append((found, threading.current_thread() is threading.main_thread()))


def test_findings_come_in_order_on_the_thread_of_the_window(qtbot: QtBot) -> None:
    def work(tell: Tell) -> None:
        tell(0.5)
        tell("done")

    hearer = Hearer()
    thread = Aside(hearer.hear).begin(work, "test")
    qtbot.waitUntil(lambda: len(hearer.heard) == 2)
    thread.join(LONG_S)
    assert hearer.heard == [(0.5, True), ("done", True)]
    qtbot.waitUntil(lambda: not Aside._at_work)


def test_who_is_gone_hears_nothing_and_the_thread_ends_in_peace(qtbot: QtBot) -> None:
    gone = threading.Event()

    def work(tell: Tell) -> None:
        for turn in range(200):
            tell(turn)
            if turn == 100:
                assert gone.wait(LONG_S)

    for _ in range(20):
        gone.clear()
        hearer = Hearer()
        heard = hearer.heard
        thread = Aside(hearer.hear).begin(work, "test")
        hearer.deleteLater()
        QApplication.sendPostedEvents(hearer, QEvent.Type.DeferredDelete.value)
        before = len(heard)
        gone.set()
        thread.join(LONG_S)
        QApplication.processEvents()
        assert len(heard) == before
    qtbot.waitUntil(lambda: not Aside._at_work)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_work_that_fails_is_let_go_of_too(qtbot: QtBot) -> None:
    def work(tell: Tell) -> None:
        tell("begun")
        raise RuntimeError

    hearer = Hearer()
    Aside(hearer.hear).begin(work, "test")
    qtbot.waitUntil(lambda: bool(hearer.heard) and not Aside._at_work)


def test_what_is_expected_is_told_and_all_is_let_go_of_on_the_thread_of_the_window(
    qtbot: QtBot,
) -> None:
    ended_on: list[bool] = []

    class Held:
        def __del__(self) -> None:
            ended_on.append(threading.current_thread() is threading.main_thread())

    def work(held: Held) -> None:
        raise ValueError(type(held).__name__)

    hearer = Hearer()
    Aside(hearer.hear).answer(partial(work, Held()), "test", ValueError)
    qtbot.waitUntil(lambda: bool(hearer.heard) and not Aside._at_work)
    assert [(str(fault), there) for fault, there in hearer.heard] == [("Held", True)]
    hearer.heard.clear()
    gc.collect()
    assert ended_on == [True]


@pytest.mark.parametrize("turn", range(10))
def test_work_whose_owner_is_destroyed_meanwhile_ends_in_peace(qtbot: QtBot, turn: int) -> None:
    del turn
    begun, gone, ended = threading.Event(), threading.Event(), threading.Event()

    def work(step: Step) -> None:
        step(1, 2)
        begun.set()
        assert gone.wait(LONG_S)
        step(2, 2)
        ended.set()

    working = Working()
    working.do(work)
    assert begun.wait(LONG_S)
    working.deleteLater()
    QApplication.sendPostedEvents(working, QEvent.Type.DeferredDelete.value)
    gone.set()
    assert ended.wait(LONG_S)
    qtbot.waitUntil(lambda: not Aside._at_work)
