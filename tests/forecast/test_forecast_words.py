import math

import numpy as np

from washmon.forecast.forecast_words import learned_words
from washmon.forecast.memory import Belief, row_named
from washmon.forecast.prior import Trait, prior_for
from washmon.line.message import Message, say
from washmon.units import UnitSystem


def said(message: Message) -> str:
    return say(message, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")


WIDE, KNOWN = 2.0, 0.01


def taught(rows: dict[str, float] | None = None, **middle: float) -> list[str]:
    """Return what is said of a belief that is sure of some values, the rest wide."""
    usual = prior_for("baby chard")
    known = {trait.name: middle.get(trait.name) for trait in Trait} | (rows or {})
    even = np.linspace(-1.7, 1.7, 40)
    particles = [WIDE * even if value is None else value + KNOWN * even for value in known.values()]
    belief = Belief(tuple(map(row_named, rows or {})), np.array(particles))
    told = usual.told_by(belief, 12.0, "bleach|1", "pack")
    return [said(one) for one in learned_words(told, 500.0)]


def test_what_was_learned_is_said_and_nothing_where_nothing_was() -> None:
    assert learned_words(prior_for("baby chard"), 500.0) == ()
    assert taught() == []  # no reading narrowed anything
    # 0.12 g for each of 12 kg, in 500 L.
    assert taught(DEMAND=math.log(0.12)) == ["A batch of 12 kg uses up about 2.9 ppm in the end."]
    assert taught(STRENGTH=math.log(0.7)) == [
        "The product brings about 70 % of what its label says."
    ]
    assert taught(KIT=math.log(1.06)) == ["The kit or meter reads about 6 % high."]


def test_lots_and_produce_that_stand_out_are_named() -> None:
    rows = {"lot L-7": math.log(0.3), "lot L-8": math.log(0.125), "produce baby chard": -2.1}
    assert taught(rows, DEMAND=math.log(0.12)) == [
        "A batch of 12 kg uses up about 2.9 ppm in the end.",
        "Of lot L-7 it is about 7.2 ppm.",
    ]
    rows = {"produce parsnips": math.log(0.24)}
    assert taught(rows, DEMAND=math.log(0.12))[1:] == ["Of parsnips it is about 5.8 ppm."]


def test_how_somebody_reads_the_strips_is_said_by_pack_and_eye_together() -> None:
    rows = {"person RM": 0.04, "person TK": -0.11}
    assert taught(rows, STRIP=math.log(1.04)) == [
        "RM reads the strips about 8 % high.",
        "TK reads the strips about 7 % low.",
    ]
