"""The state of a shift: what the fold of its events has come to so far.

Everything here is immutable; :mod:`washmon.line.fold` makes each state from the one before.
"""

from bisect import bisect_right
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Generic, TypeVar

from msgspec import Struct
from msgspec.structs import fields, replace

from washmon.line.event_base import Happened
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    Corrected,
    DoseAdded,
    HoldPlaced,
    HoldReleased,
    InstrumentChecked,
    LinePaused,
    NoteWritten,
    ReadingTaken,
    SecondSwapped,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flag_events import Acknowledged, FlagShelved
from washmon.line.flags import Flag, Level
from washmon.line.journal import Entry
from washmon.line.learned import LearnedTank
from washmon.line.plan import Plan
from washmon.line.registers import Registers
from washmon.line.same import Same
from washmon.line.setup import LineSetup, Tank

T_co = TypeVar("T_co", covariant=True)
_SET_BACK = timedelta(minutes=1)
"""A clock that was set back further ends what is shelved."""


class Placed(Struct, Generic[T_co], frozen=True):
    """An event with its place: in the journal and among the batches of its tank."""

    seq: int
    event: T_co
    batches: int
    """Washed in this tank since the shift began, before the event."""


Happening = TypeVar("Happening", bound=Placed[Happened])
Order = tuple[datetime, int]


def order(placed: Placed[Happened]) -> Order:
    """Return when something happened; what stands later in the journal came later at one time."""
    return placed.event.at, placed.seq


def passed(series: Sequence[Happening], since: Order, until: Order | None) -> Sequence[Happening]:
    """Return what happened after one place and up to and with another, of what stands in order."""
    last = None if until is None else bisect_right(series, until, key=order)
    return series[bisect_right(series, since, key=order) : last]


def value_of(reading: Placed[ReadingTaken], field: str) -> float:
    """Return the value of a field that was measured."""
    return float(getattr(reading.event, field))


MEASURED = tuple(field.name for field in fields(ReadingTaken) if field.default is None)
"""What a reading may have a value of."""


class Fill(Struct, frozen=True, kw_only=True):
    """One charge of water in a tank, from a water change to the next.

    What was done to a second fill while it waited is placed among the batches where it came into
    use: none was washed in it before.
    """

    number: int
    begun: Placed[TankFilled]
    """Its filling, which for a second fill comes before its use."""
    readings: tuple[Placed[ReadingTaken], ...] = ()
    newest: dict[str, Placed[ReadingTaken]] = {}
    """The newest reading of each field that was measured; see :meth:`latest`."""
    doses: tuple[Placed[DoseAdded], ...] = ()
    acids: tuple[Placed[AcidAdded], ...] = ()
    exchanges: tuple[Placed[WaterExchanged], ...] = ()
    swapped: Placed[SecondSwapped] | None = None
    """What brought it into the tank, where it was made ready as a second fill."""
    unvouched: frozenset[tuple[int, str]] = frozenset()
    """Readings (by place) and fields of them that prove no good water: they were made with what was
    known to be unfit then (:mod:`washmon.line.fitness`)."""

    @property
    def used(self) -> Placed[TankFilled] | Placed[SecondSwapped]:
        """What brought it into use: its filling, or the swap."""
        return self.swapped or self.begun

    @property
    def at(self) -> datetime:
        """When the fill came into use."""
        return self.used.event.at

    @property
    def volume_l(self) -> float:
        """Its water, litres."""
        return self.begun.event.volume_l

    def latest(self, field: str) -> Placed[ReadingTaken] | None:
        """Return the newest reading of this fill that has a value in ``field``."""
        return self.newest.get(field)

    def with_reading(self, reading: Placed[ReadingTaken]) -> "Fill":
        """Return the fill with one more reading, which is newer than all it has."""
        values = {name: reading for name in MEASURED if getattr(reading.event, name) is not None}
        return replace(self, readings=(*self.readings, reading), newest=self.newest | values)

    @property
    def read_in_use(self) -> tuple[Placed[ReadingTaken], ...]:
        """The readings since it came into use."""
        return tuple(reading for reading in self.readings if not reading.event.second)

    def course(self, field: str) -> tuple[Placed[ReadingTaken], ...]:
        """Return how a field went in use: its readings, and with what it came into use."""
        found = [one for one in self.readings if getattr(one.event, field) is not None]
        before = [one for one in found if one.event.second]
        return (*before[-1:], *found[len(before) :])

    def brought_in(self, number: int, swap: Placed[SecondSwapped]) -> "Fill":
        """Return this second fill as it comes into use, its past placed at the swap."""

        def here(series: tuple[Placed[T_co], ...]) -> tuple[Placed[T_co], ...]:
            return tuple(Placed(one.seq, one.event, swap.batches) for one in series)

        readings = here(self.readings)
        by_seq = {reading.seq: reading for reading in readings}
        return Fill(
            number=number,
            begun=Placed(self.begun.seq, self.begun.event, swap.batches),
            readings=readings,
            newest={field: by_seq[one.seq] for field, one in self.newest.items()},
            doses=here(self.doses),
            acids=here(self.acids),
            exchanges=here(self.exchanges),
            swapped=swap,
            unvouched=self.unvouched,
        )

    def last_addition(self) -> Placed[DoseAdded | AcidAdded | WaterExchanged] | None:
        """Return what was last put into this fill, if anything."""
        newest = [series[-1] for series in (self.doses, self.acids, self.exchanges) if series]
        return max(newest, key=order, default=None)


