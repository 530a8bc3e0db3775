"""The plan of a tank on its card: what to do now, what it brings, the wait, and its buttons."""

from datetime import datetime

from PySide6.QtCore import QRect, Qt, Signal
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtWidgets import QBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from washmon.gui.board.board_words import unbroken
from washmon.gui.board.caution_line import CautionLine
from washmon.gui.board.panel_views import AlsoView, PanelView, StepView, WaitView
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, add, hbox, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.state_mark import StateMark
from washmon.gui.kit.text import Text, Tone, Weight
from washmon.gui.kit.theme import Size
from washmon.gui.kit.wait_ring import WaitRing

_ALSO_MARK_PX = 13
_NARROW_PX = 200
FOLDS = 4
"""With nothing folded; without what was found besides; without what comes then; without what the
step brings.
"""


class AlsoLines(QWidget):
    """What was found besides, in small quiet lines, each with the mark of its level."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._views: tuple[AlsoView, ...] = ()
        self._stack = vbox(on=self, gap_px=2)
        self._rows: list[_AlsoLine] = []

    @property
    def lines(self) -> list[Text]:
        """What is said, line by line."""
        return [row.text for row in self._rows[: len(self._views)]]

    def show_views(self, views: tuple[AlsoView, ...]) -> None:
        """Show these; does nothing when they are the same."""
        if views == self._views:
            return
        self._views = views
        while len(self._rows) < len(views):
            self._rows.append(_AlsoLine(self))
            self._stack.addWidget(self._rows[-1])
        for number, row in enumerate(self._rows):
            if number < len(views):
                row.mark.show_look(views[number].look)
                row.text.setText(unbroken(views[number].text))
            row.setVisible(number < len(views))


class _AlsoLine(QWidget):
    """One of them."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.mark = StateMark(side_px=_ALSO_MARK_PX)
        self.text = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.text.setMinimumWidth(1)
        hbox((self.mark, 0, Qt.AlignmentFlag.AlignTop), (self.text, 1), on=self, gap_px=6)


