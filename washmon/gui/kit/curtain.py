"""Pictures of the parts of a page, laid over them for the moment in which a sheet above closes.

What a sheet has covered is drawn anew when it closes, be it the same as before: of six tanks that
takes longer than all else from Enter to the drawn Board. So, while a sheet is open and nobody
types, a picture is taken of each part; one that has not changed since shows it first, and is drawn
itself a moment later, when nobody waits.
"""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QChildEvent, QEvent, QObject, QPoint, Qt, QTimer, Slot
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPixmap
from PySide6.QtWidgets import QApplication, QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.letter_keys import SHEET

TAKE_MS = 150
"""So long after a sheet has opened, or something has changed under it, pictures are taken,"""
_BREATH_MS = 10
"""with a breath between two of them, in which keys that were pressed are answered."""
LIFT_MS = 100


class Curtain(QWidget):
    """A picture of ``part``, which lies over it for a moment.

    It is laid only while ``shown`` returns what it did when the picture was taken: all that the
    part is drawn from. What that misses stays for no longer than the moment.
    """

    def __init__(self, part: QWidget, shown: Callable[[], object]) -> None:
        super().__init__(part)
        self.part = part
        self._shown, self._of = shown, object()
        self._picture: QPixmap | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)  # Qt draws nothing under it
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.hide()

    @property
    def is_due(self) -> bool:
        """Whether there is something to take a picture of, and none was taken of it as it is."""
        return self.part.isVisible() and not self._is_true

    @property
    def _is_true(self) -> bool:
        size = self.part.size() * self.part.devicePixelRatioF()
        picture = self._picture
        return picture is not None and picture.size() == size and self._shown() == self._of

    def take(self) -> None:
        """Take a picture of the part upon the paper that it lies on."""
        self._of = self._shown()
        ratio = self.part.devicePixelRatioF()
        self._picture = QPixmap(self.part.size() * ratio)
        self._picture.setDevicePixelRatio(ratio)
        self._picture.fill(QColor(theme.current().paper))
        children = QWidget.RenderFlag.DrawChildren
        self.part.render(self._picture, QPoint(), renderFlags=children)

    def forget(self) -> None:
        """Throw the picture away, and show the part itself."""
        self._picture = None
        self.hide()

    def check(self) -> None:
        """Show the part itself, if the picture is no longer like it."""
        if not self.isHidden() and not self._is_true:
            self.forget()

    def lay(self) -> None:
        """Lay the picture over the part, if there is one of it as it is."""
        if not self._is_true:
            self.forget()
            return
        self.setGeometry(self.part.rect())
        self.raise_()
        self.show()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the picture."""
        del event
        if self._picture is not None:
            QPainter(self).drawPixmap(0, 0, self._picture)


class Curtains(QObject):
    """Takes, lays and lifts the curtains of the parts of ``page`` as its sheets open and close."""

    def __init__(self, page: QWidget, curtains: Callable[[], Sequence[Curtain]]) -> None:
        super().__init__(page)
        self._page, self._curtains = page, curtains
        self._sheet: QWidget | None = None
        self._take = QTimer(self, singleShot=True)
        self._take.timeout.connect(self._take_next)
        self._lift = QTimer(self, singleShot=True, interval=LIFT_MS)
        self._lift.timeout.connect(self.forget)
        page.installEventFilter(self)
        app = QApplication.instance()
        if isinstance(app, QApplication):
            app.focusChanged.connect(self._follow_focus)

    def renew(self) -> None:
        """Know that something may have changed: under an open sheet, take pictures of that."""
        for curtain in self._curtains():
            curtain.check()
        if self._sheet is not None:
            self._take.start(TAKE_MS)

    @Slot()
    def forget(self) -> None:
        """Show all parts themselves."""
        for curtain in self._curtains():
            curtain.forget()

    @Slot()
    def _take_next(self) -> None:
        due = next((one for one in self._curtains() if one.is_due), None)
        if due is not None and self._sheet is not None:
            due.take()
            self._take.start(_BREATH_MS)

    @Slot(QWidget, QWidget)
    def _follow_focus(self, _before: QWidget | None, now: QWidget | None) -> None:
        """Draw the part into which the keyboard came back: it shows where it is."""
        if now is None or not self._lift.isActive():
            return
        for curtain in self._curtains():
            if curtain.part.isAncestorOf(now):
                curtain.forget()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Know which sheets there are, and when one opens and closes."""
        if isinstance(event, QChildEvent):
            polished = event.type() is QEvent.Type.ChildPolished
            if polished and event.child().objectName() == SHEET:
                event.child().installEventFilter(self)
        elif watched is self._page and event.type() in (
            QEvent.Type.StyleChange,
            QEvent.Type.FontChange,
            QEvent.Type.Hide,
        ):
            self.forget()
            self.renew()
        elif watched is not self._page and isinstance(watched, QWidget):
            if event.type() is QEvent.Type.Show:
                self._open(watched)
            elif event.type() is QEvent.Type.Hide and watched is self._sheet:
                self._close()
        return False

    def _open(self, sheet: QWidget) -> None:
        self.forget()
        self._lift.stop()
        self._sheet = sheet
        self.renew()

    def _close(self) -> None:
        self._sheet = None
        self._take.stop()
        for curtain in self._curtains():
            curtain.lay()
        self._lift.start()
