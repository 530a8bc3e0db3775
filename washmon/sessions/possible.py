"""Whether an entry of a session file can be: known names, and numbers and times of a shift."""

from collections.abc import Mapping
from datetime import datetime

import msgspec
from msgspec import Struct

from washmon.line.events import Corrected, Event
from washmon.line.journal import decode

YEARS = range(2000, 2200)
"""A time outside of these is a defect, not a shift."""
LARGEST = 1e9
"""No amount, weight, price or count of a shift comes near this, in whatever unit it is kept."""

_DRAWN = {"seed"}
"""Chance is drawn from these: no amounts, and any whole number will do."""


class ImpossibleError(ValueError):
    """A number or a time that no shift has; its text names it."""


class NoTimeError(ValueError):
    """An event at no time that can be placed."""


def possible_event(body: bytes) -> Event:
    """Return the event of a body that the chain vouches for.

    Raises:
        ImpossibleError: it holds a number or a time that no shift has.
        NoTimeError: its own time can't be placed.
        ValueError: it is of a later version.
    """
    event = decode(body)
    _refuse_unknown(msgspec.json.decode(body), event)
    inner = event.instead if isinstance(event, Corrected) else None
    for one in (event, inner):
        if one and not (one.at.utcoffset() is not None and one.at.year in YEARS):
            raise NoTimeError(f"{one.at} can't be placed")
    return event


def _refuse_unknown(raw: object, built: object) -> None:
    """Refuse names that decoding passed over: they may change what the rest means.

    So are numbers and times that can't be.

    Raises:
        ValueError: there is one.
    """
    if isinstance(raw, int | float) and abs(raw) > LARGEST:
        raise ImpossibleError("a number beyond all measure")
    if isinstance(built, datetime) and built.year not in YEARS:
        raise ImpossibleError(f"the year {built.year}")
    if isinstance(raw, Mapping) and isinstance(built, Struct):
        tag = built.__struct_config__.tag_field
        for name, part in raw.items():
            if name != tag and name not in built.__struct_fields__:
                raise ValueError(f"unknown field {name!r}")
            inside = None if name == tag else getattr(built, name)
            _refuse_unknown(None if name in _DRAWN else part, inside)
    elif isinstance(raw, Mapping) and isinstance(built, Mapping):
        for name, part in raw.items():
            _refuse_unknown(part, built[name])
    elif isinstance(raw, list) and isinstance(built, tuple):
        for part, made in zip(raw, built, strict=True):
            _refuse_unknown(part, made)
