"""Rules on the produce in the water: how long it stays, and how warm the water must be."""

from washmon.line.flags import Level, StepKind
from washmon.line.judging import is_under, judge_temperature
from washmon.line.message import Figure, Message, Moment, Values
from washmon.rules.base import Finding, RuleContext, rule
from washmon.units import Kind


@rule(
    "contact-short",
    "contact time short",
    "At least one minute of contact: common practice, no published source; 1 to 2 minutes: USDA "
    "GAP/GHP programme as relayed by AFFI",
    answers=(StepKind.CONTACT,),
)
def contact_short(rule_context: RuleContext) -> Finding | None:
    """Say so where the batch timed last stayed shorter than it should, until it is held."""
    wanted = rule_context.spec.contact_s
    if wanted is None:
        return None
    timed = next(
        (b for b in reversed(rule_context.tank.washed) if b.event.contact_s is not None), None
    )
    if timed is None or timed.seq in rule_context.shift.held_batches:
        return None
    stayed = timed.event.contact_s
    if stayed is None or not is_under(stayed, wanted, Kind.CONTACT_TIME):
        return None
    figures: Values = {
        "at": Moment(timed.event.at),
        "stayed": Figure(stayed, Kind.CONTACT_TIME),
        "wanted": Figure(wanted, Kind.CONTACT_TIME),
    }
    return Finding(
        Level.ACT,
        Message(
            "The batch washed at {at} stayed {stayed} in the water; {wanted} is wanted.",
            figures,
        ),
        timed.event.at,
    )


@rule(
    "water-too-cold",
    "water too cold for the pulp",
    "Tomato water 10 °F over pulp: Florida/FDA guidance as relayed; dunk water at most 10 °F "
    "colder: UVM Extension, Managing dunk tank water; why: Food Protection Trends Jan/Feb 2017",
    answers=(StepKind.WARM,),
)
def water_too_cold(rule_context: RuleContext) -> Finding | None:
    """Say so where the water is colder against the pulp than the commodity's rule allows."""
    water, pulp = rule_context.reading("water_c"), rule_context.reading("pulp_c")
    if water is None or pulp is None:
        return None
    back = rule_context.deadband("water-too-cold", rule_context.margins.temperature_deadband_c)
    breach = judge_temperature(water[0], pulp[0], rule_context.spec, back=back)
    if breach is None:
        return None
    return Finding(
        Level.ACT,
        Message(
            "The water is {water}, the pulp {pulp}; the water should be at least {least}. Colder "
            "water is drawn into the produce, and what is in it too.",
            {
                "water": Figure(water[0], Kind.TEMPERATURE),
                "pulp": Figure(pulp[0], Kind.TEMPERATURE),
                "least": Figure(breach.limit, Kind.TEMPERATURE),
            },
        ),
        max(water[1].event.at, pulp[1].event.at),
    )
