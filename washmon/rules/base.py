"""What a rule is: a small pure function of what it may look at, with an id and a source."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING

from washmon.line.events import AcidAdded, DoseAdded, ReadingTaken, WaterExchanged
from washmon.line.fill_water import FillWater, water_of
from washmon.line.flags import Flag, Level, Step
from washmon.line.message import Message
from washmon.line.setup import LineSetup, Margins, Tank
from washmon.line.state import Fill, Placed, ShiftState, TankState

if TYPE_CHECKING:  # start-up is measured, and a rule only reads it
    from washmon.forecast.look_ahead import Forecast


@dataclass(frozen=True)
class Sight:
    """What a rule may look at: one tank that holds water, its shift, and the time."""

    shift: ShiftState
    tank: TankState
    fill: Fill
    now: datetime
    raised: frozenset[tuple[int, str]]
    """Keys of the flags that are up already; a deadband depends on it."""
    forecast: "Forecast | None" = None
    """What is expected of the water; nothing where nobody has looked ahead."""
    kept: Mapping[str, Flag] | None = None
    """Where the forecast is about to be made anew: the tank's open flags, by rule."""

    @property
    def setup(self) -> LineSetup:
        """The set-up that the shift runs on."""
        return self.shift.setup

    @property
    def spec(self) -> Tank:
        """What is wanted of this tank."""
        return self.tank.spec

    @property
    def margins(self) -> Margins:
        """Deadbands and delays."""
        return self.shift.setup.margins

    @property
    def today(self) -> date:
        """The day in the shed."""
        return self.now.date()

    @cached_property
    def water(self) -> FillWater:
        """The water as chemistry sees it."""
        return water_of(self.setup, self.spec, self.fill)

    def is_up(self, rule: str) -> bool:
        """Tell whether this tank's flag of a rule is up already."""
        return (self.tank.number, rule) in self.raised

    def reading(self, field: str) -> tuple[float, Placed[ReadingTaken]] | None:
        """Return the newest value of a numeric field in this fill, with its reading."""
        placed = self.water.latest(field)
        return None if placed is None else (float(getattr(placed.event, field)), placed)

    def level(self) -> tuple[float, Placed[ReadingTaken]] | None:
        """Return the newest level of the tank's sanitizer in this fill, with its reading."""
        return self.reading(self.spec.level_field)

    def unchecked_addition(self) -> Placed[DoseAdded | AcidAdded | WaterExchanged] | None:
        """Return what was put in last, unless the water was measured after it mixed in."""
        last = self.fill.last_addition()
        if last is None:
            return None
        field = "ph" if isinstance(last.event, AcidAdded) else self.spec.level_field
        seen = self.fill.latest(field)
        if seen and (seen.event.at, seen.seq) > (last.event.at, last.seq):
            return None
        return last

    def mixed_at(self, addition: Placed[DoseAdded | AcidAdded | WaterExchanged]) -> datetime:
        """Return when an addition will have mixed in."""
        return addition.event.at + timedelta(minutes=self.spec.mix_minutes)


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule has to say about a tank."""

    level: Level
    why: Message
    step: Step
    since: datetime
    more: tuple[Message, ...] = ()


class Water(StrEnum):
    """Which tanks a rule is about."""

    ANY = "any"
    CHLORINE = "chlorine"
    PERACETIC = "peracetic acid"


Look = Callable[[Sight], Finding | None]


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: its id, what it is called, where it comes from, and how it looks at a tank."""

    id: str
    title: str
    source: str
    look: Look
    water: Water = Water.ANY
    ahead: bool = False
    """It goes by the forecast: until that is made anew, its flag stays as it is."""

    def __call__(self, sight: Sight) -> Flag | None:
        """Return the rule's flag on a tank, or nothing where all is well or it is not about it."""
        kept_with = Water.PERACETIC if sight.spec.peracetic else Water.CHLORINE
        found = self.look(sight) if self.water in {Water.ANY, kept_with} else None
        if found is None:
            return None
        return Flag(
            tank=sight.tank.number,
            rule=self.id,
            level=found.level,
            title=Message(self.title),
            why=found.why,
            step=found.step,
            since=found.since,
            more=found.more,
        )


def rule(
    id_: str, title: str, source: str, water: Water = Water.ANY, *, ahead: bool = False
) -> Callable[[Look], Rule]:
    """Make a function a rule; ``washmon.rules`` finds it by itself."""

    def made(look: Look) -> Rule:
        return Rule(id_, title, source, look, water, ahead)

    return made
