"""What past shifts taught, in words."""

import math
from collections.abc import Iterator

import numpy as np

from washmon.forecast.memory import USUAL_SPREAD, Row, Subject
from washmon.forecast.prior import KG_PER_L, Prior, Trait
from washmon.line.message import Figure, Message, ppm
from washmon.units import Kind

_STRENGTH_SHARE, _BIAS_SHARE = 0.05, 0.03
"""What was learned is worth a sentence from such a difference on."""
_DEMAND_SHARE, _SURE_OF_A_LOT = 0.2, 0.4
"""A lot is worth one where its demand differs so far from the usual, and is known so well (log)."""
_NARROWED = 0.85
"""A trait was learned where its spread is so much of what it was before any shift, or less."""


def learned_words(prior: Prior, volume_l: float) -> tuple[Message, ...]:
    """Return what past shifts taught of a tank of a volume, a sentence for each thing.

    Nothing is said of what no reading narrowed, nor of what hardly differs from the usual.
    """
    if prior.learned is None:
        return ()
    return (*_demand(prior, volume_l), *_strength(prior), *_strips(prior), *_kit(prior))


def _demand(prior: Prior, volume_l: float) -> Iterator[Message]:
    """Say what a batch uses up, and which lots and kinds of produce stand out from it."""
    if not _was_told(prior, Trait.DEMAND):
        return
    kg = prior.usual_kg or KG_PER_L * volume_l

    def used(demand: float) -> Figure:
        return ppm(round(float(np.exp(demand)) * kg * 1000 / volume_l, 1))

    usual = prior.middle[Trait.DEMAND]
    if prior.usual_kg is None:
        yield Message("A batch uses up about {used} in the end.", {"used": used(usual)})
    else:
        yield Message(
            "A batch of {weight} uses up about {used} in the end.",
            {"weight": Figure(kg, Kind.PRODUCE_MASS), "used": used(usual)},
        )
    for about, text in (
        (Subject.PRODUCE, "Of {name} it is about {used}."),
        (Subject.LOT, "Of lot {name} it is about {used}."),
    ):
        for row, value, spread in _rows(prior, about):
            if abs(value - usual) > _DEMAND_SHARE and spread < _SURE_OF_A_LOT:
                yield Message(text, {"name": row.name, "used": used(value)})


def _strength(prior: Prior) -> Iterator[Message]:
    strength = float(np.exp(prior.middle[Trait.STRENGTH]))
    told = bool(prior.container) and _was_told(prior, Trait.STRENGTH)
    if told and abs(strength - 1) > _STRENGTH_SHARE:
        text = "The product brings about {share} of what its label says."
        yield Message(text, {"share": Figure(round(100 * strength), Kind.PERCENT)})


def _strips(prior: Prior) -> Iterator[Message]:
    """Say how high each person reads the strips in use: the pack's bias and the eye's together."""
    belief = prior.learned
    if belief is None or not prior.pack:
        return
    usual = math.hypot((prior.usual or prior).spread[Trait.STRIP], USUAL_SPREAD[Subject.PERSON])
    for place, row in enumerate(belief.kept, start=len(Trait)):
        both = belief.particles[Trait.STRIP] + belief.particles[place]
        bias = float(np.expm1(both.mean()))
        told = row.about is Subject.PERSON and float(both.std()) < _NARROWED * usual
        if told and abs(bias) > _BIAS_SHARE:
            high, low = (
                "{who} reads the strips about {share} high.",
                "{who} reads the strips about {share} low.",
            )
            text = high if bias > 0 else low
            yield Message(text, {"who": row.name, "share": _percent(bias)})


def _kit(prior: Prior) -> Iterator[Message]:
    bias = float(np.expm1(prior.middle[Trait.KIT]))
    if _was_told(prior, Trait.KIT) and abs(bias) > _BIAS_SHARE:
        high, low = (
            "The kit or meter reads about {share} high.",
            "The kit or meter reads about {share} low.",
        )
        yield Message(high if bias > 0 else low, {"share": _percent(bias)})


def _rows(prior: Prior, about: Subject) -> Iterator[tuple[Row, float, float]]:
    """Yield whose rows are kept, with the middle and spread of each."""
    belief = prior.learned
    if belief is not None:
        for place, row in enumerate(belief.kept, start=len(Trait)):
            if row.about is about:
                yield row, float(belief.middle[place]), float(belief.spread[place])


def _percent(share: float) -> Figure:
    return Figure(round(100 * abs(share)), Kind.PERCENT)


def _was_told(prior: Prior, trait: Trait) -> bool:
    """Tell whether readings narrowed a trait."""
    usual = prior.usual or prior
    return prior.spread[trait] < _NARROWED * usual.spread[trait]
