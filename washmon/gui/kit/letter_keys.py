"""A keyboard of the window's own, for who has no other at hand.

It types into whatever has the keyboard, as a real one would, so that every field, list and check
behaves the same. It never takes the focus itself.
"""

from collections.abc import Iterator

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, QSize, Qt, Signal, Slot
from PySide6.QtGui import QColor, QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QApplication, QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import hbox, vbox
from washmon.gui.kit.buttons import TOUCH_PX, PressButton, Rank
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size

SHEET = "sheet"
"""The name of a sheet: its fields, offers and Save belong together."""
_SPACE, _ERASE, _SHIFT, _DONE, _ACCENTS = " ", "erase", "shift", "done", "accents"
ROWS: tuple[tuple[str, ...], ...] = (
    (*"1234567890", _ERASE),
    (*"qwertyuiop", "-"),
    (_SHIFT, *"asdfghjkl", "/"),
    (*"zxcvbnm", ",", ".", _ACCENTS, _SPACE, _DONE),
)
"""Four rows only: the smallest window has room for them and a field, wherever it stands."""
ACCENTED = dict(
    zip(
        "qwertyuiop-asdfghjkl/zxcvbnm,.",
        "áéíóúñüçãõßàèìòùâêîôûäëïöœæÿ¿¡",
        strict=True,
    )
)
"""What the keys stand for on their second page: names and lots in Spanish, French, German and
Portuguese."""
GAP_PX = 8
_MARGIN_PX, _AROUND_PX = 6, 8
_WIDEST_PX = 1180
_STRETCH = {_SPACE: 5, _DONE: 4, _ERASE: 4, _SHIFT: 4, _ACCENTS: 3}


class LetterKeys(QWidget):
    """Lies over the window's lower end, or its upper one where the field stands low.

    Signals:
        done(): whoever types has finished.
    """

    done = Signal()

    def __init__(self, over: QWidget) -> None:
        super().__init__(over)
        self.keys: dict[str, PressButton] = {}
        self._shifted = self._accented = False
        self._field: QWidget | None = None
        column = vbox(on=self, gap_px=GAP_PX, margins_px=_MARGIN_PX)
        for row in ROWS:
            line = hbox(*((self._key(sign), _STRETCH.get(sign, 2)) for sign in row), gap_px=GAP_PX)
            column.addLayout(line)
        over.installEventFilter(self)
        self.hide()

    def _key(self, sign: str) -> PressButton:
        words = {
            _SPACE: tr("Space"),
            _ERASE: tr("Erase"),
            _SHIFT: tr("Shift"),
            _DONE: tr("Done"),
            _ACCENTS: "áñü",
        }
        named = sign in words
        key = PressButton(
            words.get(sign, sign),
            Rank.PRIMARY if sign == _DONE else Rank.KEY,
            parent=self,
            then=self._press,
        )
        key.setObjectName(sign)
        key.setFont(theme.font(Size.BODY if named else Size.TITLE, Weight.DemiBold))
        key.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        key.setMinimumWidth(TOUCH_PX)
        key.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        key.setAutoRepeat(sign == _ERASE)
        key.setCheckable(sign in {_SHIFT, _ACCENTS})
        if sign == _ACCENTS:
            key.setAccessibleName(tr("Letters with accents"))
        self.keys[sign] = key
        return key

    @property
    def field(self) -> QWidget | None:
        """What is typed into."""
        return self._field if self.isVisible() else None

    def open_for(self, field: QWidget) -> None:
        """Show the keys where they do not cover ``field``."""
        self._field = field
        self._turn(shifted=False, accented=False)
        self._place()
        self.show()
        self.raise_()

    def shut(self) -> None:
        """Take the keys away; the field keeps the keyboard."""
        self._field = None
        self.hide()

    def _place(self) -> None:
        over = self.parentWidget()
        if over is None or self._field is None:
            return
        width = min(over.width(), theme.px(_WIDEST_PX))
        height = self.sizeHint().height()
        left = (over.width() - width) // 2
        high = QRect(left, 0, width, height)
        low = high.translated(0, over.height() - height)
        for shown in _left_in_sight(self._field):
            place = QRect(shown.mapTo(over, QPoint(0, 0)), shown.size())
            free = [one for one in (low, high) if not one.intersects(place)]
            if free:
                break
        self.setGeometry(free[0] if free else low)

    def sizeHint(self) -> QSize:
        """Return four rows of keys that a wet finger hits."""
        side = max(TOUCH_PX, QFontMetrics(theme.font(Size.TITLE)).height() + _AROUND_PX)
        height = len(ROWS) * (side + GAP_PX) - GAP_PX + 2 * _MARGIN_PX
        return QSize(super().sizeHint().width(), height)

    @Slot()
    def _press(self) -> None:
        sign = self.sender().objectName()
        if sign == _DONE:
            self.shut()
            self.done.emit()
        elif sign == _SHIFT:
            self._turn(shifted=not self._shifted, accented=self._accented)
        elif sign == _ACCENTS:
            self._turn(shifted=self._shifted, accented=not self._accented)
        elif sign == _ERASE:
            self._type(Qt.Key.Key_Backspace, "")
        else:
            text = self._meant(sign)
            is_plain = text.isascii()
            self._type(Qt.Key(ord(sign.upper())) if is_plain else Qt.Key.Key_unknown, text)
            self._turn(shifted=False, accented=self._accented and is_plain)

    def _type(self, key: Qt.Key, text: str) -> None:
        if self._field is None:
            return
        shift = text != text.lower()
        held = Qt.KeyboardModifier.ShiftModifier if shift else Qt.KeyboardModifier.NoModifier
        for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
            QApplication.sendEvent(self._field, QKeyEvent(kind, key, held, text))

    def _meant(self, sign: str) -> str:
        """Return what a key types by now; a letter that has no capital stays small."""
        said = ACCENTED.get(sign, sign) if self._accented else sign
        large = said.upper() if self._shifted else said
        return large if len(large) == 1 else said

    def _turn(self, *, shifted: bool, accented: bool) -> None:
        """Show capitals or accents; after one letter it is as before again."""
        self._shifted, self._accented = shifted, accented
        self.keys[_SHIFT].setChecked(shifted)
        self.keys[_ACCENTS].setChecked(accented)
        for sign, key in self.keys.items():
            if sign in ACCENTED:
                key.set_label(self._meant(sign))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the window's size."""
        if event.type() is QEvent.Type.Resize and watched is self.parentWidget():
            self._place()
        return False

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the ground that they stand on."""
        shades = theme.current()
        painter = QPainter(self)
        painter.setPen(QPen(QColor(shades.hand), 2))
        painter.setBrush(QColor(shades.paper))
        painter.drawRect(self.rect().adjusted(1, 1, -1, -1))


def _left_in_sight(field: QWidget) -> Iterator[QWidget]:
    """Yield what the keys should not cover, the most first: never the field itself."""
    label = around = field.parentWidget()
    while around is not None and around.objectName() != SHEET:
        around = around.parentWidget()
    yield around or field  # what a sheet offers for the field, too
    yield label or field
    yield field
