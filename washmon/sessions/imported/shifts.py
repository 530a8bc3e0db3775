"""From the rows that were taken to shifts, each marked as imported, one for each day."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from washmon.line.events import Event, NoteWritten, ShiftEnded, ShiftStarted, TankFilled
from washmon.line.journal import IMPORTED, encode
from washmon.line.setup import LineSetup, Lot
from washmon.sessions.imported.choices import Choices
from washmon.sessions.imported.log import Log
from washmon.sessions.imported.log_rows import PREAMBLE, Found, TakenRow


@dataclass(frozen=True, slots=True)
class ImportedShift:
    """A shift to be journaled under ``chain``; the same rows have the same one."""

    chain: str
    day: date
    events: tuple[Event, ...]


def shifts(log: Log, found: Sequence[Found], choices: Choices, by: str) -> list[ImportedShift]:
    """Return a shift for each day of the rows that were taken; ``by`` are who imports them."""
    taken = [one for one in found if isinstance(one, TakenRow)]
    taken.sort(key=lambda one: (one.events[0].at, one.row.number))
    return [
        _shift(log, day, list(rows), choices, by)
        for day, rows in groupby(taken, lambda one: one.events[0].at.date())
    ]


def _shift(log: Log, day: date, rows: list[TakenRow], choices: Choices, by: str) -> ImportedShift:
    setup, events = choices.setup, [event for row in rows for event in row.events]
    first, last = events[0].at, events[-1].at
    lots = tuple(
        Lot(code=code, produce="") for code in dict.fromkeys(row.lot for row in rows) if code
    )
    started = ShiftStarted(at=first, by=by, setup=setup, lots=lots, imported=log.name)
    whole: list[Event] = [
        started,
        NoteWritten(at=first, by=by, text=_said(log, rows)),
        *_fillings(events, setup, by),
        *events,
        ShiftEnded(at=last, by=by),
    ]
    return ImportedShift(_chain(setup, events), day, tuple(whole))


def _said(log: Log, rows: list[TakenRow]) -> str:
    numbers = [row.row.number for row in rows]
    return (
        f"{PREAMBLE}{log.name}, rows {min(numbers)} to {max(numbers)} ({len(rows)} taken). "
        "Limits are those of the set-up at the time of the import. The log does not say when "
        "tanks were filled: their usual volume is entered at the first row, and counts as no water "
        "used."
    )


def _tanks_of(event: Event) -> tuple[int, ...]:
    tank: int | None = getattr(event, "tank", None)
    tanks: tuple[int, ...] = getattr(event, "tanks", ())
    return tanks if tank is None else (tank,)


def _fillings(events: Sequence[Event], setup: LineSetup, by: str) -> list[TankFilled]:
    named: set[int] = set()
    for event in events:
        named.update(_tanks_of(event))
    first = events[0].at
    return [
        TankFilled(at=first, by=by, tank=tank.number, volume_l=tank.volume_l)
        for tank in setup.tanks
        if tank.number in named
    ]


def _chain(setup: LineSetup, events: Sequence[Event]) -> str:
    """Return a name that the same rows have in whichever file they stand."""
    said = b"\n".join([setup.line.encode(), *map(encode, events)])
    first = events[0].at
    return f"{IMPORTED}{first:%Y%m%dT%H%M%S}-{hashlib.sha256(said).hexdigest()[:16]}"
