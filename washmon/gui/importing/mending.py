"""Mending single cells of a log in its preview; the file itself stays as it is."""

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.importing.columns_row import field_names
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.sheet_spec import FieldKind, FieldSpec, SheetSpec, TypedEntry
from washmon.sessions.imported.heads import LogRow
from washmon.sessions.imported.log import Log
from washmon.sessions.imported.log_columns import Holds, LogField


class Mending(QObject):
    """Shows the cells of one row that are read, to be written otherwise.

    Signals:
        mended(int, object): the number of the row, and all its cells as they are now.
    """

    mended = Signal(int, object)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._row = LogRow(0, ())
        self.sheet = EntrySheet(parent)
        self.sheet.submitted.connect(self._submit)

    def open(self, row: LogRow, log: Log, fields: dict[int, Holds]) -> None:
        """Ask for the cells of a row."""
        self._row = row
        names = dict(field_names())
        asked = tuple(
            FieldSpec(
                str(at),
                log.heads[at] if at < len(log.heads) and log.heads[at] else names[field],
                kind=FieldKind.TEXT,
                value=row.cells[at].strip() if at < len(row.cells) else "",
            )
            for at, field in fields.items()
            if field is not LogField.SKIP
        )
        title = tr("Row {number} of {name}", number=row.number, name=log.name)
        note = tr("The file stays as it is: only this import reads the row like this.")
        self.sheet.open(SheetSpec(title, asked, note=note, save=tr("Read it like this")))

    @Slot(object)
    def _submit(self, typed: TypedEntry) -> None:
        places = {int(key): text for key, text in typed.values.items()}
        width = max([len(self._row.cells), *(at + 1 for at in places)])
        cells = [*self._row.cells, *[""] * (width - len(self._row.cells))]
        for at, text in places.items():
            cells[at] = text
        self.sheet.shut()
        self.mended.emit(self._row.number, tuple(cells))
