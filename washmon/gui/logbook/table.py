"""A table to read: rows of cells with a mark, a tone, and words that wrap."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    Qt,
    QTimer,
    Signal,
    Slot,
)
from PySide6.QtGui import QColor, QFontMetrics, QIcon, QKeyEvent, QPainter, QPixmap
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QTableView,
    QWidget,
)

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.state_mark import MarkState, draw_mark
from washmon.gui.kit.text import Text, Tone, plain_tip
from washmon.gui.kit.theme import Size

_MARK_PX = 16
_BESIDE_PX = 18
"""What the style keeps free left and right of a cell's words."""
_WIDEST_PX = 420
_MEASURED_ROWS = 60
"""Rows that decide how wide a column is, so that ten years of shifts open as fast as one."""
_SHARP = 2
"""Pixels per pixel, for screens at 200 %."""
Index = QModelIndex | QPersistentModelIndex
_NOWHERE = QModelIndex()


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in one place; ``look`` puts a mark before the words, never colour alone."""

    text: str = ""
    tone: Tone = Tone.PLAIN
    look: MarkState | None = None
    number: bool = False
    """Set to the right, so that figures line up."""


Row = tuple[Cell, ...]


class Listing(NamedTuple):
    """Heads and rows of one table."""

    heads: tuple[str, ...]
    rows: tuple[Row, ...]


class FactsModel(QAbstractTableModel):
    """Heads and rows; rows are replaced as a whole."""

    def __init__(self, heads: Sequence[str] = (), parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.heads = tuple(heads)
        self.rows: tuple[Row, ...] = ()

    def show_rows(self, rows: Sequence[Row], heads: Sequence[str] | None = None) -> None:
        """Show these rows, under other heads if any are given."""
        self.beginResetModel()
        if heads is not None:
            self.heads = tuple(heads)
        self.rows = tuple(rows)
        self.endResetModel()

    def row(self, at: int) -> Row:
        """Return the cells of a row."""
        return self.rows[at]

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """Return the number of rows."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        """Return the number of columns."""
        return 0 if parent.isValid() else len(self.heads)

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> object:
        """Return a column's head."""
        if orientation is not Qt.Orientation.Horizontal or not 0 <= section < len(self.heads):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.heads[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            number = self.rowCount() > 0 and self.row(0)[section].number
            return _alignment(number=number)
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return what the view asks of a cell."""
        if not index.isValid():
            return None
        cell = self.row(index.row())[index.column()]
        match role:
            case Qt.ItemDataRole.DisplayRole | Qt.ItemDataRole.ToolTipRole:
                is_tip = role == Qt.ItemDataRole.ToolTipRole
                return plain_tip(cell.text) if is_tip else cell.text
            case Qt.ItemDataRole.TextAlignmentRole:
                return _alignment(number=cell.number)
            case Qt.ItemDataRole.ForegroundRole:
                return _ink(cell.tone)
            case Qt.ItemDataRole.DecorationRole:
                return None if cell.look is None else mark_icon(cell.look)
        return None


class FactsTable(QTableView):
    """Shows a model whose rows are as high as their words; Enter or a double click opens a row."""

    opened = Signal(int)

    def __init__(
        self,
        model: FactsModel,
        *,
        wraps: bool = True,
        stretched: int = -1,
        parent: QWidget | None = None,
    ) -> None:
        """``stretched`` is the column that takes the room that is left, the last by default."""
        super().__init__(parent)
        self._stretched = stretched
        self.setObjectName("facts")
        self.setModel(model)
        self.setFont(theme.font(Size.SMALL if wraps else Size.BODY, tabular=True))
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setShowGrid(False)
        self.setAlternatingRowColors(True)
        self.setWordWrap(wraps)
        self.setTabKeyNavigation(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self._set_heads(wraps=wraps)
        self.doubleClicked.connect(self._open)
        self._fit = QTimer(self, singleShot=True, interval=0)
        self._fit.timeout.connect(self._fit_rows)
        model.modelReset.connect(self._share_room)
        if wraps:
            model.modelReset.connect(self._fit.start)
            self.horizontalHeader().sectionResized.connect(self._fit.start)
        self._facts = model
        self._share_room()

    def _set_heads(self, *, wraps: bool) -> None:
        down = self.verticalHeader()
        down.hide()
        down.setMinimumSectionSize(32 if wraps else 44)
        down.setDefaultSectionSize(32 if wraps else 44)
        down.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        across = self.horizontalHeader()
        across.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        across.setMaximumSectionSize(_WIDEST_PX)
        across.setResizeContentsPrecision(_MEASURED_ROWS)
        across.setHighlightSections(False)
        across.setFont(theme.font(Size.SMALL))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open the row that is chosen."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self._open(self.currentIndex())
        else:
            super().keyPressEvent(event)

    @Slot()
    def _share_room(self) -> None:
        across = self.horizontalHeader()
        for at in range(across.count()):
            stretched = at == self._stretched % across.count()
            across.setSectionResizeMode(
                at,
                QHeaderView.ResizeMode.Stretch
                if stretched
                else QHeaderView.ResizeMode.ResizeToContents,
            )

    @Slot()
    def _fit_rows(self) -> None:
        """Make rows as high as their words; Qt's own way measures every cell, which is slow."""
        metrics = self.fontMetrics()
        last = self._stretched % self._facts.columnCount() if self._facts.columnCount() else 0
        narrow = {  # all others are as wide as their widest words
            at: self.columnWidth(at)
            for at in range(self._facts.columnCount())
            if at == last or self.columnWidth(at) >= _WIDEST_PX
        }
        usual = self.verticalHeader().defaultSectionSize()
        for at in range(self._facts.rowCount()):
            row = self._facts.row(at)
            heights = [_height(metrics, row[column], room) for column, room in narrow.items()]
            height = max(usual, *heights)
            if height != self.rowHeight(at):
                self.setRowHeight(at, height)

    @Slot(QModelIndex)
    def _open(self, index: QModelIndex) -> None:
        self.opened.emit(index.row())


class ListedPage(QWidget):
    """A table that says in its place when there is nothing to list; ``above`` takes more."""

    def __init__(self, nothing: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.model = FactsModel(parent=self)
        self.table = FactsTable(self.model, parent=self)
        self.table.setAccessibleName(tr("Entries"))
        self.nothing = Text(nothing, tone=Tone.SOFT, parent=self)
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.nothing.hide()
        self.above = vbox(gap_px=8)
        vbox(self.above, (self.nothing, 1), (self.table, 1), on=self, gap_px=8)

    def show_listing(self, listing: Listing) -> None:
        """Show these rows."""
        self.model.show_rows(listing.rows, listing.heads)
        self.nothing.setVisible(not listing.rows)
        self.table.setVisible(bool(listing.rows))


def _height(metrics: QFontMetrics, cell: Cell, column_px: int) -> int:
    """Return how high a cell's words stand in a column, with room around them."""
    room = column_px - _BESIDE_PX - (_MARK_PX + 6 if cell.look else 0)
    if room <= 0 or metrics.horizontalAdvance(cell.text) <= room:
        return 0
    flags = Qt.TextFlag.TextWordWrap.value
    return metrics.boundingRect(QRect(0, 0, room, 10_000), flags, cell.text).height() + 8


def mark_icon(look: MarkState) -> QIcon:
    """Return the mark of a state in the theme in force."""
    icon = QIcon()
    icon.addPixmap(_mark(look, behind=None), QIcon.Mode.Normal)
    # On a chosen row, which is dark, the mark stands on a disc of card.
    icon.addPixmap(_mark(look, behind=QColor(theme.current().card)), QIcon.Mode.Selected)
    return icon


def _mark(look: MarkState, *, behind: QColor | None) -> QPixmap:
    picture = QPixmap(_MARK_PX * _SHARP, _MARK_PX * _SHARP)
    picture.fill(Qt.GlobalColor.transparent)
    box = QRectF(0, 0, picture.width(), picture.height())
    painter = QPainter(picture)
    if behind is not None:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(behind)
        painter.drawEllipse(box)
        inset = box.width() * 0.14
        box = box.adjusted(inset, inset, -inset, -inset)
    draw_mark(painter, box, look)
    painter.end()
    return picture


def _alignment(*, number: bool) -> Qt.AlignmentFlag:
    side = Qt.AlignmentFlag.AlignRight if number else Qt.AlignmentFlag.AlignLeft
    return side | Qt.AlignmentFlag.AlignVCenter


def _ink(tone: Tone) -> QColor | None:
    shades = theme.current()
    shade = {
        Tone.SOFT: shades.soft_ink,
        Tone.HAND: shades.hand,
        Tone.WATCH: shades.watch_ink,
        Tone.ACT: shades.act_ink,
        Tone.STOP: shades.stop_ink,
    }.get(tone)
    return QColor(shade) if shade else None
