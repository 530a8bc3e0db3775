"""Whether checks were taken when they were due: for coaching, and part of no record or export.

A check is due so many batches or minutes after the last one of the same fill, whichever comes
first, as the set-up says (``check_batches``, ``check_minutes``). What the forecast asks for sooner
is advice, and nobody is late by it. A reading of the tank's level settles the check that comes
next, however early, and begins to count anew. Within the delay that an overdue check has before it
is flagged (``overdue_delay_min``) it is in time. For a second fill that was measured while it
waited, counting begins when it is swapped in.

A check stands with who took it, not with who let it wait; one that nobody took before the water
went stands with nobody. Times are those that people entered. The first reading of a fill is no such
check: washing without one is stopped by a rule of its own. Practice and imported shifts have none.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from statistics import median

from washmon.line.events import (
    ClockChanged,
    Corrected,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
    WaterEvent,
)
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.state import Fill, Placed, ShiftState, TankState
from washmon.reports.timeline import end_of

_TELLING = WaterEvent | Corrected | ShiftStarted | ShiftEnded | ClockChanged
NOBODY = ""
"""Stands in ``by`` of a check that was never taken."""


@dataclass(frozen=True, slots=True)
class Check:
    """A check that was due at ``due_at``; ``late_min`` is 0 where it was taken in time."""

    line: str
    tank: int
    due_at: datetime
    by: str
    late_min: float


@dataclass(frozen=True, slots=True)
class Punctual:
    """The checks of one person in the week that begins on ``monday``."""

    monday: date
    by: str
    due: int
    in_time: int
    late_min: float | None
    """Median of those that came late; None where none did."""


def checks(shift: ShiftState) -> list[Check]:
    """Return the checks that came due in a shift, tank by tank."""
    if shift.started.practice or shift.started.imported:
        return []
    return [
        check
        for tank in shift.tanks
        for fill in tank.fills
        for check in _of_fill(shift, tank, fill)
    ]


def checks_in(chain: str, entries: Iterable[Entry]) -> list[Check]:
    """Return the checks of a journal, as :func:`checks`, but fold only what tells of them.

    Raises:
        NotAShift: the entries start no shift.
    """
    telling = [entry for entry in entries if isinstance(entry.event, _TELLING)]
    return checks(fold(chain, telling))


def _of_fill(shift: ShiftState, tank: TankState, fill: Fill) -> Iterator[Check]:
    following = next(iter(tank.fills[fill.number :]), None)
    ends_at = following.at if following else end_of(shift)
    washed = following.begun.batches if following else tank.batches
    field = tank.spec.level_field
    taken = fill.course(field)
    grace = timedelta(minutes=shift.setup.margins.overdue_delay_min)
    for at, last in enumerate(taken):
        due = _due(tank, last, max(last.event.at, fill.at), washed)
        if due is None:
            continue
        following_check = taken[at + 1] if at + 1 < len(taken) else None
        if following_check is None and due + grace >= ends_at:
            continue
        done = following_check.event.at if following_check else ends_at
        late = (done - due) / timedelta(minutes=1) if done > due + grace else 0.0
        by = following_check.event.by if following_check else NOBODY
        yield Check(shift.setup.line, tank.number, due, by, late)


def _due(
    tank: TankState, last: Placed[ReadingTaken], since: datetime, washed: int
) -> datetime | None:
    """Return when the check after a reading is due; None where neither time nor batches ask."""
    moments = []
    if tank.spec.check_minutes:
        moments.append(since + timedelta(minutes=tank.spec.check_minutes))
    if tank.spec.check_batches:
        due_with = last.batches + tank.spec.check_batches
        if due_with <= washed:
            moments.append(tank.washed[due_with - 1].event.at)
    return min(moments, default=None)


def by_person(found: Iterable[Check], line: str) -> list[Punctual]:
    """Return what each week came to for each person, oldest first; nobody comes last."""
    sums: dict[tuple[date, bool, str], list[float]] = {}
    for one in found:
        if line in {"", one.line}:
            day = one.due_at.date()
            monday = day - timedelta(days=day.weekday())
            sums.setdefault((monday, one.by == NOBODY, one.by), []).append(one.late_min)
    return [_punctual(monday, by, late) for (monday, _, by), late in sorted(sums.items())]


def _punctual(monday: date, by: str, minutes: list[float]) -> Punctual:
    late = [one for one in minutes if one > 0]
    return Punctual(
        monday, by, len(minutes), len(minutes) - len(late), median(late) if late else None
    )