class TankState(Struct, frozen=True, kw_only=True):
    """A tank of the line during a shift."""

    spec: Tank
    fills: tuple[Fill, ...] = ()
    washed: tuple[Placed[BatchWashed], ...] = ()
    second: Fill | None = None
    """The fill that is made ready beside the tank."""
    unused: tuple[Fill, ...] = ()
    """Second fills that were let go before they came into use."""

    @property
    def number(self) -> int:
        """The tank's number in the line."""
        return self.spec.number

    @property
    def fill(self) -> Fill | None:
        """The water that is in the tank now."""
        return self.fills[-1] if self.fills else None

    @property
    def every_fill(self) -> tuple[Fill, ...]:
        """All water that was ever filled in, whether it came into use or not."""
        waiting = () if self.second is None else (self.second,)
        return (*self.fills, *self.unused, *waiting)

    @property
    def batches(self) -> int:
        """Batches washed in this tank since the shift began."""
        return len(self.washed)

    @property
    def batches_in_fill(self) -> int:
        """Batches washed in the water that is in the tank now."""
        return self.batches - self.fill.begun.batches if self.fill else 0


class Hold(Struct, frozen=True, kw_only=True):
    """Batches that must not be sold, until somebody decides."""

    seq: int
    placed: HoldPlaced
    released: HoldReleased | None = None


class Paused(Struct, frozen=True, kw_only=True):
    """A time in which the line stood still."""

    seq: int
    placed: LinePaused
    over: datetime | None = None
    """When it went on: it was said so, or a batch or a reading of water in use came."""


class FlagRecord(Struct, frozen=True, kw_only=True):
    """The life of one flag."""

    flag: Flag
    raised_at: datetime
    acknowledged: Acknowledged | None = None
    cleared_at: datetime | None = None


class Shelved(Struct, frozen=True, kw_only=True):
    """A flag that was put aside until a time, whether it is up meanwhile or not."""

    seq: int
    placed: FlagShelved
    over: datetime | None = None
    """When it was back before its time."""
    back_by: str = ""
    """Who brought it back, or the rules, where it came to press more."""

    @property
    def key(self) -> tuple[int, str]:
        """Tank and rule of the flag."""
        return (self.placed.tank, self.placed.rule)

    def lasts(self, now: datetime) -> bool:
        """Tell whether the flag is shelved at a moment."""
        return self.over is None and self.placed.at - _SET_BACK <= now < self.placed.until


