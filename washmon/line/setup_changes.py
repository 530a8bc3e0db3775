"""What differs between two set-ups, value by value: what it was, and what it is now."""

from collections.abc import Iterator
from datetime import date
from enum import Enum
from typing import NamedTuple, TypeGuard

from msgspec import Struct
from msgspec.structs import replace

from washmon.line.message import Figure
from washmon.line.setup import LineSetup, RuleOff
from washmon.units import Kind

Told = str | Figure
_ENDINGS = {
    "_mg_l": Kind.CONCENTRATION,
    "_l": Kind.VOLUME,
    "_s": Kind.CONTACT_TIME,
    "_min": Kind.TIME,
    "_minutes": Kind.TIME,
    "_ntu": Kind.TURBIDITY,
    "_pct": Kind.PERCENT,
    "_ppm": Kind.CONCENTRATION,
    "_g_l": Kind.STRENGTH,
    "_kg_l": Kind.DENSITY,
    "_cm": Kind.LENGTH,
    "cost": Kind.MONEY,
    "storage_c": Kind.TEMPERATURE,
    "by_c": Kind.TEMPERATURE_DIFFERENCE,
    "deadband_c": Kind.TEMPERATURE_DIFFERENCE,
}
"""The kind of a value by how its field's name ends; the longest ending wins."""
_SHARES = ("_fraction", "_share")
_KEYED = {
    "people": "initials",
    "tanks": "number",
    "sanitizers": "key",
    "acids": "key",
    "rules_off": "rule",
}
"""What the parts of a list are told apart by, so that moving one is no change of all."""


class Change(NamedTuple):
    """One value: where it stands, as the fields are named, and what it was and is."""

    path: tuple[str, ...]
    was: Told
    now: Told


def changes(before: LineSetup | None, after: LineSetup) -> tuple[Change, ...]:
    """Return what differs; a first set-up is one change, from nothing."""
    if before is None:
        return (Change((), "", after.line),)
    return tuple(_between((), before, after))


def stamped(before: LineSetup | None, after: LineSetup, by: str, day: date) -> LineSetup:
    """Return a set-up that says of each rule that is newly off who switched it off, and when.

    Only this writes it: what a set-up itself claims of a change is not believed.
    """
    known = {one.rule: one for one in before.rules_off} if before else {}
    return replace(
        after, rules_off=tuple(_stamp(known.get(one.rule), one, by, day) for one in after.rules_off)
    )


def _stamp(before: RuleOff | None, now: RuleOff, by: str, day: date) -> RuleOff:
    if before is not None and before.reason == now.reason:
        return before
    return replace(now, by=by, since=day)


def _between(path: tuple[str, ...], before: object, after: object) -> Iterator[Change]:
    if before == after:
        return
    if isinstance(before, Struct) and type(before) is type(after):
        for name in before.__struct_fields__:
            yield from _between((*path, name), getattr(before, name), getattr(after, name))
    elif (whole := before or after) and _is_nameless(whole) and None in (before, after):
        for name in whole.__struct_fields__:
            was, now = (None if one is None else getattr(one, name) for one in (before, after))
            yield from _between((*path, name), was, now)
    elif isinstance(before, tuple) and isinstance(after, tuple) and path[-1] in _KEYED:
        yield from _in_list(path, _KEYED[path[-1]], before, after)
    else:
        yield Change(path, _told(path, before), _told(path, after))


def _in_list(
    path: tuple[str, ...], key: str, before: tuple[object, ...], after: tuple[object, ...]
) -> Iterator[Change]:
    was = {str(getattr(one, key)): one for one in before}
    now = {str(getattr(one, key)): one for one in after}
    for name in dict.fromkeys((*was, *now)):
        yield from _between((*path, name), was.get(name), now.get(name))


def _is_nameless(value: object) -> TypeGuard[Struct]:
    """Tell whether it is told part by part where it comes or goes: it has no name to tell."""
    return isinstance(value, Struct) and not hasattr(value, "name") and type(value) is not RuleOff


def _told(path: tuple[str, ...], value: object) -> Told:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return _figure(path, float(value))
    return _in_words(value)


def _in_words(value: object) -> str:
    match value:
        case None:
            return ""
        case RuleOff():
            return value.reason
        case Struct():
            return _summed_up(value)
        case tuple():
            return ", ".join(_in_words(one) for one in value)
        case Enum():
            return str(value.value)
    return str(value)


def _summed_up(value: Struct) -> str:
    """Return the name that a person, a tank or a product has; else what it holds."""
    name = getattr(value, "name", None)
    if name is not None:
        return str(name)
    held = (getattr(value, field) for field in value.__struct_fields__)
    return ", ".join(f"{one:g}" if isinstance(one, float) else str(one) for one in held if one)


def _figure(path: tuple[str, ...], value: float) -> Told:
    name = path[-1]
    if name.endswith(_SHARES):
        return Figure(100 * value, Kind.PERCENT)
    if "ph" in path or "ph" in name.split("_"):
        return Figure(value, Kind.PH)
    fitting = [ending for ending in _ENDINGS if name.endswith(ending)]
    if fitting:
        return Figure(value, _ENDINGS[max(fitting, key=len)])
    return f"{value:.12g}"
