"""Rules that look ahead: the next dose, the next check, doses that will not hold, a change near."""

import math
from datetime import timedelta
from typing import TYPE_CHECKING

from washmon.line.flags import Level, StepKind
from washmon.line.judging import under_low
from washmon.line.message import Figure, Message
from washmon.line.state import value_of
from washmon.rules.base import Finding, RuleContext, RuleScope, Seen, rule
from washmon.units import Kind

if TYPE_CHECKING:  # start-up is measured, and a rule only reads it
    from washmon.forecast.look_ahead import Forecast

FORECAST = (
    "Bayesian estimate of demand from readings, doses and batches; fast and slow demand: "
    "Weng et al., chlorine demand in wash water"
)
CHECK_CHANCE = 0.05
"""So likely the water may be under its critical low before somebody looks."""
_PRESSING_CHANCE = 0.3
_FEWEST_BATCHES = 4
"""Between two readings of cloudiness, before a line is drawn through them."""


def _settled(rule_context: RuleContext) -> "tuple[Forecast, Seen] | None":
    """Return the forecast and the newest level, where it is good and nothing was added since."""
    ahead, seen = rule_context.forecast, rule_context.level()
    if ahead is None or seen is None or not ahead.readings:
        return None
    if rule_context.unchecked_addition() is not None or under_low(seen[0], rule_context.spec):
        return None
    return ahead, seen


@rule("redose-soon", "re-dose soon", FORECAST, RuleScope.CHLORINE, ahead=True)
def redose_soon(rule_context: RuleContext) -> Finding | None:
    """Announce a dose a few batches before the level is expected under its operating low."""
    if (settled := _settled(rule_context)) is None:
        return None
    ahead, (level, _) = settled
    lasts = ahead.until_low.batches
    if lasts.mid >= rule_context.margins.redose_soon_batches:
        return None
    middle = round(lasts.mid)
    text = (
        "{level} was read; with what the produce takes, it is expected under {low} after about "
        "{middle} more batches ({first} to {last})."
    )
    if middle <= 1:
        text = (
            "{level} was read; with what the produce takes, it is expected under {low} after the "
            "next batch or so ({first} to {last})."
        )
    why = Message(
        text,
        {
            "level": Figure(level, Kind.CONCENTRATION),
            "low": Figure(rule_context.spec.limits.low_mg_l, Kind.CONCENTRATION),
            "middle": middle,
            "first": int(lasts.low),
            "last": "many" if math.isinf(lasts.high) else math.ceil(lasts.high),
        },
    )
    return Finding(Level.WATCH, why, ahead.at, note=True)


@rule(
    "check-now",
    "check now",
    FORECAST + "; 5 %: common practice, no published source",
    RuleScope.CHLORINE,
    answers=(StepKind.CHECK,),
    ahead=True,
)
def check_now(rule_context: RuleContext) -> Finding | None:
    """Ask for a reading before the water has a fair chance of being under its critical low."""
    if (settled := _settled(rule_context)) is None:
        return None
    ahead, (level, last) = settled
    washed = rule_context.tank.batches - last.batches
    if not washed or (ahead.check.batches > 0 and ahead.check.minutes > 0):
        return None
    text = (
        "{washed} batches went in since {level} was read: by now the water may be anywhere from "
        "{low} to {high}, and the critical low is {critical}."
    )
    if washed == 1:
        text = (
            "1 batch went in since {level} was read: by now the water may be anywhere from {low} "
            "to {high}, and the critical low is {critical}."
        )
    why = Message(
        text,
        {
            "washed": washed,
            "level": Figure(level, Kind.CONCENTRATION),
            "low": Figure(round(ahead.level.low, 1), Kind.CONCENTRATION),
            "high": Figure(round(ahead.level.high, 1), Kind.CONCENTRATION),
            "critical": Figure(rule_context.spec.limits.critical_low_mg_l, Kind.CONCENTRATION),
        },
    )
    pressing = ahead.check.chance_now >= _PRESSING_CHANCE
    return Finding(
        Level.ACT if pressing else Level.WATCH,
        why,
        ahead.at,
        _why_so_soon(ahead.readings),
        note=not pressing,
    )


def _why_so_soon(readings: int) -> tuple[Message, ...]:
    """Say why a check comes early in a fill: one reading is all there is to go by."""
    if readings > 1:
        return ()
    return (
        Message(
            "This water was measured once only, so nobody knows yet how fast the produce uses it "
            "up. A second reading tells, and the check after it may wait longer."
        ),
    )


