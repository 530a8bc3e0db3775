"""How much sanitizer to add: within every limit that the dose touches, and what it brings about."""

from dataclasses import dataclass

from washmon.chemistry.checks import ChemistryError
from washmon.line.flags import Amount, Caution, Step, StepKind
from washmon.line.judging import under_low
from washmon.line.measure import how, measured
from washmon.line.message import Message, ppm
from washmon.line.peracetic import Brought, brought, brought_by
from washmon.line.plan import Span
from washmon.line.product import dose, most_to, rise
from washmon.line.setup import PeraceticLimits, Sanitizer
from washmon.planning.context import PlanContext
from washmon.planning.objective import HIGH_CHANCE, SURPRISE
from washmon.planning.outlook import Outlook, quantile, rise_to
from washmon.planning.plan_words import trouble_message
from washmon.planning.steady import said_lately, unreadable_mg_l
from washmon.rules.base import RuleContext

_SURE = 0.99
"""Share of what may be that keeps the label's and the law's maximum."""
_ENOUGH = 0.6
_SMALLER = 1.1
"""The tank may hold so many times less water than the set-up says: what the law allows is filled up
only so far."""
_LEAST_RISE = 0.02
"""Of the target: less is not worth a hand."""


@dataclass(frozen=True, slots=True)
class Dose:
    """One dose as it can be measured out, the level after it, and what will be read then."""

    step: Step
    rise_mg_l: float
    after: Outlook
    reads: Span
    how: Message | None
    """How it is measured out, where no measure of the shed comes near."""


def best_dose(context: PlanContext) -> Dose | Message:
    """Return the dose that lasts longest within its limits, or why there is none."""
    rule_context = context.rule_context
    product = rule_context.setup.sanitizer(rule_context.spec.sanitizer)
    if product is None:
        return Message("The product of this tank is not in the set-up: add it.")
    if (never := never_kept(rule_context)) is not None:
        return never
    try:
        most = _most(rule_context, product, context.outlook)
        wanted = _wanted(context)
        if isinstance(most, Message):
            return most
        return _standing(context, product, most) or _made(context, product, wanted, most)
    except ChemistryError as trouble:
        return trouble_message(trouble)


def to_target(context: PlanContext) -> Amount | None:
    """Return the amount, not rounded to any measure, that restores the target."""
    rule_context = context.rule_context
    product, limits = (
        rule_context.setup.sanitizer(rule_context.spec.sanitizer),
        rule_context.spec.limits,
    )
    rise_mg_l = rise_to(context.outlook, limits.target_mg_l, 0.5, rule_context.spec.mix_minutes)
    if product is None or rise_mg_l <= 0:
        return None
    try:
        return dose(product, rule_context.fill.volume_l, 0.0, rise_mg_l, rule_context.today)
    except ChemistryError:
        return None


def _wanted(context: PlanContext) -> float:
    """Return the rise, mg/L, to aim at: near the operating high, at least to the target.

    Near the high fewer doses are needed; a set-up may say never over the target.
    """
    rule_context, outlook = context.rule_context, context.outlook
    limits, mix = rule_context.spec.limits, rule_context.spec.mix_minutes
    to_target = rise_to(outlook, limits.target_mg_l, 0.5, mix)
    if not rule_context.spec.dose_over_target:
        return to_target
    return max(to_target, rise_to(outlook, limits.high_mg_l, 1 - HIGH_CHANCE, mix))


def _most(rule_context: RuleContext, product: Sanitizer, outlook: Outlook) -> Amount | Message:
    """Return the largest amount that keeps every maximum, however strong product and water are."""
    limits = rule_context.spec.limits
    level = max(quantile(outlook.level, _SURE), _if_misread(rule_context))
    maximum = limits.label_max_mg_l
    if isinstance(limits, PeraceticLimits):
        maximum = min(maximum, limits.legal_paa_mg_l)
    if level >= maximum:
        return Message(
            "The water may be at {level} already, and {most} is the most allowed.",
            {"level": ppm(round(level)), "most": ppm(maximum)},
        )
    most = most_to(product, rule_context.fill.volume_l, level, maximum, rule_context.today)
    most = Amount(most.value / max(1.0, quantile(outlook.strength, _SURE)), most.unit)
    if isinstance(limits, PeraceticLimits):
        return _within_law(rule_context, product, limits, most)
    return most


def _if_misread(rule_context: RuleContext) -> float:
    """Return the level, mg/L, that there may be if the newest reading was a slip; else 0.

    Far under what was expected, a reading may be of the wrong tank: the dose keeps its maximum even
    so, and the next reading tells.
    """
    told = None if rule_context.forecast is None else rule_context.forecast.last_read
    if told is None or told.chance >= SURPRISE or told.value_mg_l >= told.low_mg_l:
        return 0.0
    return 0.0 if rule_context.unverified_dose() is not None else told.high_mg_l


