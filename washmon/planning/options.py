"""What a person can do about a tank: each kind of step with what it costs and brings about."""

from collections.abc import Callable
from datetime import datetime, timedelta
from math import inf

from msgspec import Struct

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.dilution import drained_share
from washmon.line.events import BatchWashed
from washmon.line.flags import Amount, Caution, Step, StepKind
from washmon.line.instruments import unfit
from washmon.line.judging import least_water_c
from washmon.line.measure import how
from washmon.line.message import Figure, Message, Moment, Values
from washmon.line.mixing import Change
from washmon.line.plan import Expected, Span
from washmon.line.state import Placed
from washmon.planning.context import PlanContext
from washmon.planning.objective import HORIZON, SETTLED_MIN, WORK
from washmon.planning.plan_words import (
    brings_level,
    brings_ph,
    change_step,
    measure_step,
    say_step,
    trouble_message,
)
from washmon.rules.base import RuleContext
from washmon.rules.chlorine import label_reading
from washmon.rules.in_question import to_hold
from washmon.rules.supplies import another_is_fit, unfit_still
from washmon.units import Kind

_PART = 1 / 3
"""Of the water, exchanged to bring up a low pH: common practice, no published source."""


class Option(Struct, frozen=True, kw_only=True):
    """One thing that can be done: its step, and what it is predicted to bring.

    ``minutes`` are of work and standstill until the tank is as it should be; ``batches`` are those
    that can be washed after it before somebody must look again.
    """

    step: Step
    minutes: float
    batches: int = 0
    brings: Message | None = None
    expected: Expected | None = None
    not_before: datetime | None = None
    """By the mixing time of what was added before."""
    mixes: bool = False
    """It changes the water, which is to mix in before it is read."""
    how: Message | None = None
    """How its amount is measured out, where no measure of the shed comes near."""
    lowest_ph: float = inf
    """The pH after it, at the lower end of what is predicted."""
    full: float = 1.0
    """Of a dose: its rise as a share of one from the operating low to where this one ends."""

    @property
    def kind(self) -> StepKind:
        """What kind of thing it is."""
        return self.step.kind


Built = Option | Message
"""An option, or in a sentence why it is none."""


def option(kind: StepKind, context: PlanContext) -> Built:
    """Return what doing a kind of thing would mean for a tank."""
    return _BUILDERS[kind](context)


def advised_amounts(kind: StepKind, context: PlanContext) -> tuple[Amount, Amount] | None:
    """Return the least and the most of a product that would be right to add now, if any is."""
    found = option(kind, context)
    if not isinstance(found, Option) or found.step.amount is None:
        return None
    most = found.step.amount
    if kind is not StepKind.DOSE:
        return most, most
    from washmon.planning.doses import to_target  # noqa: PLC0415 - start-up is measured

    return to_target(context) or most, most


# -- additions ------------------------------------------------------------------------------------


def _dose(context: PlanContext) -> Built:
    from washmon.planning.doses import best_dose  # noqa: PLC0415 - start-up is measured

    rule_context, limits = context.rule_context, context.rule_context.spec.limits
    found = best_dose(context)
    if isinstance(found, Message):
        return found
    after = context.course_of(found.after)
    batches = min(context.good(after), HORIZON)
    ends = (found.reads.low + found.reads.high) / 2
    full = min(1.0, found.rise_mg_l / max(1e-9, ends - limits.low_mg_l))
    mix = rule_context.spec.mix_minutes
    return Option(
        step=found.step,
        minutes=WORK.dose + (mix + context.check_min) * WORK.standstill + _in_dirt(context),
        batches=batches,
        brings=brings_level(found.reads),
        how=found.how,
        expected=Expected(
            level_mg_l=found.reads, ph=_ph_reads(context, found.rise_mg_l), at=_mixed(rule_context)
        ),
        not_before=mixed(rule_context, acid_apart=True),
        mixes=True,
        lowest_ph=inf if context.ph is None else context.ph.after(found.rise_mg_l).lowest,
        full=full,
    )


def _in_dirt(context: PlanContext) -> float:
    """Return the minutes of work that this water costs more than fresh water until its change.

    Only where a dose lasts for less than the set-up calls worth one.
    """
    rule_context, ahead = context.rule_context, context.rule_context.forecast
    spec = rule_context.spec
    if ahead is None or ahead.readings < _A_TREND:
        return 0.0
    fresh = min(float(HORIZON), ahead.holding.batches_in_fresh.mid)
    lasts = min(float(HORIZON), ahead.holding.batches_per_dose.mid)
    left = float(HORIZON)
    if spec.batches_per_fill is not None:
        left = min(left, max(0.0, spec.batches_per_fill - rule_context.tank.batches_in_fill))
    each = context.check_min + WORK.dose
    if lasts >= spec.min_batches_per_dose:
        return 0.0
    return max(0.0, each / max(lasts, 0.5) - each / max(fresh, 0.5)) * left


