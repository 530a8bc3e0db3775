"""What was typed into a sheet, read field by field; what can't be read becomes a sentence."""

import re
from datetime import datetime, timedelta
from enum import StrEnum
from typing import TypeVar

from washmon.gui.context import translated
from washmon.gui.entry.ask import Ask, tank_of
from washmon.gui.i18n import tr
from washmon.units import Kind, UnitError

_CLOCK = re.compile(r"(\d{1,2})[:.,hH](\d{2})")
_SLACK = timedelta(minutes=1)
C = TypeVar("C", bound=StrEnum)


class Texts:
    """Raw texts by field; ``faults`` collects a sentence for each that can't be read."""

    def __init__(self, values: dict[str, str], tank: str, ask: Ask) -> None:
        self._values = values
        self._tank = tank
        self.ask = ask
        self.faults: dict[str, str] = {}

    @property
    def tank(self) -> int:
        """The number of the chosen tank."""
        return tank_of(self._tank)[0]

    @property
    def second(self) -> bool:
        """Whether the second fill of the tank was chosen."""
        return bool(self._tank) and tank_of(self._tank)[1]

    def text(self, field: str) -> str:
        """Return a field's text without the space around it."""
        return self._values.get(field, "").strip()

    def needed(self, field: str) -> str:
        """Return a field's text, which must not be empty."""
        if not (text := self.text(field)):
            self.faults[field] = tr("Write a few words here.")
        return text

    def one_of(self, field: str, options: type[C], default: C) -> C:
        """Return the chosen member of an enumeration."""
        text = self.text(field)
        return options(text) if text else default

    def number(self, field: str, kind: Kind) -> float | None:
        """Return an amount in the base unit of its kind, or nothing where nothing was typed."""
        text = self.text(field)
        if not text:
            return None
        old = self.ask.was(field)
        if isinstance(old, float) and text == self.ask.shown(old, kind):
            return old  # what nobody touched keeps the decimals that were not shown
        return self.read(field, text, kind)

    def read(self, field: str, text: str, kind: Kind) -> float | None:
        """Return a text as an amount; a fault goes to the field."""
        try:
            return self.ask.person.parse(text, kind)
        except UnitError as trouble:
            self.faults[field] = say_trouble(trouble)
            return None

    def at(self) -> datetime:
        """Return when it happened: now, so many minutes ago, or at a time of day."""
        text, now = self.text("at"), self.ask.now
        old = self.ask.was("at")
        if isinstance(old, datetime) and text in {"", f"{old:%H:%M}"}:
            return old
        if not text:
            return now
        if match := _CLOCK.fullmatch(text):
            return self._at_clock(int(match[1]), int(match[2]))
        try:
            return now - timedelta(minutes=self.ask.person.parse(text, Kind.TIME))
        except (UnitError, OverflowError):
            self.faults["at"] = tr("Write how many minutes ago, such as 5, or a time, as 9:40.")
            return now

    def _at_clock(self, hour: int, minute: int) -> datetime:
        now = self.ask.now
        try:
            at = now.replace(hour=hour, minute=minute, second=0, microsecond=0)
        except ValueError:
            self.faults["at"] = tr("There is no such time of day: write it as 9:40.")
            return now
        day_before = at - timedelta(days=1)
        # A night shift writes 23:50 at 0:10 and means yesterday.
        return day_before if at > now + _SLACK and day_before >= self.ask.shift.started.at else at


def say_trouble(trouble: UnitError) -> str:
    """Return a refusal of an amount in the language of the window."""
    words = {name: translated(value) for name, value in trouble.values.items()}
    return translated(trouble.template).format(**words)
