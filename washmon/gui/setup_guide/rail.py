"""The steps of the guide at the left: where one is, and where something is to mend."""

from PySide6.QtCore import QRect, QSize, Qt, Signal, Slot
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size

RAIL_PX = 208
_STEP_PX = 60


class StepButton(QAbstractButton):
    """One step: its number, its name, and below it a note."""

    def __init__(self, number: int, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.note = ""
        self._number = number
        self.setText(name)
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setFixedHeight(_STEP_PX)

    def show_note(self, note: str) -> None:
        """Say something about this step."""
        if note != self.note:
            self.note = note
            self.setAccessibleDescription(note)
            self.update()

    def sizeHint(self) -> QSize:
        """Return the width of the rail."""
        return QSize(RAIL_PX, _STEP_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw a bar at the step one is on, the words, and a frame under the keyboard."""
        del event
        shades = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        here = self.isChecked()
        if here or self.underMouse():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(shades.card if here else shades.hand_soft))
            painter.drawRoundedRect(self.rect(), 6, 6)
        if here:
            painter.fillRect(QRect(0, 10, 4, self.height() - 20), QColor(shades.hand))
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QColor(shades.hand))
            painter.drawRoundedRect(self.rect().adjusted(1, 1, -1, -1), 6, 6)
        self._draw_words(painter)

    def _draw_words(self, painter: QPainter) -> None:
        shades = theme.current()
        weight = Weight.DemiBold if self.isChecked() else Weight.Normal
        flags = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        box = self.rect().adjusted(14, 6, -4, -6)
        top = box.adjusted(0, 0, 0, -22) if self.note else box
        painter.setPen(QColor(shades.ink))
        painter.setFont(theme.font(Size.BODY, weight))
        painter.drawText(top, flags, str(self._number))
        painter.drawText(top.adjusted(22, 0, 0, 0), flags, self.text())
        if self.note:
            painter.setPen(QColor(shades.stop_ink))
            painter.setFont(theme.font(Size.SMALL, Weight.DemiBold))
            painter.drawText(box.adjusted(22, 24, 0, 0), flags, self.note)


class StepRail(QWidget):
    """The steps in order; ``chosen`` tells which was pressed."""

    chosen = Signal(int)

    def __init__(self, names: list[str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFixedWidth(RAIL_PX)
        self._group = QButtonGroup(self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        self.steps = [StepButton(at + 1, name, self) for at, name in enumerate(names)]
        for at, step in enumerate(self.steps):
            self._group.addButton(step, at)
            column.addWidget(step)
        column.addStretch(1)
        self._group.idClicked.connect(self._choose)

    def show_step(self, at: int) -> None:
        """Mark the step that is shown."""
        self.steps[at].setChecked(True)

    def show_counts(self, counts: list[int]) -> None:
        """Say how much is to mend on each step."""
        for step, count in zip(self.steps, counts, strict=True):
            step.show_note(tr("{count} to mend", count=count) if count else "")

    @Slot(int)
    def _choose(self, at: int) -> None:
        self.chosen.emit(at)
