"""Large keys for wet fingers: digits, the locale's decimal sign, take back, go on."""

from math import ceil

from PySide6.QtCore import QLocale, QSize, Qt, Signal, Slot
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QGridLayout, QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size

_KEY_MM = 15.0
_GAP_PX = 6
_ERASE = "erase"
_NEXT = "next"


def key_px() -> int:
    """Return the side of a key: 15 mm on the main screen, as far as the system knows its size."""
    screen = QGuiApplication.primaryScreen()
    per_inch = screen.logicalDotsPerInch() if screen is not None else 96.0
    return ceil(_KEY_MM / 25.4 * per_inch)


class NumberPad(QWidget):
    """Keys that never take the focus from the field they type into."""

    typed = Signal(str)
    erased = Signal()
    went_on = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.decimal = QLocale().decimalPoint()
        self._group = QButtonGroup(self)
        self._keys: dict[str, PressButton] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(_GAP_PX)
        for row, signs in enumerate(("789", "456", "123")):
            for column, sign in enumerate(signs):
                grid.addWidget(self._key(sign, sign), row, column)
        grid.addWidget(self._key("0", "0"), 3, 0, 1, 2)
        grid.addWidget(self._key(self.decimal, self.decimal), 3, 2)
        grid.addWidget(self._key(_ERASE, tr("Erase")), 0, 3, 2, 1)
        grid.addWidget(self._key(_NEXT, tr("Next")), 2, 3, 2, 1)
        self._group.buttonClicked.connect(self._press)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        self.setMaximumHeight(round(key_px() * 6.5))

    def key(self, sign: str) -> PressButton:
        """The key of a digit or the decimal sign, of ``"erase"`` or ``"next"``."""
        return self._keys[sign]

    def name_next(self, word: str) -> None:
        """Say on the last key what it will do: go on, or save."""
        self._keys[_NEXT].set_label(word)

    def set_typing(self, *, possible: bool) -> None:
        """Dim the digits where there is nothing to type; going on stays possible."""
        for sign, key in self._keys.items():
            key.setEnabled(possible or sign == _NEXT)

    def _key(self, sign: str, word: str) -> PressButton:
        worded = sign in (_ERASE, _NEXT)
        rank = Rank.PRIMARY if sign == _NEXT else Rank.KEY
        key = PressButton(word, rank, parent=self)
        key.setFont(theme.font(Size.BODY if worded else Size.LARGE, Weight.DemiBold, tabular=True))
        key.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        side = key_px()
        key.setMinimumSize(QSize(round(side * (1.5 if worded else 1.15)), side))
        key.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Expanding)
        key.setAutoRepeat(sign == _ERASE)
        self._keys[sign] = key
        self._group.addButton(key)
        return key

    @Slot(QAbstractButton)
    def _press(self, button: QAbstractButton) -> None:
        sign = next(sign for sign, key in self._keys.items() if key is button)
        if sign == _ERASE:
            self.erased.emit()
        elif sign == _NEXT:
            self.went_on.emit()
        else:
            self.typed.emit(sign)
