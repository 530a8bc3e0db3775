"""Rules on readings that do not fit: they ask for a second test and accuse nobody."""

from itertools import islice

from washmon.chemistry.speciation import hocl_share
from washmon.line.check_readings import JUMP_FRACTION, JUMP_MG_L
from washmon.line.events import Method
from washmon.line.flags import Level, StepKind
from washmon.line.message import Figure, Message
from washmon.line.state import order, value_of
from washmon.rules.base import Finding, RuleContext, RuleScope, rule
from washmon.units import Kind

ALIKE = 4
"""So many readings alike to the digit, with batches between them, are a surprise."""
HIGH_ORP_MV = 750.0
GOOD_ORP_MV = 650.0
_MUCH_HOCL_MG_L = 15.0
_LITTLE_HOCL_MG_L = 1.0


@rule(
    "reading-repeats",
    "readings alike",
    "Checks of records for values that repeat: common practice, no published source",
    RuleScope.CHLORINE,
    answers=(StepKind.CHECK,),
)
def reading_repeats(rule_context: RuleContext) -> Finding | None:
    """Ask for a second test where chlorine and pH repeat to the digit though produce went in."""
    newest = (
        placed
        for placed in reversed(rule_context.fill.readings)
        if placed.event.fac_mg_l is not None
        and placed.event.ph is not None
        and placed.event.fac_method is not Method.STRIP  # its pads have few colours
    )
    taken = list(islice(newest, ALIKE))[::-1]
    values = {(placed.event.fac_mg_l, placed.event.ph) for placed in taken}
    if len(taken) < ALIKE or len(values) > 1:
        return None
    first, last = taken[0], taken[-1]
    added = rule_context.fill.last_addition()
    washed = last.batches - first.batches
    if washed < ALIKE or (added is not None and order(added) > order(first)):
        return None
    why = Message(
        "The last {count} readings are all {level} and pH {ph}, with {washed} batches between "
        "them. That can happen; a second test settles it.",
        {
            "count": len(taken),
            "level": Figure(value_of(last, "fac_mg_l"), Kind.CONCENTRATION),
            "ph": Figure(value_of(last, "ph"), Kind.PH),
            "washed": washed,
        },
    )
    return Finding(Level.WATCH, why, last.event.at)


@rule(
    "reading-jumps",
    "reading jumps",
    "Free chlorine does not rise by itself (mass balance); how far is too far: common practice, no "
    "published source",
    RuleScope.CHLORINE,
    answers=(StepKind.CHECK,),
)
def reading_jumps(rule_context: RuleContext) -> Finding | None:
    """Ask for a second test where free chlorine rose far with nothing put in."""
    newest = (
        placed
        for placed in reversed(rule_context.fill.readings)
        if placed.event.fac_mg_l is not None
    )
    last, before = next(newest, None), next(newest, None)
    if before is None or last is None:
        return None
    was, now = value_of(before, "fac_mg_l"), value_of(last, "fac_mg_l")
    added = rule_context.fill.last_addition()
    if added is not None and order(added) > order(before):
        return None
    if now - was <= max(JUMP_MG_L, JUMP_FRACTION * was):
        return None
    why = Message(
        "Free chlorine went from {was} to {now} and nothing is entered in between: a dose that was "
        "not written down, or a test that went wrong.",
        {"was": Figure(was, Kind.CONCENTRATION), "now": Figure(now, Kind.CONCENTRATION)},
    )
    return Finding(Level.WATCH, why, last.event.at)


@rule(
    "orp-contradicts",
    "ORP and chlorine disagree",
    "ORP follows HOCl; 650 to 700 mV is aimed at: Suslow, UC ANR Publication 8149 (2004); where "
    "they contradict each other: common practice, no published source",
    RuleScope.CHLORINE,
    answers=(StepKind.CHECK,),
)
def orp_contradicts(rule_context: RuleContext) -> Finding | None:
    """Say so where one reading has much active chlorine and a low ORP, or the other way round."""
    placed = rule_context.water.latest("orp_mv")
    if placed is None or placed.event.fac_mg_l is None or placed.event.ph is None:
        return None
    orp_mv = value_of(placed, "orp_mv")
    celsius = rule_context.water.temperature_c(order(placed))
    active = placed.event.fac_mg_l * hocl_share(placed.event.ph, celsius)
    low = orp_mv < GOOD_ORP_MV and active > _MUCH_HOCL_MG_L
    if not low and not (orp_mv > HIGH_ORP_MV and active < _LITTLE_HOCL_MG_L):
        return None
    text = (
        "ORP is {orp}, which would be little active chlorine; by {level} at pH {ph} there should "
        "be {active} of it. Clean the probe, test chlorine once more."
        if low
        else "ORP is {orp}, which would be plenty of active chlorine; by {level} at pH {ph} there "
        "is only {active} of it. Test chlorine once more, check the meter."
    )
    why = Message(
        text,
        {
            "orp": Figure(orp_mv, Kind.POTENTIAL),
            "level": Figure(placed.event.fac_mg_l, Kind.CONCENTRATION),
            "ph": Figure(placed.event.ph, Kind.PH),
            "active": Figure(round(active, 1), Kind.CONCENTRATION),
        },
    )
    return Finding(Level.WATCH, why, placed.event.at)


@rule(
    "combined-high",
    "much combined chlorine",
    "Combined chlorine disinfects far more slowly than free: White, Handbook of Chlorination "
    "(1972); the share: common practice, no published source",
    RuleScope.CHLORINE,
)
def combined_high(rule_context: RuleContext) -> Finding | None:
    """Say so where much of the total chlorine is combined: nitrogen has built up in the water."""
    placed = rule_context.water.latest("total_mg_l")
    if placed is None or placed.event.fac_mg_l is None:
        return None
    total, free = value_of(placed, "total_mg_l"), placed.event.fac_mg_l
    combined, most = total - free, rule_context.margins.combined_share
    if combined <= most * total:
        return None
    why = Message(
        "{combined} of {total} total chlorine is combined, {share}; over {most} the water has "
        "taken up so much from the produce that what is dosed is bound.",
        {
            "combined": Figure(round(combined, 1), Kind.CONCENTRATION),
            "total": Figure(total, Kind.CONCENTRATION),
            "share": Figure(round(100 * combined / total), Kind.PERCENT),
            "most": Figure(round(100 * most), Kind.PERCENT),
        },
    )
    return Finding(Level.WATCH, why, placed.event.at, note=True)
