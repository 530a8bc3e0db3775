"""What a list of a shift's record is made of: columns, and cells with words and a verdict.

A cell says its words in a reader's language and units. Where paper says something in other words,
since it has neither colour nor marks, a cell holds both.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum, StrEnum, auto
from typing import Any, Generic, NamedTuple, Protocol, TypeVar

from washmon.line.events import Event
from washmon.line.judging import Breach
from washmon.line.message import Message, Value
from washmon.line.state import ShiftState
from washmon.reports.lines import Line
from washmon.reports.printed_words import is_late, moment, remark
from washmon.rules.event_text import event_text
from washmon.units import Kind

R = TypeVar("R")


class Voice(Protocol):
    """In whose language and units the cells are said."""

    @property
    def decimal_point(self) -> str:
        """The decimal sign, a comma or a point."""

    def say(self, message: Message) -> str:
        """Return a sentence."""

    def show(self, value: float, kind: Kind) -> str:
        """Return a value, in the base unit of its kind, with its unit."""


class CellVerdict(StrEnum):
    """What must be seen of a cell first."""

    UNKNOWN = "unknown"
    WATCH = "watch"
    ACT = "act"
    STOP = "stop"


class RecordCell(NamedTuple):
    """Words, and what must be seen of them; ``paper`` is what paper says instead."""

    words: str = ""
    verdict: CellVerdict | None = None
    paper: str | None = None
    is_number: bool = False
    is_aside: bool = False


class Medium(Enum):
    """What a list is painted on."""

    SCREEN = auto()
    PAPER = auto()


@dataclass(frozen=True, slots=True)
class Teller:
    """Says what stands in the cells of a shift."""

    shift: ShiftState
    voice: Voice

    def word(self, text: str, **values: Value) -> str:
        """Return words with values in them."""
        return self.voice.say(Message(text, values))

    def time(self, at: datetime | None) -> str:
        """Return when something happened."""
        return moment(self.shift, at)

    def value(self, number: float | None, kind: Kind) -> str:
        """Return a value with its unit, empty for none."""
        return "" if number is None else self.voice.show(number, kind)

    def entry(self, event: Event) -> str:
        """Return an event in one line."""
        return event_text(event, self.shift.setup, self.voice.say)

    def entry_with_time(self, event: Event | None, otherwise: str) -> str:
        """Return an event with its time."""
        return otherwise if event is None else f"{self.time(event.at)} {self.entry(event)}"


class RecordColumn(NamedTuple, Generic[R]):
    """A column: its head, what stands in it, and its share of a page's width."""

    head: str
    cell: Callable[[R, Teller], RecordCell | str]
    width: float = 0.0
    only: Medium | None = None
    may_lack: bool = False
    """It is left out where nothing stands in it."""
    short: str = ""
    """Its head on paper, where that is another."""

    def head_on(self, medium: Medium) -> str:
        """Return its head."""
        return self.short if self.short and medium is Medium.PAPER else self.head


class RecordList(NamedTuple, Generic[R]):
    """One list of a record."""

    title: str
    nothing: str
    """What is said where it has no row."""
    rows: Callable[[ShiftState], Sequence[R]]
    columns: Callable[[Sequence[R]], Sequence[RecordColumn[R]]]


def laid_out(
    listed: RecordList[R], rows: Sequence[R], teller: Teller, medium: Medium
) -> tuple[list[RecordColumn[R]], list[list[RecordCell]]]:
    """Return the columns that are shown of these rows, and the cells of each row under them."""
    columns = [one for one in listed.columns(rows) if one.only in {None, medium}]
    table = [[_cell(one.cell(row, teller)) for one in columns] for row in rows]
    kept = [
        at
        for at, one in enumerate(columns)
        if not (rows and one.may_lack) or any(cells[at].words for cells in table)
    ]
    return [columns[at] for at in kept], [[cells[at] for at in kept] for cells in table]


def _cell(said: RecordCell | str) -> RecordCell:
    return said if isinstance(said, RecordCell) else RecordCell(said)


def judged(words: str, breach: Breach | None, on_paper: str) -> RecordCell:
    """Return a cell, marked where a value does not keep a limit."""
    if breach is None:
        return RecordCell(words, paper=on_paper)
    return RecordCell(words, CellVerdict.STOP if breach.critical else CellVerdict.ACT, on_paper)


def by_whom(
    width: float, of: Callable[[Any], Event] = lambda line: line.event
) -> RecordColumn[Any]:
    """Return the column of who entered it."""
    return RecordColumn("By", lambda row, _: of(row).by, width)


def number(width: float, of: Callable[[Any], int] = lambda line: line.seq) -> RecordColumn[Any]:
    """Return the column of an entry's number, which only paper refers to."""
    return RecordColumn("No.", lambda row, _: str(of(row)), width, Medium.PAPER)


def at_time(head: str, width: float, of: Callable[[Any], datetime | None]) -> RecordColumn[Any]:
    """Return a column of times."""
    return RecordColumn(head, lambda row, teller: teller.time(of(row)), width)


def remarks(
    width: float,
    of: Callable[[Any], Line[Any]] = lambda line: line,
    *,
    may_lack: bool = False,
) -> list[RecordColumn[Any]]:
    """Return what stood here before a correction, what was doubted, and when it came late.

    Paper lists the corrections, and names there what stood here.
    """

    def on_screen(row: Any, teller: Teller) -> RecordCell:  # noqa: ANN401 - any row with a line
        line = of(row)
        said = list(getattr(line.event, "doubts", ()))
        if line.correction is not None and line.original is not None:
            by, old = line.correction, teller.entry(line.original)
            what = "Corrected by {who}: {why}. It was: {old}"
            said.insert(0, teller.word(what, who=by.by, why=by.reason, old=old))
        if is_late(line):
            said.append(teller.word("Written down at {time}.", time=teller.time(line.recorded_at)))
        return RecordCell("  ".join(said), is_aside=True)

    return [
        RecordColumn("Remark", on_screen, only=Medium.SCREEN),
        RecordColumn("Remark", lambda row, _: remark(of(row)), width, Medium.PAPER, may_lack),
    ]
