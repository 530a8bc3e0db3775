"""One part of a record: the rows that deviate, the others under a button.

The record of a shift in parts, each with the rows in it that deviate.
"""

from typing import NamedTuple

from PySide6.QtCore import Qt, QTimer, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, hbox, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.logbook.shift_tables import listing
from washmon.gui.logbook.table import FactsModel, FactsTable, Listing
from washmon.line.deviating import Deviations, asked_for_an_act
from washmon.line.events import ReadingTaken
from washmon.line.kinds import LISTED_ACTIONS
from washmon.line.state import ShiftState
from washmon.reports.lines import lines
from washmon.reports.record_lists import LISTS
from washmon.reports.record_view import batch_rows, flag_rows


class RecordPart(NamedTuple):
    """All rows of one kind; ``deviating`` are the places of those that deviate."""

    key: str
    words: str
    listing: Listing
    deviating: tuple[int, ...]


def parts_of(shift: ShiftState, found: Deviations, person: UserContext) -> tuple[RecordPart, ...]:
    """Return the parts of a record, as the Logbook lists them."""
    deviating = {
        "readings": [line.seq in found.readings for line in lines(shift, ReadingTaken)],
        "flags": [asked_for_an_act(record) for record in flag_rows(shift)],
        "batches": [row.line.seq in found.batches for row in batch_rows(shift)],
        "actions": [line.seq in found.actions for line in lines(shift, *LISTED_ACTIONS)],
    }
    return tuple(
        _part(key, listing(LISTS[key], shift, person), deviating.get(key))
        for key in ("holds", "readings", "flags", "corrections", "batches", "actions")
    )


def _part(key: str, rows: Listing, deviates: list[bool] | None) -> RecordPart:
    """Return a part; of holds and corrections each deviates."""
    places = (
        range(len(rows.rows))
        if deviates is None
        else (at for at, one in enumerate(deviates) if one)
    )
    return RecordPart(key, tr(LISTS[key].title), rows, tuple(places))


_BORDER_PX = 4


class Unfolding(QWidget):
    """As high as its rows: the page around it scrolls."""

    def __init__(self, part: RecordPart, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._part = part
        self._whole = False
        deviating, rows = len(part.deviating), len(part.listing.rows)
        self.mark = StateMark(MarkState.ACT if deviating else MarkState.IN_LIMITS, 18, self)
        self.words = Text(_said(part.words, rows, deviating), bold=bool(deviating), parent=self)
        self.words.set_tone(Tone.PLAIN if deviating else Tone.SOFT)
        self.more = PressButton("", Rank.QUIET, parent=self, then=self._turn)
        self.more.setVisible(rows > deviating)
        self.model = FactsModel(part.listing.heads, self)
        self.table = FactsTable(self.model, parent=self)
        self.table.setAccessibleName(part.words)
        self.table.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        vbox(
            hbox(self.mark, self.words, self.more, STRETCH, gap_px=8), self.table, on=self, gap_px=2
        )
        self._soon = QTimer(self, singleShot=True, interval=0)
        self._soon.timeout.connect(self._grow)
        self.table.verticalHeader().sectionResized.connect(self._soon.start)
        self._show()

    @Slot()
    def _turn(self) -> None:
        self._whole = not self._whole
        self._show()

    def _show(self) -> None:
        rows = self._part.listing.rows
        shown = rows if self._whole else tuple(rows[at] for at in self._part.deviating)
        self.model.show_rows(shown)
        self.table.setVisible(bool(shown))
        hidden = len(rows) - len(self._part.deviating)
        if self._whole:
            self.more.set_label(tr("Fold"))
        elif self._part.deviating:
            self.more.set_label(tr("Show the other {count}", count=hidden))
        else:
            self.more.set_label(tr("Show"))
        self.more.setAccessibleName(f"{self._part.words}: {self.more.label}")
        self._grow()

    @Slot()
    def _grow(self) -> None:
        head = self.table.horizontalHeader().sizeHint().height()
        across = self.table.horizontalScrollBar()
        bar = across.sizeHint().height() if across.maximum() > across.minimum() else 0
        self.table.setFixedHeight(head + self.table.verticalHeader().length() + bar + _BORDER_PX)


def _said(words: str, rows: int, deviating: int) -> str:
    if not rows:
        return tr("{what}: none", what=words)
    if deviating == rows:
        return tr("{what}: {count}", what=words, count=rows)
    if not deviating:
        return tr("{what}: {count}, nothing deviates", what=words, count=rows)
    if deviating == 1:
        return tr("{what}: {count}, 1 deviates", what=words, count=rows)
    return tr("{what}: {count}, {some} deviate", what=words, count=rows, some=deviating)
