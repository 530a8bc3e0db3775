"""Equilibrium constants of wash water against temperature, and what dissolved salt does to them."""

import math
from typing import Generic, NamedTuple

from washmon.chemistry.checks import Number
from washmon.chemistry.speciation import KELVIN, log_activity, pka

_LN10 = math.log(10.0)


class Constants(NamedTuple, Generic[Number]):
    """Mixed constants: hydrogen as activity (10^-pH), all other species as mol/L.

    ``gamma`` is the activity coefficient of an ion with one charge.
    """

    k1: Number
    k2: Number
    kw: Number
    hocl: Number
    gamma: Number


def constants(temperature_c: Number, ionic_strength: Number) -> Constants[Number]:
    """Return the constants at a temperature (°C) and an ionic strength (mol/L, up to about 0.1).

    Carbonic acid: Plummer & Busenberg (1982), Geochim. Cosmochim. Acta 46:1011. Water: the fit in
    PHREEQC's phreeqc.dat. Hypochlorous acid: Morris (1966). Activity: Davies (1962), Ion
    Association, with 0.3. Sodium, as much of it as the ionic strength says, pairs with carbonate.
    """
    kelvin = temperature_c + KELVIN
    log_kelvin = _log10(kelvin)
    log_k1 = (
        -356.3094
        - 0.06091964 * kelvin
        + 21834.37 / kelvin
        + 126.8339 * log_kelvin
        - 1684915 / kelvin**2
    )
    log_k2 = (
        -107.8871
        - 0.03252849 * kelvin
        + 5151.79 / kelvin
        + 38.92561 * log_kelvin
        - 563713.9 / kelvin**2
    )
    log_kw = (
        293.29227
        + 0.1360833 * kelvin
        - 10576.913 / kelvin
        - 123.73158 * log_kelvin
        - 6.996455e-5 * kelvin**2
    )
    log_gamma = log_activity(temperature_c, ionic_strength)
    paired_2, paired_1 = _paired(temperature_c, ionic_strength, log_gamma)
    # A neutral acid leaves one charge, bicarbonate's two: z² of the products minus the acid's.
    return Constants(
        k1=power10(log_k1 - log_gamma) * paired_1,
        k2=power10(log_k2 - 3 * log_gamma) * paired_2 / paired_1,
        kw=power10(log_kw - log_gamma),
        hocl=power10(-pka(temperature_c) - log_gamma),
        gamma=power10(log_gamma),
    )


def _paired(temperature_c: Number, sodium: Number, log_gamma: Number) -> tuple[Number, Number]:
    """Return by what factor sodium that clings to carbonate and to bicarbonate adds to each.

    Constants of PHREEQC's phreeqc.dat. Sodium stands for all cations; calcium clings more.
    """
    warmth = 1.0 / 298.15 - 1.0 / (temperature_c + KELVIN)
    carbonate = power10(1.27 + 1947.1 * warmth + 4 * log_gamma)
    bicarbonate = power10(-0.25 - 218.5 * warmth + 2 * log_gamma)
    return 1 + sodium * carbonate, 1 + sodium * bicarbonate


def hydrogen(ph: Number) -> Number:
    """Return the activity of hydrogen ions at a pH (mol/L)."""
    return power10(-ph)


def _log10(value: Number) -> Number:
    if isinstance(value, int | float):
        return math.log10(value)
    import numpy as np  # noqa: PLC0415 - only who has arrays needs it; start-up is measured

    return np.log10(value)


def power10(value: Number) -> Number:
    """Return ten to the value, many times as fast as ``10.0**value``: a solve is mostly this."""
    if isinstance(value, int | float):
        return math.exp(_LN10 * value)
    import numpy as np  # noqa: PLC0415 - the same

    return np.exp(_LN10 * value)
