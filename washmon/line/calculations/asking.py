"""What a calculation asks for, and how the answers to it are read."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from typing import NamedTuple

from washmon.chemistry.checks import require
from washmon.line.message import Message
from washmon.units import Kind, PlainError, UnitSystem, parse

Check = Callable[[float], None]
YES, NO = "yes", ""


class Choice(NamedTuple):
    """One of the answers that a field offers."""

    key: str
    words: str


class OnlyWhere(NamedTuple):
    """A field is asked only where another field has one of these answers."""

    field: str
    answers: frozenset[str]


class Instead(NamedTuple):
    """A field counts in another kind where another field has one of these answers."""

    field: str
    answers: frozenset[str]
    kind: Kind


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that a calculation needs: an amount, a choice, or (with neither) a date.

    ``usual`` stands in where nothing is written, in the base unit or as the key of a choice.
    ``label``, ``hint`` and ``group`` are English templates; ``unit`` replaces that of the kind.
    """

    key: str
    label: str
    kind: Kind | None = None
    choices: tuple[Choice, ...] = ()
    group: str = ""
    hint: str = ""
    unit: str = ""
    usual: float | str | None = None
    optional: bool = False
    check: Check | None = None
    only: tuple[OnlyWhere, ...] = ()
    instead: Instead | None = None

    @property
    def topic(self) -> tuple[str, str]:
        """What makes it the same question in two calculations."""
        return self.key, self.label

    @property
    def needed(self) -> bool:
        """Whether nothing can be worked out without it."""
        return not self.optional and self.usual is None

    @property
    def is_flag(self) -> bool:
        """Whether it is a yes or a no."""
        return tuple(choice.key for choice in self.choices) == (NO, YES)

    def left_open(self, group: str = "") -> "Field":
        """Return the same question as one that need not be answered."""
        return replace(self, optional=True, usual=None, group=group or self.group)


@dataclass(frozen=True, slots=True)
class Circumstances:
    """Who asks, with which measures at hand, and when."""

    taste: UnitSystem
    owned: tuple[str, ...]
    today: date
    decimal_point: str = "."

    def number(self, value: float, decimals: int = 0) -> str:
        """Return a number as this person writes it."""
        return f"{value:.{decimals}f}".replace(".", self.decimal_point)


class FieldFault(Exception):  # noqa: N818 - a refusal, not an error of the program
    """A refusal that belongs beside one field."""

    def __init__(self, field: str, refusal: PlainError) -> None:
        self.field = field
        self.refusal = refusal
        super().__init__(str(refusal))


@contextmanager
def beside(field: str) -> Iterator[None]:
    """Let a refusal stand beside the field that it is about.

    Raises:
        FieldFault: in place of a refusal from within.
    """
    try:
        yield
    except PlainError as refusal:
        raise FieldFault(field, refusal) from None


def between(what: str, low: float, high: float, unit: str = "") -> Check:
    """Return a check that refuses what is not from ``low`` to ``high``."""

    def check(value: float) -> None:
        require(value, what, low, high, unit)

    return check


@dataclass(frozen=True, slots=True)
class Unready:
    """Why there is no result yet: a sentence by field (``""`` for all), and what is missing."""

    faults: Mapping[str, Message]
    missing: tuple[Field, ...] = ()


@dataclass(frozen=True, slots=True)
class Answers:
    """What was answered, read. A field that is not asked has no answer."""

    values: Mapping[str, float | str | date | None]
    circumstances: Circumstances

    def amount(self, key: str) -> float:
        """Return a number in its base unit."""
        value = self.maybe(key)
        assert value is not None  # noqa: S101 - ``read`` has seen to it
        return value

    def maybe(self, key: str) -> float | None:
        """Return a number in its base unit, or None where there is none."""
        value = self.values.get(key)
        return value if isinstance(value, float) else None

    def choice(self, key: str) -> str:
        """Return the key of what was chosen, empty where nothing was."""
        value = self.values.get(key)
        return value if isinstance(value, str) else ""

    def day(self, key: str) -> date | None:
        """Return a date, or None where there is none."""
        value = self.values.get(key)
        return value if isinstance(value, date) else None


def is_asked(field: Field, fields: tuple[Field, ...], texts: Mapping[str, str]) -> bool:
    """Tell whether the answers given so far make this field one that counts."""
    for only in field.only:
        other = next(each for each in fields if each.key == only.field)
        if not is_asked(other, fields, texts) or _chosen(other, texts) not in only.answers:
            return False
    return True


def kind_of(field: Field, fields: tuple[Field, ...], texts: Mapping[str, str]) -> Kind | None:
    """Return in which kind a field counts, with the answers given so far."""
    if field.instead is None:
        return field.kind
    other = next(each for each in fields if each.key == field.instead.field)
    there = is_asked(other, fields, texts) and _chosen(other, texts) in field.instead.answers
    return field.instead.kind if there else field.kind


def read(
    fields: tuple[Field, ...], texts: Mapping[str, str], circumstances: Circumstances
) -> Answers | Unready:
    """Return what was written, read; or what is wrong with it and what is missing."""
    values: dict[str, float | str | date | None] = {}
    faults: dict[str, Message] = {}
    missing = []
    for field in fields:
        if not is_asked(field, fields, texts):
            continue
        try:
            values[field.key] = _read(field, kind_of(field, fields, texts), texts, circumstances)
        except PlainError as refusal:
            faults[field.key] = Message(refusal.template, dict(refusal.values))
            continue
        if values[field.key] is None and not field.optional:
            missing.append(field)
    if faults or missing:
        return Unready(faults, tuple(missing))
    return Answers(values, circumstances)


def _chosen(field: Field, texts: Mapping[str, str]) -> str:
    return texts.get(field.key) or str(field.usual or "")


def _read(
    field: Field, kind: Kind | None, texts: Mapping[str, str], circumstances: Circumstances
) -> float | str | date | None:
    text = texts.get(field.key, "").strip()
    if field.choices:
        return _read_choice(field, text or str(field.usual or ""))
    if kind is None:
        return _read_day(text) if text else circumstances.today if field.usual else None
    if not text:
        return None if field.usual is None else float(field.usual)
    value = parse(text, kind, circumstances.taste, circumstances.decimal_point)
    if field.check is not None:
        field.check(value)
    return value


def _read_choice(field: Field, key: str) -> str | None:
    keys = [choice.key for choice in field.choices]
    if key in keys:
        return key
    if not key:
        return None
    raise PlainError(
        "{text} is not known here: choose one of {choices}.", text=key, choices=", ".join(keys)
    )


def _read_day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise PlainError(
            "{text} is no date: write year, month and day, such as 2026-05-31.", text=text
        ) from None
