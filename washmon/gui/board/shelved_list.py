"""Flags that are put aside for a while: one quiet line that says how many, unfolded on request."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.board.panel_views import ShelvedView
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size


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
