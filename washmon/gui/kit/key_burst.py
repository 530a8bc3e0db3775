"""Tells a scanner from a hand: a scanner types faster than anybody, and ends with Enter."""

import time
from collections.abc import Callable

from PySide6.QtCore import QObject, Qt, QTimer, Signal, Slot
from PySide6.QtGui import QKeyEvent

BURST_S = 0.035
"""No hand presses its next key within this time."""
_SHORTEST = 3
_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class KeyBurst(QObject):
    """Takes the keys that nothing else wanted.

    Signals:
        pressed(str): this sign alone was typed, by a hand.
        scanned(str): these signs came in a burst that ended with Enter.
    """

    pressed = Signal(str)
    scanned = Signal(str)

    def __init__(
        self, parent: QObject | None = None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        super().__init__(parent)
        self._clock = clock
        self._signs = ""
        self._last = float("-inf")
        self._quiet = QTimer(self, singleShot=True, interval=round(BURST_S * 1000) + 1)
        self._quiet.timeout.connect(self._end)

    def take(self, event: QKeyEvent) -> bool:
        """Take a key; tell whether it was a sign, or the Enter after some."""
        now = self._clock()
        if now - self._last > BURST_S:
            self._signs = ""
        self._last = now
        plain = event.modifiers() in (
            Qt.KeyboardModifier.NoModifier,
            Qt.KeyboardModifier.ShiftModifier,
            Qt.KeyboardModifier.KeypadModifier,
        )
        if event.key() in _ENTER and self._signs:
            signs, self._signs = self._signs, ""
            self._quiet.stop()
            if len(signs) >= _SHORTEST and not event.isAutoRepeat():
                self.scanned.emit(signs)
            return True
        if not plain or not event.text() or not event.text().isprintable():
            return False
        if not event.isAutoRepeat():  # a key that is held down says nothing more
            self._signs += event.text()
            self._quiet.start()
        return True

    @Slot()
    def _end(self) -> None:
        """Say which sign came alone; more of them without Enter are nobody's."""
        signs, self._signs = self._signs, ""
        if len(signs) == 1:
            self.pressed.emit(signs)
