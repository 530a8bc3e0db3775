"""Rules on when to change the water: cloudiness, batches, hours, doses that no longer hold."""

from datetime import timedelta

from washmon.line.flags import Level, StepKind
from washmon.line.judging import judge_look, judge_turbidity, under_low
from washmon.line.message import Figure, Message
from washmon.line.state import order
from washmon.rules.base import Finding, RuleContext, rule
from washmon.rules.discharge import before_discharge
from washmon.units import Kind

IN_A_ROW = 2
SCHEDULE = "Water-change schedule for recirculated water: 21 CFR 112.44(d)"


@rule(
    "cloudy",
    "water too cloudy",
    f"{SCHEDULE}; build-up of soil judged by card or meter: common practice, no published source",
    answers=(StepKind.CHANGE_WATER,),
)
def too_cloudy(rule_context: RuleContext) -> Finding | None:
    """Ask for a water change where the water is cloudier than its limit, by number or by card."""
    seen, limit = rule_context.reading("turbidity_ntu"), rule_context.spec.turbidity_max_ntu
    if seen is not None and limit is not None:
        back = rule_context.deadband(
            "cloudy", rule_context.margins.turbidity_deadband_fraction * limit
        )
        if judge_turbidity(seen[0], rule_context.spec, back=back) is not None:
            why = Message(
                "{now} is over {limit}. Soil in the water uses up chlorine and hides germs.",
                {
                    "now": Figure(seen[0], Kind.TURBIDITY),
                    "limit": Figure(limit, Kind.TURBIDITY),
                },
            )
            return Finding(Level.ACT, why, seen[1].event.at, before_discharge(rule_context.water))
    card = rule_context.fill.latest("look")
    if card is None or card.event.look is None:
        return None
    if judge_look(card.event.look, rule_context.spec) is None:
        return None
    why = Message(
        "The card in the sample was {look}. Soil in the water uses up chlorine and hides germs.",
        {"look": card.event.look},
    )
    return Finding(Level.ACT, why, card.event.at, before_discharge(rule_context.water))


@rule("batches", "batches per fill used up", SCHEDULE, answers=(StepKind.CHANGE_WATER,))
def batches_used_up(rule_context: RuleContext) -> Finding | None:
    """Ask for a water change after so many batches; announce it two batches before."""
    most, washed = rule_context.spec.batches_per_fill, rule_context.tank.batches_in_fill
    if most is None or not washed or washed < most - 2:
        return None
    text = "{washed} batches were washed in this fill; the set-up allows {most}."
    if washed == 1:
        text = "1 batch was washed in this fill; the set-up allows {most}."
    why = Message(text, {"washed": washed, "most": most})
    since = rule_context.tank.washed[-1].event.at
    if washed >= most:
        return Finding(Level.ACT, why, since, before_discharge(rule_context.water))
    return Finding(Level.WATCH, why, since, note=True)


@rule("hours", "hours per fill used up", SCHEDULE, answers=(StepKind.CHANGE_WATER,))
def hours_used_up(rule_context: RuleContext) -> Finding | None:
    """Ask for a water change after so many hours."""
    hours = rule_context.spec.hours_per_fill
    if hours is None or rule_context.now < (due := rule_context.fill.at + timedelta(hours=hours)):
        return None
    why = Message(
        "This water has been in use for {minutes}; the set-up allows {most}.",
        {
            "minutes": Figure(
                round((rule_context.now - rule_context.fill.at) / timedelta(minutes=1)), Kind.TIME
            ),
            "most": Figure(hours * 60, Kind.TIME),
        },
    )
    return Finding(Level.ACT, why, due, before_discharge(rule_context.water))


@rule(
    "doses-do-not-hold",
    "doses no longer hold",
    "Demand exceeds what a dose brings, so residual falls at once (Weng et al., chlorine demand in "
    "wash water); two short doses in a row: common practice, no published source",
)
def doses_do_not_hold(rule_context: RuleContext) -> Finding | None:
    """Note that the last two doses each lasted only a few batches: the planner weighs a change."""
    fewest = rule_context.spec.min_batches_per_dose
    lasted = [
        _batches_held(rule_context, at) for at in range(len(rule_context.fill.doses))[-IN_A_ROW:]
    ]
    if len(lasted) < IN_A_ROW or any(held is None or held >= fewest for held in lasted):
        return None
    field = rule_context.spec.level_field
    low = next(
        reading
        for reading in reversed(rule_context.fill.readings)
        if (level := getattr(reading.event, field)) is not None
        and under_low(level, rule_context.spec)
    )
    why = Message(
        "Batches that the last two doses held for: {first} and {second}; {fewest} is the least "
        "that is worth a dose. The water holds more dirt than the sanitizer can keep up with.",
        {"first": lasted[0] or 0, "second": lasted[1] or 0, "fewest": fewest},
    )
    return Finding(Level.WATCH, why, low.event.at, note=True)


def _batches_held(rule_context: RuleContext, place: int) -> int | None:
    """Return the batches from a dose until free chlorine read low again, if it did."""
    doses = rule_context.fill.doses
    dose = doses[place]
    until = doses[place + 1] if place + 1 < len(doses) else None
    good = False
    for reading in rule_context.fill.readings:
        after = order(reading) > order(dose)
        level = getattr(reading.event, rule_context.spec.level_field)
        if not after or level is None:
            continue
        if until and order(reading) > order(until):
            break
        if under_low(level, rule_context.spec) and (good or reading.batches > dose.batches):
            return reading.batches - dose.batches
        good = True
    return None
