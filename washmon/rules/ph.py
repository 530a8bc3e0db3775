"""Rules on pH: chlorine that sleeps above, gas below."""

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.chlorine_gas import (
    chlorine_in_air_ppm,
    dissolved_chlorine_mg_l,
    gas_stops,
)
from washmon.line.events import ReadingTaken
from washmon.line.flags import Level, StepKind
from washmon.line.judging import is_over, is_under, over_ph, under_ph
from washmon.line.message import Figure, Message, ppm
from washmon.line.reading import PH_ERROR
from washmon.line.state import Placed
from washmon.rules.base import Finding, Protects, RuleContext, RuleScope, rule
from washmon.rules.chlorine import active_share_pct
from washmon.units import Kind


def _ph(value: float) -> Figure:
    return Figure(value, Kind.PH)


@rule(
    "ph-high",
    "pH is high",
    "pH 6.5 to 7.5: Ritenour et al., UF/IFAS CH160; above 8 relatively ineffective: Food Safety "
    "Resource Clearinghouse 1119; acid by carbonate balance: Stumm & Morgan, Aquatic Chemistry; "
    "careful first steps: common practice, no published source",
    RuleScope.CHLORINE,
    answers=(StepKind.ACID,),
)
def over_high(rule_context: RuleContext) -> Finding | None:
    """Say so where pH is over its high limit, until acid went in after the reading."""
    seen = rule_context.ph()
    limits = rule_context.spec.ph
    if (
        seen is None
        or not over_ph(seen[0], rule_context.spec)
        or rule_context.treated_since(seen[1], with_acid=True)
    ):
        return None
    ph, reading = seen
    water_c = rule_context.water.temperature_c()
    return Finding(
        Level.ACT if is_over(ph, rule_context.margins.act_ph, Kind.PH) else Level.WATCH,
        Message(
            "At pH {ph} about {share} of the free chlorine is active (HOCl); at {target} it is "
            "{better}.",
            {
                "ph": _ph(ph),
                "share": Figure(round(active_share_pct(ph, water_c)), Kind.PERCENT),
                "target": _ph(limits.target),
                "better": Figure(round(active_share_pct(limits.target, water_c)), Kind.PERCENT),
            },
        ),
        reading.event.at,
    )


@rule(
    "ph-low",
    "pH is low",
    "Below 6.5 corrosion and loss as gas: Ritenour et al., UF/IFAS CH160; Food Safety Resource "
    "Clearinghouse 1119",
    RuleScope.CHLORINE,
    answers=(StepKind.DOSE, StepKind.LOWER),
    protects=Protects.WORK,
)
def under_low(rule_context: RuleContext) -> Finding | None:
    """Warn of acid where pH is under its low limit but no gas to speak of leaves the water."""
    seen = rule_context.ph()
    limits = rule_context.spec.ph
    if (
        seen is None
        or not under_ph(seen[0], rule_context.spec)
        or _gas(rule_context, *seen) is not None
    ):
        return None
    ph, reading = seen
    if rule_context.treated_since(reading):
        return None
    return Finding(
        Level.ACT,
        Message(
            "pH {ph} is under {low}: chlorine is lost faster, metal corrodes, and more acid would "
            "drive out chlorine gas.",
            {"ph": _ph(ph), "low": _ph(limits.low)},
        ),
        reading.event.at,
    )


@rule(
    "ph-gas",
    "chlorine gas over the water",
    "0.5 ppm in air over 8 hours, 1 ppm at most: OSHA Chemical Sampling Information, chlorine; gas "
    "from pH, free chlorine and chloride: hydrolysis constants of ECHA dossier 16137, Henry's law: "
    "Sander (2015), Atmos. Chem. Phys. 15:4399; where chlorine is not known, pH 6: Food Safety "
    "Resource Clearinghouse 1119",
    RuleScope.CHLORINE,
    answers=(StepKind.LEAVE,),
    protects=Protects.PEOPLE,
)
def over_gas_limit(rule_context: RuleContext) -> Finding | None:
    """Stop where so much chlorine gas leaves the water that the air may pass its limit."""
    seen = rule_context.ph()
    why = None if seen is None else _gas(rule_context, *seen)
    if seen is None or why is None:
        return None
    return Finding(
        Level.STOP,
        why,
        seen[1].event.at,
    )


def _gas(rule_context: RuleContext, ph: float, reading: Placed[ReadingTaken]) -> Message | None:
    """Return why gas is to be feared, or nothing; by pH alone where chlorine is not known.

    On the careful side: still air, all that was dosed since the last reading still there.
    """
    margins = rule_context.margins
    air_ppm = gas_in_air_ppm(rule_context, ph)
    most_ppm = gas_in_air_ppm(rule_context, ph - PH_ERROR[reading.event.ph_method])
    if air_ppm is None or most_ppm is None:
        back = rule_context.deadband("ph-gas", margins.ph_deadband)
        if not is_under(ph, margins.gas_ph, Kind.PH, back=back):
            return None
        return Message(
            "At pH {ph}, under {limit}, chlorine leaves the water as gas that harms the lungs. How "
            "much is not known: free chlorine was not measured in this fill.",
            {"ph": _ph(ph), "limit": _ph(margins.gas_ph)},
        )
    back = rule_context.deadband("ph-gas", margins.gas_deadband_fraction)
    if not gas_stops(margins.gas_air_ppm * (1 - back), air_ppm, most_ppm):
        return None
    return Message(
        "At pH {ph}, {level} free chlorine and about {chloride} chloride, still air over the water "
        "may hold {air} to {most} chlorine gas; {limit} is the limit for 8 hours of work.",
        {
            "ph": _ph(ph),
            "level": ppm(rule_context.water.chlorine_mg_l() or 0.0),
            "chloride": ppm(round(rule_context.water.chloride_mg_l)),
            "air": ppm(round(air_ppm, 2)),
            "most": ppm(round(most_ppm, 2)),
            "limit": ppm(margins.gas_air_ppm),
        },
    )


def gas_in_air_ppm(rule_context: RuleContext, ph: float) -> float | None:
    """Return chlorine in still air over the water, ppm by volume; None if chlorine is not known."""
    water = rule_context.water
    level = water.chlorine_mg_l()
    if level is None:
        return None
    temperature_c = water.temperature_c()
    try:
        dissolved = dissolved_chlorine_mg_l(level, ph, temperature_c, water.chloride_mg_l)
        return chlorine_in_air_ppm(dissolved, temperature_c)
    except ChemistryError:
        return None
