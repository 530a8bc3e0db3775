"""The cells of one row of a log, read by the chosen columns: what happened, or what is unclear."""

import re
from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any

from washmon.line.events import BatchWashed, DoseAdded, Event, NoteWritten, ReadingTaken
from washmon.line.flags import Amount
from washmon.line.message import Figure, Message
from washmon.line.product import is_solid
from washmon.line.quantities import BOUNDS
from washmon.line.setup import Tank
from washmon.sessions.imported.choices import Choices
from washmon.sessions.imported.log import LogRow
from washmon.sessions.imported.log_columns import MEASURED, Holds, LogField, has_unit
from washmon.sessions.imported.when import (
    Unclear,
    after_noon,
    day_of,
    placed,
    says_half,
    split_day_and_time,
    time_of,
)
from washmon.units import Kind, UnitSystem, parse

_BLANK = {"", "-", "–", "—", "n/a", "na", "none", "nil", "x", "/"}
_MOST_BATCHES = 500


class Cells:
    """Reads one row by the chosen columns."""

    def __init__(self, row: LogRow, choices: Choices) -> None:
        self._choices = choices
        self._cells: dict[int | None, dict[Holds, str]] = {None: {}}
        """What stands in the fields: of the row (``None``), and of a tank that has columns."""
        for at, holds in choices.columns.items():
            if holds is not LogField.SKIP and at < len(row.cells):
                tank = choices.tanks.get(at)
                of_tank, text = self._cells.setdefault(tank, {}), row.cells[at].strip()
                if holds is LogField.NOTE and _written(text) and _written(of_tank.get(holds, "")):
                    text = f"{of_tank[holds]}; {text}"
                if _written(text) or holds not in of_tank:
                    of_tank[holds] = text

    def text(self, holds: Holds, tank: int | None = None) -> str:
        """Return what stands in a field, empty where it is left blank."""
        text = self._cells[tank].get(holds, "")
        return text if _written(text) else ""

    def day_and_clock(self) -> tuple[str, str]:
        """Return what stands for the day and for the time of day, each maybe empty."""
        if LogField.DATE_TIME in self._cells[None]:
            return split_day_and_time(self.text(LogField.DATE_TIME))
        return self.text(LogField.DATE), self.text(LogField.TIME)

    def at(self, before: datetime | None, above: str, now: datetime) -> datetime:
        """Return when the row happened, which was before ``now``.

        ``before`` is when the last row did that could be taken, ``above`` the last day that was
        written.

        Raises:
            Unclear: there is no such time, with the reason.
        """
        day, clock = self.day_and_clock()
        day = day or (above if self._choices.days_down else "")
        if not day:
            raise Unclear(Message("There is no day in this row."))
        if not clock:
            raise Unclear(Message("There is no time of day in this row."))
        naive = datetime.combine(day_of(day, self._choices.order), time_of(clock))
        if self._choices.twelve_hours and not says_half(clock) and before is not None:
            naive = after_noon(naive, before.replace(tzinfo=None))
        at = placed(naive, self._choices.zone, before)
        if at > now:
            raise Unclear(Message("{day} is in the future.", {"day": f"{at:%Y-%m-%d %H:%M}"}))
        return at

    def events(self, at: datetime) -> Iterator[Event]:
        """Yield what happened.

        Raises:
            Unclear, UnitError: the row can't be taken, with the reason.
        """
        by = self.text(LogField.BY) or self._choices.by
        if not by:
            raise Unclear(Message("Nobody's initials are in this row."))
        made = list(self._batches(at, by))
        for tank in self._cells:
            made += [*self._reading(at, by, tank), *self._dose(at, by, tank)]
            made += self._no_numbers(at, by, tank)
        note = self.text(LogField.NOTE)
        if note:
            made.append(NoteWritten(at=at, by=by, text=note))
        lot = self.text(LogField.LOT)
        if not made and not lot:
            raise Unclear(Message("There is nothing in this row that can be taken."))
        if lot and not any(isinstance(one, BatchWashed) for one in made):
            made.append(NoteWritten(at=at, by=by, text=f"Lot {lot}, as the log says."))
        yield from made

    def _batches(self, at: datetime, by: str) -> Iterator[Event]:
        count, weight = self.text(LogField.BATCHES), self.text(LogField.WEIGHT)
        if not (count or weight):
            return
        lot = self.text(LogField.LOT)
        if not lot:
            raise Unclear(Message("A batch needs its lot, and there is none in this row."))
        kg = self._number(LogField.WEIGHT, "weight_kg", Kind.PRODUCE_MASS)
        many = int(parse(count, Kind.COUNT, UnitSystem.METRIC)) if count else 1
        if not 1 <= many <= _MOST_BATCHES:
            raise Unclear(Message("{count} is not a possible number of batches.", {"count": count}))
        tank = self._tank().number
        for _ in range(many):
            yield BatchWashed(at=at, by=by, tanks=(tank,), lot=lot, weight_kg=kg)

    def _reading(self, at: datetime, by: str, tank: int | None) -> Iterator[Event]:
        values: dict[str, Any] = {
            one.field: number
            for holds, one in MEASURED.items()
            if one.kind is not None
            and (number := self._number(holds, one.field, one.kind, tank)) is not None
        }
        if values:
            method = self._choices.method
            yield ReadingTaken(
                at=at,
                by=by,
                tank=tank or self._tank().number,
                fac_method=method,
                paa_method=method,
                **values,
            )

    def _no_numbers(self, at: datetime, by: str, tank: int | None) -> Iterator[Event]:
        """Yield what is written as beyond the range of its instrument: a remark, for no number."""
        for holds in MEASURED:
            text = self.text(holds, tank)
            if _is_beyond(text):
                number = tank or self._tank().number
                words = f"{holds} {text}, as the log says, which gives no number."
                yield NoteWritten(at=at, by=by, tank=number, text=words[:1].upper() + words[1:])

    def _dose(self, at: datetime, by: str, number: int | None) -> Iterator[Event]:
        text = self.text(LogField.DOSE, number)
        if not text:
            return
        setup = self._choices.setup
        tank = self._tank() if number is None else setup.tank(number)
        product = setup.sanitizer(tank.sanitizer)
        solid = product is not None and is_solid(product)
        kind = Kind.MASS if solid else Kind.SMALL_VOLUME
        written = text if has_unit(text) else f"{text} {self._choices.dose_unit}"
        if not has_unit(written):
            raise Unclear(Message("{text} has no unit: choose one for all.", {"text": text[:80]}))
        amount = parse(written, kind, self._choices.taste, self._choices.decimal_sign)
        if amount <= 0:
            raise Unclear(Message("An amount is above 0."))
        yield DoseAdded(
            at=at,
            by=by,
            tank=tank.number,
            product=tank.sanitizer,
            amount=Amount(amount, "g" if solid else "mL"),
            as_entered=written,
        )

    def _number(self, holds: Holds, name: str, kind: Kind, tank: int | None = None) -> float | None:
        text = self.text(holds, tank)
        if not text or (holds in MEASURED and _is_beyond(text)):
            return None
        value = parse(text, kind, self._choices.taste, self._choices.decimal_sign)
        bound = BOUNDS[name]
        if not bound.low <= value <= bound.high:
            raise Unclear(
                Message(
                    "{value} is not a possible {name}: it lies between {low} and {high}.",
                    {
                        "value": Figure(value, kind),
                        "name": bound.name,
                        "low": Figure(bound.low, kind),
                        "high": Figure(bound.high, kind),
                    },
                )
            )
        return value

    def _tank(self) -> Tank:
        tanks = self._choices.setup.tanks
        text = self.text(LogField.TANK)
        if not text:
            chosen = [tank for tank in tanks if tank.number == self._choices.tank]
            if not chosen:
                raise Unclear(Message("No tank is named in this row."))
            return chosen[0]
        for fits in _ways(text):
            if found := [tank for tank in tanks if fits(tank)]:
                return found[0]
        raise Unclear(
            Message(
                "There is no tank {text} in {line}.",
                {"text": text[:80], "line": self._choices.setup.line},
            )
        )


def _written(text: str) -> bool:
    return text.casefold() not in _BLANK


def _is_beyond(text: str) -> bool:
    return re.match(r"[<>\u2264\u2265] ?=? ?[0-9]", text) is not None


def _ways(text: str) -> Iterator[Callable[[Tank], bool]]:
    """Yield how a tank may be meant, the surest first: by name, by number, by a number in words."""
    name = " ".join(text.split()).casefold()
    yield lambda tank: tank.name.casefold() == name
    numbers = re.findall(r"\d+", text)
    if len(numbers) == 1 and len(numbers[0]) < 4:  # noqa: PLR2004 - no more tanks than that
        number = int(numbers[0])
        yield lambda tank: tank.number == number
