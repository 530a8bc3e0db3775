"""Rules on pH: chlorine that sleeps above, gas below."""

from washmon.line.flags import Caution, Level, Step, StepKind
from washmon.line.message import Figure, Message
from washmon.rules.base import Finding, Sight, rule
from washmon.rules.chlorine import active_share_pct
from washmon.rules.steps import acid_step
from washmon.units import Kind


def _ph(value: float) -> Figure:
    return Figure(value, Kind.PH)


@rule(
    "ph-high",
    "pH is high",
    "pH 6.5 to 7.5: Ritenour et al., UF/IFAS CH160; above 8 relatively ineffective: Food Safety "
    "Resource Clearinghouse 1119; the small step of acid is common practice, no published source",
)
def over_high(sight: Sight) -> Finding | None:
    """Ask for a small step of acid where pH is over its high limit."""
    seen = sight.reading("ph")
    limits = sight.spec.ph
    margin = sight.margins.ph_deadband if sight.is_up("ph-high") else 0.0
    if seen is None or seen[0] <= limits.high - margin:
        return None
    ph, reading = seen
    water = sight.reading("water_c")
    water_c = None if water is None else water[0]
    return Finding(
        Level.ACT if ph > sight.margins.act_ph else Level.WATCH,
        Message(
            "At pH {ph} about {share} of the free chlorine is active (HOCl); at {target} it is "
            "{better}. How much acid this water takes is not known: small steps, re-check each.",
            {
                "ph": _ph(ph),
                "share": Figure(round(active_share_pct(ph, water_c)), Kind.PERCENT),
                "target": _ph(limits.target),
                "better": Figure(round(active_share_pct(limits.target, water_c)), Kind.PERCENT),
            },
        ),
        acid_step(sight.setup, sight.spec, sight.fill.volume_l, ph),
        reading.event.at,
    )


@rule(
    "ph-low",
    "pH is low",
    "Below 6.5 corrosion and loss as gas: Ritenour et al., UF/IFAS CH160; Food Safety Resource "
    "Clearinghouse 1119",
)
def under_low(sight: Sight) -> Finding | None:
    """Warn of acid where pH is under its low limit but not where gas leaves the water."""
    seen = sight.reading("ph")
    limits = sight.spec.ph
    margin = sight.margins.ph_deadband if sight.is_up("ph-low") else 0.0
    if seen is None or not sight.margins.gas_ph <= seen[0] < limits.low + margin:
        return None
    ph, reading = seen
    if sight.is_up("ph-gas") and ph < sight.margins.gas_ph + sight.margins.ph_deadband:
        return None
    return Finding(
        Level.ACT,
        Message(
            "pH {ph} is under {low}: chlorine is lost faster, metal corrodes, and more acid would "
            "drive out chlorine gas.",
            {"ph": _ph(ph), "low": _ph(limits.low)},
        ),
        Step(
            kind=StepKind.LOWER,
            say=Message("Add no acid. Exchange part of the water for fresh, re-check pH"),
            cautions=(Caution.GAS,),
        ),
        reading.event.at,
    )


@rule(
    "ph-gas",
    "pH so low that chlorine leaves as gas",
    "Below pH 6 chlorine is lost as gas: Food Safety Resource Clearinghouse 1119; exposure limits: "
    "OSHA Chemical Sampling Information, chlorine",
)
def under_gas_limit(sight: Sight) -> Finding | None:
    """Stop where pH is so low that chlorine gas leaves the water."""
    seen = sight.reading("ph")
    margin = sight.margins.ph_deadband if sight.is_up("ph-gas") else 0.0
    if seen is None or seen[0] >= sight.margins.gas_ph + margin:
        return None
    ph, reading = seen
    return Finding(
        Level.STOP,
        Message(
            "At pH {ph}, under {limit}, chlorine leaves the water as gas that harms the lungs.",
            {"ph": _ph(ph), "limit": _ph(sight.margins.gas_ph)},
        ),
        Step(
            kind=StepKind.LEAVE,
            say=Message(
                "Step back and air the room. Add nothing. When the air is clear, change the water"
            ),
            cautions=(Caution.GAS,),
        ),
        reading.event.at,
    )
