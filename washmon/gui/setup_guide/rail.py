"""The steps of the guide at the left: where one is, and where something is to mend."""

from PySide6.QtCore import QRect, QSize, Qt, Signal, Slot
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, add, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size

RAIL_PX, NARROW_PX = 208, 52
_STEP_PX, _LOW_STEP_PX = 60, 44


class StepButton(QAbstractButton):
    """One step: its number, its name, and below it a note."""

    def __init__(self, number: int, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.note = ""
        self.number = number
        self.narrow = False
        self.setText(name)
        self.setToolTip(name)
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

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw a bar at the step one is on, the words, and a frame under the keyboard."""
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
        top = box.adjusted(0, 0, 0, -8 if self.narrow else -theme.px(22)) if self.note else box
        painter.setPen(QColor(shades.ink))
        painter.setFont(theme.font(Size.BODY, weight))
        painter.drawText(top, flags, str(self.number))
        if self.note and self.narrow:
            painter.fillRect(self.rect().adjusted(14, 32, -14, -7), QColor(shades.stop_ink))
        if self.narrow:
            return
        painter.drawText(top.adjusted(theme.px(22), 0, 0, 0), flags, self.text())
        if self.note:
            painter.setPen(QColor(shades.stop_ink))
            painter.setFont(theme.font(Size.SMALL, Weight.DemiBold))
            painter.drawText(box.adjusted(theme.px(22), theme.px(24), 0, 0), flags, self.note)


class StepRail(QWidget):
    """The steps in order; ``chosen`` tells which was pressed.

    Folded it shows only the steps in ``few``, unfolded all but those in ``folded_only``.
    """

    chosen = Signal(int)

    def __init__(
        self,
        names: list[str],
        *,
        few: frozenset[int],
        folded_only: frozenset[int],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._few, self._folded_only = few, folded_only
        self.folded = False
        self.shown: tuple[int, ...] = ()
        """The places of the steps that are shown."""
        self._narrow = False
        self.setFixedWidth(RAIL_PX)
        self._group = QButtonGroup(self)
        column = vbox(on=self, gap_px=4)
        self.steps = [StepButton(at + 1, name, self) for at, name in enumerate(names)]
        for at, step in enumerate(self.steps):
            self._group.addButton(step, at)
            column.addWidget(step)
        self.more = PressButton(tr("More"), Rank.QUIET)
        add(column, self.more, STRETCH)
        self.fold(folded=False, may_change=False)
        self._group.idClicked.connect(self._choose)

    def fold(self, *, folded: bool, may_change: bool) -> None:
        """Show few steps, or all; ``may_change`` offers the button that unfolds and folds."""
        places = range(len(self.steps))
        self.shown = tuple(
            at for at in places if (at in self._few if folded else at not in self._folded_only)
        )
        for at, step in enumerate(self.steps):
            step.setVisible(at in self.shown)
            step.number = self.shown.index(at) + 1 if at in self.shown else 0
            step.update()
        self.folded = folded
        self._name_more()
        self.more.setVisible(may_change)

    def narrow(self, *, narrow: bool) -> None:
        """Show only the numbers of the steps where the pages need the width."""
        width = theme.px(NARROW_PX if narrow else RAIL_PX)
        if self.width() != width:
            self._narrow = narrow
            self.setFixedWidth(width)
            for step in self.steps:
                step.narrow = narrow
                step.setFixedHeight(theme.px(_LOW_STEP_PX if narrow else _STEP_PX))
                step.update()
            self._name_more()

    def _name_more(self) -> None:
        if self._narrow:
            self.more.set_label("+" if self.folded else "\N{MINUS SIGN}")
        else:
            self.more.set_label(tr("More") if self.folded else tr("Only the essentials"))
        self.more.setAccessibleName(tr("More") if self.folded else tr("Only the essentials"))

    def next_to(self, at: int, by: int) -> int:
        """Return the step that is shown after another, or before; the ends have none."""
        place = self.shown.index(at) + by
        return self.shown[max(0, min(place, len(self.shown) - 1))]

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
