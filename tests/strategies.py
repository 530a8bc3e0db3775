"""Hypothesis strategies for set-ups and events, of every kind there is and any plausible value.

A field that is added to an event or to a set-up is covered without a change here.
"""

from collections.abc import Callable
from datetime import date, datetime, timedelta, timezone
from enum import Enum
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from hypothesis import strategies as st
from msgspec import UNSET, Struct, UnsetType, structs

from washmon.line.events import Event, ShiftStarted
from washmon.line.flags import Amount
from washmon.line.setup import ChlorineLimits, LineSetup, PhLimits, Sanitizer, Tank
from washmon.line.site_events import SetupSaved

Strategy = st.SearchStrategy[Any]

_SEQS = st.integers(0, 2000)
_NUMBERS = st.floats(0, 10_000, allow_nan=False, width=64)
_WORDS = st.text(max_size=12)
_ZONES = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))


def times(
    first: datetime = datetime(2024, 1, 1),  # noqa: DTZ001 - hypothesis adds the zone
    last: datetime = datetime(2034, 1, 1),  # noqa: DTZ001 - the same
) -> st.SearchStrategy[datetime]:
    """Aware times, to the microsecond, in any zone of whole minutes."""
    return st.datetimes(first, last, timezones=_ZONES)


def events() -> st.SearchStrategy[Event]:
    """Any event; its references to other entries may lead nowhere."""
    return st.one_of([of(kind) for kind in get_args(Event)])


def setups() -> st.SearchStrategy[LineSetup]:
    """Set-ups whose tanks are numbered from 1, with limits in order and a sanitizer that exists."""
    return st.lists(of(Sanitizer), min_size=1, max_size=2, unique_by=lambda one: one.key).flatmap(
        _setup_with
    )


def of(kind: Any) -> Strategy:
    """Values of an annotation as it stands on an event or a set-up."""
    if kind in _SPECIAL:
        return _SPECIAL[kind]()
    if get_origin(kind) in {Union, UnionType}:
        return st.one_of([of(part) for part in get_args(kind)])
    if get_origin(kind) is tuple:
        return _tuples(get_args(kind))
    if get_origin(kind) is dict:
        return st.dictionaries(*(of(part) for part in get_args(kind)), max_size=2)
    if issubclass(kind, Enum):
        return st.sampled_from(kind)
    if issubclass(kind, Struct):
        return _struct(kind)
    raise TypeError(f"No strategy for {kind}.")


def _tuples(parts: tuple[Any, ...]) -> Strategy:
    if parts[-1] is Ellipsis:
        return st.lists(of(parts[0]), max_size=2).map(tuple)
    return st.tuples(*(of(part) for part in parts))


def _struct(kind: type[Struct], **given: Strategy) -> Strategy:
    hints = get_type_hints(kind)
    others = [one.name for one in structs.fields(kind) if one.name not in given]
    return st.builds(kind, **given, **{name: of(hints[name]) for name in others})


def _setup_with(sanitizers: list[Sanitizer]) -> Strategy:
    key = st.sampled_from([one.key for one in sanitizers])
    tanks = st.lists(_struct(Tank, sanitizer=key), min_size=1, max_size=3).map(
        lambda made: tuple(structs.replace(tank, number=n) for n, tank in enumerate(made, 1))
    )
    return _struct(LineSetup, tanks=tanks, sanitizers=st.just(tuple(sanitizers)))


def _rising(count: int, last: float) -> st.SearchStrategy[list[float]]:
    hundredths = st.integers(1, int(last * 100))
    rising = st.lists(hundredths, min_size=count, max_size=count, unique=True).map(sorted)
    return rising.map(lambda values: [value / 100 for value in values])


def _chlorine() -> st.SearchStrategy[ChlorineLimits]:
    names = ("critical_low_mg_l", "low_mg_l", "target_mg_l", "high_mg_l", "label_max_mg_l")
    basis = of(get_type_hints(ChlorineLimits)["label_basis"])
    return st.builds(
        lambda values, label: ChlorineLimits(
            **dict(zip(names, values, strict=True)), label_basis=label
        ),
        _rising(len(names), 200),
        basis,
    )


_SPECIAL: dict[Any, Callable[[], Strategy]] = {
    bool: st.booleans,
    int: lambda: _SEQS,
    float: lambda: _NUMBERS,
    str: lambda: _WORDS,
    bytes: lambda: st.binary(max_size=12),
    NoneType: st.none,
    UnsetType: lambda: st.just(UNSET),
    date: st.dates,
    datetime: times,
    Amount: lambda: st.builds(Amount, _NUMBERS, st.sampled_from(["mL", "g"])),
    ChlorineLimits: _chlorine,
    PhLimits: lambda: _rising(3, 14).map(lambda ph: PhLimits(low=ph[0], target=ph[1], high=ph[2])),
    LineSetup: setups,
}

SETUP_SAVED: st.SearchStrategy[SetupSaved] = st.deferred(lambda: of(SetupSaved))
SHIFT_STARTED: st.SearchStrategy[ShiftStarted] = st.deferred(lambda: of(ShiftStarted))
