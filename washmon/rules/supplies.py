"""Rules on what is measured with: strips in date, instruments that were checked."""

from collections.abc import Iterator
from datetime import timedelta

from washmon.line.events import InstrumentChecked, Method, ReadingTaken
from washmon.line.fitness import found_off, known_unfit, thing_of, things_of, unfit_now, unfit_words
from washmon.line.flags import Level, StepKind
from washmon.line.instruments import (
    MEASURES,
    last_passed,
    left_unfit,
    meter_checked_on,
    strips_use_by,
    told_wrong,
    unfit,
)
from washmon.line.message import Figure, Message, Moment, Values
from washmon.line.quantities import QUANTITIES, method_of
from washmon.line.registers import Measuring
from washmon.line.setup import Unfit
from washmon.line.state import Placed, order
from washmon.rules.base import Finding, Protects, RuleContext, rule

INSTRUMENTS = "Instruments accurate and maintained, records of it: 21 CFR 112.44, 112.50"


@rule(
    "strips-old",
    "strips out of date",
    "Use test strips in date, dry and closed: as on their pack",
    answers=(StepKind.VERIFY,),
    protects=Protects.WORK,
)
def strips_old(rule_context: RuleContext) -> Finding | None:
    """Say so where a level was read by a strip of a lot that is past its day."""
    day = strips_use_by(rule_context.shift)
    last = rule_context.level()
    if day is None or day >= rule_context.today or last is None:
        return None
    method = last[1].event.paa_method if rule_context.spec.peracetic else last[1].event.fac_method
    named = thing_of(rule_context.shift, last[1].event, rule_context.spec.level_field)
    if method is not Method.STRIP or named is not None:
        return None
    why = Message(
        "The strips in use were good until {day}: old pads read low or pale.",
        {"day": day.isoformat()},
    )
    return Finding(Level.WATCH, why, last[1].event.at)


@rule(
    "meter-unchecked",
    "meter check overdue",
    INSTRUMENTS,
    answers=(StepKind.VERIFY,),
    protects=Protects.WORK,
)
def meter_unchecked(rule_context: RuleContext) -> Finding | None:
    """Say so where pH was read by a meter whose last check is older than the set-up allows."""
    day, most = meter_checked_on(rule_context.shift), rule_context.setup.meter_check_days
    placed = rule_context.water.latest("ph")
    if day is None or placed is None or placed.event.ph_method is not Method.METER:
        return None
    if thing_of(rule_context.shift, placed.event, "ph") is not None:  # of which the register knows
        return None
    if rule_context.today - day <= timedelta(days=most):
        return None
    text = "The pH meter was last checked on {day}, {days} days ago; {most} days are allowed."
    if most == 1:
        text = "The pH meter was last checked on {day}, {days} days ago; it is to be checked daily."
    why = Message(
        text,
        {"day": day.isoformat(), "days": (rule_context.today - day).days, "most": most},
    )
    return Finding(Level.WATCH, why, placed.event.at)


@rule(
    "instrument-unfit",
    "instrument unfit for use",
    INSTRUMENTS,
    answers=(StepKind.CHECK, StepKind.VERIFY),
)
def instrument_unfit(rule_context: RuleContext) -> Finding | None:
    """Say so where the newest value was read by an instrument that a check found wrong.

    Setting it right does not mend what it read before: the flag stays until it was read anew. Where
    nothing was read yet, say beforehand what may not be used.
    """
    for quantity in QUANTITIES:
        placed = rule_context.water.latest(quantity.field)
        if placed is None:
            continue
        if thing_of(rule_context.shift, placed.event, quantity.field) is not None:
            if (finding := _named_unfit(rule_context, placed, quantity.field)) is not None:
                return finding
            continue
        instrument = quantity.instruments.get(method_of(placed.event, quantity.field))
        if instrument is None:
            continue
        failed = told_wrong(rule_context.shift, instrument, placed)
        if failed is not None:
            return _unfit(rule_context, failed, placed)
        left = left_unfit(rule_context.shift, instrument, placed)
        if left is not None:
            return _left_unfit(left, placed)
    return _not_to_be_used(rule_context)


