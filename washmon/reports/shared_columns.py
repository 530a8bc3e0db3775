"""The columns that several CSV tables share, each declared once."""

from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from typing import Any, Protocol, TypeVar

from msgspec import UnsetType

from washmon.line.state import ShiftState
from washmon.reports.cells import Cell, Column
from washmon.reports.lines import Line, in_words

T = TypeVar("T")


class OfShift(Protocol):
    """A row that belongs to a shift."""

    @property
    def shift(self) -> ShiftState:
        """The shift."""
        ...


def field(name: str) -> Callable[[Line[Any]], Cell]:
    """Return how a column reads a field of its event, empty where the event has none."""

    def read(line: Line[Any]) -> Cell:
        value: Cell | UnsetType = getattr(line.event, name, None)
        return None if isinstance(value, UnsetType) else value

    return read


def original(name: str) -> Callable[[Line[Any]], Cell]:
    """Return how a column reads a field of the entry as it was first written."""

    def read(line: Line[Any]) -> Cell:
        value: Cell = getattr(line.original, name, None)
        return value

    return read


def joined(values: Iterable[object]) -> str:
    """Return values with spaces between."""
    return " ".join(str(value) for value in values)


def tank_name(shift: ShiftState, event: object) -> str:
    """Return the name of the tank that something happened in."""
    number = getattr(event, "tank", None)
    return next((tank.spec.name for tank in shift.tanks if tank.number == number), "")


def doubts(line: Line[Any]) -> str:
    """Return what was asked about before an entry was taken."""
    return " ".join(getattr(line.event, "doubts", ()))


ABOUT_SHIFT: tuple[Column[OfShift], ...] = (
    Column("shift", "name of the shift's journal", lambda row: row.shift.chain),
    Column("practice", "yes if the shift was simulated", lambda row: row.shift.started.practice),
    Column("site", "site, as set up", lambda row: row.shift.setup.site),
    Column("line", "wash line, as set up", lambda row: row.shift.setup.line),
)

ENTRY: tuple[Column[Line[Any]], ...] = (
    *ABOUT_SHIFT,
    Column("entry", "place in the shift's journal, from 0", lambda row: row.seq),
    Column("at", "when it happened", field("at")),
    Column("recorded_at", "when it was written down", lambda row: row.recorded_at),
    Column("by", "initials of who entered it", field("by")),
)

TANK: tuple[Column[Line[Any]], ...] = (
    Column("tank", "number of the tank in the line", field("tank")),
    Column("tank_name", "name of the tank", lambda row: tank_name(row.shift, row.event)),
    Column("fill", "number of the tank's fill in this shift, from 1", lambda row: row.fill),
)

CORRECTION: tuple[Column[Line[Any]], ...] = (
    Column(
        "corrected",
        "yes if this row shows what a later correction says",
        lambda row: row.correction is not None,
    ),
    Column(
        "corrected_by",
        "initials of who corrected it last",
        lambda row: row.correction.by if row.correction else None,
    ),
    Column(
        "correction_reason",
        "why it was corrected",
        lambda row: row.correction.reason if row.correction else None,
    ),
    Column(
        "original",
        "the entry as it was first written, in words",
        lambda row: in_words(row.shift, row.original),
    ),
)

IMPORTED: Column[OfShift] = Column(
    "imported",
    "the file that the shift was taken over from; empty if it was entered at the time",
    lambda row: row.shift.started.imported,
)

SECOND: Column[Line[Any]] = Column(
    "second_fill",
    "yes if it was done to the second fill, beside the tank",
    lambda row: getattr(row.event, "second", False),
)


def with_utc(columns: tuple[Column[T], ...], *times: str) -> tuple[Column[T], ...]:
    """Return columns with some times once more at the end, in UTC.

    Where a clock was changed in between, a program that reads a column of times takes it for one of
    text unless all have one offset.
    """
    of = {column.name: column for column in columns}
    return (*columns, *(_utc(of[name]) for name in times))


def _utc(column: Column[T]) -> Column[T]:
    def read(row: T) -> Cell:
        at = column.cell(row)
        return at.astimezone(UTC) if isinstance(at, datetime) else None

    return Column(f"{column.name}_utc", f"{column.name}, in UTC", read)
