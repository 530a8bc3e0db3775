"""What past shifts taught, in words."""

import numpy as np

from washmon.forecast.prior import KG_PER_L, Prior, Trait
from washmon.line.message import Figure, Message, ppm
from washmon.units import Kind

_STRENGTH_SHARE, _BIAS_SHARE = 0.05, 0.03
"""What was learned is worth a sentence from such a difference on."""
_NARROWED = 0.85
"""A trait was learned where its spread is so much of what it was before any shift, or less."""


def learned_words(prior: Prior, volume_l: float) -> tuple[Message, ...]:
    """Return what past shifts taught of a tank of a volume, a sentence for each thing.

    Nothing is said of what no reading narrowed, nor of what hardly differs from the usual.
    """
    if prior.learned is None:
        return ()
    said = [_a_batch(prior, volume_l)] if _was_told(prior, Trait.DEMAND) else []
    strength = float(np.exp(prior.middle[Trait.STRENGTH]))
    told = bool(prior.container) and _was_told(prior, Trait.STRENGTH)
    if told and abs(strength - 1) > _STRENGTH_SHARE:
        text = "The product brings about {share} of what its label says."
        said.append(Message(text, {"share": Figure(round(100 * strength), Kind.PERCENT)}))
    for trait, high, low in (
        (
            Trait.STRIP,
            "The strips read about {share} high.",
            "The strips read about {share} low.",
        ),
        (
            Trait.KIT,
            "The kit or meter reads about {share} high.",
            "The kit or meter reads about {share} low.",
        ),
    ):
        bias = float(np.exp(prior.middle[trait])) - 1
        if _was_told(prior, trait) and abs(bias) > _BIAS_SHARE:
            share = Figure(round(100 * abs(bias)), Kind.PERCENT)
            said.append(Message(high if bias > 0 else low, {"share": share}))
    return tuple(said)


def _a_batch(prior: Prior, volume_l: float) -> Message:
    kg = prior.usual_kg or KG_PER_L * volume_l
    used = float(np.exp(prior.middle[Trait.DEMAND])) * kg * 1000 / volume_l
    if prior.usual_kg is None:
        return Message("A batch uses up about {used} in the end.", {"used": ppm(round(used, 1))})
    weight = Figure(kg, Kind.PRODUCE_MASS)
    return Message(
        "A batch of {weight} uses up about {used} in the end.",
        {"weight": weight, "used": ppm(round(used, 1))},
    )


def _was_told(prior: Prior, trait: Trait) -> bool:
    """Tell whether readings narrowed a trait."""
    usual = prior.usual or prior
    return prior.spread[trait] < _NARROWED * usual.spread[trait]
