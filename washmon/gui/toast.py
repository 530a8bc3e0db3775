"""What was just saved or refused, over the keys for a moment: it takes no room from the plots."""

from PySide6.QtCore import QEvent, QObject, QRectF, QTimer
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.message_line import MessageLine

MOMENT_MS = 12_000
_MARGIN_PX = 12


class Toast(MessageLine):
    """A message line that lies over the lower end of ``over`` while it speaks.

    What was done is said for a moment; what was not, until something else is said.
    """

    def __init__(self, over: QWidget, parent: QWidget) -> None:
        self._over = over
        self._moment = QTimer(singleShot=True, interval=MOMENT_MS)
        super().__init__(parent)
        self._moment.timeout.connect(self.hide)
        self.setContentsMargins(_MARGIN_PX, 3, 6, 3)
        over.installEventFilter(self)

    def say(self, text: str, action: str = "") -> None:
        """Say something quiet, for a moment."""
        super().say(text, action)
        self._lay_over()
        self._moment.start()

    def warn(self, text: str, action: str = "") -> None:
        """Say that something was not done."""
        super().warn(text, action)
        self._lay_over()

    def doubt(self, text: str) -> None:
        """Ask about something unlikely."""
        super().doubt(text)
        self._lay_over()

    def clear(self) -> None:
        """Say nothing, and step aside."""
        super().clear()
        self._moment.stop()
        self.hide()

    def _lay_over(self) -> None:
        self._moment.stop()
        self._fit()
        self.show()
        self.raise_()

    def _fit(self) -> None:
        below = self._over.geometry()
        width = below.width() - 2 * _MARGIN_PX
        height = max(self.heightForWidth(width), self.minimumSizeHint().height())
        self.setGeometry(_MARGIN_PX, below.bottom() - height - 4, width, height)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay at the lower end."""
        if watched is self._over and event.type() is QEvent.Type.Resize and self.isVisible():
            self._fit()
        return False

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the card that it stands on."""
        shades = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(QColor(shades.hand), 2))
        painter.setBrush(QColor(shades.card))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 8, 8)
