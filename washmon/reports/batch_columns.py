"""The columns of the tables of batches and of the holds on them."""

from collections.abc import Callable
from functools import lru_cache

from washmon.line.deviating import too_short
from washmon.line.events import BatchWashed
from washmon.line.same import Same
from washmon.line.sent import NOT_RECORDED, went
from washmon.line.state import Hold, ShiftState
from washmon.reports.cells import Cell, Column
from washmon.reports.exposure import ct_hocl_mg_min_l
from washmon.reports.lines import Line
from washmon.reports.lots import lot_of
from washmon.reports.record_view import HoldRow
from washmon.reports.shared_columns import (
    ABOUT_SHIFT,
    CORRECTION,
    ENTRY,
    IMPORTED,
    doubts,
    field,
    joined,
    tank_name,
)


def _holds_on(line: Line[BatchWashed]) -> list[Hold]:
    return [hold for hold in line.shift.holds if line.seq in hold.placed.batches]


def _produce(line: Line[BatchWashed]) -> str:
    lots = line.shift.started.lots
    return next((lot.produce for lot in lots if lot.code == line.event.lot), "")


BATCH_COLUMNS: tuple[Column[Line[BatchWashed]], ...] = (
    *ENTRY,
    Column("lot", "code of the lot", field("lot")),
    Column("produce", "what the lot is, if it was named at the start", _produce),
    Column(
        "tanks",
        "numbers of the tanks it went through, with spaces between",
        lambda row: joined(row.event.tanks),
    ),
    Column("weight_kg", "weight, kg; empty if not weighed", field("weight_kg")),
    Column("contact_s", "time in each tank, s; empty if not timed", field("contact_s")),
    Column("held", "yes if it was ever held", lambda row: bool(_holds_on(row))),
    Column(
        "holds",
        "entries of the holds it is in, with spaces between",
        lambda row: joined(hold.seq for hold in _holds_on(row)),
    ),
    Column(
        "hold_open",
        "yes if nobody has decided on one of its holds",
        lambda row: any(hold.released is None for hold in _holds_on(row)),
    ),
    Column(
        "decisions",
        "what was decided on its holds, with semicolons between",
        lambda row: "; ".join(
            hold.released.decision.value for hold in _holds_on(row) if hold.released
        ),
    ),
    Column("doubts", "what the program asked about before it took the entry", doubts),
    *CORRECTION,
    Column(
        "ct_hocl_mg_min_l",
        "hypochlorous acid times contact time in all tanks, mg min/L, by the last readings before "
        "it; empty if not timed or not measured",
        lambda row: ct_hocl_mg_min_l(row.shift, row.event),
    ),
    IMPORTED,
)


TOO_SHORT: Column[Line[BatchWashed]] = Column(
    "limits_not_kept",
    "contact time or critical contact time of a tank, where the batch did not stay that long",
    lambda row: breach.which if (breach := too_short(row.shift, row.event)) else None,
)


@lru_cache(maxsize=2)
def _went(same: Same[ShiftState]) -> dict[int, str]:
    return went(same.part)


STEPS: tuple[Column[Line[BatchWashed]], ...] = (
    Column(
        "lot_source",
        "field or supplier that the lot came from; not recorded where nobody told",
        lambda row: lot_of(row.shift, row.event.lot).source or NOT_RECORDED,
    ),
    Column(
        "sent_to",
        "customers or loads that the batch went to, with the number of the document; discarded; "
        "not recorded where nobody told",
        lambda row: _went(Same(row.shift))[row.seq],
    ),
)


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
