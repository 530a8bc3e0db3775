import math
from dataclasses import replace

import numpy as np
import pytest

from washmon.forecast.outlook import Range
from washmon.forecast.prior import Trait, prior_for
from washmon.forecast.words import lasting, learned_words, will_read_words
from washmon.line.message import Message, say
from washmon.units import UnitSystem


def said(message: Message) -> str:
    return say(message, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(
    ("batches", "words"),
    [
        (Range(6.2, 8.1, 10.4), "Good for about 8 more batches (6–11)"),
        (Range(3.4, 8.1, 16.4), "Good for roughly 8 more batches (3–17)"),
        (Range(1.4, 8.1, 33.0), "Good for 8 more batches at a first guess (1–33)"),
        (Range(1.4, 8.1, math.inf), "Good for 8 more batches at a first guess (1–40+)"),
        (Range(0.2, 1.1, 2.4), "Good for about 1 more batch (0–3)"),
        (Range(0.0, 0.3, 1.4), "Good for the next batch at most (0–2)"),
        (Range(18.0, math.inf, math.inf), "Good for more than 40 more batches, at least 18"),
    ],
)
def test_the_middle_is_always_said_with_how_sure_it_is(batches: Range, words: str) -> None:
    assert said(lasting(batches)) == words


def test_what_should_be_read_is_one_pad_or_a_range() -> None:
    assert said(will_read_words(Range(46.2, 50.0, 53.8))) == "Should read 46 ppm to 54 ppm"
    assert said(will_read_words(Range(50.0, 50.0, 50.0))) == "Should read 50 ppm"


def test_what_was_learned_is_said_and_nothing_where_nothing_was() -> None:
    usual = prior_for("baby chard")
    assert learned_words(usual) == ()
    traits = np.zeros((len(Trait), 4))
    traits[Trait.STRENGTH] = math.log(0.7)
    traits[Trait.DEMAND] = math.log(0.12)
    told = replace(usual, container="").told_by(traits, 12.0, "bleach|1", "pack")
    texts = [said(one) for one in learned_words(told)]
    assert any("70" in text for text in texts)
    assert len(texts) == 2
