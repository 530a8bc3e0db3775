"""What every screen needs to know of the person in front of it: who, units, decimal sign."""

from msgspec import Struct
from PySide6.QtCore import QCoreApplication, QLocale

from washmon.line.message import Message, say
from washmon.units import Kind, UnitSystem, parse, show


class UserContext(Struct, frozen=True):
    """Whose initials stand under an entry, and how they read and write amounts."""

    initials: str
    taste: UnitSystem
    decimal_point: str = "."

    def say(self, message: Message) -> str:
        """Return a sentence in this person's language and units."""
        return say(
            message,
            self.taste,
            decimal_point=self.decimal_point,
            translate=translated,
        )

    def show(self, value: float, kind: Kind) -> str:
        """Return a value with its unit."""
        return show(value, kind, self.taste, self.decimal_point)

    def parse(self, text: str, kind: Kind) -> float:
        """Return what was written, in the base unit of the kind.

        Raises:
            UnitError: with a sentence that says what to write.
        """
        return parse(text, kind, self.taste, self.decimal_point)


def translated(text: str) -> str:
    """Return a rule's or a check's sentence in the language of the window."""
    return QCoreApplication.translate("washmon", text)


def decimal_point() -> str:
    """Return the decimal sign of the locale: a comma or a point."""
    return "," if QLocale().decimalPoint() == "," else "."