class ShiftState(Struct, frozen=True, kw_only=True):
    """All that is known of a shift at one place of its journal."""

    chain: str
    started: ShiftStarted
    tanks: tuple[TankState, ...]
    in_charge: str
    last_at: datetime
    """Of the newest event that touched water, produce or the run of the line."""
    entries: tuple[Entry, ...] = ()
    corrections: dict[int, Corrected] = {}
    """By the place of the entry that they correct; the newest wins."""
    holds: tuple[Hold, ...] = ()
    pauses: tuple[Paused, ...] = ()
    """In the order in which they came; all but the last are over."""
    notes: tuple[tuple[int, NoteWritten], ...] = ()
    verified: tuple[tuple[int, InstrumentChecked], ...] = ()
    """Checks of instruments, by their place, as they were written down."""
    registers: Registers = Registers()
    """What it began with, and what was registered meanwhile."""
    open_flags: tuple[FlagRecord, ...] = ()
    closed_flags: tuple[FlagRecord, ...] = ()
    shelved: tuple[Shelved, ...] = ()
    """All that were ever put aside, in the order of the journal; see :attr:`shelvings`."""
    plans: dict[int, Plan] = {}
    """The newest plan of each tank that was journaled."""
    looked_upto: int = -1
    """The newest entry that the rules had seen when they last journaled a change."""
    ended: ShiftEnded | None = None
    learned: tuple[LearnedTank, ...] = ()
    """What the forecast began with, told by the shifts before; nothing in an older journal."""

    @property
    def setup(self) -> LineSetup:
        """The set-up that the shift runs on."""
        return self.started.setup

    @property
    def last_seq(self) -> int:
        """The newest place of the journal."""
        return self.entries[-1].seq if self.entries else -1

    def tank(self, number: int) -> TankState:
        """Return the tank with this number.

        Raises:
            KeyError: the line has no such tank.
        """
        for tank in self.tanks:
            if tank.number == number:
                return tank
        raise KeyError(number)

    @property
    def open_holds(self) -> tuple[Hold, ...]:
        """Holds on which nobody has decided yet."""
        return tuple(hold for hold in self.holds if hold.released is None)

    @property
    def paused(self) -> Paused | None:
        """The pause that lasts, if the line stands still."""
        last = self.pauses[-1] if self.pauses else None
        return last if last is not None and last.over is None else None

    @property
    def resumed_at(self) -> datetime | None:
        """When the line went on after its last pause; nothing before one, and while it lasts."""
        return self.pauses[-1].over if self.pauses else None

    @property
    def shelvings(self) -> tuple[Shelved, ...]:
        """All that were ever put aside; what presses to act is back with new water in its tank."""
        return tuple(self._back_with_new_water(one) for one in self.shelved)

    def _back_with_new_water(self, one: Shelved) -> Shelved:
        if one.placed.level is Level.WATCH:
            return one
        end = one.over or one.placed.until
        used = (
            fill.used.event
            for tank in self.tanks
            if tank.number == one.placed.tank
            for fill in tank.fills
        )
        new = next((event for event in used if one.placed.at < event.at < end), None)
        return one if new is None else replace(one, over=new.at, back_by=new.by)

    def shelved_at(self, now: datetime) -> dict[tuple[int, str], Shelved]:
        """Return what is shelved at a moment, by tank and rule."""
        return {one.key: one for one in self.shelvings if one.lasts(now)}

    @property
    def held_batches(self) -> frozenset[int]:
        """Places of all batches that were ever held."""
        return frozenset(seq for hold in self.holds for seq in hold.placed.batches)

    @property
    def lot_codes(self) -> tuple[str, ...]:
        """The lots that the shift began with, and those that came up later, in order."""
        codes = dict.fromkeys(lot.code for lot in self.started.lots)
        for tank in self.tanks:
            codes.update(_lots(Same(tank.washed)))
        return tuple(code for code in codes if code)


@lru_cache(maxsize=64)
def _lots(same: Same[tuple[Placed[BatchWashed], ...]]) -> dict[str, None]:
    """Return the lots of a tank's batches, in order; kept, as each look at a shift names them."""
    return dict.fromkeys(batch.event.lot for batch in same.part)
