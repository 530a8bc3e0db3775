"""Times before and after the computer's clock was set: brought onto one clock.

Ages are judged by the time that has passed. So where the clock was set during a shift, or somebody
says that it had been wrong, what was written down before counts at the times that the clock of
today would have shown. The journal keeps every time as it was written.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from msgspec import Struct
from msgspec.structs import fields, replace

from washmon.line.events import ClockChanged
from washmon.line.journal import Entry

LONGEST_S = 20 * 366 * 86400
"""A clock that lost its battery shows the year it was made in; nothing is wrong by more."""


def span(seconds: int) -> str:
    """Return how long something is, to the minute: ``9 h 05 min``."""
    hours, minutes = divmod(round(abs(seconds) / 60), 60)
    return f"{hours} h {minutes:02} min" if hours else f"{minutes} min"


def on_one_clock(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return entries with all their times as the clock showed them at the last of these entries.

    Entries that were brought there already stay as they are.
    """
    if not any(isinstance(entry.event, ClockChanged) or entry.moved_s for entry in entries):
        return tuple(entries)  # nearly all shifts
    found: list[Entry] = []
    later_s = 0
    for entry in reversed(entries):
        found.append(_moved_entry(entry, later_s))
        if isinstance(entry.event, ClockChanged):
            later_s += within(entry.event.by_s)
    return tuple(reversed(found))


def within(by_s: int) -> int:
    """Return by how much a clock was set, or the most that is believed."""
    return max(-LONGEST_S, min(LONGEST_S, by_s))


def moved(at: datetime, by_s: int) -> datetime:
    """Return a moment as another clock shows it; a forged year that has no such stays."""
    try:
        return at + timedelta(seconds=by_s)
    except OverflowError:
        return at


def _moved_entry(entry: Entry, to_s: int) -> Entry:
    by_s = to_s - entry.moved_s
    if by_s == 0:
        return entry
    event = _moved(entry.event, by_s)
    return Entry(entry.seq, moved(entry.recorded_at, by_s), event, entry.hash, to_s)


def _moved(value: Any, by_s: int) -> Any:  # noqa: ANN401 - whatever an event holds
    """Return a value with every moment in it moved, those that sentences name included."""
    match value:
        case datetime():
            return moved(value, by_s)
        case Struct():
            old = {field.name: getattr(value, field.name) for field in fields(value)}
            new = {name: _moved(inner, by_s) for name, inner in old.items()}
            changed = {name: inner for name, inner in new.items() if inner is not old[name]}
            return replace(value, **changed) if changed else value
        case tuple() if value:
            made = tuple(_moved(inner, by_s) for inner in value)
            same = all(one is other for one, other in zip(made, value, strict=True))
            return value if same else made
        case dict() if value:
            return {key: _moved(inner, by_s) for key, inner in value.items()}
        case _:
            return value
