"""A fault of a set-up, and the small tools that the rules on set-ups share."""

import math
from collections.abc import Iterator

from msgspec import Struct

from washmon.line.message import Figure, Message
from washmon.units import Kind, PlainError


class SetupFault(Struct, frozen=True):
    """A sentence and the path of the field that it belongs beside."""

    path: str
    message: Message


Found = Iterator[SetupFault]


def fault(path: str, text: str, **values: str | int | Figure) -> SetupFault:
    """Return a sentence beside a path."""
    return SetupFault(path, Message(text, dict(values)))


def refused(path: str, refusal: PlainError) -> SetupFault:
    """Return a refusal of the chemistry beside a path."""
    return SetupFault(path, Message(refusal.template, dict(refusal.values)))


def ppm(value: float) -> Figure:
    """Return a level as a figure."""
    return Figure(value, Kind.CONCENTRATION)


def rising(
    path: str, limits: Struct, ladder: tuple[tuple[str, str, str], ...], kind: Kind
) -> Found:
    """Name both fields of each step that does not rise: either may be the wrong one."""
    for below, above, text in ladder:
        less, more = getattr(limits, below), getattr(limits, above)
        if less < more or not (math.isfinite(less) and math.isfinite(more)):
            continue
        for field in (below, above):
            yield fault(f"{path}.{field}", text, less=Figure(less, kind), more=Figure(more, kind))