_A_TREND = 2


def _ph_reads(context: PlanContext, rise_mg_l: float) -> Span | None:
    ph = context.ph
    if ph is None or ph.read is None:
        return None
    found = ph.will_read(context.ph_method, rise_mg_l=rise_mg_l)
    return Span(found.low, found.high)


def _acid(context: PlanContext) -> Built:
    from washmon.forecast.acid_step import acid_step  # noqa: PLC0415 - start-up is measured

    rule_context = context.rule_context
    if context.ph is None:
        return Message("Peracetic acid needs no pH.")
    if rule_context.unread_acid() is not None:
        return Message("What acid went in last was not read yet: read the pH first.")
    try:
        found = acid_step(context.ph)
    except ChemistryError as trouble:
        return trouble_message(trouble)
    if isinstance(found, Message):
        return found
    reads = context.ph.will_read(context.ph_method, acid=found.amount)
    span = Span(reads.low, reads.high)
    return Option(
        step=Step(
            kind=StepKind.ACID,
            say=Message(
                "Add {amount} {product} on its own, stir",
                {"amount": found.measured.describe(), "product": found.product.name},
            ),
            product=found.product.key,
            amount=found.amount,
            cautions=(Caution.ACID, Caution.LABEL),
        ),
        minutes=WORK.acid,
        batches=HORIZON,
        brings=brings_ph(Span(found.after.low, found.after.high)),
        how=how(found.measured),
        expected=Expected(ph=span, at=_mixed(rule_context)),
        not_before=mixed(rule_context),
        mixes=True,
    )


def _mixed(rule_context: RuleContext) -> datetime:
    return rule_context.now + timedelta(minutes=rule_context.spec.mix_minutes)


def mixed(rule_context: RuleContext, *, acid_apart: bool = False) -> datetime | None:
    """Return when what was added will have mixed in, in this tank or the vessel beside it.

    Acid and hypochlorite are never within each other's mixing time. ``acid_apart``: only acid
    counts; a second dose of the same product needs no wait for the first.
    """
    fills = [rule_context.fill]
    tank = rule_context.shift.tank(rule_context.tank.number)
    fills += [
        one for one in (tank.fill, tank.second) if one is not None and one is not rule_context.fill
    ]
    added: list[Change] = []
    for fill in fills:
        added += fill.acids
        added += () if acid_apart else (*fill.doses, *fill.exchanges)
    until = max((rule_context.mixed_at(one) for one in added), default=None)
    return until if until is not None and until > rule_context.now else None


# -- water ----------------------------------------------------------------------------------------


def _change(context: PlanContext) -> Built:
    rule_context = context.rule_context
    swap = rule_context.second is not None and rule_context.second.ready
    again = WORK.dose + rule_context.spec.mix_minutes + SETTLED_MIN + context.check_min
    return Option(
        step=change_step(swap=swap),
        minutes=WORK.swap if swap else (WORK.change + again) * WORK.standstill,
        batches=HORIZON,
    )


def _lower(context: PlanContext) -> Built:
    """Return the exchange of part of the water: down to the target, or by a third."""
    rule_context = context.rule_context
    limits, volume_l = rule_context.spec.limits, rule_context.fill.volume_l
    seen = (
        label_reading(rule_context) if rule_context.spec.peracetic is None else rule_context.level()
    )
    over = context.findings.keys() & {"chlorine-label", "paa-limit"}
    share, text = _PART, "Add no acid. Drain {drain}, refill with fresh water, then read the pH"
    if over:
        level = max(seen[0] if seen else 0.0, _upper(context))
        text = "Feed nothing. Drain {drain}, refill with fresh water, then read it"
        try:
            share = drained_share(level, limits.target_mg_l)
        except ChemistryError as trouble:
            return trouble_message(trouble)
    drain = Figure(share * volume_l, Kind.VOLUME)
    return Option(
        step=say_step(StepKind.LOWER, text, Caution.DISCHARGE, drain=drain),
        minutes=WORK.exchange,
        mixes=True,
    )


def _upper(context: PlanContext) -> float:
    from washmon.planning.outlook import quantile  # noqa: PLC0415 - start-up is measured

    return quantile(context.outlook.level, 0.5)


def _fill_second(context: PlanContext) -> Built:
    second = context.rule_context.second
    if second is None or second.step is None or second.ready:
        return Message("The second fill is ready.")
    return Option(step=second.step, minutes=WORK.dose)


# -- looks, produce, people -----------------------------------------------------------------------


