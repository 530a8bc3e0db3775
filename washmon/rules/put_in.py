"""The rule on what was put in: too much is believed of an entry until a reading says otherwise."""

from washmon.line.certain import certain_level
from washmon.line.flags import Level, StepKind
from washmon.line.judging import most_mg_l, over_label
from washmon.line.message import Message, Moment, Values, ppm
from washmon.line.words import amount_figure
from washmon.rules.base import Finding, Protects, RuleContext, rule


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
