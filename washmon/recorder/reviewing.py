"""What waits for a review, and since how many working days."""

from datetime import datetime
from typing import NamedTuple

from washmon.line.fold import NotAShift, fold
from washmon.line.journal import IMPORTED
from washmon.line.signing import SigningStage, waits_since
from washmon.line.working_days import USUAL, day_there, working_days
from washmon.store.errors import Damaged
from washmon.store.shift import ShiftRow
from washmon.store.store import Store


class Waiting(NamedTuple):
    """A shift that waits for its review, signed or not."""

    row: ShiftRow
    days: int
    """Working days since its end; since what was entered later, where it was reviewed before."""


def waiting(store: Store, now: datetime) -> tuple[Waiting, ...]:
    """Return what waits for a review, the longest first; each line by the calendar it has now.

    Practice is not reviewed, and a log that was kept elsewhere only once somebody signed it.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    rows = {row.chain: row for row in store.shifts(unreviewed=True, practice=False)}
    rows |= {row.chain: row for row in store.shifts(unsigned=True, practice=False) if _owed(row)}
    latest = store.latest_setup()
    usual = latest.calendar if latest else USUAL
    setups = store.setups({row.line for row in rows.values()})
    calendars = {one.line: one.setup.calendar for one in setups}
    found = []
    for row in rows.values():
        since = _since(store, row)
        days = working_days(since.date(), day_there(now, since), calendars.get(row.line, usual))
        found.append((since, Waiting(row, days)))
    found.sort(key=lambda one: (one[0], one[1].row.chain))
    return tuple(one for _, one in found)


def _owed(row: ShiftRow) -> bool:
    return row.stage is SigningStage.UNSIGNED and not row.chain.startswith(IMPORTED)


def _since(store: Store, row: ShiftRow) -> datetime:
    ended = row.ended_at or row.started_at
    if row.stage is not SigningStage.CHANGED:
        return ended
    try:
        return waits_since(fold(row.chain, store.entries(row.chain))) or ended
    except (NotAShift, Damaged):  # it is told of where it is read
        return ended
