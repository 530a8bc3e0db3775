"""Random hands on the real window: whatever they press and type, nothing uncaught, nothing leaks.

``python -m tests.faults.hands [SECONDS] [SEED]`` plays for so long and tells every ten seconds what
the program holds: memory, handles, threads, warnings of Qt, and faults that nobody caught.
"""

import os
import random
import sys
import tempfile
import threading
import time
import traceback
from collections import Counter
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import NamedTuple

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEvent, QPoint, Qt, QtMsgType, qInstallMessageHandler
from PySide6.QtGui import QAction, QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QFileDialog,
    QLineEdit,
    QMenu,
    QPlainTextEdit,
    QWidget,
)

from tests.gui.stand import begin_shift
from tests.shed import START
from washmon.gui.app import application
from washmon.gui.client import RecorderClient
from washmon.gui.main_window import MainWindow
from washmon.gui.settings import Settings
from washmon.store import Store

KNOWN = ("This plugin does not support",)
"""What the offscreen platform says of itself."""
TEXTS = (
    "48", "7.1", "0", "-3", "1e9", "abc", "", "  ", "5 tsp", "¼ cup", "12,5", "9:40", "L-1",
    "\u202e", "x" * 400, "NaN", "=1+1", "<b>x</b>", "99999", "0.0001", "25:99", "10 min",
)  # fmt: skip
KEYS = (
    Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Tab, Qt.Key.Key_Space, Qt.Key.Key_Up,
    Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Delete, Qt.Key.Key_Backspace,
    Qt.Key.Key_F1, Qt.Key.Key_F2, Qt.Key.Key_F3, Qt.Key.Key_F4, Qt.Key.Key_F5, Qt.Key.Key_F6,
    Qt.Key.Key_F7, Qt.Key.Key_F8, Qt.Key.Key_F9, Qt.Key.Key_F10, Qt.Key.Key_F11, Qt.Key.Key_1,
    Qt.Key.Key_2, Qt.Key.Key_3, Qt.Key.Key_0, Qt.Key.Key_PageDown, Qt.Key.Key_Home,
)  # fmt: skip
MODIFIERS = (Qt.KeyboardModifier.NoModifier,) * 8 + (
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.ShiftModifier,
)
SIZES = ((1366, 768), (1024, 600), (840, 420), (1920, 1080))


class Held(NamedTuple):
    """What the program holds at a moment."""

    memory_mb: int
    handles: int
    threads: int


def held() -> Held:
    """Return what this process holds; zeros where the system does not tell."""
    proc = Path("/proc/self")
    if not proc.exists():
        return Held(0, 0, threading.active_count())
    pages = int((proc / "statm").read_text().split()[1])
    handles = len(list((proc / "fd").iterdir()))
    return Held(pages * os.sysconf("SC_PAGE_SIZE") >> 20, handles, threading.active_count())


