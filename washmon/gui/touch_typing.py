"""Brings the keys on the screen where a finger has chosen a field with letters."""

from PySide6.QtCore import QEvent, QObject, QPoint, QTimer, Slot
from PySide6.QtGui import QTouchEvent
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QApplication,
    QLineEdit,
    QMainWindow,
    QPlainTextEdit,
    QWidget,
)

from washmon.gui.kit.entry_field import DIGITS_ONLY
from washmon.gui.kit.letter_keys import LetterKeys
from washmon.gui.settings import Settings

_TOUCH_MS = 400
"""So long after a touch a field that takes the keyboard was chosen by it."""


class TouchTyping(QObject):
    """Watches one window: its touches, and what has the keyboard.

    The keys come where a touch has chosen a field, or for every field where that is set. They go
    with the field. A field for a number has a pad of its own beside it.
    """

    def __init__(self, window: QMainWindow, settings: Settings) -> None:
        super().__init__(window)
        self._window = window
        self._settings = settings
        self.keys = LetterKeys(window)
        self._touched = QPoint()
        self._by_touch = QTimer(self, singleShot=True, interval=_TOUCH_MS)
        app = QApplication.instance()
        if isinstance(app, QApplication):
            app.focusChanged.connect(self._follow)

    def listen(self) -> None:
        """Listen to the touches of the window, which must be shown."""
        handle = self._window.windowHandle()
        if handle is not None:
            handle.installEventFilter(self)

    def choose(self, always: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Come for every field from now on, or only where a finger has chosen one."""
        self._settings.letters = always
        self._follow(None, QApplication.focusWidget())

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        """Know that a hand is on the screen; the field may have the keyboard already."""
        if event.type() is QEvent.Type.TouchBegin:
            self._by_touch.start()
        elif isinstance(event, QTouchEvent) and event.type() is QEvent.Type.TouchEnd:
            self._touched = event.points()[0].position().toPoint()
            QTimer.singleShot(0, self._look)
        return False

    @Slot()
    def _look(self) -> None:
        focus = QApplication.focusWidget()
        if focus is None or focus is self.keys.field or focus.window() is not self._window:
            return
        if focus.rect().contains(focus.mapFrom(self._window, self._touched)):
            self._follow(None, focus)

    @Slot(QWidget, QWidget)
    def _follow(self, _before: QWidget | None, focus: QWidget | None) -> None:
        if focus is None or focus.window() is not self._window:
            self.keys.shut()
            return
        wanted = self.keys.isVisible() or self._by_touch.isActive() or self._settings.letters
        if wanted and takes_letters(focus):
            self.keys.open_for(focus)
        else:
            self.keys.shut()


def takes_letters(field: QWidget) -> bool:
    """Tell whether letters can be typed into a widget, and nothing else stands there for it."""
    return (
        isinstance(field, QLineEdit | QPlainTextEdit)
        and not field.isReadOnly()
        and not field.property(DIGITS_ONLY)
        and not isinstance(field.parentWidget(), QAbstractSpinBox)
    )