def _within_law(
    rule_context: RuleContext, product: Sanitizer, limits: PeraceticLimits, most: Amount
) -> Amount | Message:
    """Return the amount that also keeps the legal maximum of what comes with peracetic acid."""
    held = brought(rule_context.setup, rule_context.fill)
    each = brought_by(product, rule_context.fill.volume_l, Amount(1.0, "mL"))
    room = [
        (legal / _SMALLER - there) / per_ml
        for there, per_ml, legal in (
            (held.peroxide_mg_l, each.peroxide_mg_l, limits.legal_peroxide_mg_l),
            (held.hedp_mg_l, each.hedp_mg_l, limits.legal_hedp_mg_l),
        )
        if per_ml > 0
    ]
    value = min(most.value, *room) if room else most.value
    if value * rise(product, rule_context.fill.volume_l, Amount(1.0, "mL")) < _too_little(
        rule_context
    ):
        return _too_much_with_it(held, limits)
    return Amount(value, most.unit)


def never_kept(rule_context: RuleContext) -> Message | None:
    """Return that no fill can be kept with this product within the law, if that is so."""
    level = None if rule_context.spec.peracetic is None else fresh_level(rule_context)
    if level is None or not under_low(level, rule_context.spec):
        return None
    return Message(
        "This product can not keep this tank: the most of it that the law allows brings {level}, "
        "and {low} is the operating low. Use a product with less peroxide.",
        {"level": ppm(round(level)), "low": ppm(rule_context.spec.limits.low_mg_l)},
    )


def fresh_level(rule_context: RuleContext) -> float | None:
    """Return what the most of a product that label and law allow brings into fresh water, mg/L.

    Nothing where that can't be told.
    """
    product, limits = (
        rule_context.setup.sanitizer(rule_context.spec.sanitizer),
        rule_context.spec.limits,
    )
    if product is None or not isinstance(limits, PeraceticLimits):
        return None
    volume_l = rule_context.fill.volume_l
    try:
        each = brought_by(product, volume_l, Amount(1.0, "mL"))
        up = rise(product, volume_l, Amount(1.0, "mL"))
    except ChemistryError:
        return None
    ends = [
        min(limits.label_max_mg_l, limits.legal_paa_mg_l) / up,
        *(
            legal / _SMALLER / per_ml
            for per_ml, legal in (
                (each.peroxide_mg_l, limits.legal_peroxide_mg_l),
                (each.hedp_mg_l, limits.legal_hedp_mg_l),
            )
            if per_ml > 0
        ),
    ]
    return min(ends) * up


def _too_much_with_it(held: Brought, limits: PeraceticLimits) -> Message:
    return Message(
        "A dose would bring too much of what comes with peracetic acid: {held} hydrogen peroxide "
        "is in the water, {limit} is the most allowed. Change the water, or use a product with "
        "less peroxide.",
        {"held": ppm(round(held.peroxide_mg_l)), "limit": ppm(limits.legal_peroxide_mg_l)},
    )


def _too_little(rule_context: RuleContext) -> float:
    return _LEAST_RISE * rule_context.spec.limits.target_mg_l


def _standing(context: PlanContext, product: Sanitizer, most: Amount) -> Dose | None:
    """Return the dose that was said before, while it is still right; else nothing.

    It keeps every maximum, as likely as not the operating high too, and restores the target as far
    as anybody could read.
    """
    before, rule_context = context.previous, context.rule_context
    given = None if before is None else before.now.amount
    if before is None or given is None or not said_lately(context, StepKind.DOSE):
        return None
    if (before.now.product, given.unit) != (product.key, most.unit) or given.value > most.value:
        return None
    limits, mix = rule_context.spec.limits, rule_context.spec.mix_minutes
    up = rise(product, rule_context.fill.volume_l, given, rule_context.today)
    least = rise_to(context.outlook, limits.target_mg_l, 0.5, mix) - unreadable_mg_l(context)
    at_most = rise_to(context.outlook, limits.high_mg_l, 0.5, mix)
    if not least <= up <= at_most:
        return None
    after = context.outlook.dosed(up, mix)
    return Dose(before.now, up, after, after.reads(context.method), before.how)


def _made(
    context: PlanContext, product: Sanitizer, wanted_mg_l: float, most: Amount
) -> Dose | Message:
    rule_context, volume_l = context.rule_context, context.rule_context.fill.volume_l
    if wanted_mg_l < _too_little(rule_context):
        return Message("The level needs no dose.")
    exact = dose(product, volume_l, 0.0, wanted_mg_l, rule_context.today)
    exact = Amount(min(exact.value, most.value), exact.unit)
    # An owned spoon that holds most of it is better than a dilution: the next dose brings the rest.
    enough = _ENOUGH * exact.value
    amount = measured(exact, rule_context.setup, at_most=most, at_least=enough)
    given = Amount(amount.actual, exact.unit)
    up = rise(product, volume_l, given, rule_context.today)
    after = context.outlook.dosed(up, rule_context.spec.mix_minutes)
    peracetic = rule_context.spec.peracetic is not None
    step = Step(
        kind=StepKind.DOSE,
        say=Message(
            "Add {amount} {product}, stir", {"amount": amount.describe(), "product": product.name}
        ),
        product=product.key,
        amount=given,
        cautions=(Caution.PERACETIC if peracetic else Caution.HYPOCHLORITE, Caution.LABEL),
    )
    return Dose(step, up, after, after.reads(context.method), how(amount))
