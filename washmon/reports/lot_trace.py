"""One lot through all its shifts, one step back and one forward, as rows, CSV and a PDF.

All that touched a lot in a shift: its batches, the water they went through, what was decided.
"""

from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import datetime

from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    Event,
    HoldPlaced,
    HoldReleased,
    LotSent,
    ReadingTaken,
    SecondSwapped,
    TankFilled,
    WaterExchanged,
)
from washmon.line.kinds import KINDS
from washmon.line.sent import is_lot, went
from washmon.line.state import Hold, ShiftState
from washmon.reports.cells import Cell, Column
from washmon.reports.lines import Line, in_words, lines
from washmon.reports.lots import LotRow, lot_rows
from washmon.reports.shared_columns import CORRECTION, ENTRY, IMPORTED, field, joined, with_utc
from washmon.reports.summing import tanks_of
from washmon.reports.tables import Table

_WATER: tuple[type[Event], ...] = (
    TankFilled,
    SecondSwapped,
    ReadingTaken,
    DoseAdded,
    AcidAdded,
    WaterExchanged,
)


def touching(shift: ShiftState, batches: AbstractSet[int]) -> list[Line[Event]]:
    """Return what touched these batches, named by their places in the journal, in order of time.

    That is the batches themselves; of each fill that they went through, its filling and all
    readings and additions up to the last of them, and the reading that came next; the holds that
    they are in, and what was decided on these. Corrections are applied.
    """
    every = lines(shift, *_WATER, BatchWashed, HoldPlaced, HoldReleased)
    washed = [line.event for line in every
              if line.seq in batches and isinstance(line.event, BatchWashed)]  # fmt: skip
    placed = {hold.seq for hold in shift.holds if not batches.isdisjoint(hold.placed.batches)}
    water = _of_water(every, _last_uses(shift, washed))

    def touched(line: Line[Event]) -> bool:
        match line.event:
            case BatchWashed():
                return line.seq in batches
            case HoldPlaced():
                return line.seq in placed
            case HoldReleased(hold=hold):
                return hold in placed
        return line.seq in water

    return [line for line in every if touched(line)]


def _last_uses(shift: ShiftState, washed: list[BatchWashed]) -> dict[tuple[int, int], datetime]:
    """Return when the last of these batches was in each fill, by numbers of tank and fill."""
    last: dict[tuple[int, int], datetime] = {}
    for tank in shift.tanks:
        for batch in washed:
            if tank.number in batch.tanks:
                fills = [fill.number for fill in tank.fills if fill.at <= batch.at]
                key = (tank.number, fills[-1] if fills else 0)
                last[key] = max(batch.at, last.get(key, batch.at))
    return last


def _of_water(every: list[Line[Event]], last: dict[tuple[int, int], datetime]) -> set[int]:
    """Return the places of what was done to these fills up to their last use, and read after."""
    found: set[int] = set()
    read_after: set[tuple[int, int]] = set()
    for line in every:
        if not isinstance(line.event, _WATER):
            continue
        (tank,) = tanks_of(line.event)
        key = (tank, line.fill or 0)
        if key not in last:
            continue
        if line.event.at > last[key]:
            if key in read_after or not isinstance(line.event, ReadingTaken):
                continue
            read_after.add(key)
        found.add(line.seq)
    return found


_SENT: tuple[type[Event], ...] = (LotSent,)


@dataclass(frozen=True, slots=True)
class InShift:
    """A lot in one shift: in short, and all that touched it."""

    row: LotRow
    lines: tuple[Line[Event], ...]
    went: Mapping[int, str]
    """Where each batch of it went, by its place."""

    @property
    def shift(self) -> ShiftState:
        """The shift."""
        return self.row.shift

    @property
    def holds(self) -> tuple[Hold, ...]:
        """The holds that its batches are or were under."""
        own = self.went.keys()
        return tuple(one for one in self.shift.holds if not own.isdisjoint(one.placed.batches))


def in_shift(shift: ShiftState, code: str) -> InShift | None:
    """Return what a shift knows of a lot; None where it knows nothing."""
    row = next((one for one in lot_rows(shift) if is_lot(one.code, code)), None)
    if row is None:
        return None
    every = touching(shift, {one.seq for one in row.batches})
    for one in lines(shift, *_SENT):
        if isinstance(one.event, LotSent) and is_lot(one.event.lot, code):
            every.append(one)
    inside, where = {one.seq for one in row.batches}, went(shift)
    return InShift(
        row,
        tuple(sorted(every, key=lambda one: (one.event.at, one.seq))),
        {seq: words for seq, words in where.items() if seq in inside},
    )


@dataclass(frozen=True, slots=True)
class TraceRow:
    """An entry that touched a lot."""

    lot: LotRow
    line: Line[Event]
    went: str
    """Of a batch, where it went."""


def trace_rows(shifts: Sequence[InShift]) -> Iterator[list[TraceRow]]:
    """Yield the rows of each shift."""
    for one in shifts:
        yield [TraceRow(one.row, line, one.went.get(line.seq, "")) for line in one.lines]


def _of_line(column: Column[Line[Event]]) -> Column[TraceRow]:
    return Column(column.name, column.meaning, lambda row: column.cell(row.line))


def _tanks(line: Line[Event]) -> Cell:
    tanks = getattr(line.event, "tanks", None) or (getattr(line.event, "tank", None),)
    return joined(one for one in tanks if one is not None)


_COLUMNS: tuple[Column[TraceRow], ...] = (
    Column("lot", "code of the lot that was traced", lambda row: row.lot.code),
    Column("produce", "what the lot is", lambda row: row.lot.produce),
    Column(
        "source",
        "field or supplier that it came from; not recorded where nobody told",
        lambda row: row.lot.source,
    ),
    *(_of_line(one) for one in ENTRY),
    Column("what", "the kind of the entry", lambda row: KINDS[type(row.line.event)].name),
    Column("tanks", "numbers of the tanks, with spaces between", lambda row: _tanks(row.line)),
    Column("fill", "number of the tank's fill in its shift, from 1", lambda row: row.line.fill),
    _of_line(Column("weight_kg", "of a batch, its weight, kg", field("weight_kg"))),
    Column(
        "sent_to",
        "of a batch: customers or loads, discarded, or not recorded; of an entry that says so: "
        "the customer or load",
        lambda row: row.went or field("to")(row.line) if _is_about(row) else None,
    ),
    _of_line(Column("reference", "number of the document that went with it", field("reference"))),
    _of_line(Column("sent_kg", "weight that was sent, kg", field("sent_kg"))),
    Column("words", "the entry in one line", lambda row: in_words(row.line.shift, row.line.event)),
    *(_of_line(one) for one in CORRECTION),
    _of_line(IMPORTED),
)


def _is_about(row: TraceRow) -> bool:
    return isinstance(row.line.event, BatchWashed | LotSent)


TRACE: Table[TraceRow] = Table(
    "lot",
    "one row per entry that touched a lot: batches, their water, holds, decisions, where it went",
    with_utc(_COLUMNS, "at", "recorded_at"),
    lambda _shift: (),
)
