"""What an entry sheet is made of, and how it lies over the lower half of its parent."""

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.anyway import AnywayButton
from washmon.gui.kit.boxes import STRETCH, hbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.field_grid import FieldArea, FieldGrid
from washmon.gui.kit.letter_keys import SHEET
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.number_pad import NumberPad
from washmon.gui.kit.offer_row import OfferRow
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size

_HEIGHT_PX = 430
_WITH_SIDE_PX = 1180
"""So wide is a sheet that has room for something beside its fields."""
_SIDE_PX = 400
_MARGIN_PX, _BETWEEN_PX = 20, 24


class SheetFrame(QFrame):
    """Title, note, fields, message, number pad and buttons; at the left what was lent to it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName(SHEET)
        self._over = parent
        self._side: QWidget | None = None
        self._wants_side = False
        self.title = Text("", Size.TITLE, bold=True)
        self.note = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.meaning = Text("", Size.BODY, tone=Tone.HAND, wrapped=True)
        self.grid = self.make_grid()
        self.area = FieldArea(self.grid)
        self.offers = OfferRow()
        self.message = MessageLine()
        self.pad = NumberPad()
        self.save = PressButton(tr("Save"), Rank.PRIMARY)
        self.leave = PressButton(tr("Leave"), Rank.SECONDARY, "Esc", bound=False)
        self.anyway = AnywayButton(tr("Save it all the same"))
        self._lay_out()
        self.meaning.hide()
        parent.installEventFilter(self)
        self.hide()

    def make_grid(self) -> FieldGrid:
        """Return what lays the fields out."""
        return FieldGrid(self)

    def lend_side(self, side: QWidget) -> None:
        """Put something at the left, to be shown where :meth:`want_side` asks for it."""
        self._side = side
        self._row.insertWidget(0, side)
        side.setVisible(False)

    def want_side(self, *, wanted: bool) -> None:
        """Show what was lent, where there is room for it."""
        if wanted is not self._wants_side:
            self._wants_side = wanted
            self._fit()

    @property
    def _roomy(self) -> bool:
        return self._side is not None and self._over.width() >= theme.px(_WITH_SIDE_PX)

    def column_px(self) -> int:
        """Return how wide the fields have it, with what may be shown beside them."""
        beside = theme.px(_SIDE_PX) + _BETWEEN_PX if self._roomy else 0
        pad = 0 if self.pad.isHidden() else _BETWEEN_PX + self.pad.sizeHint().width()
        around = 2 * _MARGIN_PX + pad
        return self._over.width() - around - beside

    def call_it(self, title: str) -> None:
        """Say what it is for, to eyes and ears."""
        self.title.setText(title)
        self.setAccessibleName(title)

    def put_away(self) -> None:
        """Hide; the keyboard goes to what lies under it, and nowhere else."""
        focus = self.window().focusWidget()
        if focus is not None and self.isAncestorOf(focus):
            self._over.setFocus()
        self.hide()

    def say_meaning(self, words: str) -> None:
        """Say in one line under the fields what the values would mean."""
        if words != self.meaning.text():
            self.meaning.setText(words)
            self.setAccessibleDescription(words)
            self.meaning.setVisible(bool(words))
            self._fit()

    def _lay_out(self) -> None:
        self._head = hbox(self.title, STRETCH, gap_px=16)
        foot = hbox(self.anyway, (self.message, 1), self.save, self.leave, gap_px=8)
        self._column = column = QVBoxLayout()
        column.setSpacing(10)
        column.addLayout(self._head)
        for widget in (self.note, self.area, self.offers, self.meaning):
            column.addWidget(widget)
        column.addStretch(1)
        column.addLayout(foot)
        self._row = hbox(
            (column, 1),
            self.pad,
            on=self,
            gap_px=_BETWEEN_PX,
            margins_px=(_MARGIN_PX, 14, _MARGIN_PX, 16),
        )
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # a click beside a field leaves it its focus

    def _fit(self) -> None:
        """Cover the lower half of the parent: less where it is tall, more if fields need it."""
        room = self._over.rect()
        if self._side is not None:
            self._side.setFixedWidth(theme.px(_SIDE_PX))
            self._side.setVisible(self._wants_side and self._roomy)
        # The width first: it decides into how many lines the fields break.
        self.resize(room.width(), self.height())
        self._row.activate()
        for one in (self.grid, self.area):  # what is around may remember other lines than these
            one.updateGeometry()
        self._row.activate()
        half = min(room.height() // 2, theme.px(_HEIGHT_PX))
        needed = max(self.sizeHint().height(), self.heightForWidth(room.width()))
        height = min(max(half, needed), room.height())
        self.setGeometry(0, room.height() - height, room.width(), height)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the lower half of the parent."""
        if watched is self._over and event.type() is QEvent.Type.Resize and self.isVisible():
            self._fit()
        return False