class Hands:
    """Somebody who presses and types without any sense, but always the same for a seed."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.now = START
        self.faults: list[str] = []
        self.warnings: Counter[str] = Counter()
        self.did: Counter[str] = Counter()
        self._random = random.Random(seed)  # noqa: S311 - repeatable, not secret
        self._path = folder / "shed.db"
        begin_shift(self._path)
        self._doings: tuple[Callable[[], str], ...] = (
            *(self._press,) * 8, *(self._type,) * 5, *(self._key,) * 5, self._choose_in_menu,
            self._choose, self._wait, self._resize,
        )  # fmt: skip
        self.window = self._opened()

    def clock(self) -> datetime:
        """Return the time of the shed."""
        return self.now

    def _opened(self) -> MainWindow:
        client = RecorderClient(Store.open(self._path), clock=self.clock)
        window = MainWindow(client, Settings(self._path.with_suffix(".ini")))
        window.begin()
        return window

    def close(self) -> None:
        """Close the window."""
        self.window.close()
        self.window.deleteLater()
        QApplication.processEvents()

    def play(self, seconds: float, told: Callable[[Held], None]) -> None:
        """Press and type for so long; ``told`` hears every ten seconds what is held."""
        before = sys.excepthook, threading.excepthook, qInstallMessageHandler(self._heard)
        sys.excepthook = self._uncaught
        threading.excepthook = lambda met: self._met(met.exc_value)
        end, next_at = time.monotonic() + seconds, time.monotonic()
        try:
            while (now := time.monotonic()) < end:
                if now >= next_at:
                    next_at = now + 10
                    told(held())
                self._act()
        finally:
            sys.excepthook, threading.excepthook = before[0], before[1]
            qInstallMessageHandler(before[2])

    def _act(self) -> None:
        for one in QApplication.topLevelWidgets():
            if isinstance(one, QFileDialog) and one.isVisible():
                one.reject()  # no hand may reach the files of whoever plays this
        if not self.window.isVisible():
            self.close()
            self.window = self._opened()
        try:
            self.did[self._random.choice(self._doings)()] += 1
        except RuntimeError as gone:  # the widget went away under the hand
            if "already deleted" not in str(gone):
                self._met(gone)
        QApplication.processEvents()
        # Only a loop that runs deletes by itself what is to be deleted later.
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)

    def _front(self) -> QWidget:
        return QApplication.activePopupWidget() or QApplication.activeWindow() or self.window

    def _seen(self, kind: type[QWidget]) -> list[QWidget]:
        found = self._front().findChildren(kind)
        return [one for one in found if one.isVisible() and one.isEnabled()]

    def _press(self) -> str:
        found = self._seen(QAbstractButton)
        if found:
            one = self._random.choice(found)
            QTest.mouseClick(one, Qt.MouseButton.LeftButton, pos=QPoint(one.rect().center()))
        return "press"

    def _type(self) -> str:
        fields = [*self._seen(QLineEdit), *self._seen(QPlainTextEdit)]
        focus = QApplication.focusWidget()
        if fields and self._random.random() < 0.6:
            focus = self._random.choice(fields)
            focus.setFocus()
        if focus is not None and focus.isVisible():
            QTest.keyClick(focus, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
            for sign in self._random.choice(TEXTS):
                for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):  # any sign there is
                    QApplication.sendEvent(focus, QKeyEvent(kind, 0, MODIFIERS[0], sign))
        return "type"

    def _key(self) -> str:
        key, modifier = self._random.choice(KEYS), self._random.choice(MODIFIERS)
        QTest.keyClick(QApplication.focusWidget() or self._front(), key, modifier)
        return "key"

    def _choose_in_menu(self) -> str:
        lines = [one for one in self._lines(self.window.menu) if one is not self.window.menu.leave]
        self._random.choice(lines).trigger()
        return "menu"

    def _lines(self, menu: QMenu) -> list[QAction]:
        found: list[QAction] = []
        for one in menu.actions():
            inner = one.menu()
            if isinstance(inner, QMenu):
                found += self._lines(inner)
            elif one.isEnabled() and not one.isSeparator():
                found.append(one)
        return found

    def _choose(self) -> str:
        for one in self._seen(QComboBox):
            if isinstance(one, QComboBox) and one.count() and self._random.random() < 0.5:
                one.setCurrentIndex(self._random.randrange(one.count()))
        for one in self._seen(QAbstractItemView):
            model = one.model() if isinstance(one, QAbstractItemView) else None
            if isinstance(one, QAbstractItemView) and model is not None and model.rowCount():
                row = model.index(self._random.randrange(model.rowCount()), 0)
                at = one.visualRect(row).center()
                QTest.mouseClick(one.viewport(), Qt.MouseButton.LeftButton, pos=at)
        return "choose"

    def _wait(self) -> str:
        self.now += timedelta(minutes=self._random.choice((0.2, 1, 5, 20)))
        self.window.client.recorder.look_again()
        return "wait"

    def _resize(self) -> str:
        self.window.resize(*self._random.choice(SIZES))
        return "resize"

    def _heard(self, kind: QtMsgType, _where: object, text: str) -> None:
        if kind is not QtMsgType.QtDebugMsg and not text.startswith(KNOWN):
            self.warnings[text[:120]] += 1

    def _uncaught(
        self, kind: type[BaseException], fault: BaseException, _trace: TracebackType | None
    ) -> None:
        del kind
        self._met(fault)

    def _met(self, fault: BaseException | None) -> None:
        if fault is not None:
            self.faults.append("".join(traceback.format_exception(fault)))


def main() -> None:
    """Play, and print what came of it."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 600.0
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    application()
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        os.environ["HOME"] = folder
        hands = Hands(Path(folder), seed)
        began = time.monotonic()

        def told(now: Held) -> None:
            print(  # noqa: T201
                f"{time.monotonic() - began:5.0f} s {now} faults {len(hands.faults)} "
                f"warnings {sum(hands.warnings.values())} did {hands.did.total()}",
                flush=True,
            )

        hands.play(seconds, told)
        hands.close()
    for fault, count in Counter(hands.faults).most_common():
        print(f"{count} times:\n{fault}")  # noqa: T201
    print(hands.did, hands.warnings)  # noqa: T201


if __name__ == "__main__":
    main()
