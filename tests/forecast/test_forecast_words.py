import math

import numpy as np

from washmon.forecast.prior import Trait, prior_for
from washmon.forecast.words import learned_words
from washmon.line.message import Message, say
from washmon.units import UnitSystem


def said(message: Message) -> str:
    return say(message, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")


def taught(**middle: float) -> list[str]:
    """Return what is said of particles that lie close about some values, the rest wide."""
    usual, even = prior_for("baby chard"), np.linspace(-1.7, 1.7, 40)
    traits = np.array(
        [
            value + 0.01 * even if (value := middle.get(trait.name)) is not None else 2 * even
            for trait in Trait
        ]
    )
    told = usual.told_by(traits, 12.0, "bleach|1", "pack")
    return [said(one) for one in learned_words(told, 500.0)]


def test_what_was_learned_is_said_and_nothing_where_nothing_was() -> None:
    assert learned_words(prior_for("baby chard"), 500.0) == ()
    assert taught() == []  # no reading narrowed anything
    # 0.12 g for each of 12 kg, in 500 L.
    assert taught(DEMAND=math.log(0.12)) == ["A batch of 12 kg uses up about 2.9 ppm in the end."]
    assert taught(STRENGTH=math.log(0.7)) == [
        "The product brings about 70 % of what its label says."
    ]
    assert taught(STRIP=math.log(0.92), KIT=math.log(1.06)) == [
        "The strips read about 8 % low.",
        "The kit or meter reads about 6 % high.",
    ]