@rule(
    "doses-will-not-hold",
    "doses will soon not hold",
    FORECAST + "; a dose against a water change, by chlorine: mass balance, White, Handbook of "
    "Chlorination (1972)",
    RuleScope.CHLORINE,
    ahead=True,
)
def doses_will_not_hold(rule_context: RuleContext) -> Finding | None:
    """Say so where the demand in the water makes fresh water the better buy, with the numbers.

    Or where a dose would not last, though fresh water would not either.
    """
    ahead = rule_context.forecast
    if ahead is None or ahead.readings < 2:  # noqa: PLR2004 - a trend
        return None
    holding = ahead.holding
    if not holding.no_longer:
        return _too_dirty(rule_context, ahead)
    why = Message(
        "To bring this water to {target} and keep it there for an hour takes about {keep} of "
        "chlorine; fresh water takes {change}. Batches that a dose would last: about {dose}; in "
        "fresh water: about {fresh}.",
        {
            "target": Figure(rule_context.spec.chlorine.target_mg_l, Kind.CONCENTRATION),
            "keep": Figure(round(holding.keep_g.mid), Kind.MASS),
            "change": Figure(round(holding.change_g), Kind.MASS),
            "dose": _count(holding.batches_per_dose.mid),
            "fresh": _count(holding.batches_in_fresh.mid),
        },
    )
    return Finding(Level.WATCH, why, ahead.at, note=True)


def _too_dirty(rule_context: RuleContext, ahead: "Forecast") -> Finding | None:
    """Return that no dose will last, for what comes in is too dirty for this much water."""
    holding, fewest = ahead.holding, rule_context.spec.min_batches_per_dose
    if holding.batches_per_dose.mid >= fewest - 0.5:
        return None
    why = Message(
        "Batches that a dose would last: about {dose}; {fewest} is the least that is worth one. In "
        "fresh water it would be about {fresh}, so a change alone helps little: the produce brings "
        "in more dirt than this much water can take. Rinse it before this tank, or feed more "
        "slowly.",
        {
            "dose": _count(holding.batches_per_dose.mid),
            "fewest": fewest,
            "fresh": _count(holding.batches_in_fresh.mid),
        },
    )
    return Finding(Level.WATCH, why, ahead.at, note=True)


def _count(batches: float) -> int | str:
    return "many" if math.isinf(batches) else round(batches)


@rule(
    "change-near",
    "water change near",
    "Water-change schedule for recirculated water: 21 CFR 112.44(d); straight line through the "
    "cloudiness that was read: common practice, no published source",
)
def change_near(rule_context: RuleContext) -> Finding | None:
    """Ask for fresh water to be made ready where hours or cloudiness will soon call for it."""
    hours, ahead_min = rule_context.spec.hours_per_fill, rule_context.margins.change_near_min
    if hours is not None:
        due = rule_context.fill.at + timedelta(hours=hours)
        left_min = (due - rule_context.now) / timedelta(minutes=1)
        if 0 < left_min <= ahead_min:
            left = Figure(math.ceil(left_min), Kind.TIME)
            why = Message("This water may be used for {left} more.", {"left": left})
            since = max(rule_context.fill.at, due - timedelta(minutes=ahead_min))
            return Finding(Level.WATCH, why, since, note=True)
    return _clouding(rule_context)


def _clouding(rule_context: RuleContext) -> Finding | None:
    limit = rule_context.spec.turbidity_max_ntu
    first = next(
        (one for one in rule_context.fill.readings if one.event.turbidity_ntu is not None), None
    )
    newest = rule_context.water.latest("turbidity_ntu")
    if limit is None or first is None or newest is None:
        return None
    before, was = first.batches, value_of(first, "turbidity_ntu")
    last, now, at = newest.batches, value_of(newest, "turbidity_ntu"), newest.event.at
    if last - before < _FEWEST_BATCHES or now <= was or now > limit:
        return None
    left = (limit - now) / ((now - was) / (last - before)) - (rule_context.tank.batches - last)
    if left > rule_context.margins.change_near_batches:
        return None
    text = (
        "Cloudiness went from {was} to {now} in {batches} batches; at that pace it reaches {limit} "
        "in about {left} batches."
    )
    if round(left) <= 1:
        text = (
            "Cloudiness went from {was} to {now} in {batches} batches; at that pace it reaches "
            "{limit} with the next batch or so."
        )
    why = Message(
        text,
        {
            "was": Figure(was, Kind.TURBIDITY),
            "now": Figure(now, Kind.TURBIDITY),
            "batches": last - before,
            "limit": Figure(limit, Kind.TURBIDITY),
            "left": round(left),
        },
    )
    return Finding(Level.WATCH, why, at, note=True)
