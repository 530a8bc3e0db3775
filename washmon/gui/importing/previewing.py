"""The preview of a log: what each row comes to, and single cells mended in place."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import wait
from datetime import datetime, timedelta
from typing import NamedTuple, TypeVar

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.importing.columns_row import field_names
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.sheet_spec import FieldKind, FieldSpec, SheetSpec, TypedEntry
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Tone
from washmon.gui.kit.working import Step
from washmon.gui.logbook.table import Cell, ListedPage, Listing, Row
from washmon.line.events import Event
from washmon.line.journal import IMPORTED, Entry
from washmon.line.setup import LineSetup
from washmon.recorder import Recorder
from washmon.rules.event_text import event_text
from washmon.sessions.imported.choices import Choices
from washmon.sessions.imported.log import Log, LogRow
from washmon.sessions.imported.log_columns import Holds, LogField
from washmon.sessions.imported.log_rows import (
    Changed,
    Found,
    Left,
    TakenBefore,
    TakenRow,
    hold_against,
    take,
)
from washmon.sessions.imported.shifts import ImportedShift, shifts
from washmon.store.store import Store

T = TypeVar("T")
_PATIENCE_S = 0.2
_A_DAY = timedelta(days=1)
"""An imported shift begins with the first row of its day."""


class LogPreview(NamedTuple):
    """What the rows of a log come to, and the shifts that the new ones make."""

    found: Sequence[Found]
    shifts: list[ImportedShift]


def preview(
    recorder: Recorder, log: Log, choices: Choices, tell: Step, *, now: datetime, importer: str
) -> LogPreview:
    """Read all rows. The recorder reads one past shift at a time, so that entries get in between.

    Raises:
        StoreUnavailable: the journal can't be read.
    """
    found = take(log, choices, now, tell)
    there = list(_imported(recorder, found, choices.setup.line, tell))
    held = hold_against(found, there)
    return LogPreview(held, shifts(log, held, choices, importer))


def _imported(
    recorder: Recorder, found: Sequence[TakenRow | Left], line: str, tell: Step
) -> Iterator[Event]:
    """Yield what earlier imports of the line wrote down about the days of these rows."""
    moments = [row.events[0].at for row in found if isinstance(row, TakenRow)]
    if not moments:
        return
    since, until = min(moments) - _A_DAY, max(moments) + _A_DAY
    rows = _ask(recorder, lambda store: store.shifts(line=line, since=since, until=until), tell)
    chains = [row.chain for row in rows if row.chain.startswith(IMPORTED)]
    for at, chain in enumerate(chains):
        tell(at, len(chains))
        yield from (entry.event for entry in _ask(recorder, _entries(chain), tell))


def _entries(chain: str) -> Callable[[Store], list[Entry]]:
    return lambda store: store.entries(chain)


def _ask(recorder: Recorder, query: Callable[[Store], T], tell: Step) -> T:
    future = recorder.read(query)
    while not wait([future], _PATIENCE_S).done:
        tell(0, 0)
    return future.result()


_SHOWN = 300
"""Rows that are new, or known, are shown up to so many; all others are."""
_LONGEST = 300
_EVENTS = 4


class RowsList(ListedPage):
    """Rows that can't be taken stand first, then those that changed, the new and the known."""

    def __init__(self) -> None:
        super().__init__(tr("Choose the log, saved as CSV from the spreadsheet."))
        self.shown: tuple[LogRow, ...] = ()

    def show_nothing(self, words: str) -> None:
        """List nothing, and say why."""
        self.shown = ()
        self.show_listing(Listing((), ()))
        self.nothing.setText(words)

    def show_found(self, found: Sequence[Found], person: UserContext, setup: LineSetup) -> None:
        """List what the rows come to."""
        listed = [
            *_of(found, Left),
            *_of(found, Changed),
            *_of(found, TakenRow)[:_SHOWN],
            *_of(found, TakenBefore)[:_SHOWN],
        ]
        self.shown = tuple(one.row for one in listed)
        rows = tuple(_listed(one, person, setup) for one in listed)
        heads = (tr("Row"), tr("When"), tr("State"), tr("What it comes to"))
        self.show_listing(Listing(heads, rows))


def counted(found: Sequence[Found]) -> str:
    """Return how many rows are new, known, changed and not to be taken."""
    new, known, changed, left = (
        len(_of(found, kind)) for kind in (TakenRow, TakenBefore, Changed, Left)
    )
    said = [tr("{new} of {all} rows are new.", new=new, all=len(found))]
    if known:
        said.append(tr("{known} were imported before.", known=known))
    if changed:
        said.append(
            tr("{changed} say something else than was imported: correct those in the Logbook.",
               changed=changed)
        )  # fmt: skip
    if left:
        said.append(
            tr("{left} can't be taken, each with its reason: Enter on a row mends its cells.",
               left=left)
        )  # fmt: skip
    return " ".join(said)


def _of(found: Sequence[Found], kind: type[Found]) -> list[Found]:
    return [one for one in found if isinstance(one, kind)]


def _listed(one: Found, person: UserContext, setup: LineSetup) -> Row:
    number = Cell(str(one.row.number), number=True)
    match one:
        case Left(row, why):
            cells = " | ".join(" ".join(cell.split()) for cell in row.cells if cell.strip())
            told = f"{person.say(why)}  ({cells[:_LONGEST]})"
            return number, Cell(""), Cell(tr("can't be taken"), Tone.ACT, MarkState.ACT), Cell(told)
        case Changed(_, events, before):
            now, was = _said(events, person, setup), _said(before, person, setup)
            told = tr("{now}  (imported before: {was})", now=now, was=was)
            state = Cell(tr("changed since"), Tone.ACT, MarkState.ACT)
        case TakenBefore(_, events):
            told, state = _said(events, person, setup), Cell(tr("known"), Tone.SOFT)
        case TakenRow(_, events):
            told, state = _said(events, person, setup), Cell(tr("new"))
    return number, Cell(f"{events[0].at:%Y-%m-%d %H:%M}"), state, Cell(told[:_LONGEST])


def _said(events: Sequence[Event], person: UserContext, setup: LineSetup) -> str:
    return "; ".join(event_text(event, setup, person.say) for event in events[:_EVENTS])


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
