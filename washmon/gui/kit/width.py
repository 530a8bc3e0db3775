"""Widths that are said for type of the usual size, and grow with it."""

from PySide6.QtCore import QEvent, QObject, QSize
from PySide6.QtWidgets import QWidget

from washmon.gui.kit import theme


class _Keeper(QObject):
    """Lets the width of its parent follow the size of type."""

    def __init__(self, widget: QWidget, width_px: int, *, most: bool) -> None:
        super().__init__(widget)
        self._widget, self._width_px, self._most = widget, width_px, most
        widget.installEventFilter(self)
        self._fit()

    def _fit(self) -> None:
        width = theme.px(self._width_px)
        if self._most:
            self._widget.setMaximumWidth(width)
        else:
            self._widget.setFixedWidth(width)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Follow a change of type."""
        if watched is self._widget and event.type() is QEvent.Type.FontChange:
            self._fit()
        return False


def keep_width(widget: QWidget, width_px: int, *, most: bool = False) -> None:
    """Give a widget this width in type of the usual size, or at ``most`` this."""
    _Keeper(widget, width_px, most=most)


class Scrolled(QWidget):
    """What scrolls: as high as it needs at its width, not at the narrowest it may be."""

    def minimumSizeHint(self) -> QSize:
        """Leave the height to the width, where lines of it may break."""
        least = super().minimumSizeHint()
        return QSize(least.width(), 1) if self.hasHeightForWidth() else least
