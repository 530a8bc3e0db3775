"""Rules on containers: those that have lost their strength.

The rule on what was put in: too much is believed of an entry until a reading says otherwise.
"""

from datetime import datetime

from washmon.chemistry.checks import ChemistryError
from washmon.line.certain import certain_level
from washmon.line.flags import Level, StepKind
from washmon.line.judging import most_mg_l, over_label
from washmon.line.message import Figure, Message, Moment, Values, ppm
from washmon.line.setup import Sanitizer
from washmon.line.strength import Strength, strength_on
from washmon.line.words import amount_figure
from washmon.rules.base import Finding, Protects, RuleContext, rule
from washmon.units import Kind


@rule(
    "product-weak",
    "product may be weak",
    "Decay of bleach: Adam & Gordon (1999), Inorg. Chem. 38:1299; 80 % of the label: common "
    "practice, no published source",
    answers=(StepKind.VERIFY,),
    protects=Protects.WORK,
)
def product_weak(rule_context: RuleContext) -> Finding | None:
    """Say so where a container is weak by its age or a test, or past its use-by day.

    Once for a product: in the first tank of the line that holds water and uses it.
    """
    product = rule_context.setup.sanitizer(rule_context.spec.sanitizer)
    if product is None or not _speaks_for(rule_context, product):
        return None
    why = _past_its_day(rule_context, product) or _weak(rule_context, product)
    if why is None:
        return None
    return Finding(Level.WATCH, why, _since(rule_context))


def _speaks_for(rule_context: RuleContext, product: Sanitizer) -> bool:
    using = (
        tank.number
        for tank in rule_context.shift.tanks
        if tank.fill is not None and tank.spec.sanitizer == product.key
    )
    return next(using, None) == rule_context.tank.number


def _since(rule_context: RuleContext) -> datetime:
    return rule_context.shift.started.at


def _past_its_day(rule_context: RuleContext, product: Sanitizer) -> Message | None:
    if product.use_by is None or product.use_by >= rule_context.today:
        return None
    if product.tested_on is not None and product.tested_on > product.use_by:
        return None
    return Message(
        "{product} is past its use-by day, {day}: it may hold less than its label says.",
        {"product": product.name, "day": product.use_by.isoformat()},
    )


def _weak(rule_context: RuleContext, product: Sanitizer) -> Message | None:
    """Return that a container is weak: a liquid, as a solid keeps its label until its last day."""
    try:
        strength = strength_on(product, rule_context.today)
    except ChemistryError:
        return None
    if strength.share >= rule_context.margins.weak_strength_fraction:
        return None
    return Message(
        _words(strength),
        {
            "product": product.name,
            "now": Figure(round(strength.best, 1), Kind.STRENGTH),
            "label": Figure(round(strength.label, 1), Kind.STRENGTH),
            "share": Figure(round(100 * strength.share), Kind.PERCENT),
            "least": Figure(round(100 * rule_context.margins.weak_strength_fraction), Kind.PERCENT),
            "days": strength.days or 0,
            "storage": Figure(strength.storage_c, Kind.TEMPERATURE),
        },
    )


def _words(strength: Strength) -> str:
    if strength.tested:
        return (
            "As tested, {product} should hold {now} by now, {share} of the {label} on its label; "
            "under {least} is weak. Doses are worked out with it; larger doses bring more salt and "
            "chlorate."
        )
    return (
        "{product} should hold {now} by now, {share} of the {label} on its label, after {days} "
        "days at {storage}; under {least} is weak. That is the best case: light, warmth and metal "
        "are faster."
    )


@rule(
    "label-by-dose",
    "over the label by what was put in",
    "The product label is the limit: 21 CFR 173.315, 40 CFR 156; rise by mass balance: White, "
    "Handbook of Chlorination (1972)",
    answers=(StepKind.CHECK,),
    protects=Protects.LAW,
)
def over_label_by_dose(rule_context: RuleContext) -> Finding | None:
    """Stop where doses that no reading has shown yet certainly pass what label and law allow."""
    certain = certain_level(rule_context.fill, rule_context.spec, rule_context.setup)
    if certain is None or not over_label(certain.low_mg_l, rule_context.spec):
        return None
    dose = certain.dose.event
    product = rule_context.setup.sanitizer(dose.product)
    values: Values = {
        "amount": dose.as_entered or amount_figure(dose.amount),
        "product": dose.product if product is None else product.name,
        "at": Moment(dose.at),
        "level": ppm(round(certain.low_mg_l)),
        "most": ppm(most_mg_l(rule_context.spec)),
    }
    why = Message(
        "With the {amount} of {product} of {at} the water holds about {level}, by what went in; "
        "label and law allow {most}. That is believed until a reading says otherwise: wash nothing "
        "in it before. If the entry was wrong, correct it.",
        values,
    )
    return Finding(Level.STOP, why, dose.at)
