"""How much is left to chance between what is written down and what happens."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Chances:
    """Logarithmic spreads and shares. Common practice, no published source, where none is named."""

    particles: int = 1500
    batch: float = 0.24
    """Of the demand of one batch, about that of its lot."""
    drift: float = 0.015
    """Of the demand, from one batch to the next."""
    lot: float = 0.15
    jump: float = 0.025
    """How often a batch is the first of quite other produce, though nobody said so."""
    lot_jump: float = 0.1
    """The same, where the lot is another."""
    jump_spread: float = 1.0
    unweighed: float = 0.6
    """Of the weight of a batch, where none was weighed."""
    dose: float = 0.04
    level_per_root_min: float = 0.003
    unlogged_rise: float = 0.04
    """How often, by a reading, a dose was given since the last that nobody wrote down."""
    unlogged_fall: float = 0.001
    """The same of water that was let out."""
    anew: float = 0.002
    """How often all that is believed of a water turns out to be wrong."""
    misread: float = 0.008
    """How often a reading is of no use at all: the wrong tank, the wrong line of the pad."""
    tap_demand_mg_l: float = 1.0
    tap_chlorine_mg_l: float = 0.3


USUAL_CHANCES = Chances()
