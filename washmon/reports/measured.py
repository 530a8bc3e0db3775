"""What the readings of a shift say, column by column, each value with the limit it does not keep.

Logbook and printed record draw these columns; neither judges a value or knows what can be measured.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from washmon.line import fitness
from washmon.line.events import Method, ReadingTaken
from washmon.line.fitness import Why
from washmon.line.judging import Breach, LimitKind
from washmon.line.message import Message
from washmon.line.quantities import QUANTITIES, Quantity, method_of
from washmon.line.registers import labels
from washmon.reports.lines import Line
from washmon.units import Kind


@dataclass(frozen=True, slots=True)
class Measured:
    """One value of a reading; ``told`` says it by itself, as a line about the reading does."""

    value: float | StrEnum
    kind: Kind | None
    method: Method | None
    """Of a tank's level, how it was come by."""
    breach: Breach | None
    told: Message


@dataclass(frozen=True, slots=True)
class MeasuredColumn:
    """A column of the readings: the quantities that stand in it, most often one."""

    head: str
    width: float
    quantities: tuple[Quantity, ...]

    def of(self, line: Line[ReadingTaken]) -> list[Measured]:
        """Return what a reading says in this column."""
        return [found for one in self.quantities if (found := _measured(line, one)) is not None]


def _columns() -> tuple[MeasuredColumn, ...]:
    heads = dict.fromkeys(one.short for one in QUANTITIES)
    found = ((head, tuple(one for one in QUANTITIES if one.short == head)) for head in heads)
    return tuple(MeasuredColumn(head, max(one.width for one in of), of) for head, of in found)


COLUMNS = _columns()


def measured_columns(readings: Sequence[Line[ReadingTaken]]) -> list[MeasuredColumn]:
    """Return the columns in which any of these readings says something."""
    return [one for one in COLUMNS if any(one.of(line) for line in readings)]


def _measured(line: Line[ReadingTaken], one: Quantity) -> Measured | None:
    value, told = one.of(line.event), one.told(line.event)
    if value is None or told is None:
        return None
    tanks = line.shift.tanks
    spec = next((tank.spec for tank in tanks if tank.number == line.event.tank), None)
    breach = None if spec is None or one.judge is None else one.judge(line.event, spec)
    method = method_of(line.event, one.field) if one.is_level else None
    return Measured(value, one.kind, method, breach, told)


def made_with(line: Line[ReadingTaken]) -> dict[str, Why | None]:
    """Return what a reading was made with, each with the reason why that was unfit for use."""
    names = dict(labels(line.shift.registers))
    found = fitness.made_with(line.shift, line.seq, line.event)
    return {names[thing]: why for _, thing, why in found}


def limits_not_kept(line: Line[ReadingTaken]) -> list[LimitKind]:
    """Return which limits of its tank a reading does not keep."""
    found = (one for column in COLUMNS for one in column.of(line))
    return [one.breach.which for one in found if one.breach is not None]
