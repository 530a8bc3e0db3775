"""The keys of a scenario file with what each takes, for whoever writes one."""

from collections.abc import Iterator

from msgspec import Struct, inspect
from msgspec.structs import fields

from washmon.sessions.practice.scenario import Scenario


def scenario_keys() -> list[tuple[str, str]]:
    """Return each key of a scenario file, and what it takes, with its range, in words."""
    return list(_keys(Scenario, ""))


def _keys(of: type[Struct], before: str) -> Iterator[tuple[str, str]]:
    for field, told in zip(fields(of), inspect.type_info(of).fields, strict=True):  # type: ignore[attr-defined]
        name, kind = f"{before}{field.name}", _one(told.type)
        if isinstance(kind, inspect.StructType):
            yield from _keys(kind.cls, f"{name}.")
            continue
        inside = _one(kind.item_type) if isinstance(kind, inspect.VarTupleType) else None
        if isinstance(inside, inspect.StructType):
            yield from _keys(inside.cls, f"{name}[].")
            continue
        needed = "" if not told.required else ", needed"
        many = "a list of " if inside is not None else ""
        yield name, f"{many}{_takes(inside or kind)}{needed}"


def _one(kind: inspect.Type) -> inspect.Type:
    """Return the type of a value that may be left out."""
    if isinstance(kind, inspect.UnionType):
        return next(one for one in kind.types if not isinstance(one, inspect.NoneType))
    return kind


def _takes(kind: inspect.Type) -> str:
    match kind:
        case inspect.EnumType(cls=cls):
            return ", ".join(str(one.value) for one in cls)
        case inspect.FloatType() | inspect.IntType():
            what = "a whole number" if isinstance(kind, inspect.IntType) else "a number"
            least = kind.gt if kind.gt is not None else kind.ge
            over = "over " if kind.gt is not None else ""
            return what if least is None else f"{what}, {over}{least} to {kind.le}"
        case inspect.BoolType():
            return "true or false"
        case inspect.TimeType():
            return "a time of day, 06:30:00"
        case inspect.DateType():
            return "a day, 2026-05-07"
    return "words"
