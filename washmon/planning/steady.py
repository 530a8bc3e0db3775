"""What keeps a plan steady: a step once said stands while it is still right."""

from datetime import timedelta

from washmon.line.flags import StepKind
from washmon.line.reading import range_of
from washmon.planning.context import PlanContext
from washmon.planning.objective import STEADY_MIN


def said_lately(context: PlanContext, kind: StepKind) -> bool:
    """Tell whether a step was said so lately that whoever acts on it must find it again.

    A first reading of a fill is no small change; nor is a step that somebody did meanwhile.
    """
    before, fill = context.previous, context.rule_context.fill
    if before is None or before.since is None or before.now.kind is not kind or before.now.second:
        return False
    # A reading after which it still stood said it anew; what the newest says is being planned.
    since = before.since
    since = max((since, *(one.event.at for one in fill.readings[:-1] if one.event.at >= since)))
    if context.rule_context.now - since >= timedelta(minutes=STEADY_MIN):
        return False
    if kind is StepKind.LOOK:  # said after a reading of this fill, with produce allowed in
        return before.feed and any(one.event.at <= since for one in fill.readings)
    return not (fill.doses and fill.doses[-1].event.at >= before.since)


def unreadable_mg_l(context: PlanContext) -> float:
    """Return how far the level may be off the newest reading of it: less nobody could tell."""
    if context.reading is None:
        return 0.0
    about = context.rule_context
    low, high = range_of(about.setup, about.spec, context.reading.event)
    return (high - low) / 2
