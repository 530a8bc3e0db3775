"""Taking chlorine out of water before it is discharged. Discharge rules are local: ask first."""

from enum import StrEnum

from washmon.chemistry.checks import Number, require, require_water
from washmon.chemistry.hypochlorite import HIGHEST_LEVEL_MG_L


class Neutraliser(StrEnum):
    """A reducing agent. It goes into dilute water only, never into concentrate or a wash tank."""

    SODIUM_THIOSULFATE_PENTAHYDRATE = "sodium_thiosulfate_pentahydrate"
    SODIUM_THIOSULFATE = "sodium_thiosulfate"
    SODIUM_BISULFITE = "sodium_bisulfite"
    SODIUM_METABISULFITE = "sodium_metabisulfite"
    SODIUM_SULFITE = "sodium_sulfite"
    ASCORBIC_ACID = "ascorbic_acid"


# g of agent to g of total chlorine (as Cl2) at pH 7 in the field: AWWA, guide to the disinfection
# of water mains, table 7-2. Thiosulfate is for the anhydrous salt; the pentahydrate, which is
# what is usually sold, weighs 1.57 times as much.
FIELD_DOSE_G_PER_G = {
    Neutraliser.SODIUM_THIOSULFATE_PENTAHYDRATE: 1.9 * 248.18 / 158.11,
    Neutraliser.SODIUM_THIOSULFATE: 1.9,
    Neutraliser.SODIUM_BISULFITE: 1.61,
    Neutraliser.SODIUM_METABISULFITE: 1.47,
    Neutraliser.SODIUM_SULFITE: 1.96,
    Neutraliser.ASCORBIC_ACID: 2.5,
}


def neutraliser_g(volume_l: Number, total_chlorine_mg_l: Number, agent: Neutraliser) -> Number:
    """Return g of an agent that take the total chlorine (mg/L) out of a volume (L).

    Total, not free: combined chlorine harms fish too. Test with a strip before letting it go; more
    than is needed takes the oxygen out of the water it runs into.

    Raises:
        ChemistryError: no water, or a level below 0.
    """
    require_water(volume_l)
    require(total_chlorine_mg_l, "total chlorine", 0.0, HIGHEST_LEVEL_MG_L, "ppm")
    return volume_l * total_chlorine_mg_l / 1000.0 * FIELD_DOSE_G_PER_G[agent]
