"""Lowering a level by changing water: drain and refill, or a steady overflow."""

import math

from washmon.chemistry.checks import ChemistryError, require, require_water, within

_MOST = 1e6
_ALMOST_ALL = 0.999


def drained_share(level: float, target: float, fresh: float = 0.0) -> float:
    """Return what share (0 to 1) of the water to drain and refill, to go from a level to a target.

    One unit for all three: mg/L, NTU, or any other that mixes. Water that is refilled brings its
    own alkalinity and no sanitizer: read again after it.

    Raises:
        ChemistryError: the target is not between the fresh water's level and the present one.
    """
    _require_between(level, target, fresh)
    share = (level - target) / (level - fresh)
    if share > _ALMOST_ALL:
        raise ChemistryError("That takes all of the water: empty the tank and fill it fresh.")
    return share


def overflow_l(volume_l: float, level: float, target: float, fresh: float = 0.0) -> float:
    """Return how many litres of fresh water must run through a full, mixed tank.

    Dilution of a stirred tank: volumes = ln((level - fresh) / (target - fresh)).

    Args:
        volume_l: of the tank, L.
        level: of whatever is to be thinned, in any unit.
        target: what it is to come to, in the same unit.
        fresh: of the fresh water, in the same unit.

    Raises:
        ChemistryError: no water, or a target not between the fresh water's level and the present.
    """
    require_water(volume_l)
    _require_between(level, target, fresh)
    if target - fresh < (1.0 - _ALMOST_ALL) * (level - fresh):
        raise ChemistryError("That takes all of the water: empty the tank and fill it fresh.")
    return volume_l * math.log((level - fresh) / (target - fresh))


def _require_between(level: float, target: float, fresh: float) -> None:
    require(level, "present level", 0.0, _MOST)
    require(target, "target", 0.0, _MOST)
    require(fresh, "level of the fresh water", 0.0, _MOST)
    if not within(level - target, 1e-9):
        raise ChemistryError("The level is not above its target: no water needs changing.")
    if fresh > target:
        raise ChemistryError(
            "The fresh water is itself above the target: changing water cannot reach it."
        )
