"""One finding: what is so, its numbers and source, what answers it, and who has seen it.

Flags that are put aside for a while: one quiet line that says how many, unfolded on request.
"""

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.board.board_words import unbroken
from washmon.gui.board.panel_views import FlagView, ShelvedView
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.state_mark import StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size

_MARK_PX = 20


class FindingCard(Card):
    """Shows a ``FlagView``; tells when it was seen, or is to be shelved."""

    acknowledged = Signal(int, str)
    shelve_asked = Signal(object)

    def __init__(self, view: FlagView, parent: QWidget | None = None) -> None:
        super().__init__(parent, margin_px=10)
        self._view = view
        self.mark = StateMark(view.look, _MARK_PX)
        self.title = Text("", Size.BODY, bold=True, wrapped=True)
        self.why = Text("", Size.SMALL, wrapped=True)
        self.answered = Text("", Size.SMALL, bold=True, wrapped=True)
        self.since = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.seen = Text("", Size.SMALL, tone=Tone.SOFT)
        self.source = Text("", Size.TINY, tone=Tone.SOFT, wrapped=True)
        self.see = PressButton(tr("Seen"), Rank.SECONDARY, then=self._acknowledge)
        self.shelve = PressButton(tr("Shelve…"), Rank.SECONDARY, then=self._shelve)
        self._lay_out()
        self._write(view)

    def _lay_out(self) -> None:
        words = vbox(gap_px=4)
        for label in (
            self.title,
            self.why,
            self.answered,
            self.since,
            self.seen,
            self.source,
        ):
            label.setMinimumWidth(1)  # wrapped text can be as narrow as the sheet
            words.addWidget(label)
        buttons = vbox(gap_px=8)
        for button in (self.see, self.shelve):
            button.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
            buttons.addWidget(button)
        buttons.addStretch(1)
        row = hbox((self.mark, 0, Qt.AlignmentFlag.AlignTop), (words, 1), buttons, gap_px=8)
        self.body.addLayout(row)

    @property
    def view(self) -> FlagView:
        """What is shown."""
        return self._view

    def show_view(self, view: FlagView) -> None:
        """Show a finding; does nothing when it is the same."""
        if view != self._view:
            self._view = view
            self._write(view)

    def _write(self, view: FlagView) -> None:
        self.show_look(view.look)
        self.mark.show_look(view.look)
        self.title.setText(view.title)
        self.why.setText(unbroken(view.why))
        answer = tr("Answered by: {step}", step=view.answered) if view.answered else ""
        self.answered.setText(unbroken(answer))
        self.answered.setVisible(bool(answer))
        self.since.setText(view.since)
        self.seen.setText(view.seen)
        self.seen.setVisible(bool(view.seen))
        self.source.setText(view.source)
        self.source.setVisible(bool(view.source))
        self.see.setVisible(view.can_acknowledge)
        self.shelve.setVisible(view.can_shelve)
        self.setAccessibleName(f"{view.look.word}: {view.title}. {view.why}")

    @Slot()
    def _acknowledge(self) -> None:
        self.acknowledged.emit(*self._view.key)

    @Slot()
    def _shelve(self) -> None:
        self.shelve_asked.emit(self._view.flag)


class ShelvedRow(Card):
    """One of them: what, until when, who, why; and the way back."""

    brought_back = Signal(int, str)

    def __init__(self, view: ShelvedView, parent: QWidget | None = None) -> None:
        super().__init__(parent, margin_px=8)
        self.view = view
        self.back = PressButton(tr("Bring back"), Rank.SECONDARY, then=self._bring_back)
        self.back.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.back.setVisible(view.can_bring_back)
        words = vbox(gap_px=2)
        for text in (
            Text(view.title, Size.SMALL, bold=True, wrapped=True),
            Text(view.told, Size.SMALL, tone=Tone.SOFT, wrapped=True),
        ):
            text.setMinimumWidth(1)
            words.addWidget(text)
        row = hbox((words, 1), self.back, gap_px=6)
        self.body.addLayout(row)
        self.setAccessibleName(f"{view.title}, {view.told}")

    @Slot()
    def _bring_back(self) -> None:
        self.brought_back.emit(*self.view.key)


class ShelvedList(QWidget):
    """Passes on which flag is wanted back; nothing is shown where nothing is shelved."""

    brought_back = Signal(int, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: list[ShelvedRow] = []
        self.head = PressButton("", Rank.QUIET, then=self._unfold)
        self._inside = QWidget()
        self._stack = vbox(on=self._inside, gap_px=6)
        vbox(self.head, self._inside, on=self, gap_px=6)
        self._inside.hide()
        self.hide()

    @Slot()
    def _unfold(self) -> None:
        self._inside.setVisible(self._inside.isHidden())

    @property
    def rows(self) -> list[ShelvedRow]:
        """What is shelved, the most urgent first."""
        return list(self._rows)

    def show_shelved(self, views: tuple[ShelvedView, ...]) -> None:
        """Show these; does nothing when they are the same."""
        if views == tuple(row.view for row in self._rows):
            return
        for row in self._rows:
            self._stack.removeWidget(row)
            row.hide()
            row.deleteLater()
        self._rows = [ShelvedRow(view, self._inside) for view in views]
        for row in self._rows:
            row.brought_back.connect(self.brought_back)
            self._stack.addWidget(row)
        self.head.set_label(tr("Shelved ({count})", count=len(views)))
        self.setVisible(bool(views))
