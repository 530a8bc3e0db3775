"""What a forecast says in words: the middle always, its range, and how sure it is."""

import math
from enum import StrEnum

import numpy as np

from washmon.forecast.outlook import MOST_BATCHES, Range
from washmon.forecast.prior import Prior, Trait
from washmon.line.message import Figure, Message, ppm
from washmon.units import Kind

_SURE, _ROUGH = 0.75, 2.0
"""A range so many times as wide as its middle is sure, is rough; a wider one is a first guess."""
_NARROW, _WIDE = 3.0, 8.0
"""A range of no more batches is sure, is rough, however small its middle."""
_STRENGTH_SHARE, _BIAS_SHARE = 0.05, 0.03
"""What was learned is worth a sentence from such a difference on."""


class Sureness(StrEnum):
    """How far a number of batches may be counted on."""

    SURE = "sure"
    ROUGH = "rough"
    GUESS = "guess"


_LASTING = {
    Sureness.SURE: "Good for about {middle} more batches ({low}–{high})",
    Sureness.ROUGH: "Good for roughly {middle} more batches ({low}–{high})",
    Sureness.GUESS: "Good for {middle} more batches at a first guess ({low}–{high})",
}
_ONE = {
    Sureness.SURE: "Good for about 1 more batch ({low}–{high})",
    Sureness.ROUGH: "Good for roughly 1 more batch ({low}–{high})",
    Sureness.GUESS: "Good for 1 more batch at a first guess ({low}–{high})",
}


def sureness(batches: Range) -> Sureness:
    """Return how far a range of batches may be counted on."""
    middle = min(batches.mid, float(MOST_BATCHES))
    width = min(batches.high, float(MOST_BATCHES)) - min(batches.low, float(MOST_BATCHES))
    if width <= max(_NARROW, _SURE * middle):
        return Sureness.SURE
    return Sureness.ROUGH if width <= max(_WIDE, _ROUGH * middle) else Sureness.GUESS


def lasting(batches: Range) -> Message:
    """Return for how many more batches water is good; the middle is always said."""
    if math.isinf(batches.mid):
        low = MOST_BATCHES if math.isinf(batches.low) else int(batches.low)
        text = "Good for more than {most} more batches, at least {low}"
        return Message(text, {"most": MOST_BATCHES, "low": low})
    low, high = int(batches.low), batches.high
    most = f"{MOST_BATCHES}+" if math.isinf(high) else str(math.ceil(high))
    middle = round(batches.mid)
    if middle < 1:
        return Message("Good for the next batch at most ({low}–{high})", {"low": low, "high": most})
    text = _ONE[sureness(batches)] if middle == 1 else _LASTING[sureness(batches)]
    return Message(text, {"middle": middle, "low": low, "high": most})


def will_read_words(expected: Range) -> Message:
    """Return what an instrument should read, mg/L."""
    if round(expected.low) == round(expected.high):
        return Message("Should read {middle}", {"middle": ppm(round(expected.mid))})
    return Message(
        "Should read {low} to {high}",
        {"low": ppm(round(expected.low)), "high": ppm(round(expected.high))},
    )


def learned_words(prior: Prior) -> tuple[Message, ...]:
    """Return what past shifts taught of a tank, a sentence for each thing; nothing without any."""
    if prior.learned is None:
        return ()
    middle = prior.middle
    said = [
        Message(
            "A kilogram takes about {demand} of chlorine, by past shifts.",
            {"demand": Figure(round(float(np.exp(middle[Trait.DEMAND])), 3), Kind.MASS)},
        )
    ]
    strength = float(np.exp(middle[Trait.STRENGTH]))
    if prior.container and abs(strength - 1) > _STRENGTH_SHARE:
        text = "This container brings about {share} of what its label says, by past shifts."
        said.append(Message(text, {"share": Figure(round(100 * strength), Kind.PERCENT)}))
    for trait, known, high, low in (
        (
            Trait.STRIP,
            bool(prior.pack),
            "These strips read about {share} high, by past shifts.",
            "These strips read about {share} low, by past shifts.",
        ),
        (
            Trait.KIT,
            True,
            "The kit or meter reads about {share} high, by past shifts.",
            "The kit or meter reads about {share} low, by past shifts.",
        ),
    ):
        bias = float(np.exp(middle[trait])) - 1
        if known and abs(bias) > _BIAS_SHARE:
            share = Figure(round(100 * abs(bias)), Kind.PERCENT)
            said.append(Message(high if bias > 0 else low, {"share": share}))
    return tuple(said)
