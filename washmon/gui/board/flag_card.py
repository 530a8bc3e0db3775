"""One flag: what to do, a short reason, and on request the whole of it."""

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from washmon.gui.board.caution_line import CautionLine
from washmon.gui.board.hairline import Hairline
from washmon.gui.board.views import FlagView
from washmon.gui.board.words import unbroken
from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.state_mark import StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size

_MARK_PX = 20


class FlagCard(Card):
    """Shows a ``FlagView``; tells when it is answered, seen, or to be shelved."""

    answered = Signal(object)
    acknowledged = Signal(int, str)
    shelve_asked = Signal(object)

    def __init__(self, view: FlagView, parent: QWidget | None = None) -> None:
        super().__init__(parent, margin_px=10)
        self._view: FlagView | None = None
        self.mark = StateMark(view.look, _MARK_PX)
        self.title = Text("", Size.BODY, bold=True, wrapped=True)
        self.step = Text("", Size.BODY, wrapped=True)
        self.gist = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.caution = CautionLine()
        self.answer = PressButton("", Rank.PRIMARY)
        self.ask_why = PressButton(tr("Why?"), Rank.SECONDARY)
        self.ask_why.setCheckable(True)
        self.see = PressButton(tr("Seen"), Rank.QUIET)
        self.shelve = PressButton(tr("Shelve…"), Rank.QUIET)
        self.seen = Text("", Size.SMALL, tone=Tone.SOFT)
        self.reasons = QWidget()
        self._reasons = QVBoxLayout(self.reasons)
        for label in (self.title, self.step, self.gist, self.caution):
            label.setMinimumWidth(1)  # wrapped text can be as narrow as the list
        self._lay_out()
        self.answer.clicked.connect(self._answer)
        self.ask_why.toggled.connect(self._unfold)
        self.see.clicked.connect(self._acknowledge)
        self.shelve.clicked.connect(self._shelve)
        self.show_view(view)

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        head.addWidget(self.title, 1)
        buttons = QHBoxLayout()
        buttons.setSpacing(6)
        self.answer.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        buttons.addWidget(self.answer, 1)
        for button in (self.ask_why, self.see, self.shelve):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            buttons.addWidget(button)
        buttons.addStretch(0)
        self._reasons.setContentsMargins(0, 4, 0, 0)
        self._reasons.setSpacing(6)
        self.reasons.hide()
        self.body.setSpacing(4)
        self.body.addLayout(head)
        for widget in (self.step, self.gist, self.caution):
            self.body.addWidget(widget)
        self.body.addSpacing(2)
        self.body.addLayout(buttons)
        self.body.addWidget(self.seen)
        self.body.addWidget(self.reasons)

    @property
    def view(self) -> FlagView | None:
        """What is shown."""
        return self._view

    def show_view(self, view: FlagView) -> None:
        """Show a flag; does nothing when it is the same. What is unfolded stays so."""
        if view == self._view:
            return
        self._view = view
        self.show_look(view.look)
        self.mark.show_look(view.look)
        self.title.setText(view.title)
        self.step.setText(unbroken(view.step))
        self.gist.setText(view.gist)
        self.caution.show_caution(view.caution)
        self.answer.set_label(view.answer)
        self.answer.setVisible(bool(view.answer))
        self.see.setVisible(view.can_acknowledge)
        self.shelve.setVisible(view.can_shelve)
        self.seen.setText(view.seen)
        self.seen.setVisible(bool(view.seen))
        self.setAccessibleName(f"{view.look.word}: {view.title}. {view.step}")
        if self.ask_why.isChecked():
            self._explain(view)

    @Slot(bool)
    def _unfold(self, unfolded: bool) -> None:  # noqa: FBT001 (a slot)
        if unfolded and self._view is not None:
            self._explain(self._view)
        self.reasons.setVisible(unfolded)

    def _explain(self, view: FlagView) -> None:
        """Write the reasons anew; only what is unfolded is worth it."""
        while (item := self._reasons.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        texts = [
            Text(view.why, Size.SMALL, wrapped=True),
            Text(view.since, Size.SMALL, tone=Tone.SOFT, wrapped=True),
            *(CautionLine(caution) for caution in view.cautions),
            Text(view.source, Size.TINY, tone=Tone.SOFT, wrapped=True),
        ]
        self._reasons.addWidget(Hairline())
        for text in texts:
            text.setMinimumWidth(1)
            self._reasons.addWidget(text)

    @Slot()
    def _answer(self) -> None:
        if self._view is not None:
            self.answered.emit(self._view.flag)

    @Slot()
    def _acknowledge(self) -> None:
        if self._view is not None:
            self.acknowledged.emit(*self._view.key)

    @Slot()
    def _shelve(self) -> None:
        if self._view is not None:
            self.shelve_asked.emit(self._view.flag)
