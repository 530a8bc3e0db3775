"""Choices that may be unanswered: toggles in a row, and cards that explain themselves."""

from collections.abc import Callable, Iterable

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal, Slot
from PySide6.QtGui import QMouseEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QGridLayout,
    QRadioButton,
    QSizePolicy,
    QWidget,
)

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, add
from washmon.gui.kit.buttons import ChoiceRow
from washmon.gui.kit.card import Card
from washmon.gui.kit.text import Text, Tone, Weight
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide.fields import GuideField

_CARD_PX = 330
"""An answer is as wide as this where it stands beside another."""


def let_tab_find(chosen: QAbstractButton | None, offered: Iterable[QAbstractButton]) -> None:
    """Let Tab stop at what is chosen, or at each while nothing is; arrows go on from there."""
    for button in offered:
        found = chosen is None or button is chosen
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus if found else Qt.FocusPolicy.ClickFocus)


class ToggleField(GuideField):
    """A few short answers side by side; ``of`` makes a value of a key that is not empty."""

    def __init__(
        self,
        caption: str,
        choices: tuple[tuple[str, str], ...],
        hint: str = "",
        parent: QWidget | None = None,
        *,
        of: Callable[[str], object] = str,
    ) -> None:
        super().__init__(caption, hint, parent)
        self._of = of
        self.row = ChoiceRow(choices, parent=self)
        self._keys = [key for key, _ in choices]
        for key in self._keys:
            self.row.button(key).installEventFilter(self)
        self._hold(self.row, read=lambda: self.row.selected, write=self._choose)
        self._let_tab_find()
        self.row.chosen.connect(self._tell_chosen)

    def read(self) -> object:
        """Return what is chosen."""
        return self._of(self.text) if self.text else None

    def _choose(self, key: str) -> None:
        self.row.choose(key)
        self._let_tab_find()

    def _let_tab_find(self) -> None:
        chosen = self.row.button(self.text) if self.text else None
        let_tab_find(chosen, [self.row.button(key) for key in self._keys])
        self.setFocusProxy(chosen or self.row.button(self._keys[0]))

    def focus(self) -> None:
        """Take the keyboard on the chosen answer, or the first."""
        self.row.button(self.text or self._keys[0]).setFocus()
        self.come_into_sight()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Notice when the keyboard leaves the row altogether."""
        if event.type() is QEvent.Type.FocusOut and not self.row.hasFocus():
            inside = self.isAncestorOf(self.window().focusWidget() or self.window())
            if not inside:
                self._leave()
        return super().eventFilter(watched, event)

    @Slot()
    def _tell_chosen(self) -> None:
        self._let_tab_find()
        super()._tell_chosen()


YES, NO = "yes", "no"


class YesNoField(ToggleField):
    """A question that is answered by yes or no."""

    def __init__(self, caption: str) -> None:
        super().__init__(caption, ((YES, tr("Yes")), (NO, tr("No"))))

    def read(self) -> bool:
        """Return whether it is so."""
        return self.text == YES

    def put(self, value: object) -> None:
        """Show whether it is so."""
        super().put(YES if value else NO)


class AnswerCard(Card):
    """One answer with what it means below; a press anywhere on it chooses it."""

    def __init__(self, title: str, meaning: str, parent: QWidget | None = None) -> None:
        super().__init__(parent, margin_px=10)
        self.body.setSpacing(0)
        self.radio = QRadioButton(title.replace("&", "&&"), self)
        self.radio.setFont(theme.font(Size.BODY, Weight.DemiBold))
        self.radio.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.radio.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.body.addWidget(self.radio)
        self.meaning = Text(meaning, Size.SMALL, tone=Tone.SOFT, wrapped=True, parent=self)
        self.meaning.setContentsMargins(36, 0, 0, 0)
        add(self.body, self.meaning, STRETCH)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self.setMinimumWidth(1)  # the field has as many columns as there is room for
        self.radio.setAccessibleDescription(meaning)

    def sizeHint(self) -> QSize:
        """Keep the card easy to hit."""
        return super().sizeHint().expandedTo(QSize(0, 64))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Choose this answer."""
        if event.button() is Qt.MouseButton.LeftButton:
            self.radio.setFocus()
            self.radio.click()


class AnswerField(GuideField):
    """A question whose answers need a sentence each; nothing is chosen until somebody does."""

    chosen = Signal(str)

    def __init__(
        self, caption: str = "", *, columns: int = 1, parent: QWidget | None = None
    ) -> None:
        super().__init__(caption, "", parent)
        self._columns = self._across = columns
        self._holder = QWidget(self)
        self._grid = QGridLayout(self._holder)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(6)
        self._group = QButtonGroup(self)
        self.cards: dict[str, AnswerCard] = {}
        self._column.insertWidget(1, self._holder)
        self._target, self._get, self._set = self._holder, self._chosen_key, self._choose
        self._group.buttonClicked.connect(self._tell_chosen)

    def add(self, key: str, title: str, meaning: str) -> AnswerCard:
        """Offer one more answer."""
        card = AnswerCard(title, meaning, self._holder)
        self._group.addButton(card.radio)
        self.cards[key] = card
        self._place_cards()
        return card

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Set the answers below each other where they find no room side by side."""
        super().resizeEvent(event)
        across = self._columns if self.width() >= self._columns * _CARD_PX else 1
        if across != self._across:
            self._across = across
            self._place_cards()

    def _place_cards(self) -> None:
        for at, card in enumerate(self.cards.values()):
            self._grid.addWidget(card, at // self._across, at % self._across)
        for column in range(self._columns):
            self._grid.setColumnStretch(column, int(column < self._across))

    def _chosen_key(self) -> str:
        return next((key for key, card in self.cards.items() if card.radio.isChecked()), "")

    def read(self) -> str | None:
        """Return the key of what is chosen."""
        return self.text or None

    def _choose(self, key: str) -> None:
        """Choose a key; an unknown one leaves nothing chosen."""
        self._group.setExclusive(False)
        for name, card in self.cards.items():
            card.radio.setChecked(name == key)
        self._group.setExclusive(True)
        self._let_tab_find()

    def _let_tab_find(self) -> None:
        let_tab_find(self._group.checkedButton(), self._group.buttons())

    def focus(self) -> None:
        """Take the keyboard on the chosen answer, or the first that is offered."""
        offered = [card for card in self.cards.values() if not card.isHidden()]
        first = self.cards.get(self.text, offered[0] if offered else None)
        if first is not None:
            first.radio.setFocus()
        self.come_into_sight()

    @Slot()
    def _tell_chosen(self) -> None:
        self._let_tab_find()
        self.chosen.emit(self.text)
        super()._tell_chosen()
