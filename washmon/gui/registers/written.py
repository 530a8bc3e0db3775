"""What was written into a form of the registers; what can't be read becomes a sentence."""

from collections.abc import Mapping
from datetime import date

from washmon.gui.context import UserContext
from washmon.gui.entry.texts import say_trouble
from washmon.gui.i18n import tr
from washmon.units import Kind, UnitError


class Written:
    """Texts by field; ``faults`` collects a sentence for each that can't be read."""

    def __init__(self, texts: Mapping[str, str], person: UserContext) -> None:
        self._texts = texts
        self._person = person
        self.faults: dict[str, str] = {}

    def text(self, key: str) -> str:
        """Return what stands in a field."""
        return self._texts.get(key, "").strip()

    def many(self, key: str) -> tuple[str, ...]:
        """Return the keys of all that is chosen."""
        return tuple(one for one in self.text(key).split(",") if one)

    def day(self, key: str) -> date | None:
        """Return a day; nothing where none is written."""
        text = self.text(key)
        if not text:
            return None
        try:
            return date.fromisoformat(text)
        except ValueError:
            self.faults[key] = tr("This is no date: write year, month and day, such as 2026-05-31.")
            return None

    def count(self, key: str) -> int | None:
        """Return a whole number; nothing where none is written."""
        text = self.text(key)
        if not text:
            return None
        if not text.isdecimal() or len(text) > 6:
            self.faults[key] = tr("Write a whole number.")
            return None
        return int(text)

    def number(self, key: str, kind: Kind) -> float | None:
        """Return an amount in the base unit of its kind; nothing where none is written."""
        text = self.text(key)
        if not text:
            return None
        try:
            return self._person.parse(text, kind)
        except UnitError as trouble:
            self.faults[key] = say_trouble(trouble)
            return None
