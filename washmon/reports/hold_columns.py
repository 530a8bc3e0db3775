"""The columns of the table of holds, and the batches that each is about."""

from collections.abc import Callable
from dataclasses import dataclass

from washmon.line.events import BatchWashed
from washmon.line.state import Hold, ShiftState
from washmon.reports.cells import Cell, Column
from washmon.reports.lines import lines
from washmon.reports.shared_columns import ABOUT_SHIFT, joined, tank_name


@dataclass(frozen=True, slots=True)
class HoldLine:
    """A hold with the batches that it is about."""

    shift: ShiftState
    hold: Hold
    batches: tuple[BatchWashed, ...]


def hold_lines(shift: ShiftState) -> list[HoldLine]:
    """Return the holds of a shift, each with its batches."""
    washed = {line.seq: line.event for line in lines(shift, BatchWashed)}
    return [
        HoldLine(shift, hold, tuple(washed[seq] for seq in hold.placed.batches if seq in washed))
        for hold in shift.holds
    ]


def _released(name: str) -> Callable[[HoldLine], Cell]:
    def read(row: HoldLine) -> Cell:
        value: Cell = getattr(row.hold.released, name, None)
        return value

    return read


def _held_kg(row: HoldLine) -> float:
    return sum((batch.weight_kg or 0.0 for batch in row.batches), 0.0)


HOLD_COLUMNS: tuple[Column[HoldLine], ...] = (
    *ABOUT_SHIFT,
    Column("entry", "place in the shift's journal, from 0", lambda row: row.hold.seq),
    Column("at", "when the hold was placed", lambda row: row.hold.placed.at),
    Column("by", "initials of who placed it", lambda row: row.hold.placed.by),
    Column("tank", "number of the tank in the line", lambda row: row.hold.placed.tank),
    Column("tank_name", "name of the tank", lambda row: tank_name(row.shift, row.hold.placed)),
    Column("batches_count", "number of batches held", lambda row: len(row.hold.placed.batches)),
    Column(
        "batches",
        "entries of the batches, with spaces between",
        lambda row: joined(row.hold.placed.batches),
    ),
    Column(
        "lots",
        "lots of the batches, with semicolons between",
        lambda row: "; ".join(dict.fromkeys(batch.lot for batch in row.batches)),
    ),
    Column("weighed_kg", "weight of those batches that were weighed, kg", _held_kg),
    Column("reason", "why they are held", lambda row: row.hold.placed.reason),
    Column("open", "yes while nobody has decided", lambda row: row.hold.released is None),
    Column("decided_at", "when it was decided", _released("at")),
    Column("decided_by", "initials of who decided", _released("by")),
    Column("decision", "wash again, divert, discard or release", _released("decision")),
    Column("decision_reason", "why it was decided so", _released("reason")),
)
CHANCES: tuple[Column[HoldLine], ...] = (
    Column(
        "chances",
        "how likely each of the batches was washed in less than the critical low, 0 to 1, as "
        "estimated when the hold was placed, in their order, with spaces between; ? where one was "
        "not estimated; empty if none was",
        lambda row: joined("?" if one is None else one for one in row.hold.placed.chances),
    ),
    Column(
        "limits_failed",
        "what put the batches in question, with semicolons between; empty where no rule did",
        lambda row: "; ".join(limit.value for limit in row.hold.placed.failed),
    ),
)
CORRECTED: tuple[Column[HoldLine], ...] = (
    Column("cause", "what was found to be wrong, as whoever decided wrote it", _released("found")),
    Column("water_corrected", "what was done to the water", _released("water")),
    Column("prevention", "what is done so that it does not recur", _released("prevention")),
)
