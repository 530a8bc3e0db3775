"""A lot: every batch, tank, reading and action that touched it, in whichever shifts."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.board.board_words import batches_words
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext, decimal_point
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.confirm import leave_or_ask
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.export_bar import ExportBar, trouble_words
from washmon.gui.logbook.logbook_words import clock, day
from washmon.gui.logbook.sent_bar import Entered, SentBar
from washmon.gui.logbook.table import Cell, FactsTable, ListedPage, Listing, Row
from washmon.line.events import (
    BatchWashed,
    Event,
    HoldPlaced,
    HoldReleased,
    LotSent,
    ReadingTaken,
)
from washmon.line.fold import fold
from washmon.line.kinds import KINDS
from washmon.line.state import ShiftState
from washmon.recorder.tracing import LotWish
from washmon.reports.csv_export import suggested_name
from washmon.reports.lines import Line
from washmon.reports.lot_trace import InShift, in_shift
from washmon.reports.lots import LotRow
from washmon.rules.event_text import event_text
from washmon.store.shift import NameKind
from washmon.store.store import Store
from washmon.units import Kind

_OFFERED = 8
_LOWEST_PX = 110
_MOST_STEPS = 3
"""Shifts of a lot that are in sight at once, over all that touched it."""


class Traced(NamedTuple):
    """What was found of a lot; where nothing was, the lots whose numbers begin so."""

    code: str
    shifts: list[InShift]
    alike: list[str]


class LotPage(QWidget):
    """What touched a lot, to be opened where it stands.

    Signals:
        left(): back to the list.
        opened(str, str): the shift with this chain is to be read, at this of its lists.
        loaded(): what was found is shown, or why nothing can be.
    """

    left = Signal()
    opened = Signal(str, str)
    loaded = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._person: UserContext | None = None
        self._code = ""
        self._places: list[tuple[str, str]] = []
        self._lines: list[tuple[str, Line[Event]]] = []
        self._shifts: list[InShift] = []
        self.title = Text("", Size.LARGE, bold=True)
        self.facts = Text("", tone=Tone.SOFT, wrapped=True)
        self.rows = ListedPage("")
        self.rows.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Ignored)
        self.rows.setMinimumHeight(_LOWEST_PX)
        self.went = ListedPage("")
        self.went.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        self.went.table.setAccessibleName(tr("One step back, and one forward"))
        self.sent = SentBar(client, self)
        self.bar = ExportBar(client, self)
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self._leave)
        self.tell = PressButton(tr("Sent to"), then=self._tell)
        self.back_again = PressButton(tr("Take back"), then=self._take_back)
        self.csv = PressButton(tr("Lot CSV"), Rank.SECONDARY, "Ctrl+E", then=self._export)
        self.pdf = PressButton(tr("Print the trace"), then=self._print)
        self.open_button = PressButton(
            tr("Open in its shift"), Rank.PRIMARY, tr("Enter"), bound=False, then=self._open_current
        )
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        ways = (self.tell, self.back_again, self.csv, self.pdf, self.open_button)
        page_column(
            self,
            self.title,
            self.facts,
            self.message,
            self.went,
            self.sent,
            (self.rows, 1),
            foot_row(self.back, self.bar, *ways),
        )

    def _connect(self) -> None:
        self.rows.table.opened.connect(self._open)
        self.rows.table.selectionModel().currentRowChanged.connect(self._offer)
        self.sent.saved.connect(self._told_of)
        self.sent.left.connect(self._offer)

    def trace(self, code: str, person: UserContext | None) -> None:
        """Find a lot by its number and show what touched it; :attr:`loaded` follows."""
        self._code, self._person = code, person
        self.title.setText(tr("Lot {code}", code=code))
        self.facts.setText(tr("Looking through the journal …"))
        self.message.clear()
        self.message.hide()
        self.bar.message.clear()
        self.sent.hide()
        self._read()

    def meet(self, person: UserContext) -> None:
        """Let another person be who enters from now on."""
        self._person = person
        self.sent.meet(person)

    @Slot()
    def _leave(self) -> None:
        leave_or_ask(self, self.left.emit, unsaved=self.sent.unsaved)

    def _read(self) -> None:
        self._show_rows([])
        self._client.read(_traced(self._code), self._show)

    def _show(self, result: object) -> None:
        if not isinstance(result, Traced):
            self.facts.setText("")
            self.message.show()
            self.message.warn(trouble_words(result))
        elif result.code != self._code:
            return  # another one has been asked for since
        elif result.shifts:
            self.facts.setText(self._told(result.shifts))
            self._show_rows(result.shifts)
        else:
            self.facts.setText(_nothing(result.alike))
        self.loaded.emit()

    def _told(self, shifts: list[InShift]) -> str:
        washed = [line.event for one in shifts for line in one.lines
                  if isinstance(line.event, BatchWashed)]  # fmt: skip
        tanks = sorted({tank for batch in washed for tank in batch.tanks})
        said = [
            tr("1 shift") if len(shifts) == 1 else tr("{count} shifts", count=len(shifts)),
            batches_words(len(washed)),
        ]
        if weight := sum(one.row.weighed_kg for one in shifts):
            said.append(self._reader(shifts[0].shift).show(weight, Kind.PRODUCE_MASS))
            if unweighed := sum(batch.weight_kg is None for batch in washed):
                said.append(tr("{what} not weighed", what=batches_words(unweighed)))
        if tanks:
            words = tr("tank {numbers}") if len(tanks) == 1 else tr("tanks {numbers}")
            said.append(words.format(numbers=", ".join(map(str, tanks))))
        if untold := sum(one.row.not_recorded for one in shifts):
            said.append(tr("not recorded where {what} went", what=batches_words(untold)))
        return " · ".join(said)

    def _show_rows(self, shifts: list[InShift]) -> None:
        rows: list[Row] = []
        self._shifts = shifts
        self.went.show_listing(_steps([one.row for one in shifts]))
        self.went.nothing.hide()
        self.went.table.setFixedHeight(_height_of(self.went.table, len(shifts)))
        self._places, self._lines = [], []
        for one in shifts:
            person = self._reader(one.shift)
            for line in one.lines:
                rows.append(_row(one, line, person))
                self._places.append((one.shift.chain, _list_of(line.event)))
                self._lines.append((one.shift.chain, line))
        heads = (tr("Day"), tr("Time"), tr("Line"), tr("What"), tr("By"), tr("Entry"))
        self.rows.show_listing(Listing(heads, tuple(rows)))
        self.rows.nothing.hide()
        self.open_button.setEnabled(bool(rows))
        if rows:
            self.rows.table.selectRow(0)
            self.rows.table.setFocus()
        self._offer()

    @Slot()
    def _offer(self) -> None:
        """Offer what can be done with what was found."""
        untold = any(one.row.not_recorded for one in self._shifts)
        asks = self.sent.isVisibleTo(self)
        self.tell.setVisible(untold and not asks)
        self.back_again.setVisible(self._sent_row() is not None and not asks)
        for button in (self.csv, self.pdf):
            button.setEnabled(bool(self._shifts))

    @Slot()
    def _tell(self) -> None:
        if self._person is not None:
            self.sent.open([one.row for one in self._shifts], self._person)
            self.tell.hide()

    def _sent_row(self) -> Entered | None:
        """Return the entry that is chosen, if it says where the lot was sent."""
        at = self.rows.table.currentIndex().row()
        if not 0 <= at < len(self._lines):
            return None
        chain, line = self._lines[at]
        return Entered(chain, line.seq) if isinstance(line.event, LotSent) else None

    @Slot()
    def _take_back(self) -> None:
        chosen = self._sent_row()
        if chosen is not None and self._person is not None:
            self.sent.take_back(chosen, self._person)
            self._offer()

    @Slot()
    def _told_of(self) -> None:
        self.bar.message.say(tr("It is in the journal."))
        self._read()

    @Slot()
    def _export(self) -> None:
        self._write("", ".csv")

    @Slot()
    def _print(self) -> None:
        self._write("a4", ".pdf")

    def _write(self, paper: str, suffix: str) -> None:
        if not self._shifts:
            return
        maker = self._person.initials if self._person else ""
        now = self._client.clock().replace(microsecond=0)
        days = [one.shift.started.at.date() for one in self._shifts]
        name = suggested_name("lot", self._code, min(days), max(days), suffix=suffix)
        chains = [one.shift.chain for one in reversed(self._shifts)]  # the oldest first
        self.bar.ask(LotWish(self._code, maker, now, paper), chains, name)

    def _reader(self, shift: ShiftState) -> UserContext:
        return self._person or UserContext("", shift.setup.taste, decimal_point())

    @Slot(int)
    def _open(self, at: int) -> None:
        self.opened.emit(*self._places[at])

    @Slot()
    def _open_current(self) -> None:
        at = self.rows.table.currentIndex().row()
        if 0 <= at < len(self._places):
            self._open(at)


def _traced(code: str) -> Callable[[Store], Traced]:
    def query(store: Store) -> Traced:
        found = []
        for one in store.find_lot(code):
            shift = fold(one.shift.chain, store.entries(one.shift.chain))
            if (known := in_shift(shift, code)) is not None:
                found.append(known)
        alike = [] if found else store.names(NameKind.LOT, code, limit=_OFFERED)
        return Traced(code, found, alike)

    return query


def _nothing(alike: list[str]) -> str:
    if alike:
        return tr("No shift knows this lot. These begin so: {lots}.", lots=", ".join(alike))
    return tr("No shift knows this lot: look at how its number is written on the crates.")


def _row(one: InShift, line: Line[Event], person: UserContext) -> Row:
    shift, event = one.shift, line.event
    said = event_text(event, shift.setup, person.say)
    if line.correction is not None and line.original is not None:
        old = event_text(line.original, shift.setup, person.say)
        said = tr(
            "{now}  (corrected by {who}: {why}; it was: {old})",
            now=said,
            who=line.correction.by,
            why=line.correction.reason,
            old=old,
        )
    if where := one.went.get(line.seq):
        said = tr("{batch}  (sent to: {where})", batch=said, where=where)
    open_hold = isinstance(event, HoldPlaced) and any(
        hold.seq == line.seq and hold.released is None for hold in shift.holds
    )
    what = tr(KINDS[type(event)].name)
    return (
        Cell(day(event.at)),
        Cell(clock(event.at)),
        Cell(shift.setup.line),
        Cell(what, Tone.STOP, MarkState.STOP) if open_hold else Cell(what),
        Cell(event.by),
        Cell(said),
    )


def _steps(rows: Sequence[LotRow]) -> Listing:
    heads = (
        tr("Shift"),
        tr("Line"),
        tr("Produce"),
        tr("Came from"),
        tr("Batches"),
        tr("Went to: batches"),
    )
    return Listing(heads, tuple(_step(row) for row in rows))


def _step(row: LotRow) -> Row:
    return (
        Cell(f"{day(row.shift.started.at)}  {clock(row.shift.started.at)}"),
        Cell(row.shift.setup.line),
        Cell(row.produce),
        Cell(row.source),
        Cell(str(len(row.batches)), number=True),
        Cell(row.went, Tone.WATCH, MarkState.UNKNOWN) if row.not_recorded else Cell(row.went),
    )


def _height_of(table: FactsTable, rows: int) -> int:
    """Return how high a table of so many rows stands, a few at the most; the others scroll."""
    row = table.verticalHeader().defaultSectionSize()
    return table.horizontalHeader().sizeHint().height() + row * min(rows, _MOST_STEPS) + 4


def _list_of(event: Event) -> str:
    """Return which list of a shift's page has this entry."""
    match event:
        case ReadingTaken():
            return "readings"
        case BatchWashed():
            return "batches"
        case HoldPlaced() | HoldReleased():
            return "holds"
    return "actions"
