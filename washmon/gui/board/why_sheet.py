"""Why a tank needs what its plan says: all that was found, and what else was weighed."""

from itertools import pairwise

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QScrollArea,
    QScroller,
    QVBoxLayout,
    QWidget,
)

from washmon.gui.board.board_words import unbroken
from washmon.gui.board.caution_line import CautionLine
from washmon.gui.board.finding_card import FindingCard, ShelvedList
from washmon.gui.board.panel_views import FlagView, StepView, WhyView
from washmon.gui.glossary import WordLinks
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, hbox, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.state_mark import StateMark
from washmon.gui.kit.text import ShortText, Text, Tone
from washmon.gui.kit.theme import Size

_NARROW_PX = 900
_LOWEST = 0.62
"""Of its parent's height: no lower does it begin."""


class WhySheet(QFrame):
    """Lies over the plots of its parent; the cards of the tanks stay in view.

    Signals:
        acknowledged(int, str): the flag of this tank and rule was seen.
        shelve_asked(Flag): a flag is to be put aside for a while.
        brought_back(int, str): the shelved flag of this tank and rule is wanted back.
        left(): it was closed by hand.
    """

    acknowledged = Signal(int, str)
    shelve_asked = Signal(object)
    brought_back = Signal(int, str)
    left = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("sheet")
        self._over = parent
        self._view: WhyView | None = None
        self._top = 0
        self._cards: dict[tuple[int, str], FindingCard] = {}
        self.mark = StateMark()
        self.title = ShortText("", Size.TITLE, bold=True)
        self.leave = PressButton(tr("Leave"), Rank.SECONDARY, "Esc", bound=False, then=self.shut)
        self.none = Text(tr("Nothing was found against this tank."), tone=Tone.SOFT, wrapped=True)
        self.shelved = ShelvedList()
        self.words = WordLinks()
        self._plan = QVBoxLayout()
        self._findings = QVBoxLayout()
        self._halves = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._written: StepView | None = None
        self._lay_out()
        self.shelved.brought_back.connect(self.brought_back)
        parent.installEventFilter(self)
        self.hide()

    def _lay_out(self) -> None:
        for column in (self._findings, self._plan):
            column.setSpacing(8)
        self.none.setMinimumWidth(1)
        add(self._findings, self.none, self.shelved, self.words, STRETCH)
        scrolled = QWidget()
        scrolled.setObjectName("scrolled")
        self._halves = QBoxLayout(QBoxLayout.Direction.LeftToRight, scrolled)
        self._halves.setContentsMargins(0, 0, 0, 0)
        self._halves.setSpacing(16)
        add(self._halves, (self._findings, 3), (self._plan, 2))
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setWidget(scrolled)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        QScroller.grabGesture(self.area.viewport(), QScroller.ScrollerGestureType.TouchGesture)
        column = vbox(
            hbox(self.mark, (self.title, 1), self.leave, gap_px=10),
            (self.area, 1),
            on=self,
            gap_px=8,
            margins_px=(16, 10, 16, 10),
        )

    @property
    def tank(self) -> int | None:
        """The number of the tank that is explained."""
        return None if self._view is None or self.isHidden() else self._view.tank

    @property
    def cards(self) -> list[FindingCard]:
        """The findings from the gravest down."""
        return list(self._cards.values())

    def explain(self, view: WhyView, top: int) -> None:
        """Show what stands behind a plan, from ``top`` down to the parent's end."""
        self._top = top
        self.show_view(view)
        self._fit()
        self.show()
        self.raise_()
        first = next((one for one in self._buttons() if one.isVisibleTo(self)), self.leave)
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_view(self, view: WhyView) -> None:
        """Follow the tank; does nothing when it is the same."""
        if view == self._view:
            return
        self._view = view
        self.mark.show_look(view.look)
        self.title.setText(tr("Why? {tank}", tank=view.title))
        self._show_flags(view)
        self.shelved.show_shelved(view.shelved)
        self.none.setVisible(not view.flags and not view.shelved)
        if view.step != self._written:
            self._written = view.step
            self._write(view.step)
        told = [words for one in view.flags for words in (one.title, one.gist, one.why)]
        step = view.step
        self.words.link([*told, step.text, step.how, step.quiet, step.surprise, *step.weighed])
        self.setAccessibleName(self.title.text())

    def _show_flags(self, view: WhyView) -> None:
        wanted = {one.key: one for one in view.flags}
        for key in [key for key in self._cards if key not in wanted]:
            card = self._cards.pop(key)
            self._findings.removeWidget(card)
            card.hide()
            card.deleteLater()
        ordered: dict[tuple[int, str], FindingCard] = {}
        for place, (key, flag) in enumerate(wanted.items()):
            card = self._cards.get(key) or self._make_card(flag)
            card.show_view(flag)
            if self._findings.indexOf(card) != place:
                self._findings.removeWidget(card)
                self._findings.insertWidget(place, card)
            ordered[key] = card
        self._cards = ordered
        for before, after in pairwise((*self._buttons(), self.leave)):
            QWidget.setTabOrder(before, after)

    def _make_card(self, flag: FlagView) -> FindingCard:
        card = FindingCard(flag, self.area.widget())
        card.acknowledged.connect(self.acknowledged)
        card.shelve_asked.connect(self.shelve_asked)
        card.show()
        return card

    def _buttons(self) -> list[PressButton]:
        return [button for card in self._cards.values() for button in (card.see, card.shelve)]

    def _write(self, step: StepView) -> None:
        """Write anew what the plan is, its cautions, and what else was weighed."""
        while (item := self._plan.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        texts: list[Text] = [
            Text(unbroken(step.text), Size.LEAD, bold=True, wrapped=True),
            Text(unbroken(step.how), Size.BODY, wrapped=True),
            Text(unbroken(step.quiet), Size.BODY, tone=Tone.SOFT, wrapped=True),
            Text(unbroken(step.surprise), Size.BODY, tone=Tone.WATCH, wrapped=True),
        ]
        texts += [CautionLine(caution) for caution in step.cautions]
        if step.weighed:
            texts.append(Text(tr("Also weighed"), Size.BODY, bold=True))
            texts += [Text(one, Size.SMALL, wrapped=True) for one in step.weighed]
        for text in texts:
            if not text.text():
                text.deleteLater()
                continue
            text.setMinimumWidth(1)
            self._plan.addWidget(text)
        self._plan.addStretch(1)

    def _fit(self) -> None:
        room = self._over.rect()
        top = min(self._top, round(room.height() * _LOWEST))
        self.setGeometry(0, top, room.width(), room.height() - top)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the two halves under each other where it is narrow."""
        super().resizeEvent(event)
        narrow = event.size().width() < _NARROW_PX
        way = QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight
        if self._halves.direction() is not way:
            self._halves.setDirection(way)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the lower part of the parent."""
        if watched is self._over and event.type() is QEvent.Type.Resize and self.isVisible():
            self._fit()
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave by Esc."""
        if event.key() == Qt.Key.Key_Escape:
            self.shut()
        else:
            super().keyPressEvent(event)

    def shut(self) -> None:
        """Close it."""
        self.left.emit()
        self.hide()
