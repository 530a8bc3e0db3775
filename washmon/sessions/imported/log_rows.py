"""What becomes of each row of a log: it is taken, was taken before, or is left for a reason."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from washmon.line.events import BatchWashed, DoseAdded, Event, NoteWritten, ReadingTaken
from washmon.line.message import Message
from washmon.sessions.imported.choices import Choices
from washmon.sessions.imported.log import Log, LogRow
from washmon.sessions.imported.log_cells import Cells
from washmon.sessions.imported.log_columns import LogField
from washmon.sessions.imported.when import Unclear
from washmon.units import UnitError

PREAMBLE = "Imported from "
"""Begins the note with which each imported shift says where it is from."""
_TOLD_EVERY = 200


@dataclass(frozen=True, slots=True)
class TakenRow:
    """A row that can be taken: what happened, and of which lot the log spoke."""

    row: LogRow
    events: tuple[Event, ...]
    lot: str = ""


@dataclass(frozen=True, slots=True)
class TakenBefore:
    """A row of which the journal says the same already, from an import before."""

    row: LogRow
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class Changed:
    """A row that was imported before and says something else now; ``before`` is what it said.

    It is not taken: a record is corrected where it stands, with a reason.
    """

    row: LogRow
    events: tuple[Event, ...]
    before: tuple[Event, ...]


@dataclass(frozen=True, slots=True)
class Left:
    """A row that can't be taken, and why."""

    row: LogRow
    why: Message


Found = TakenRow | TakenBefore | Changed | Left


def _say_nothing(done: int, total: int) -> None:
    del done, total


def take(
    log: Log, choices: Choices, now: datetime, tell: Callable[[int, int], None] = _say_nothing
) -> list[TakenRow | Left]:
    """Return what becomes of each row, in the order of the file; equal rows are taken once.

    ``tell`` hears now and then how many rows of how many are done; it may raise to end it.
    """
    found: list[TakenRow | Left] = []
    numbers: dict[tuple[str, tuple[Event, ...]], int] = {}
    before: datetime | None = None
    day = ""
    for at_row, row in enumerate(log.rows):
        if at_row % _TOLD_EVERY == 0:
            tell(at_row, len(log.rows))
        cells = Cells(row, choices)
        try:
            at = cells.at(before, day, now)
            taken = TakenRow(row, tuple(cells.events(at)), cells.text(LogField.LOT))
        except Unclear as trouble:
            found.append(Left(row, trouble.message))
        except UnitError as trouble:
            found.append(Left(row, Message(trouble.template, dict(trouble.values))))
        else:
            first = numbers.setdefault((taken.lot, taken.events), row.number)
            found.append(taken if first == row.number else Left(row, _twice(first)))
            before = at
        day = cells.day_and_clock()[0] or day
    return found


def hold_against(found: Iterable[TakenRow | Left], journal: Iterable[Event]) -> list[Found]:
    """Return the same rows, those set apart that were imported before.

    ``journal`` is what earlier imports of the line wrote down about these days. A row is known if
    all that it says stands there; where no more than moment, tank and kind of an entry do, or a
    part of it, it says something else now.
    """
    rows = list(found)
    there = Counter(event for event in journal if _is_of_row(event))
    known: set[int] = set()
    for row in rows:
        if isinstance(row, TakenRow) and Counter(row.events) <= there:
            there -= Counter(row.events)
            known.add(row.row.number)
    places = defaultdict[object, list[Event]](list)
    for event in there:
        places[_place(event)].append(event)
    return [
        _held_against(row, places)
        if isinstance(row, TakenRow) and row.row.number not in known
        else TakenBefore(row.row, row.events)
        if isinstance(row, TakenRow)
        else row
        for row in rows
    ]


def _held_against(row: TakenRow, places: Mapping[object, list[Event]]) -> TakenRow | Changed:
    same = [event for one in row.events for event in places.get(_place(one), ())]
    return Changed(row.row, row.events, tuple(dict.fromkeys(same))) if same else row


def _is_of_row(event: Event) -> bool:
    """Tell whether an entry says what a row did, and not how the import went."""
    if isinstance(event, NoteWritten):
        return not event.text.startswith(PREAMBLE)
    return isinstance(event, ReadingTaken | DoseAdded | BatchWashed)


def _place(event: Event) -> object:
    where = event.tanks if isinstance(event, BatchWashed) else getattr(event, "tank", None)
    return type(event), event.at, where


def _twice(first: int) -> Message:
    return Message("This row says the same as row {number}: it is taken once.", {"number": first})
