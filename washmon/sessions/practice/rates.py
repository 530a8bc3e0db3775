"""How fast the sanitizer of a practice tank is used up, and how much of it produce wants."""

from typing import NamedTuple

from washmon.chemistry.peracetic import PAA_MG_PER_MOL
from washmon.chemistry.water import CL2_MG_PER_MOL
from washmon.sessions.practice.parameters import Parameters


class UseRates(NamedTuple):
    """How fast a sanitizer goes at 20 °C; each as the parameters of the model have it."""

    fast: float
    slow_share: float
    per_10_c: float
    decay: float
    gas: float
    combined_yield: float
    mg_per_mol: float


def rates_of(parameters: Parameters, *, peracetic: bool) -> UseRates:
    """Return how fast chlorine, or peracetic acid, is used up."""
    k, acid, air = parameters.kinetics, parameters.peracetic, parameters.air
    if peracetic:
        slow, per_10_c = acid.slow_share, acid.per_10_c
        return UseRates(
            acid.fast_l_mg_min, slow, per_10_c, acid.decay_per_min, 0.0, 0.0, PAA_MG_PER_MOL
        )
    decay, gas, both = air.decay_per_min, air.gas_per_min, k.combined_yield
    return UseRates(k.fast_l_mg_min, k.slow_share, k.per_10_c, decay, gas, both, CL2_MG_PER_MOL)


def demands(
    chlorine: float, parameters: Parameters, *, peracetic: bool = False
) -> tuple[float, float]:
    """Return the fast and the slow demand for a tank's sanitizer; given is that for chlorine."""
    if peracetic:
        whole = chlorine * parameters.peracetic.demand_share
        part = parameters.peracetic.fast_part
    else:
        whole, part = chlorine, parameters.kinetics.fast_part
    return part * whole, (1.0 - part) * whole
