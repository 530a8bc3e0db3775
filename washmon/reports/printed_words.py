"""How a printed record writes a value, a time, a person, a tank and an entry."""

from datetime import datetime
from typing import Any

from washmon.line.deviating import LATE_S
from washmon.line.message import say
from washmon.line.state import ShiftState
from washmon.reports.lines import Line
from washmon.rules.event_text import event_text
from washmon.units import Kind, UnitSystem, show

UNWATCHED = "No rule looked on: the shift was taken over from a log that was kept elsewhere."


def value(number: float | None, kind: Kind, taste: UnitSystem) -> str:
    """Return a value with its unit, empty for none."""
    return "" if number is None else show(number, kind, taste)


def moment(shift: ShiftState, at: datetime | None) -> str:
    """Return when something happened: the day only where it is not that of the shift's start.

    The offset from UTC stands with it where it is not the one the shift began with, so that the
    hour that comes twice when daylight saving ends is told apart.
    """
    if at is None:
        return "–"
    began = shift.started.at
    text = f"{at:%H:%M}" if at.date() == began.date() else f"{at:%Y-%m-%d %H:%M}"
    return text if at.utcoffset() == began.utcoffset() else f"{text} {offset(at)}"


def offset(at: datetime) -> str:
    """Return how far a time stands from UTC, such as ``UTC-04:00``."""
    return f"UTC{at.isoformat()[-6:]}" if at.utcoffset() else "UTC"


def full(at: datetime) -> str:
    """Return a day, a time and its offset from UTC."""
    return f"{at:%Y-%m-%d %H:%M} ({offset(at)})"


def who(shift: ShiftState, initials: str) -> str:
    """Return initials with the name and role behind them, as the set-up has them."""
    person = shift.setup.person(initials)
    return f"{initials} ({person.name}, {person.role})" if person else initials


def tank_name(shift: ShiftState, number: int) -> str:
    """Return the number and name of a tank."""
    name = next((tank.spec.name for tank in shift.tanks if tank.number == number), "")
    return f"{number} {name}".strip()


def said(shift: ShiftState, event: Any, taste: UnitSystem) -> str:  # noqa: ANN401 - any event at all
    """Return an event in one line."""
    return event_text(event, shift.setup, lambda phrase: say(phrase, taste))


def remark(line: Line[Any]) -> str:
    """Return what is to be said of an entry beside it: doubts, a correction, a late writing."""
    told = [f"Asked: {doubt}" for doubt in getattr(line.event, "doubts", ())]
    if line.correction is not None:
        told.insert(0, f"Corrected, see entry {line.seq} under Corrections.")
    if is_late(line):
        told.append(f"Written down at {moment(line.shift, line.recorded_at)}.")
    return " ".join(told)


def is_late(line: Line[Any]) -> bool:
    """Tell whether an entry was written down long after it happened; an imported one always was."""
    late_s = (line.recorded_at - line.event.at).total_seconds()
    return late_s > LATE_S and not line.shift.started.imported
