"""What a calculation answers: a sentence, the figures around it, and how they came about."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import TypeAlias

from washmon.line.calculations.asking import (
    Answers,
    Circumstances,
    Field,
    FieldFault,
    Unready,
    read,
)
from washmon.line.flags import Caution
from washmon.line.message import Message
from washmon.line.setup import LineSetup, Tank
from washmon.units import PlainError

Value: TypeAlias = float | str | bool | None
Known: TypeAlias = Mapping[str, float | str | date | None]


@dataclass(frozen=True, slots=True)
class ResultLine:
    """One figure beside its name; ``notable`` asks for a second look."""

    label: str
    value: Message
    notable: bool = False


@dataclass(frozen=True, slots=True)
class Result:
    """An answer.

    ``headline`` is the amount or the value, ``then`` what to do after it, ``notes`` what to think
    of, ``how`` the way to it and ``sources`` where that is published. ``data`` holds plain numbers
    with the unit in the name; ``carry`` answers that another calculation may take over.
    """

    headline: Message
    data: Mapping[str, Value]
    how: tuple[Message, ...]
    sources: tuple[str, ...]
    then: Message | None = None
    lines: tuple[ResultLine, ...] = ()
    notes: tuple[Message, ...] = ()
    cautions: tuple[Caution, ...] = ()
    carry: Known = field(default_factory=dict)


def nothing_known(_setup: LineSetup, _tank: Tank) -> Known:
    """Return no answers: a set-up knows nothing of this calculation."""
    return {}


class Sanitized(StrEnum):
    """What a water is kept with."""

    CHLORINE = "chlorine"
    PERACETIC = "peracetic acid"


CHLORINE_WATER = frozenset({Sanitized.CHLORINE})


@dataclass(frozen=True, slots=True)
class Calculation:
    """One of the calculator's jobs. ``key`` is its word on the command line."""

    key: str
    title: str
    purpose: str
    fields: tuple[Field, ...]
    compute: Callable[[Answers], Result]
    known: Callable[[LineSetup, Tank], Known] = nothing_known
    takes_over: str = ""
    """The key of the calculation that goes on with what this one found."""
    of: frozenset[Sanitized] = frozenset(Sanitized)
    """Which waters it is about."""

    def is_about(self, tank: Tank) -> bool:
        """Tell whether it says anything of the water of a tank."""
        return (Sanitized.PERACETIC if tank.peracetic else Sanitized.CHLORINE) in self.of

    def work_out(self, texts: Mapping[str, str], circumstances: Circumstances) -> Result | Unready:
        """Return the result of what was written, or why there is none; never raises a refusal."""
        answers = read(self.fields, texts, circumstances)
        if isinstance(answers, Unready):
            return answers
        try:
            return self.compute(answers)
        except FieldFault as fault:
            refusal = fault.refusal
            return Unready({fault.field: Message(refusal.template, dict(refusal.values))})
        except PlainError as refusal:
            return Unready({"": Message(refusal.template, dict(refusal.values))})
