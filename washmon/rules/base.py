"""What a rule is: a small pure function of what it may look at, with an id and a source."""

from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING

from msgspec import Struct

from washmon.line.events import AcidAdded, DoseAdded, ReadingTaken
from washmon.line.fill_water import FillWater, water_of
from washmon.line.flags import Flag, Level, Step, StepKind
from washmon.line.judging import may_wash, under_ph
from washmon.line.message import Message
from washmon.line.mixing import Change, unchecked, unverified, verifies
from washmon.line.setup import LineSetup, Margins, Tank
from washmon.line.state import Fill, Placed, ShiftState, TankState, order, value_of

if TYPE_CHECKING:  # start-up is measured, and a rule only reads it
    from washmon.forecast.look_ahead import Forecast


class Second(Struct, frozen=True, kw_only=True):
    """What is said of a tank's second fill: what it lacks, and its next step."""

    lacks: tuple[Message, ...] = ()
    """In sentences; nothing where it may be swapped in."""
    gas: Flag | None = None
    """Chlorine gas over it."""
    step: Step | None = None
    """What makes it ready; rules do not go by it."""

    @property
    def ready(self) -> bool:
        """Whether it may be swapped in."""
        return not self.lacks


Seen = tuple[float, Placed[ReadingTaken]]
"""A value with the reading that tells it."""


class RuleContext(Struct, frozen=True, dict=True):
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
    second: Second | None = None
    """What is said of the second fill beside this water; nothing where it has no vessel."""
    waits: bool = False
    """This is the second fill itself: nothing is washed in it yet."""

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

    def deadband(self, rule: str, width: float) -> float:
        """Return how far inside its limit a value must come: a width while the flag is up."""
        return width if self.is_up(rule) else 0.0

    def reading(self, field: str) -> Seen | None:
        """Return the newest value of a numeric field in this fill, with its reading."""
        placed = self.water.latest(field)
        return None if placed is None else (value_of(placed, field), placed)

    def level(self) -> Seen | None:
        """Return the newest level of the tank's sanitizer that counts, with its reading.

        One taken before an addition has mixed in clears nothing; where it is bad, it counts.
        """
        return self._level

    @cached_property
    def _level(self) -> Seen | None:
        spec = self.spec
        return self._counting(spec.level_field, lambda level: not may_wash(level, spec))

    def ph(self) -> Seen | None:
        """Return the newest pH that counts: read in mixed water, or under the low limit."""
        return self._ph

    @cached_property
    def _ph(self) -> Seen | None:
        return self._counting("ph", lambda ph: under_ph(ph, self.spec))

    def ph_is_missing(self) -> bool:
        """Tell whether chlorine is kept here and pH was never measured in this fill."""
        return self.spec.peracetic is None and self.fill.latest("ph") is None

    def _counting(self, field: str, is_bad: Callable[[float], bool]) -> Seen | None:
        for reading in reversed(self.fill.readings):
            value: float | None = getattr(reading.event, field)
            if value is not None and (
                is_bad(value) or verifies(reading, self.fill, field, self.spec)
            ):
                return float(value), reading
        return None

    def treated_since(self, reading: Placed[ReadingTaken], *, with_acid: bool = False) -> bool:
        """Tell whether something that sets right what was read went in after it.

        That is a dose or an exchange; against a high pH acid or an exchange.
        """
        additions = self.fill.acids if with_acid else self.fill.doses
        newest = [*additions[-1:], *self.fill.exchanges[-1:]]
        return any(order(one) > order(reading) for one in newest)

    def unchecked_addition(self) -> Change | None:
        """Return what was put in last that is to be checked before anything else goes in."""
        return unchecked(self.fill, self.spec)

    def unverified_ph(self) -> Change | None:
        """Return what changed the pH last, if no reading of the pH has verified it."""
        return unverified(self.fill, "ph", self.spec)

    def rests(self) -> bool:
        """Tell whether the line is paused, or went on and this tank has washed nothing since."""
        if self.shift.paused is not None:
            return True
        went_on = self.shift.resumed_at
        washed = self.tank.washed
        return went_on is not None and (not washed or washed[-1].event.at <= went_on)

    def unverified_level(self) -> Change | None:
        """Return what changed the level last, if no reading of the level has verified it."""
        return unverified(self.fill, self.spec.level_field, self.spec)

    def unverified_dose(self) -> Placed[DoseAdded] | None:
        """Return the newest dose, if no reading of the level has verified it."""
        changed = self.unverified_level()
        doses = self.fill.doses
        return doses[-1] if doses and changed is not None and changed.seq >= doses[-1].seq else None

    def unread_acid(self) -> Placed[AcidAdded] | None:
        """Return the newest acid, if no reading of the pH has verified it."""
        acids, changed = self.fill.acids, self.unverified_ph()
        read = self.fill.latest("ph")
        if not acids or changed is None or (read is not None and order(read) > order(acids[-1])):
            return None
        return acids[-1]

    def mixed_at(self, addition: Change) -> datetime:
        """Return when an addition will have mixed in."""
        return addition.event.at + timedelta(minutes=self.spec.mix_minutes)


class Finding(Struct, frozen=True):
    """What a rule has to say about a tank.

    A ``note`` asks for nobody's hand: it stands among the reasons of the plan and raises no flag.
    """

    level: Level
    why: Message
    since: datetime
    more: tuple[Message, ...] = ()
    note: bool = False


class RuleScope(StrEnum):
    """Which tanks a rule is about."""

    ANY = "any"
    CHLORINE = "chlorine"
    PERACETIC = "peracetic acid"


class Protects(StrEnum):
    """What a rule guards, the first first: people, what label and law allow, produce, the work."""

    PEOPLE = "people"
    LAW = "label and law"
    PRODUCE = "produce"
    WORK = "work"

    @property
    def rank(self) -> int:
        """0 for people."""
        return list(Protects).index(self)


Look = Callable[[RuleContext], Finding | None]


class Rule(Struct, frozen=True):
    """One rule: its id, what it is called, where it comes from, and how it looks at a tank.

    ``answers`` are the kinds of step that can answer it; the planner weighs them.
    """

    id: str
    title: str
    source: str
    look: Look
    water: RuleScope
    answers: tuple[StepKind, ...]
    protects: Protects
    ahead: bool
    """It goes by the forecast: until that is made anew, its flag stays as it is."""

    def __call__(self, rule_context: RuleContext) -> Finding | None:
        """Return what the rule finds in a tank; nothing where all is well or it is not about it."""
        kept_with = RuleScope.PERACETIC if rule_context.spec.peracetic else RuleScope.CHLORINE
        return self.look(rule_context) if self.water in {RuleScope.ANY, kept_with} else None

    def flag(self, tank: int, found: Finding) -> Flag:
        """Return what the rule found as a flag of a tank."""
        return Flag(
            tank=tank,
            rule=self.id,
            level=found.level,
            title=Message(self.title),
            why=found.why,
            since=found.since,
            more=found.more,
        )


def rule(
    id_: str,
    title: str,
    source: str,
    water: RuleScope = RuleScope.ANY,
    *,
    answers: tuple[StepKind, ...] = (),
    protects: Protects = Protects.PRODUCE,
    ahead: bool = False,
) -> Callable[[Look], Rule]:
    """Make a function a rule; ``washmon.rules`` finds it by itself."""

    def made(look: Look) -> Rule:
        return Rule(id_, title, source, look, water, answers, protects, ahead)

    return made
