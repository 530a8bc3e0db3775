"""The keys of a scenario file, as its structures declare them: for reading, writing and editing."""

from collections.abc import Iterator
from functools import cache
from typing import Any, NamedTuple

from msgspec import NODEFAULT, Struct, inspect
from msgspec.structs import fields

from washmon.sessions.practice.scenario import Scenario
from washmon.units import Kind, symbol
from washmon.units import UnitSystem as System

_TIMES_100 = 100.0


class Key(NamedTuple):
    """One key: what it is called, and what it takes. A range is in the base unit of the kind."""

    path: str
    """Such as ``tap.ph``; ``[]`` stands where a list is."""
    caption: str
    meaning: str
    kind: Kind | None
    is_share: bool
    """It is kept as a fraction and told in percent."""
    low: float | None
    high: float | None
    low_is_out: bool
    """The low end itself is not taken."""
    choices: tuple[str, ...]
    needed: bool
    may_be_empty: bool
    takes: str
    """Of what has no range, in words."""

    @property
    def shown_low(self) -> float:
        """The low end as it is told: a share in percent."""
        return (self.low or 0.0) * (_TIMES_100 if self.is_share else 1.0)

    @property
    def shown_high(self) -> float:
        """The high end as it is told."""
        return (self.high or 0.0) * (_TIMES_100 if self.is_share else 1.0)

    def holds(self, value: float) -> bool:
        """Tell whether a number lies in the range."""
        above = self.low is None or (value > self.low if self.low_is_out else value >= self.low)
        return above and (self.high is None or value <= self.high)


@cache
def scenario_keys() -> tuple[Key, ...]:
    """Return each key of a scenario file."""
    return tuple(_keys(Scenario, ""))


def key_of(path: str) -> Key:
    """Return the key with this path; numbers of places in a list stand for ``[]``."""
    named = (part for part in path.replace("[]", "").split(".") if not part.isdigit())
    plain = ".".join(named)
    return next(one for one in scenario_keys() if one.path.replace("[]", "") == plain)


def key_rows() -> list[tuple[str, str]]:
    """Return each key with what it means and takes, in words, for Help and README."""
    return [(one.path, _in_words(one)) for one in scenario_keys()]


def _in_words(key: Key) -> str:
    name = f"{key.caption}: " if key.caption else ""
    meaning = f" ({key.meaning})" if key.meaning else ""
    needed = ", needed" if key.needed else ""
    return f"{name}{_range_in_words(key)}{meaning}{needed}"


def _range_in_words(key: Key) -> str:
    if key.high is None:
        return key.takes
    over = "over " if key.low_is_out else ""
    if key.is_share:
        return f"a share, {over}{key.low:g} to {key.high:g}"
    unit = symbol(key.kind, System.METRIC) if key.kind is not None else ""
    whole = "a whole number, " if key.kind is Kind.COUNT else ""
    return f"{whole}{over}{key.low:g} to {key.high:.10g} {unit}".strip()


def _keys(of: type[Struct], before: str) -> Iterator[Key]:
    for field, told in zip(fields(of), inspect.type_info(of).fields, strict=True):  # type: ignore[attr-defined]
        path = f"{before}{field.name}"
        kind, extra = _bare(told.type)
        if isinstance(kind, inspect.StructType):
            yield from _keys(kind.cls, f"{path}.")
            continue
        inside = _bare(kind.item_type)[0] if isinstance(kind, inspect.VarTupleType) else None
        if isinstance(inside, inspect.StructType):
            yield from _keys(inside.cls, f"{path}[].")
            continue
        made = _key(path, kind, inside, extra)
        empty = field.default is None
        yield made._replace(needed=field.default is NODEFAULT, may_be_empty=empty)


def _key(path: str, kind: inspect.Type, inside: inspect.Type | None, extra: dict[str, Any]) -> Key:
    number = kind if isinstance(kind, inspect.FloatType | inspect.IntType) else None
    over = number.gt if number is not None else None
    many = "a list of " if inside is not None else ""
    enum = inside if inside is not None else kind
    choices = (
        tuple(str(one.value) for one in enum.cls) if isinstance(enum, inspect.EnumType) else ()
    )
    return Key(
        path=path,
        caption=extra.get("caption", ""),
        meaning=extra.get("meaning", ""),
        kind=extra.get("kind"),
        is_share=extra.get("is_share", False),
        low=over if number is None or over is not None else number.ge,
        high=None if number is None else number.le,
        low_is_out=over is not None,
        choices=choices,
        needed=False,
        may_be_empty=False,
        takes=f"{many}{_takes(enum)}",
    )


def _bare(kind: inspect.Type) -> tuple[inspect.Type, dict[str, Any]]:
    """Return the type of a value that may be left out, and what is declared beside it."""
    extra: dict[str, Any] = {}
    while isinstance(kind, inspect.UnionType | inspect.Metadata):
        if isinstance(kind, inspect.Metadata):
            extra = {**(kind.extra or {}), **extra}
            kind = kind.type
        else:
            kind = next(one for one in kind.types if not isinstance(one, inspect.NoneType))
    return kind, extra


def _takes(kind: inspect.Type) -> str:
    match kind:
        case inspect.EnumType(cls=cls):
            return ", ".join(str(one.value) for one in cls)
        case inspect.FloatType() | inspect.IntType():
            return "a whole number" if isinstance(kind, inspect.IntType) else "a number"
        case inspect.BoolType():
            return "true or false"
        case inspect.TimeType():
            return "a time of day, 06:30:00"
        case inspect.DateType():
            return "a day, 2026-05-07"
    return "words"
