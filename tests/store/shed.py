"""A small shed for the tests of the store: a set-up, a clock, and events of a plain shift."""

from datetime import UTC, datetime, timedelta

from washmon.line.events import BatchWashed, Event, NoteWritten, ShiftEnded, ShiftStarted
from washmon.line.setup import (
    ChlorineLimits,
    LineSetup,
    Lot,
    Person,
    Role,
    Sanitizer,
    SanitizerKind,
    Stage,
    Tank,
)
from washmon.store import Store

DAWN = datetime(2026, 5, 7, 6, 0, tzinfo=UTC)


def minutes(count: float) -> datetime:
    """A time after dawn."""
    return DAWN + timedelta(minutes=count)


def line_setup(line: str = "Leaf line") -> LineSetup:
    limits = ChlorineLimits(
        critical_low_mg_l=25, low_mg_l=35, target_mg_l=50, high_mg_l=75, label_max_mg_l=200
    )
    return LineSetup(
        site="Quiet Hollow",
        location="North shed",
        line=line,
        commodity="baby chard",
        people=(Person(initials="RM", name="R. M.", role=Role.SUPERVISOR),),
        tanks=(
            Tank(
                number=1,
                name="First dunk",
                stage=Stage.WASH,
                volume_l=570,
                sanitizer="jug",
                chlorine=limits,
            ),
        ),
        sanitizers=(Sanitizer(key="jug", name="Jug", kind=SanitizerKind.SODIUM),),
    )


def started(
    at: float = 0,
    *,
    after: tuple[str, str] | None = None,
    practice: bool = False,
    line: str = "Leaf line",
) -> ShiftStarted:
    return ShiftStarted(
        at=minutes(at),
        by="RM",
        setup=line_setup(line),
        lots=(Lot(code="LB-0507-3", produce="baby chard"),),
        after=after,
        practice=practice,
    )


def batch(at: float, lot: str = "LB-0507-3") -> BatchWashed:
    return BatchWashed(at=minutes(at), by="RM", tanks=(1,), lot=lot)


def note(at: float, text: str = "all well") -> NoteWritten:
    return NoteWritten(at=minutes(at), by="RM", text=text)


def ended(at: float) -> ShiftEnded:
    return ShiftEnded(at=minutes(at), by="RM")


def run_shift(store: Store, chain: str, at: float = 0, extra: tuple[Event, ...] = ()) -> None:
    """A short shift that follows the one before it."""
    events = [started(at, after=store.last_shift_head()), batch(at + 1), *extra, ended(at + 9)]
    for event in events:
        store.append(chain, [event], event.at)


def room_for(store: Store, more_pages: int | None) -> None:
    """Bound the file as a full disk would: SQLite then answers SQLITE_FULL, as it does to ENOSPC.

    https://www.sqlite.org/pragma.html#pragma_max_page_count
    """
    assert store._writing is not None
    connection = store._writing._connection
    with connection.begin():
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        most = 2**31 if more_pages is None else pages + more_pages
        connection.exec_driver_sql(f"PRAGMA max_page_count = {most}")
