"""Dissolved chlorine gas and what stands in the air over a tank, from pH, salt and temperature."""

import math

from washmon.chemistry.checks import Number, require
from washmon.chemistry.hypochlorite import CL2_G_PER_MOL, HIGHEST_LEVEL_MG_L
from washmon.chemistry.speciation import (
    COLDEST_C,
    HOTTEST_C,
    KELVIN,
    hocl_share_in_salt,
    log_activity,
)

CHLORIDE_MG_PER_MOL = 35_453.0

# NIOSH recommended limit and OSHA ceiling for chlorine in air, ppm by volume: OSHA Chemical
# Sampling Information, chlorine.
RECOMMENDED_LIMIT_PPM = 0.5
CEILING_PPM = 1.0

# Hydrolysis Cl2 + H2O = HOCl + H+ + Cl-: 2.2e-4, 3.2e-4, 4.4e-4 mol²/L² at 10, 20, 30 °C, ECHA
# registration dossier 16137. Wang & Margerum (1994), Inorg. Chem. 33:1050, have 5.1e-4 at 25 °C
# (value from memory), which makes a quarter less gas: we stay on the careful side.
_HYDROLYSIS_30_C, _HYDROLYSIS_WARMTH_K = 4.4e-4, 2975.0

# Henry's law, 0.062 mol/(L atm) at 25 °C, and its warmth: values from memory.
_HENRY_25_C, _HENRY_WARMTH_K = 0.062, 2300.0


def dissolved_chlorine_mg_l(
    free_chlorine_mg_l: Number, ph: Number, temperature_c: Number, chloride_mg_l: Number
) -> Number:
    """Return the part of free chlorine that is Cl2, mg/L.

    It grows with chloride, which builds up as chlorine is used: 0.5 mg/L for each mg/L, and as
    much again comes with fresh bleach.

    Raises:
        ChemistryError: a value that no wash water has.
    """
    require(free_chlorine_mg_l, "free chlorine", 0.0, HIGHEST_LEVEL_MG_L, "ppm")
    require(chloride_mg_l, "chloride", 0.0, 20_000.0, "mg/L")
    require(temperature_c, "temperature of the water", COLDEST_C, HOTTEST_C, "°C")
    chloride = chloride_mg_l / CHLORIDE_MG_PER_MOL
    warmth = 1.0 / (KELVIN + 30.0) - 1.0 / (temperature_c + KELVIN)
    hydrolysis: Number = _HYDROLYSIS_30_C * math.e ** (_HYDROLYSIS_WARMTH_K * warmth)
    gamma: Number = 10.0 ** log_activity(temperature_c, chloride)
    h: Number = 10.0**-ph
    hocl = hocl_share_in_salt(ph, temperature_c, chloride)
    to_hocl = h * chloride * gamma / hydrolysis
    return free_chlorine_mg_l * hocl * to_hocl / (1.0 + hocl * to_hocl)


def chlorine_in_air_ppm(dissolved_mg_l: Number, temperature_c: Number) -> Number:
    """Return chlorine in still air over water that holds so much Cl2, ppm by volume.

    Henry's law: the most there can be close over the water; a draught makes it less.

    Raises:
        ChemistryError: a value that no wash water has.
    """
    require(dissolved_mg_l, "dissolved chlorine gas", 0.0, HIGHEST_LEVEL_MG_L, "ppm")
    require(temperature_c, "temperature of the water", COLDEST_C, HOTTEST_C, "°C")
    warmth = 1.0 / (temperature_c + KELVIN) - 1.0 / (KELVIN + 25.0)
    henry: Number = _HENRY_25_C * math.e ** (_HENRY_WARMTH_K * warmth)
    return dissolved_mg_l / (CL2_G_PER_MOL * 1000.0) / henry * 1e6
