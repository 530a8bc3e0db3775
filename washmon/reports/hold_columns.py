"""The columns of the table of holds."""

from collections.abc import Callable

from washmon.reports.cells import Cell, Column
from washmon.reports.record_view import HoldRow
from washmon.reports.shared_columns import ABOUT_SHIFT, joined, tank_name


def _released(name: str) -> Callable[[HoldRow], Cell]:
    def read(row: HoldRow) -> Cell:
        value: Cell = getattr(row.hold.released, name, None)
        return value

    return read


HOLD_COLUMNS: tuple[Column[HoldRow], ...] = (
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
        lambda row: "; ".join(row.lots),
    ),
    Column(
        "weighed_kg", "weight of those batches that were weighed, kg", lambda row: row.weighed_kg
    ),
    Column("reason", "why they are held", lambda row: row.hold.placed.reason),
    Column("open", "yes while nobody has decided", lambda row: row.hold.released is None),
    Column("decided_at", "when it was decided", _released("at")),
    Column("decided_by", "initials of who decided", _released("by")),
    Column("decision", "wash again, divert, discard or release", _released("decision")),
    Column("decision_reason", "why it was decided so", _released("reason")),
)
CHANCES: tuple[Column[HoldRow], ...] = (
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
CORRECTED: tuple[Column[HoldRow], ...] = (
    Column("cause", "what was found to be wrong, as whoever decided wrote it", _released("found")),
    Column("water_corrected", "what was done to the water", _released("water")),
    Column("prevention", "what is done so that it does not recur", _released("prevention")),
)
