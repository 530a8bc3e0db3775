"""What a tank's level may be by now: as it was read last, with all that went in since."""

from datetime import datetime

from msgspec import Struct

from washmon.line.certain import rise_of
from washmon.line.events import DoseAdded, ReadingTaken, WaterExchanged
from washmon.line.reading import range_of
from washmon.line.state import Fill, Placed, ShiftState, order


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
            most = range_of(spec, reading.event)[1]
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
