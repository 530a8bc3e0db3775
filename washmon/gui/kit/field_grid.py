"""Lays the fields of a sheet out in as many columns as there is room for."""

from collections.abc import Callable

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QScrollArea, QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.entry_field import EntryField
from washmon.gui.kit.sheet_spec import FieldKind, FieldSpec

_COLUMN_PX = 138
_GAP_PX = 12
_LEAST_PX = 80
_LONG_PX = 170  # a number whose name and hint need more takes two columns


class FieldArea(QScrollArea):
    """Shows a grid as tall as it likes to be, and scrolls it where there is less room."""

    def __init__(self, grid: "FieldGrid", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._fields = grid
        grid.setObjectName("scrolled")
        self.setWidget(grid)
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the fields into as many columns as there is room for."""
        self._fields.break_at(self.viewport().width())
        super().resizeEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave the arrows to the sheet: they walk through the fields."""
        event.ignore()

    def sizeHint(self) -> QSize:
        """Return all that the grid needs at the width that it has."""
        hint = self._fields.sizeHint()
        if self._fields.hasHeightForWidth():
            hint.setHeight(self._fields.heightForWidth(max(self.width(), 1)))
        return hint

    def minimumSizeHint(self) -> QSize:
        """Return room for one field."""
        least = self._fields.minimumSizeHint().width()
        return QSize(least, min(self.sizeHint().height(), _LEAST_PX))


class FieldGrid(QWidget):
    """Holds ``EntryField``s by key, in the order in which Enter walks them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.fields: dict[str, EntryField] = {}
        self._columns = 0
        self._room_px = 0
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(_GAP_PX)
        self._grid.setVerticalSpacing(8)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)

    def ask(
        self,
        specs: tuple[FieldSpec, ...],
        typed: dict[str, str],
        entered: Callable[[EntryField], None],
        edited: Callable[[], None],
    ) -> None:
        """Make the fields of ``specs``; keep in them what was ``typed`` already."""
        for old in self.fields.values():
            old.hide()
            self._grid.removeWidget(old)
            old.deleteLater()
        self.fields = {spec.key: EntryField(spec, self) for spec in specs}
        before: EntryField | None = None
        for key, field in self.fields.items():
            if typed.get(key):
                field.put(typed[key])
            field.entered.connect(entered)
            field.edited.connect(edited)
            if before is not None:
                QWidget.setTabOrder(before.input, field.input)
            before = field
        self._columns = 0
        self._arrange()

    @property
    def is_measured(self) -> bool:
        """Whether Enter visits any number."""
        specs = (field.spec for field in self.fields.values())
        return any(spec.kind is FieldKind.NUMBER and not spec.aside for spec in specs)

    def missing(self) -> dict[str, str]:
        """Return a sentence for each field that is needed and empty, by its key."""
        return {
            key: tr("Needed: type a value.") if field.spec.choices == () else tr("Choose one.")
            for key, field in self.fields.items()
            if field.spec.required and not field.text
        }

    def break_at(self, width_px: int) -> None:
        """Break into lines again when the room has changed."""
        self._room_px = width_px
        self._arrange()

    def _arrange(self) -> None:
        columns = max(1, (self._room_px + _GAP_PX) // (_COLUMN_PX + _GAP_PX))
        if columns == self._columns:
            return
        for at in range(max(columns, self._columns)):
            self._grid.setColumnStretch(at, 1 if at < columns else 0)
            self._grid.setColumnMinimumWidth(at, _COLUMN_PX if at < columns else 0)
        self._columns = columns
        row = column = 0
        for field in self.fields.values():
            span = min(self._span(field), columns)
            if column + span > columns:
                row, column = row + 1, 0
            self._grid.addWidget(field, row, column, 1, span, Qt.AlignmentFlag.AlignTop)
            field.show()
            column += span

    def _span(self, field: EntryField) -> int:
        if field.spec.kind is FieldKind.TEXT:
            return 3
        if field.spec.kind is FieldKind.CHOICE:
            return -(-(field.sizeHint().width() + _GAP_PX) // (_COLUMN_PX + _GAP_PX))
        return 2 if field.head_px > _LONG_PX else 1
