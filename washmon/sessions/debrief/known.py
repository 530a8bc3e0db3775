"""What could have been known at a moment, and what was true then."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from msgspec import Struct

from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    Event,
    ReadingTaken,
    TankFilled,
    WaterExchanged,
)
from washmon.line.journal import Entry
from washmon.line.setup import Tank
from washmon.sessions.debrief.facts import Facts

_ENDS: dict[str, tuple[type, ...]] = {
    "fac_mg_l": (DoseAdded, TankFilled, WaterExchanged),
    "paa_mg_l": (DoseAdded, TankFilled, WaterExchanged),
    "ph": (DoseAdded, AcidAdded, TankFilled, WaterExchanged),
    "turbidity_ntu": (TankFilled, WaterExchanged),
}
"""What makes a reading tell nothing more of the water, by the field that was read."""


class Known(Struct, frozen=True):
    """A reading, and how long it told of the water."""

    at: datetime
    until: datetime
    value: float


class Beside(Struct, frozen=True, kw_only=True):
    """A tank at a moment: what was last measured of its water and when, and the truth.

    The level of the sanitizer in mg/L; a reading is missing where none told of this water any more.
    """

    tank: int
    read_mg_l: float | None
    read_at: datetime | None
    read_ph: float | None
    true_mg_l: float
    true_ph: float


def known(entries: Sequence[Entry], tank: Tank, field: str, ended: datetime) -> tuple[Known, ...]:
    """Return the readings of a field, each as long as it told of the water.

    A level tells until its check was due again; any field until something is added that moves it.
    """
    return tuple(_known(entries, tank, field, ended))


def _known(entries: Sequence[Entry], tank: Tank, field: str, ended: datetime) -> Iterator[Known]:
    at: datetime | None = None
    value, since = 0.0, 0
    for entry in entries:
        event = entry.event
        read = _read(event, tank, field)
        if isinstance(event, BatchWashed) and tank.number in event.tanks:
            since += 1
            many = tank.check_batches is not None and since > tank.check_batches
            if at is not None and field == tank.level_field and many:
                yield _until(at, event.at, value, field, tank)
                at = None
        elif read is not None or _ends(event, tank, field):
            if at is not None:
                yield _until(at, event.at, value, field, tank)
            at = event.at if read is not None else None
            value, since = read or 0.0, 0
    if at is not None:
        yield _until(at, ended, value, field, tank)


def _read(event: Event, tank: Tank, field: str) -> float | None:
    if isinstance(event, ReadingTaken) and event.tank == tank.number:
        value: float | None = getattr(event, field)
        return value
    return None


def _ends(event: Event, tank: Tank, field: str) -> bool:
    return isinstance(event, _ENDS[field]) and getattr(event, "tank", None) == tank.number


def _until(at: datetime, until: datetime, value: float, field: str, tank: Tank) -> Known:
    if field == tank.level_field and tank.check_minutes is not None:
        until = min(until, at + timedelta(minutes=tank.check_minutes))
    return Known(at, until, value)


def beside(facts: Facts, tank: int, at: datetime) -> Beside | None:
    """Return what could have been known of a tank at a moment, beside the truth; None if empty."""
    spec, entries = facts.state.setup.tank(tank), facts.state.entries
    minutes = (at - facts.begins).total_seconds() / 60
    before = [one for one in facts.truth if one.tank == tank and one.minutes <= minutes + 1e-6]
    if not before:
        return None
    level = _at(known(entries, spec, spec.level_field, at), at)
    ph = _at(known(entries, spec, "ph", at), at)
    return Beside(
        tank=tank,
        read_mg_l=None if level is None else level.value,
        read_at=None if level is None else level.at,
        read_ph=None if ph is None else ph.value,
        true_mg_l=before[-1].level_mg_l,
        true_ph=before[-1].ph,
    )


def _at(found: Sequence[Known], at: datetime) -> Known | None:
    return next((one for one in reversed(found) if one.at <= at <= one.until), None)
