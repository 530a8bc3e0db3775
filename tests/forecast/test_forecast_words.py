import math
from dataclasses import replace

import numpy as np

from washmon.forecast.prior import Trait, prior_for
from washmon.forecast.words import learned_words
from washmon.line.message import Message, say
from washmon.units import UnitSystem


def said(message: Message) -> str:
    return say(message, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")


def test_what_was_learned_is_said_and_nothing_where_nothing_was() -> None:
    usual = prior_for("baby chard")
    assert learned_words(usual) == ()
    traits = np.zeros((len(Trait), 4))
    traits[Trait.STRENGTH] = math.log(0.7)
    traits[Trait.DEMAND] = math.log(0.12)
    told = replace(usual, container="").told_by(traits, 12.0, "bleach|1", "pack")
    texts = [said(one) for one in learned_words(told)]
    assert any("70" in text for text in texts)
    assert any("12" in text for text in texts)
    assert len(texts) == 3
