"""What a shift took lately: batches, product, water and readings, as a guess at the next one."""

from collections.abc import Iterable
from statistics import median

from msgspec import Struct

from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    Corrected,
    DoseAdded,
    Event,
    ReadingTaken,
    ShiftStarted,
    TankFilled,
    WaterExchanged,
)
from washmon.line.journal import Entry


class Usual(Struct, frozen=True):
    """The middle of some shifts, and their least and most."""

    low: float
    middle: float
    high: float


class UsualDay(Struct, frozen=True, kw_only=True):
    """What shifts took: litres, and of products mL or g by name and unit."""

    shifts: int
    batches: Usual
    water_l: Usual
    readings: Usual
    products: dict[tuple[str, str], Usual]


def usual_day(shifts: Iterable[Iterable[Entry]]) -> UsualDay | None:
    """Return what whole past shifts took, corrections applied; nothing where there are none."""
    days = [_corrected(entries) for entries in shifts]
    if not days:
        return None
    taken = [_products(events) for events in days]
    names = dict.fromkeys(name for one in taken for name in one)
    return UsualDay(
        shifts=len(days),
        batches=_usual([_count(events, BatchWashed) for events in days]),
        water_l=_usual([_water_l(events) for events in days]),
        readings=_usual([_count(events, ReadingTaken) for events in days]),
        products={name: _usual([one.get(name, 0.0) for one in taken]) for name in names},
    )


def _corrected(entries: Iterable[Entry]) -> list[Event]:
    events: dict[int, Event] = {}
    for entry in entries:
        match entry.event:
            case Corrected(entry=wrong, instead=None):
                events.pop(wrong, None)
            case Corrected(entry=wrong, instead=right) if right is not None and wrong in events:
                events[wrong] = right
            case event:
                events[entry.seq] = event
    return list(events.values())


def _count(events: list[Event], kind: type[Event]) -> float:
    return float(sum(isinstance(event, kind) for event in events))


def _water_l(events: list[Event]) -> float:
    water = (event for event in events if isinstance(event, TankFilled | WaterExchanged))
    return sum(event.volume_l for event in water)


def _products(events: list[Event]) -> dict[tuple[str, str], float]:
    """Return how much of each product went in, by its name and unit."""
    started = next((event for event in events if isinstance(event, ShiftStarted)), None)
    names: dict[str, str] = {}
    if started is not None:
        names |= {product.key: product.name for product in started.setup.sanitizers}
        names |= {product.key: product.name for product in started.setup.acids}
    taken: dict[tuple[str, str], float] = {}
    for event in events:
        if isinstance(event, DoseAdded | AcidAdded):
            key = (names.get(event.product, event.product), event.amount.unit)
            taken[key] = taken.get(key, 0.0) + event.amount.value
    return taken


def _usual(values: list[float]) -> Usual:
    return Usual(min(values), float(median(values)), max(values))
