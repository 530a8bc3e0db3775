"""What a binder's lists say of one shift: rows of words, so that no shift is held for long."""

from collections import Counter
from datetime import datetime
from typing import NamedTuple

from washmon.line.events import HoldReleased, ShiftReviewed
from washmon.line.signing import SigningStage, days_to_review, signing
from washmon.line.state import ShiftState
from washmon.line.working_days import REVIEW_WITHIN, WorkCalendar, day_there, working_days
from washmon.reports.binder_registers import checks_of
from washmon.reports.cells import Cell, written
from washmon.reports.lots import LotRow, lot_rows
from washmon.reports.paper import Bold
from washmon.reports.printed_words import full, offset, tank_name
from washmon.reports.record_view import HoldRow, hold_rows
from washmon.reports.summary import TankSummary
from washmon.reports.summing import summarize
from washmon.reports.week_columns import WEEK_COLUMNS
from washmon.rules.catalogue import title_of

Row = tuple[str, ...]
_EXACT_BELOW = 100.0
"""Numbers from here on are printed without decimals."""


class Leaf(NamedTuple):
    """One shift in the lists of a binder."""

    chain: str
    entries: int
    head: str
    title: str
    site: str
    line: str
    offsets: frozenset[str]
    week: tuple[Row, ...]
    limits: tuple[Row, ...]
    parts: tuple[Row, ...]
    """The corrective actions that were told with a decision, in their four parts."""
    acts: tuple[Row, ...]
    """What was done while flags called for it."""
    holds: tuple[Row, ...]
    review: Row
    lots: tuple[Row, ...]
    """Where each lot came from, and where it was sent."""
    checks: tuple[Row, ...] = ()
    """Of instruments."""


def leaf_of(shift: ShiftState, made_at: datetime, calendar: WorkCalendar | None = None) -> Leaf:
    """Return what the lists say of a shift, in a binder that was made at this moment.

    ``calendar`` counts the days of a shift that still waits for its review; unless it is given, the
    one that the shift began with does.
    """
    started, setup, last = shift.started, shift.setup, shift.entries[-1]
    summaries, held = summarize(shift), hold_rows(shift)
    times = [started.at, *([shift.ended.at] if shift.ended else [])]
    return Leaf(
        chain=shift.chain,
        entries=last.seq + 1,
        head=last.hash,
        title=f"{started.at:%Y-%m-%d %H:%M} · {setup.line}",
        site=f"{setup.site}, {setup.location}",
        line=setup.line,
        offsets=frozenset(offset(at) for at in times),
        week=tuple(_week(one) for one in summaries),
        limits=tuple(_limits(shift)),
        parts=tuple(_four_parts(row, row.hold.released) for row in held if row.hold.released),
        acts=tuple(row for one in summaries if (row := _acts(shift, one))),
        holds=tuple(_hold(row) for row in held),
        lots=tuple(_lot(one) for one in lot_rows(shift)),
        review=_review(shift, made_at, calendar or shift.setup.calendar),
        checks=checks_of(shift),
    )


def _week(row: TankSummary) -> Row:
    """Return the cells of a row; of what nobody weighed no weight is told, nor that it is 0."""
    return tuple(
        "" if column.name == "washed_kg" and not row.washed_kg else _short(column.cell(row))
        for column in WEEK_COLUMNS
    )


def _short(cell: Cell) -> str:
    if not isinstance(cell, float):
        return written(cell)
    return written(round(cell, 0 if abs(cell) >= _EXACT_BELOW else 2))


def _limits(shift: ShiftState) -> list[Row]:
    rows = []
    for tank in shift.setup.tanks:
        own = tank.limits
        levels = (own.critical_low_mg_l, own.low_mg_l, own.target_mg_l, own.high_mg_l)
        ph = "" if tank.peracetic else f"{tank.ph.low:g} – {tank.ph.high:g}"
        what = "peracetic acid" if tank.peracetic else "free chlorine"
        name = f"{tank.number} {tank.name}"
        rows.append((shift.setup.line, name, what, *(f"{one:g}" for one in levels), ph))
    return rows


def _four_parts(row: HoldRow, done: HoldReleased | None) -> Row:
    assert done is not None  # noqa: S101 - asked only for what is decided
    return (
        _entry(row.shift, row.hold.seq, done.at),
        done.found or Bold("not told"),
        f"{done.decision}: {done.reason}",
        done.water or Bold("not told"),
        done.prevention or Bold("not told"),
        done.by,
    )


def _entry(shift: ShiftState, seq: int, at: datetime) -> str:
    return f"{at:%Y-%m-%d %H:%M}, {shift.setup.line}, hold {seq}"


def _acts(shift: ShiftState, row: TankSummary) -> Row:
    if not row.corrective:
        return ()
    kinds = Counter(str(one.kind) for one in row.corrective)
    rules = dict.fromkeys(rule for one in row.corrective for rule in one.rules)
    return (
        f"{shift.started.at:%Y-%m-%d %H:%M}",
        shift.setup.line,
        tank_name(shift, row.tank),
        ", ".join(f"{kind} {count}" for kind, count in kinds.items()),
        "; ".join(title_of(rule) for rule in rules),
    )


def _hold(row: HoldRow) -> Row:
    placed, done = row.hold.placed, row.hold.released
    return (
        _entry(row.shift, row.hold.seq, placed.at),
        tank_name(row.shift, placed.tank),
        ", ".join(row.lots),
        str(len(placed.batches)),
        placed.reason,
        placed.by,
        str(done.decision) if done else Bold("OPEN"),
        f"{done.at:%Y-%m-%d %H:%M} {done.by}" if done else "",
    )


def _lot(row: LotRow) -> Row:
    return (
        f"{row.shift.started.at:%Y-%m-%d %H:%M}, {row.shift.setup.line}",
        row.code,
        row.produce,
        row.source,
        str(len(row.batches)),
        f"{row.weighed_kg:g}" if row.weighed_kg else "",
        Bold(row.went) if row.not_recorded else row.went,
    )


def _review(shift: ShiftState, made_at: datetime, calendar: WorkCalendar) -> Row:
    under = signing(shift)
    signed = under.signed.event if under.signed else None
    reviews = [one.event for one in shift.entries if isinstance(one.event, ShiftReviewed)]
    first = reviews[0] if reviews else None
    made = shift.ended.at if shift.ended else None
    days, said = _days(shift, made_at, calendar)
    if under.stage is SigningStage.CHANGED:
        said = Bold(f"{said}; changed since it was signed")
    elif len(reviews) > 1:
        said = f"{said}; again {reviews[-1].at:%Y-%m-%d} by {reviews[-1].by}"
    return (
        f"{shift.started.at:%Y-%m-%d %H:%M}, {shift.setup.line}",
        full(made) if made else "not ended",
        f"{signed.at:%Y-%m-%d} {signed.by}" if signed else "–",
        f"{first.at:%Y-%m-%d} {first.by}" if first else "–",
        days,
        said,
    )


def _days(shift: ShiftState, now: datetime, calendar: WorkCalendar) -> tuple[str, str]:
    """Return how many working days it took, or has taken so far, and what is to be said of it."""
    if shift.ended is None:
        return "", "not ended"
    made, done = shift.ended.at, days_to_review(shift)
    if done is not None:
        return str(done), Bold("LATE") if done > REVIEW_WITHIN else "in time"
    taken = working_days(made.date(), day_there(now, made), calendar)
    late = taken > REVIEW_WITHIN
    return str(taken), Bold("NOT REVIEWED, LATE") if late else "not reviewed yet"
