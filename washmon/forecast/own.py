"""What is a person's own and a lot's own: taken up where they come again, kept where they leave."""

from collections.abc import Callable
from dataclasses import replace

from washmon.forecast.estimate import Estimate
from washmon.forecast.kinetics import Floats
from washmon.forecast.memory import USUAL_SPREAD, Row, Subject
from washmon.forecast.prior import Trait

Produce = Callable[[str | None], str]
"""What a lot is."""
_READER = 7
"""What chance is drawn for where somebody reads a strip for the first time."""


def read_by(estimate: Estimate, who: str) -> Estimate:
    """Return the estimate with a row for who reads a strip, the newest of all."""
    eye = estimate.row_of(Row(Subject.PERSON, who))
    if eye is None:
        noise = estimate.chance(_READER).standard_normal(estimate.weights.size)
        values = USUAL_SPREAD[Subject.PERSON] * noise
    elif estimate.reader == who:
        return estimate
    else:
        values = estimate.traits[eye]
    return replace(estimate.keeping(Row(Subject.PERSON, who), values), reader=who)


def bias_of(estimate: Estimate, *, strip: bool) -> Floats:
    """Return how high an instrument reads in each particle (log), strips by who reads them."""
    if not strip:
        kit: Floats = estimate.traits[Trait.KIT]
        return kit
    eye = estimate.row_of(Row(Subject.PERSON, estimate.reader or ""))
    pack: Floats = estimate.traits[Trait.STRIP]
    return pack if eye is None else pack + estimate.traits[eye]


def taking_up(estimate: Estimate, lot: str, produce_of: Produce) -> Estimate:
    """Return the estimate as a batch of a lot is washed, with the demand that it had before.

    A lot of another kind of produce begins with what that kind was like.
    """
    if lot == estimate.lot:
        return estimate
    estimate = leaving(estimate, produce_of)
    known = estimate.row_of(Row(Subject.LOT, lot))
    if known is None and produce_of(lot) != produce_of(estimate.lot):
        known = estimate.row_of(Row(Subject.PRODUCE, produce_of(lot)))
    return estimate if known is None else estimate.demanding(estimate.traits[known])


def leaving(estimate: Estimate, produce_of: Produce) -> Estimate:
    """Return the estimate with the demand of the lot in hand kept for when it returns.

    A kind of produce is known by its lots, of which the newest counts most.
    """
    if not estimate.lot or not estimate.batches:
        return estimate
    demand = estimate.traits[Trait.DEMAND]
    produce = Row(Subject.PRODUCE, produce_of(estimate.lot))
    known = estimate.row_of(produce)
    usual = demand if known is None else (demand + estimate.traits[known]) / 2
    return estimate.keeping(Row(Subject.LOT, estimate.lot), demand).keeping(produce, usual)


def ended(estimate: Estimate, produce_of: Produce) -> Estimate:
    """Return the estimate as a next shift may begin with it: with no lot in hand."""
    left = leaving(estimate, produce_of)
    known = left.row_of(Row(Subject.PRODUCE, produce_of(left.lot)))
    return left if known is None else left.demanding(left.traits[known])
