"""What past shifts taught, in words."""

import numpy as np

from washmon.forecast.prior import Prior, Trait
from washmon.line.message import Figure, Message
from washmon.units import Kind

_STRENGTH_SHARE, _BIAS_SHARE = 0.05, 0.03
"""What was learned is worth a sentence from such a difference on."""


def learned_words(prior: Prior) -> tuple[Message, ...]:
    """Return what past shifts taught of a tank, a sentence for each thing; nothing without any."""
    if prior.learned is None:
        return ()
    middle = prior.middle
    said = [
        Message(
            "A kilogram of produce uses up about {demand} of chlorine.",
            {"demand": Figure(round(float(np.exp(middle[Trait.DEMAND])), 3), Kind.MASS)},
        )
    ]
    if prior.usual_kg is not None:
        weight = Figure(prior.usual_kg, Kind.PRODUCE_MASS)
        said.append(Message("A batch weighs about {weight}.", {"weight": weight}))
    strength = float(np.exp(middle[Trait.STRENGTH]))
    if prior.container and abs(strength - 1) > _STRENGTH_SHARE:
        text = "This container brings about {share} of what its label says."
        said.append(Message(text, {"share": Figure(round(100 * strength), Kind.PERCENT)}))
    for trait, known, high, low in (
        (
            Trait.STRIP,
            bool(prior.pack),
            "These strips read about {share} high.",
            "These strips read about {share} low.",
        ),
        (
            Trait.KIT,
            True,
            "The kit or meter reads about {share} high.",
            "The kit or meter reads about {share} low.",
        ),
    ):
        bias = float(np.exp(middle[trait])) - 1
        if known and abs(bias) > _BIAS_SHARE:
            share = Figure(round(100 * abs(bias)), Kind.PERCENT)
            said.append(Message(high if bias > 0 else low, {"share": share}))
    return tuple(said)