class PlanBox(QWidget):
    """Says one step once.

    Signals:
        answered(): the step was done.
        why_asked(): somebody wants to know what stands behind it.
    """

    answered = Signal()
    why_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._step: StepView | None = None
        self._wait: WaitView | None = None
        self._fold = 0
        self._first = False
        self._narrow = False
        self.ring = WaitRing()
        self.step = Text("", Size.LEAD, bold=True, wrapped=True)
        self.count = Text("", Size.SMALL, bold=True, tone=Tone.HAND, tabular=True, wrapped=True)
        self.how = Text("", Size.SMALL, wrapped=True)
        self.quiet = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.surprise = Text("", Size.SMALL, bold=True, tone=Tone.WATCH, wrapped=True)
        self.caution = CautionLine()
        self.second = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.also = AlsoLines()
        self.answer = PressButton("", Rank.PRIMARY, then=self.answered)
        self.why = PressButton(tr("Why?"), Rank.SECONDARY, then=self.why_asked)
        self._buttons = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._column = QVBoxLayout(self)
        self._lay_out()

    def _lay_out(self) -> None:
        words = (
            self.step,
            self.how,
            self.count,
            self.quiet,
            self.surprise,
            self.caution,
            self.second,
        )
        for label in words:
            label.setMinimumWidth(1)  # wrapped text can be as narrow as the column
        self._buttons.setSpacing(6)
        for button in (self.answer, self.why):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)  # a press leaves the Board at rest
            self._buttons.addWidget(button)
        self._buttons.addStretch(1)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(2)
        add(
            self._column,
            hbox((self.ring, 0, Qt.AlignmentFlag.AlignTop), (self.step, 1), gap_px=8),
            *words[1:],
            self.also,
            STRETCH,
            self._buttons,
        )

    def show_view(self, view: PanelView) -> None:
        """Show the plan of a tank."""
        step = view.step
        self._step, self._wait = step, step.wait
        self.step.setText(unbroken(step.text))
        self.how.setText(unbroken(step.how))
        self.how.setVisible(bool(step.how))
        self.surprise.setText(unbroken(step.surprise))
        self.caution.show_caution(step.caution)
        self.second.setText(unbroken(view.second))
        self.also.show_views(view.also)
        self.answer.set_label(step.answer)
        self._first = step.first
        self._name_key()
        self.ring.setVisible(step.wait is not None)
        self.count.setVisible(step.wait is not None)
        self.surprise.setVisible(bool(step.surprise))
        self.answer.setVisible(bool(step.answer))
        self.why.setVisible(view.why)
        self.fold(self._fold)

    def tick(self, now: datetime) -> bool:
        """Count the wait down; return whether it says something else than before."""
        if self._wait is None:
            return False
        self.ring.show_share(self._wait.share(now))
        wait = self._wait
        known = wait.clock in self.step.text()
        text = "{left} left" if known else "{left} left, until {time}"
        before, said = self.count.text(), tr(text, left=wait.left(now), time=wait.clock)
        self.count.setText(said)
        return said != before

    @property
    def folded(self) -> int:
        """How much is left out."""
        return self._fold

    def fold(self, fold: int) -> None:
        """Leave out the lightest lines: nothing at 0, all that can be at the last."""
        self._fold = fold
        self.also.setVisible(fold == 0 and bool(self.also.lines))
        self.second.setVisible(fold == 0 and bool(self.second.text()))
        quiet = self._quiet_at(fold)
        self.quiet.setText(unbroken(quiet))
        self.quiet.setVisible(bool(quiet))

    def _quiet_at(self, fold: int) -> str:
        if self._step is None or fold == FOLDS - 1:
            return ""
        return self._step.quiet if fold < FOLDS - 2 else self._step.brings

    def spared(self, width: int, fold: int) -> int:
        """Return how much taller it is at the present fold than it would be at another."""
        return self._foldable_px(width, self._fold) - self._foldable_px(width, fold)

    def _foldable_px(self, width: int, fold: int) -> int:
        """Return how tall all that can be folded is at a fold."""
        heights = []
        if fold == 0 and self.also.lines and (layout := self.also.layout()) is not None:
            heights.append(layout.heightForWidth(width))
        if fold == 0 and self.second.text():
            heights.append(self.second.heightForWidth(width))
        if quiet := self._quiet_at(fold):
            box = QRect(0, 0, width, 10_000)
            wrap = Qt.TextFlag.TextWordWrap
            heights.append(self.quiet.fontMetrics().boundingRect(box, wrap, quiet).height())
        return sum(heights) + len(heights) * self._column.spacing()

    def fit(self, width: int, size: Size) -> None:
        """Size the step; put the buttons under each other where the card is narrow."""
        smaller = theme.font(Size.BODY, Weight.DemiBold)
        font = theme.font(size, Weight.DemiBold)
        if self._lines(font, width) > self._lines(smaller, width):
            font = smaller
        self.step.setFont(font)
        self._narrow = width < theme.px(_NARROW_PX)
        self._name_key()
        needed = sum(one.minimumSizeHint().width() for one in (self.answer, self.why))
        stacked = needed + self._buttons.spacing() > width
        way = QBoxLayout.Direction.TopToBottom if stacked else QBoxLayout.Direction.LeftToRight
        if self._buttons.direction() is not way:
            self._buttons.setDirection(way)

    def _lines(self, font: QFont, width: int) -> int:
        """Return into how many lines the step breaks."""
        metrics = QFontMetrics(font)
        room = width - (self.ring.width() + 8 if self._wait is not None else 0)
        box = QRect(0, 0, room, 10_000)
        text = metrics.boundingRect(box, Qt.TextFlag.TextWordWrap, self.step.text())
        return round(text.height() / metrics.lineSpacing())

    def _name_key(self) -> None:
        """Name the key of the first step of the line where there is room for it."""
        self.answer.show_key(tr("Space") if self._first and not self._narrow else "")
