"""What certainly went into the water, by mass balance: believed until a reading says otherwise.

What a tank's level may be by now: as it was read last, with all that went in since.
"""

from datetime import datetime

from msgspec import Struct

from washmon.chemistry.checks import ChemistryError
from washmon.line.events import DoseAdded, ReadingTaken, WaterExchanged
from washmon.line.mixing import verifies, waited_long
from washmon.line.product import rise
from washmon.line.reading import range_of
from washmon.line.setup import LineSetup, SanitizerKind, Tank
from washmon.line.state import Fill, Order, Placed, ShiftState, order


class Certain(Struct, frozen=True, kw_only=True):
    """Between which levels, mg/L, doses that no reading has followed brought the water.

    At the low end only what nothing can have used up counts: doses with no batch between them, and
    a reading of shortly before. At the high end nothing was used up at all. Neither falls with time
    or with batches: how much those took is for a forecast to say, or a reading.
    """

    low_mg_l: float
    high_mg_l: float
    dose: Placed[DoseAdded]
    """That brought the low end."""


def certain_level(fill: Fill, spec: Tank, setup: LineSetup) -> Certain | None:
    """Return what the doses since the newest reading that shows them brought; None without any."""
    base = _last_reading(fill, spec)
    low, high = _as_read(base, spec, setup)
    peak: tuple[float, Placed[DoseAdded]] | None = None
    last: Placed[DoseAdded] | None = None
    for _, dose, stays in _changes_since(base, fill):
        low, high = low * stays, high * stays
        peak = None if peak is None else (peak[0] * stays, peak[1])
        if dose is None:
            continue
        if _is_used_up(base, last, dose, spec):
            low = 0.0
        gain = rise_of(setup, spec, fill.volume_l, dose.event)
        low, high, last = low + gain, high + gain, dose
        if peak is None or low > peak[0]:
            peak = (low, dose)
    return None if peak is None else Certain(low_mg_l=peak[0], high_mg_l=high, dose=peak[1])


def _last_reading(fill: Fill, spec: Tank) -> Placed[ReadingTaken] | None:
    """Return the newest reading of the level that shows all that had gone in before it."""
    field = spec.level_field
    shown = (
        one
        for one in reversed(fill.readings)
        if getattr(one.event, field) is not None and verifies(one, fill, field, spec)
    )
    return next(shown, None)


def _as_read(
    base: Placed[ReadingTaken] | None, spec: Tank, setup: LineSetup
) -> tuple[float, float]:
    """Return a level as it was read, and the most that it may have been; fresh water has none."""
    if base is None:
        return 0.0, 0.0
    return float(getattr(base.event, spec.level_field)), range_of(setup, spec, base.event)[1]


def _changes_since(
    base: Placed[ReadingTaken] | None, fill: Fill
) -> list[tuple[Order, Placed[DoseAdded] | None, float]]:
    """Return what changed the level after a reading, in order: doses, and what exchanges left."""
    since = order(fill.begun if base is None else base)
    doses = [(order(one), one, 1.0) for one in fill.doses]
    exchanges = [
        (order(one), None, max(0.0, 1.0 - one.event.volume_l / fill.volume_l))
        for one in fill.exchanges
    ]
    return sorted((one for one in (*doses, *exchanges) if one[0] > since), key=lambda one: one[0])


def _is_used_up(
    base: Placed[ReadingTaken] | None,
    last: Placed[DoseAdded] | None,
    dose: Placed[DoseAdded],
    spec: Tank,
) -> bool:
    """Tell whether what was put in or read last may be gone before a dose."""
    if last is not None:
        return dose.batches > last.batches
    if base is None:
        return False
    return dose.batches > base.batches or waited_long(base, spec, dose.event.at)


def rise_of(setup: LineSetup, spec: Tank, volume_l: float, dose: DoseAdded) -> float:
    """Return by how many mg/L a dose raised a tank's sanitizer; 0 where that can't be told."""
    product = setup.sanitizer(dose.product)
    kept = spec.peracetic is not None
    if product is None or (product.kind is SanitizerKind.PERACETIC) != kept:
        return 0.0
    try:
        return rise(product, volume_l, dose.amount, dose.at.date())
    except ChemistryError:
        return 0.0


class LevelBefore(Struct, frozen=True, kw_only=True):
    """The most that a level can be before an entry, mg/L; what the water used up is not taken off.

    ``level_mg_l`` goes by the last reading as it was read, ``most_mg_l`` by the most that it may
    have meant.
    """

    level_mg_l: float
    most_mg_l: float
    unmeasured_at: datetime | None = None
    """Of the newest dose that no reading has followed."""


def level_before(state: ShiftState, fill: Fill, event: DoseAdded | ReadingTaken) -> LevelBefore:
    """Return the level of a fill before an entry; fresh water begins with none."""
    spec = state.tank(event.tank).spec
    level, most, since = 0.0, 0.0, order(fill.begun)
    for reading in fill.readings:
        value = getattr(reading.event, spec.level_field)
        if value is not None and reading.event.at <= event.at:
            level, since = float(value), order(reading)
            most = range_of(state.setup, spec, reading.event)[1]
    unmeasured: datetime | None = None
    additions: list[Placed[DoseAdded] | Placed[WaterExchanged]] = [*fill.doses, *fill.exchanges]
    for added in sorted(additions, key=order):
        if order(added) <= since or added.event.at > event.at:
            continue
        if isinstance(added.event, DoseAdded):
            gain = rise_of(state.setup, spec, fill.volume_l, added.event)
            level, most = level + gain, most + gain
            unmeasured = added.event.at
        elif isinstance(added.event, WaterExchanged):
            stays = max(0.0, 1 - added.event.volume_l / fill.volume_l)
            level, most = level * stays, most * stays
    return LevelBefore(level_mg_l=level, most_mg_l=most, unmeasured_at=unmeasured)
