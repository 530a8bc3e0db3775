"""Sentences with numbers in them, kept apart so that they can be translated and re-measured.

A rule or a check never writes "61 ppm" into a text: it writes ``"{level} is low"`` with a
:class:`Figure` for ``level``. The sentence is translated as it stands, then each figure is shown
in the units of the person who reads it.
"""

from collections.abc import Callable, Iterable
from datetime import datetime

from msgspec import Struct

from washmon.units import Kind, UnitSystem, show


class Figure(Struct, frozen=True, tag="figure"):
    """A number with its kind, in the base unit of that kind (see :class:`washmon.units.Kind`)."""

    value: float
    kind: Kind


class Moment(Struct, frozen=True, tag="moment"):
    """A time of day that a sentence names."""

    at: datetime


Value = str | int | Figure | Moment
Values = dict[str, Value]


class Message(Struct, frozen=True):
    """An English template and the values that stand in it."""

    text: str
    values: Values = {}


Phrase = Message | tuple["Phrase", ...]
"""A whole piece of a sentence, or a line of them within a line."""


def spoken(phrases: Iterable[Phrase], say_one: Callable[[Message], str]) -> str:
    """Return phrases as one line, ``head: detail, detail``, each said by itself."""
    head, *details = (
        say_one(one) if isinstance(one, Message) else spoken(one, say_one) for one in phrases
    )
    return f"{head}: {', '.join(details)}" if details else head


def ppm(mg_l: float) -> Figure:
    """Return a concentration in mg/L as the figure that is shown as ppm."""
    return Figure(mg_l, Kind.CONCENTRATION)


def clock(at: datetime) -> str:
    """Return a time of day, as in ``07:05``; ``strftime`` takes ten times as long."""
    return f"{at.hour:02}:{at.minute:02}"


def say(
    message: Message,
    taste: UnitSystem,
    *,
    decimal_point: str = ".",
    translate: Callable[[str], str] = str,
) -> str:
    """Return the sentence as a person reads it.

    Args:
        message: what is to be said.
        taste: the units to show figures in.
        decimal_point: as the reader's locale writes it.
        translate: from the English template to the reader's language.
    """

    def written(value: Value) -> str | int:
        match value:
            case Figure():
                return show(value.value, value.kind, taste, decimal_point)
            case Moment():
                return clock(value.at)
            case _:
                return value

    template = translate(message.text)
    values = {name: written(value) for name, value in message.values.items()}
    try:
        return template.format(**values)
    except (LookupError, ValueError, AttributeError, TypeError):  # as in a forged journal
        return template
