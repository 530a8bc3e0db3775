"""What the page of all lines says of each tank, the worst first, as each line was told itself."""

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from washmon.gui.board.board_words import age_words
from washmon.gui.board.plan_views import step_words
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.logbook.logbook_words import DASH
from washmon.gui.logbook.table import Cell, Row
from washmon.line.flags import Condition
from washmon.line.state import ShiftState, TankState
from washmon.planning.advice import TankAdvice
from washmon.planning.told import as_told
from washmon.units import Kind

_WORST_FIRST = (
    Condition.STOP,
    Condition.ACT,
    Condition.WATCH,
    Condition.UNKNOWN,
    Condition.IN_LIMITS,
)


class TankRow(NamedTuple):
    """A tank of a running line."""

    rank: int
    line: str
    number: int
    cells: Row


def heads() -> tuple[str, ...]:
    """Return the heads of the columns."""
    return (
        tr("State"),
        tr("Line"),
        tr("Tank"),
        tr("Level"),
        tr("pH"),
        tr("Read"),
        tr("What is up, what to do"),
        tr("In charge"),
    )


def tank_rows(shifts: Iterable[ShiftState], now: datetime, person: UserContext) -> list[TankRow]:
    """Return the tanks of all these lines, the worst first; like ones in the order of the lines."""
    rows = [row for shift in shifts for row in _of_line(shift, now, person)]
    return sorted(rows, key=lambda row: row[:3])


def _of_line(shift: ShiftState, now: datetime, person: UserContext) -> Iterable[TankRow]:
    for advice in as_told(shift, now).tanks:
        tank = shift.tank(advice.tank)
        look = MarkState(advice.condition.value)
        cells = (
            Cell(look.word, look.tone, look),
            Cell(shift.setup.line),
            Cell(f"{tank.number}  {tank.spec.name}"),
            _level(tank, person),
            _ph(tank, person),
            Cell(_read(tank, now)),
            Cell(_said(shift, tank, advice, person)),
            Cell(shift.in_charge),
        )
        yield TankRow(_WORST_FIRST.index(advice.condition), shift.setup.line, tank.number, cells)


def _level(tank: TankState, person: UserContext) -> Cell:
    last = None if tank.fill is None else tank.fill.latest(tank.spec.level_field)
    value = None if last is None else getattr(last.event, tank.spec.level_field)
    return Cell(DASH if value is None else person.show(value, Kind.CONCENTRATION))


def _ph(tank: TankState, person: UserContext) -> Cell:
    last = None if tank.fill is None else tank.fill.latest("ph")
    value = None if last is None else last.event.ph
    return Cell(DASH if value is None else person.show(value, Kind.PH))


def _read(tank: TankState, now: datetime) -> str:
    last = None if tank.fill is None else tank.fill.latest(tank.spec.level_field)
    return DASH if last is None else age_words(now - last.event.at)


def _said(shift: ShiftState, tank: TankState, advice: TankAdvice, person: UserContext) -> str:
    """Return the gravest flag and the step; on a line that stands still, that it does."""
    if shift.paused is not None:
        return tr("The line is paused: {why}", why=tr(shift.paused.placed.reason))
    step = step_words(tank, advice.plan, person)
    if not advice.flags:
        return step
    more = len(advice.flags) - 1
    title = person.say(advice.flags[0].title)
    if more:
        title = tr("{flag} and {count} more", flag=title, count=more)
    return f"{title} · {step}"
