"""The lists of a shift's record on the screen: verdicts as marks and tones."""

from typing import Any

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Tone
from washmon.gui.logbook import table
from washmon.gui.logbook.table import Listing
from washmon.line.state import ShiftState
from washmon.reports.record_columns import Medium, RecordCell, RecordList, Teller, laid_out


def listing(listed: RecordList[Any], shift: ShiftState, person: UserContext) -> Listing:
    """Return a list as a table to read."""
    rows = listed.rows(shift)
    columns, cells = laid_out(listed, rows, Teller(shift, person), Medium.SCREEN)
    heads = tuple(tr(one.head) for one in columns)
    return Listing(heads, tuple(tuple(_painted(cell) for cell in row) for row in cells))


def _painted(cell: RecordCell) -> table.Cell:
    """Return a cell; one that has a verdict and no words is named by its mark."""
    if cell.verdict is None:
        tone = Tone.SOFT if cell.is_aside else Tone.PLAIN
        return table.Cell(cell.words, tone, number=cell.is_number)
    look = MarkState(cell.verdict)
    tone = Tone.WATCH if look is MarkState.UNKNOWN else look.tone
    return table.Cell(cell.words or look.word, tone, look)
