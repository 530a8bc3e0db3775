"""What the planner may look at for one tank, and what is predicted of it if nothing is done.

How a fill clouds: batches until its cloudiness passes its limit, by what was read of it.

A straight line through the readings of the fill, or of the fills before it while there is but one;
common practice, no published source.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from functools import cached_property
from math import inf, isinf
from typing import TYPE_CHECKING

from msgspec import Struct

from washmon.line.events import Method, ReadingTaken
from washmon.line.flags import Level, StepKind
from washmon.line.plan import Due, Plan
from washmon.line.state import Fill, Placed, TankState
from washmon.planning.objective import (
    FAR_MIN,
    HORIZON,
    LOW_RISK,
    PH_RISK,
    RISK,
    UNSURE_AFTER_ACID,
    WORK,
)
from washmon.rules import rule_of
from washmon.rules.base import Finding, RuleContext

if TYPE_CHECKING:
    from washmon.forecast.ph import PhForecast
    from washmon.planning.outlook import ChanceCourse, Outlook


_FRESH_NTU = 1.0
"""Of water that was filled in just now."""
_MARGIN = 1.4
"""How much faster than so far the next batches may cloud it."""
_WORTH_A_LOOK = 0.4
"""Share of the batches until the limit after which the next check looks at cloudiness, too."""
_FIRST_LOOK = 6
"""Batches after which a fill is looked at for the first time."""
_CARD_EVERY = 8
"""Batches between two looks at the card, where no number is measured."""


class Clouding(Struct, frozen=True, kw_only=True):
    """Batches that are left of a fill by its cloudiness, ``inf`` where nothing limits it.

    ``left`` are the likely ones, ``sure`` those that nearly always are; ``fresh`` tells whether
    nothing was washed since it was read, ``look`` whether the next check should read it.
    """

    left: float = inf
    sure: float = inf
    fresh: bool = False
    look: bool = False


def clouding(rule_context: RuleContext) -> Clouding:
    """Return how a tank's fill clouds."""
    limit, fill, tank = rule_context.spec.turbidity_max_ntu, rule_context.fill, rule_context.tank
    washed = tank.batches_in_fill
    if limit is None:
        card = fill.latest("look") or fill.latest("turbidity_ntu")
        since = washed if card is None else tank.batches - card.batches
        return Clouding(look=rule_context.spec.look_limit is not None and since >= _CARD_EVERY)
    last = fill.latest("turbidity_ntu")
    rate = _rate(tank, fill)
    if rate is None:
        return Clouding(look=last is None and washed >= _FIRST_LOOK)
    now = _FRESH_NTU if last is None else float(last.event.turbidity_ntu or 0.0)
    since = washed if last is None else tank.batches - last.batches
    room = max(0.0, limit - now)
    left, sure = room / rate - since, room / (_MARGIN * rate) - since
    return Clouding(
        left=left,
        sure=sure,
        fresh=last is not None and since == 0,
        look=since >= _WORTH_A_LOOK * (room / rate) and since > 0,
    )


def _rate(tank: TankState, fill: Fill) -> float | None:
    """Return NTU a batch: of this fill, else of the last one that tells."""
    for one in (fill, *reversed(tank.fills[:-1])):
        last = one.latest("turbidity_ntu")
        if last is None:
            continue
        batches = last.batches - one.begun.batches
        risen = float(last.event.turbidity_ntu or 0.0) - _first(one)
        if batches > 0 and risen > 0:
            return risen / batches
    return None


def _first(fill: Fill) -> float:
    first = next(one for one in fill.readings if one.event.turbidity_ntu is not None)
    return min(_FRESH_NTU, float(first.event.turbidity_ntu or 0.0))


