"""Words that can be taken into a text field by one press, each with a key of its own."""

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QWidget

from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.text import plain_tip

MOST = 4
_ACROSS = 2
_GAP_PX = 8


class OfferRow(QWidget):
    """Keeps its height while it offers more or less, so that nothing moves under a hand.

    Signals:
        taken(str): these words were chosen.
    """

    taken = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words: tuple[str, ...] = ()
        self.buttons: list[PressButton] = []
        self._grid = grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(_GAP_PX)
        for at in range(MOST):
            button = PressButton(
                "", Rank.KEY, f"Alt+{at + 1}", key_first=True, parent=self, then=self._take
            )
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # the field keeps the keyboard
            button.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
            button.setObjectName(str(at))
            self.buttons.append(button)
        for place in range(_ACROSS):
            grid.setColumnStretch(place, 1)
            grid.setRowMinimumHeight(place, self.buttons[0].sizeHint().height())
        self.hide()

    def offer(self, words: tuple[str, ...]) -> None:
        """Offer these, as far as there is room."""
        self._words = words[:MOST]
        whole = len(self._words) <= MOST // _ACROSS  # each has a line of its own
        for at, button in enumerate(self.buttons):
            text = self._words[at] if at < len(self._words) else ""
            if not text:
                self._grid.removeWidget(button)
            elif whole:
                self._grid.addWidget(button, at, 0, 1, _ACROSS)
            else:
                self._grid.addWidget(button, at // _ACROSS, at % _ACROSS)
            button.set_label(text)
            button.setToolTip(plain_tip(text))
            button.setVisible(bool(text))

    @Slot()
    def _take(self) -> None:
        at = int(self.sender().objectName())
        if at < len(self._words):
            self.taken.emit(self._words[at])