def _named_unfit(
    rule_context: RuleContext, placed: Placed[ReadingTaken], field: str
) -> Finding | None:
    """Say so where a registered instrument or pack was unfit, or was found off later."""
    shift = rule_context.shift
    things = list(things_of(shift, placed.event, field))
    for thing in things:
        if (why := known_unfit(shift, thing, order(placed))) is not None:
            more = Message("What it read proves no good water: measure with one that is fit.")
            return Finding(Level.ACT, unfit_words(thing, why), placed.event.at, (more,))
    failed = (found_off(shift, thing, order(placed)) for thing in things)
    check = next((one for one in failed if one is not None), None)
    return None if check is None else _unfit(rule_context, check, placed)


def unfit_still(rule_context: RuleContext) -> dict[str, Measuring]:
    """Return by field the registered instrument or pack of its newest value that is unfit yet."""
    shift, found = rule_context.shift, dict[str, Measuring]()
    for quantity in QUANTITIES:
        placed = rule_context.water.latest(quantity.field)
        for thing in () if placed is None else things_of(shift, placed.event, quantity.field):
            if unfit_now(shift, thing, rule_context.now) is not None:
                found[quantity.field] = thing
    return found


def another_is_fit(rule_context: RuleContext, field: str) -> bool:
    """Tell whether anything else is registered that may measure a quantity now."""
    shift, now = rule_context.shift, rule_context.now
    return any(unfit_now(shift, thing, now) is None for thing in shift.registers.measuring(field))


def _not_to_be_used(rule_context: RuleContext) -> Finding | None:
    """Say what may not be used before it is; the tank's next step stays what it is."""
    if rule_context.waits or rule_context.fill.readings:
        return None
    here = (one for one in QUANTITIES if one.fits(rule_context.spec))
    used = {instrument for one in here for instrument in one.instruments.values()}
    whys = [_may_not_be_used(one) for one in unfit(rule_context.shift) if one.instrument in used]
    if not whys:
        return None
    more = Message("Measure with another, or set it right and check it again.")
    return Finding(Level.WATCH, whys[0], rule_context.fill.at, (*whys[1:], more), note=True)


def _left_unfit(left: Unfit, placed: Placed[ReadingTaken]) -> Finding:
    more = Message("What was read with it since its last good check may be wrong.")
    return Finding(Level.ACT, _may_not_be_used(left), placed.event.at, (more,))


def _may_not_be_used(one: Unfit) -> Message:
    return Message(
        "By its check on {day} the {instrument} may not be used.",
        {"day": one.since.isoformat(), "instrument": one.instrument},
    )


def _unfit(
    rule_context: RuleContext, failed: InstrumentChecked, placed: Placed[ReadingTaken]
) -> Finding:
    return Finding(
        Level.ACT,
        _found_wrong(failed),
        max(failed.at, placed.event.at),
        tuple(_rests_on_it(rule_context, failed)),
    )


def _found_wrong(failed: InstrumentChecked) -> Message:
    values: Values = {"instrument": failed.instrument.value, "time": Moment(failed.at)}
    if failed.found is None or failed.standard is None:
        return Message("By its check at {time} the {instrument} may not be used.", values)
    kind = MEASURES[failed.instrument].kind
    values["found"] = Figure(failed.found, kind)
    values["standard"] = Figure(failed.standard, kind)
    if failed.fit:
        text = "At its check at {time} the {instrument} showed {found} in {standard}."
        return Message(text, values)
    return Message(
        "By its check at {time} the {instrument} may not be used: it showed {found} in {standard}.",
        values,
    )


def _rests_on_it(rule_context: RuleContext, failed: InstrumentChecked) -> Iterator[Message]:
    """Say what rests on readings of the instrument since it was last found good."""
    good = last_passed(rule_context.shift, failed)
    yield Message("What was read with it since its last good check may be wrong.")
    count = sum(good is None or batch.event.at > good for batch in rule_context.tank.washed)
    if count:
        text = (
            "{count} batches were washed here since then: decide whether to hold what its readings "
            "alone vouched for."
        )
        if count == 1:
            text = (
                "A batch was washed here since then: decide whether to hold it, if its readings "
                "alone vouched for it."
            )
        yield Message(text, {"count": count})