def _check(context: PlanContext) -> Built:
    findings = context.findings
    step = measure_step(context.rule_context.spec, cloudiness=context.clouding.look)
    if findings.keys() & {"reading-jumps", "reading-repeats", "orp-contradicts"}:
        step = say_step(StepKind.CHECK, "Test once more, with a fresh sample")
    if "instrument-unfit" in findings:
        still = unfit_still(context.rule_context)
        others = all(another_is_fit(context.rule_context, field) for field in still)
        if unfit(context.rule_context.shift) or not others:
            return Message("The instrument is not fit for use yet.")
        step = say_step(
            StepKind.CHECK, "Measure again with an instrument that is fit: the last may be wrong"
        )
    return Option(step=step, minutes=context.check_min, not_before=mixed(context.rule_context))


def _verify(context: PlanContext) -> Built:
    findings, rule_context = context.findings, context.rule_context
    if "instrument-unfit" in findings:
        if not unfit(rule_context.shift) and not unfit_still(rule_context):
            return Message("The instrument is fit again.")
        text = "Measure with another, or set it right and check it again"
    elif "strips-old" in findings:
        text = "Open a pack of strips in date, or measure with a kit"
    elif "meter-unchecked" in findings:
        text = "Check the pH meter in fresh buffers, then enter the check"
    else:
        product = rule_context.setup.sanitizer(rule_context.spec.sanitizer)
        step = say_step(
            StepKind.LOOK,
            "Test {product} with a kit on a diluted sample, or open a fresh container",
            product="" if product is None else product.name,
        )
        return Option(step=step, minutes=context.check_min)
    return Option(step=say_step(StepKind.VERIFY, text), minutes=context.check_min)


def _hold(context: PlanContext) -> Built:
    rule_context = context.rule_context
    asked = to_hold(rule_context.shift, rule_context.tank)
    known: dict[int, Placed[BatchWashed]] = {
        one.seq: one for tank in rule_context.shift.tanks for one in tank.washed if one.seq in asked
    }
    loose = sorted(known.values(), key=lambda one: (one.event.at, one.seq))
    if not loose:
        return Message("Nothing is left to hold.")
    text = "Hold {count} batches washed from {first} to {last}: set them aside and mark them"
    if len(loose) == 1:
        text = "Hold the batch washed at {first}: set it aside and mark it"
    values: Values = {
        "count": len(loose),
        "first": Moment(loose[0].event.at),
        "last": Moment(loose[-1].event.at),
    }
    step = Step(
        kind=StepKind.HOLD,
        say=Message(text, dict(values)),
        batches=tuple(one.seq for one in loose),
    )
    return Option(step=step, minutes=0.0)


def _leave(context: PlanContext) -> Built:
    second = "second-gas" in context.findings and "ph-gas" not in context.findings
    text = "Step back and air the room. Add nothing. When the air is clear, change the water"
    if second:
        text = (
            "Second fill: step back and air the room. Add nothing. When the air is clear, change "
            "the water"
        )
    step = say_step(StepKind.LEAVE, text, Caution.GAS)
    return Option(
        step=Step(kind=step.kind, say=step.say, cautions=step.cautions, second=second), minutes=0.0
    )


def _warm(context: PlanContext) -> Built:
    rule_context = context.rule_context
    pulp = rule_context.reading("pulp_c")
    least = None if pulp is None else least_water_c(pulp[0], rule_context.spec)
    if least is None:
        return Message("No temperature is asked for.")
    return Option(
        step=say_step(
            StepKind.WARM,
            "Bring the water to {least} or cool the produce first",
            least=Figure(least, Kind.TEMPERATURE),
        ),
        minutes=WORK.exchange,
    )


def _contact(context: PlanContext) -> Built:
    rule_context = context.rule_context
    timed = next(
        (b for b in reversed(rule_context.tank.washed) if b.event.contact_s is not None), None
    )
    wanted = rule_context.spec.contact_s
    if timed is None or wanted is None:
        return Message("No contact time is asked for.")
    step = say_step(
        StepKind.CONTACT,
        "Keep each batch in for at least {wanted}; decide about the one washed at {at}",
        wanted=Figure(wanted, Kind.CONTACT_TIME),
        at=Moment(timed.event.at),
    )
    return Option(step=step, minutes=0.0)


_BUILDERS: dict[StepKind, Callable[[PlanContext], Built]] = {
    StepKind.LEAVE: _leave,
    StepKind.HOLD: _hold,
    StepKind.CHANGE_WATER: _change,
    StepKind.LOWER: _lower,
    StepKind.ACID: _acid,
    StepKind.DOSE: _dose,
    StepKind.WARM: _warm,
    StepKind.CONTACT: _contact,
    StepKind.CHECK: _check,
    StepKind.FILL: _fill_second,
    StepKind.VERIFY: _verify,
}
