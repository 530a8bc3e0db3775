"""How a tank is, as a shape and a word: ring, triangle, diamond, octagon, dashed ring."""

from enum import Enum
from math import cos, pi, sin

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size, Theme


class MarkState(Enum):
    """The five states that a tank or a flag can show, calm first."""

    IN_LIMITS = "in limits"
    WATCH = "watch"
    ACT = "act"
    STOP = "stop"
    UNKNOWN = "unknown"

    @property
    def word(self) -> str:
        """The state in the user's language."""
        return {
            MarkState.IN_LIMITS: tr("In limits"),
            MarkState.WATCH: tr("Watch"),
            MarkState.ACT: tr("Act now"),
            MarkState.STOP: tr("Stop and hold"),
            MarkState.UNKNOWN: tr("Not known"),
        }[self]

    @property
    def tone(self) -> Tone:
        """The tone of a value that causes this state."""
        return {
            MarkState.WATCH: Tone.WATCH,
            MarkState.ACT: Tone.ACT,
            MarkState.STOP: Tone.STOP,
        }.get(self, Tone.PLAIN)

    def colour(self, look: Theme) -> str | None:
        """The state's colour in a theme; a calm or unknown state has none."""
        return {
            MarkState.WATCH: look.watch,
            MarkState.ACT: look.act,
            MarkState.STOP: look.stop,
        }.get(self)


def draw_mark(painter: QPainter, box: QRectF, look: MarkState) -> None:
    """Draw the shape of ``look`` into the square in the middle of ``box``."""
    shades = theme.current()
    side = min(box.width(), box.height())
    pen_px = max(1.4, side / 11)
    reach = side / 2 - pen_px / 2
    middle = box.center()
    colour = look.colour(shades)
    pen = QPen(QColor(shades.ink if look is MarkState.WATCH or not colour else colour), pen_px)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setBrush(QColor(colour) if colour else Qt.BrushStyle.NoBrush)
    if colour is None:
        reach *= 0.94
        if look is MarkState.UNKNOWN:
            pen.setColor(QColor(shades.soft_ink))
            dash = 2 * pi * reach / pen_px / 8
            pen.setDashPattern([dash * 0.56, dash * 0.44])
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        painter.setPen(pen)
        painter.drawEllipse(middle, reach, reach)
    else:
        painter.setPen(pen)
        painter.drawPolygon(_corners(look, middle, reach))
    painter.restore()


def _corners(look: MarkState, middle: QPointF, reach: float) -> QPolygonF:
    if look is MarkState.WATCH:
        rise, drop, half = reach * 0.9, reach * 0.78, reach
        return QPolygonF(
            [
                QPointF(middle.x(), middle.y() - rise),
                QPointF(middle.x() + half, middle.y() + drop),
                QPointF(middle.x() - half, middle.y() + drop),
            ]
        )
    count, turn = (4, 0.0) if look is MarkState.ACT else (8, pi / 8)
    angles = (turn + 2 * pi * step / count for step in range(count))
    return QPolygonF(
        [QPointF(middle.x() + reach * cos(a), middle.y() + reach * sin(a)) for a in angles]
    )


class StateMark(QWidget):
    """The shape alone; a screen reader hears the word."""

    def __init__(
        self, look: MarkState = MarkState.UNKNOWN, side_px: int = 22, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._side_px = side_px
        self._look = look
        self.setFixedSize(theme.px(side_px), theme.px(side_px))
        self.setAccessibleName(look.word)

    @property
    def look(self) -> MarkState:
        """The state shown."""
        return self._look

    def show_look(self, look: MarkState) -> None:
        """Show another state; does nothing when it is the same."""
        if look is not self._look:
            self._look = look
            self.setAccessibleName(look.word)
            self.update()

    def sizeHint(self) -> QSize:
        """Return the square that the shape fills."""
        return QSize(theme.px(self._side_px), theme.px(self._side_px))

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the type beside it."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self.setFixedSize(self.sizeHint())

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the shape."""
        draw_mark(QPainter(self), QRectF(self.rect()), self._look)


class StateBadge(QWidget):
    """Shape and word side by side, as at the head of a tank."""

    def __init__(self, look: MarkState = MarkState.UNKNOWN, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark = StateMark(look, 22, self)
        self.word = Text(look.word, Size.LEAD, bold=True, parent=self)
        hbox(self.mark, self.word, on=self, gap_px=8)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_look(self, look: MarkState, word: str = "") -> None:
        """Show another state in both; ``word`` stands there in place of the state's own."""
        self.mark.show_look(look)
        self.word.setText(word or look.word)
