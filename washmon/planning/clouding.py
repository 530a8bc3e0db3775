"""How a fill clouds: batches until its cloudiness passes its limit, by what was read of it.

A straight line through the readings of the fill, or of the fills before it while there is but one;
common practice, no published source.
"""

from math import inf

from msgspec import Struct

from washmon.line.state import Fill, TankState
from washmon.rules.base import RuleContext

_FRESH_NTU = 1.0
"""Of water that was filled in just now."""
_MARGIN = 1.4
"""How much faster than so far the next batches may cloud it."""
_WORTH_A_LOOK = 0.4
"""Share of the batches until the limit after which the next check looks at cloudiness, too."""
_FIRST_LOOK = 6
"""Batches after which a fill is looked at for the first time."""
_CARD_EVERY = 8
"""Batches between two looks at the card, where no number is measured."""


class Clouding(Struct, frozen=True, kw_only=True):
    """Batches that are left of a fill by its cloudiness, ``inf`` where nothing limits it.

    ``left`` are the likely ones, ``sure`` those that nearly always are; ``fresh`` tells whether
    nothing was washed since it was read, ``look`` whether the next check should read it.
    """

    left: float = inf
    sure: float = inf
    fresh: bool = False
    look: bool = False


def clouding(rule_context: RuleContext) -> Clouding:
    """Return how a tank's fill clouds."""
    limit, fill, tank = rule_context.spec.turbidity_max_ntu, rule_context.fill, rule_context.tank
    washed = tank.batches_in_fill
    if limit is None:
        card = fill.latest("look") or fill.latest("turbidity_ntu")
        since = washed if card is None else tank.batches - card.batches
        return Clouding(look=rule_context.spec.look_limit is not None and since >= _CARD_EVERY)
    last = fill.latest("turbidity_ntu")
    rate = _rate(tank, fill)
    if rate is None:
        return Clouding(look=last is None and washed >= _FIRST_LOOK)
    now = _FRESH_NTU if last is None else float(last.event.turbidity_ntu or 0.0)
    since = washed if last is None else tank.batches - last.batches
    room = max(0.0, limit - now)
    left, sure = room / rate - since, room / (_MARGIN * rate) - since
    return Clouding(
        left=left,
        sure=sure,
        fresh=last is not None and since == 0,
        look=since >= _WORTH_A_LOOK * (room / rate) and since > 0,
    )


def _rate(tank: TankState, fill: Fill) -> float | None:
    """Return NTU a batch: of this fill, else of the last one that tells."""
    for one in (fill, *reversed(tank.fills[:-1])):
        last = one.latest("turbidity_ntu")
        if last is None:
            continue
        batches = last.batches - one.begun.batches
        risen = float(last.event.turbidity_ntu or 0.0) - _first(one)
        if batches > 0 and risen > 0:
            return risen / batches
    return None


def _first(fill: Fill) -> float:
    first = next(one for one in fill.readings if one.event.turbidity_ntu is not None)
    return min(_FRESH_NTU, float(first.event.turbidity_ntu or 0.0))
