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

# Chlorine in air, ppm by volume: 0.5 as the mean of a shift of 8 hours (ACGIH's threshold limit;
# NIOSH counts it over 15 minutes), 1 never to be passed (OSHA's ceiling, 29 CFR 1910.1000): OSHA
# Chemical Sampling Information, chlorine; NIOSH, IDLH documentation, chlorine.
EIGHT_HOUR_LIMIT_PPM = 0.5
CEILING_PPM = 1.0

# Hydrolysis Cl2 + H2O = HOCl + H+ + Cl-: 2.2e-4, 3.2e-4, 4.4e-4 mol²/L² at 10, 20, 30 °C, ECHA
# registration dossier 16137. Wang & Margerum (1994), Inorg. Chem. 33:1050, have 5.1e-4 at 25 °C
# (value from memory), which makes a quarter less gas: we stay on the careful side.
_HYDROLYSIS_30_C, _HYDROLYSIS_WARMTH_K = 4.4e-4, 2975.0

# Henry's law at 25 °C, mol/(m³ Pa), and its warmth, K: Sander, Compilation of Henry's law constants
# (version 4.0), Atmos. Chem. Phys. 15:4399 (2015), the literature reviews of Sander et al. (2011)
# that it lists first, for Cl2 and HOCl. 9.2e-4 is 0.093 mol/(L atm). Version 5.0 (23:10901, 2023)
# was not seen. The 0.062 that stood here is in it, too: recalculated from Brian et al. (1962).
_CL2_MOL_M3_PA, _CL2_WARMTH_K = 9.2e-4, 2000.0
_HOCL_MOL_M3_PA, _HOCL_WARMTH_K = 6.5, 5900.0
_PA_PER_ATM = 101_325.0


def dissolved_chlorine_mg_l(
    free_chlorine_mg_l: Number, ph: Number, temperature_c: Number, chloride_mg_l: Number
) -> Number:
    """Return the part of free chlorine that is Cl2, mg/L.

    It grows with chloride, which builds up as chlorine is used: 0.5 mg/L for each mg/L, and as
    much again comes with fresh bleach.

    Args:
        free_chlorine_mg_l: as Cl2, mg/L.
        ph: of the water.
        temperature_c: of the water, °C.
        chloride_mg_l: in the water, mg/L; numbers and arrays must be of one shape.

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
    return _in_air_ppm(dissolved_mg_l, temperature_c, _CL2_MOL_M3_PA, _CL2_WARMTH_K)


def hypochlorous_in_air_ppm(hocl_mg_l: Number, temperature_c: Number) -> Number:
    """Return vapour of HOCl in still air over water that holds so much, ppm by volume.

    ``hocl_mg_l`` as Cl2. It is part of the smell of every chlorinated water, at good pH too: 100
    ppm at pH 7 may hold some 1.5 ppm close over still water, more than of Cl2. It leaves water
    slowly, as it dissolves so well, and no limit in air is set for it (value from memory): it is
    told, and stops nothing.

    Raises:
        ChemistryError: a value that no wash water has.
    """
    return _in_air_ppm(hocl_mg_l, temperature_c, _HOCL_MOL_M3_PA, _HOCL_WARMTH_K)


def gas_stops(limit_ppm: float, as_read_ppm: float, at_lowest_ppm: float) -> bool:
    """Tell whether gas in the air stops the work.

    ``limit_ppm`` is an 8-hour limit, held against the air at the pH that was read; at the lowest pH
    that the reading allows it is twice that, as OSHA's ceiling is. Held against the lowest pH alone
    it would stand inside the band: 6.5 by strip, 100 ppm, the salt of 15 re-doses.
    """
    return as_read_ppm > limit_ppm or at_lowest_ppm > CEILING_PPM / EIGHT_HOUR_LIMIT_PPM * limit_ppm


def _in_air_ppm(
    dissolved_mg_l: Number, temperature_c: Number, mol_m3_pa: float, warmth_k: float
) -> Number:
    require(dissolved_mg_l, "dissolved chlorine gas", 0.0, HIGHEST_LEVEL_MG_L, "ppm")
    require(temperature_c, "temperature of the water", COLDEST_C, HOTTEST_C, "°C")
    warmth = 1.0 / (temperature_c + KELVIN) - 1.0 / (KELVIN + 25.0)
    henry: Number = mol_m3_pa * math.e ** (warmth_k * warmth)
    return dissolved_mg_l / CL2_G_PER_MOL / henry / _PA_PER_ATM * 1e6
