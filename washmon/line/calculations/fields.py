"""Questions that several calculations ask in the same words."""

from washmon.chemistry.checks import require_water
from washmon.chemistry.hypochlorite import HIGHEST_LEVEL_MG_L
from washmon.chemistry.speciation import COLDEST_C, HOTTEST_C
from washmon.chemistry.titration import USUAL_SOURCE_PH
from washmon.chemistry.water import HIGHEST_ALKALINITY_MG_L
from washmon.line.calculations.asking import Choice, Field, between
from washmon.line.events import Method
from washmon.line.setup import LineSetup, Tank
from washmon.units import Kind

THE_TANK, THE_PRODUCT = "The tank", "The product"
IF_KNOWN = "If known: what it does to the pH"
AS_CACO3 = "mg/L as CaCO₃"

level_check = between("present level", 0.0, HIGHEST_LEVEL_MG_L, "ppm")

VOLUME = Field("volume", "Water in the tank", Kind.VOLUME, group=THE_TANK, check=require_water)
LEVEL = Field(
    "from",
    "Free chlorine now",
    Kind.CONCENTRATION,
    group=THE_TANK,
    hint="As read; fresh water 0.",
    check=level_check,
)
METHOD = Field(
    "method",
    "Read with",
    choices=(
        Choice(Method.STRIP, "Strip"),
        Choice(Method.KIT, "Kit"),
        Choice(Method.METER, "Meter"),
    ),
    group=THE_TANK,
    usual=Method.KIT.value,
)
TARGET = Field(
    "to",
    "Target",
    Kind.CONCENTRATION,
    group=THE_TANK,
    check=between("target", 0.0, HIGHEST_LEVEL_MG_L, "ppm"),
)
PH = Field("ph", "pH now", Kind.PH, group=THE_TANK, check=between("pH", 2.0, 12.5))
TEMPERATURE = Field(
    "temperature",
    "Water temperature",
    Kind.TEMPERATURE,
    group=THE_TANK,
    usual=20.0,
    check=between("temperature of the water", COLDEST_C, HOTTEST_C, "°C"),
)
ALKALINITY = Field(
    "alkalinity",
    "Alkalinity of the fresh water",
    Kind.CONCENTRATION,
    group=IF_KNOWN,
    unit=AS_CACO3,
    optional=True,
    check=between("alkalinity", 0.0, HIGHEST_ALKALINITY_MG_L, "mg/L"),
)
SOURCE_PH = Field(
    "source-ph",
    "pH of the fresh water",
    Kind.PH,
    group=IF_KNOWN,
    usual=USUAL_SOURCE_PH,
    check=between("pH of the source water", 4.0, 11.0),
)


def known_level(_setup: LineSetup, tank: Tank) -> dict[str, float | str | None]:
    """Return the volume and the target of a tank."""
    return {"volume": tank.volume_l, "to": tank.chlorine.target_mg_l}
