"""The columns of the table of batches."""

from functools import lru_cache

from washmon.line.deviating import too_short
from washmon.line.events import BatchWashed
from washmon.line.same import Same
from washmon.line.sent import NOT_RECORDED, went
from washmon.line.state import Hold, ShiftState
from washmon.reports.cells import Column
from washmon.reports.exposure import ct_hocl_mg_min_l
from washmon.reports.lines import Line
from washmon.reports.lots import lot_of
from washmon.reports.shared_columns import CORRECTION, ENTRY, IMPORTED, doubts, field, joined


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