class PlanContext(Struct, frozen=True, dict=True):
    """One tank that holds water, what was found of it, and its plan so far."""

    rule_context: RuleContext
    findings: Mapping[str, Finding]
    """By the id of their rules; without notes, and without what is shelved or switched off."""
    previous: Plan | None = None
    shelved: frozenset[str] = frozenset()
    """Ids of findings that are put aside: still weighed, and kept out of what is said now."""

    # -- the level ------------------------------------------------------------------------------

    @cached_property
    def outlook(self) -> "Outlook":
        """How the level goes on."""
        from washmon.planning.outlook import outlook_of  # noqa: PLC0415 - start-up is measured

        return outlook_of(self.rule_context)

    @cached_property
    def course(self) -> "ChanceCourse":
        """What the next batches meet if nothing is done."""
        return self.course_of(self.outlook)

    def course_of(self, outlook: "Outlook") -> "ChanceCourse":
        """Return what the next batches meet by an outlook."""
        from washmon.planning.outlook import course  # noqa: PLC0415 - start-up is measured

        limits = self.rule_context.spec.limits
        batches = max(self.full_schedule, 1)
        return course(outlook, limits.critical_low_mg_l, limits.low_mg_l, batches)

    def good(self, course: "ChanceCourse") -> int:
        """Return how many batches may be washed by a course; at most what is looked ahead."""
        return course.good(RISK, LOW_RISK)

    def put_aside(self, *kinds: StepKind) -> bool:
        """Tell whether something that one of these kinds of step answers is shelved."""
        rules = (rule_of(id_) for id_ in self.shelved)
        return any(rule is not None and set(kinds) & set(rule.answers) for rule in rules)

    @property
    def change_due(self) -> bool:
        """Whether the water is to be changed in any case."""
        rules = (rule_of(id_) for id_, one in self.findings.items() if one.level is not Level.WATCH)
        return any(rule is not None and rule.answers == (StepKind.CHANGE_WATER,) for rule in rules)

    # -- the schedule of checks -------------------------------------------------------------------

    @cached_property
    def reading(self) -> Placed[ReadingTaken] | None:
        """The newest reading of the level that counts."""
        seen = self.rule_context.level()
        return None if seen is None else seen[1]

    @property
    def washed(self) -> int:
        """Batches since the newest reading of the level."""
        return 0 if self.reading is None else self.rule_context.tank.batches - self.reading.batches

    @property
    def scheduled(self) -> int:
        """How many more batches the set-up allows before a check."""
        every = self.rule_context.spec.check_batches
        by_clock = self._by_clock
        if every is None:
            return by_clock
        return max(0, min(by_clock, every - self.washed))

    @property
    def full_schedule(self) -> int:
        """How many batches the set-up allows from one check to the next."""
        spec = self.rule_context.spec
        most = HORIZON if spec.check_batches is None else spec.check_batches
        if spec.check_minutes is not None:
            most = min(most, max(1, int(spec.check_minutes / self.pace_min)))
        return min(most, HORIZON)

    @property
    def _by_clock(self) -> int:
        due = self.check_by
        if due is None:
            return HORIZON
        left_min = (due - self.rule_context.now) / timedelta(minutes=1)
        return 0 if left_min <= 0 else max(1, min(HORIZON, int(left_min / self.pace_min)))

    @property
    def check_by(self) -> datetime | None:
        """When the set-up asks for the next check at the latest."""
        minutes, reading = self.rule_context.spec.check_minutes, self.reading
        if minutes is None or reading is None:
            return None
        return reading.event.at + timedelta(minutes=minutes)

    @property
    def pace_min(self) -> float:
        """Minutes from one batch to the next."""
        ahead = self.rule_context.forecast
        return max(1.0, ahead.pace.minutes) if ahead is not None else _PACE_MIN

    @cached_property
    def clouding(self) -> Clouding:
        """How the water clouds."""
        return clouding(self.rule_context)

    @property
    def cloud_allows(self) -> int:
        """How many batches may be washed before the cloudiness is to be read, or too much."""
        cloud = self.clouding
        if isinf(cloud.sure):
            return HORIZON
        return max(1 if cloud.fresh else 0, int(max(0.0, cloud.sure)))

    def due(self, good: int, *, after_check: bool = False) -> Due:
        """Return until when a plan holds by which so many batches may be washed.

        Args:
            good: batches that the water is good for.
            after_check: reckon from a check that is made now.
        """
        rule_context = self.rule_context
        batches: int | None = min(
            good,
            self.full_schedule if after_check else self.scheduled,
            self.ph_allows,
            self.cloud_allows,
        )
        if batches is not None and batches >= HORIZON and rule_context.spec.check_batches is None:
            batches = None
        at = (
            rule_context.now + _minutes(rule_context.spec.check_minutes)
            if after_check
            else self.check_by
        )
        if at is None and batches is None:
            at = rule_context.now + timedelta(minutes=FAR_MIN)
        return Due(batches=batches, at=at)

    # -- the pH -----------------------------------------------------------------------------------

    @cached_property
    def ph(self) -> "PhForecast | None":
        """What is expected of the pH; nothing for peracetic acid."""
        from washmon.forecast.ph import ph_forecast  # noqa: PLC0415 - start-up is measured

        rule_context = self.rule_context
        return ph_forecast(
            rule_context.shift, rule_context.tank, rule_context.now, rule_context.fill
        )

    @cached_property
    def ph_allows(self) -> int:
        """How many batches may be washed before the pH is to be read again."""
        if self.ph is None:
            return HORIZON
        good = self._ph_keeps(self.ph)
        last = self.rule_context.unread_acid()
        if last is None or self.ph.narrow:
            return good
        return min(
            good, max(0, UNSURE_AFTER_ACID - (self.rule_context.tank.batches - last.batches))
        )

    def _ph_keeps(self, ph: "PhForecast") -> int:
        """Return how many batches the pH is likely to keep its low limit for; found by halving.

        What the produce uses up of the chlorine leaves acid behind.
        """
        low, most = self.rule_context.spec.ph.low, max(1, self.scheduled)
        if ph.chance_under(low, batches=most) <= PH_RISK:
            return HORIZON
        good, bad = 0, most
        while bad - good > 1:
            middle = (good + bad) // 2
            if ph.chance_under(low, batches=middle) <= PH_RISK:
                good = middle
            else:
                bad = middle
        return good

    # -- who reads with what ----------------------------------------------------------------------

    @property
    def method(self) -> Method:
        """What the level was read with last."""
        spec = self.rule_context.spec
        last = self.rule_context.fill.latest(spec.level_field)
        if last is None:
            past = (
                fill.latest(spec.level_field) for fill in reversed(self.rule_context.tank.fills)
            )
            last = next((one for one in past if one is not None), None)
        if last is None:
            return Method.KIT
        return last.event.paa_method if spec.peracetic else last.event.fac_method

    @property
    def check_min(self) -> float:
        """Minutes that a check takes."""
        return WORK.check(self.method)

    @property
    def ph_method(self) -> Method:
        """What the pH was read with last."""
        last = self.rule_context.fill.latest("ph")
        return Method.STRIP if last is None else last.event.ph_method


_PACE_MIN = 6.0


def _minutes(value: float | None) -> timedelta:
    return timedelta(minutes=FAR_MIN if value is None else value)
