"""Between which values a measured or entered number is possible, and between which likely."""

from msgspec import Struct

from washmon.units import Kind


class Bound(Struct, frozen=True):
    """Between which values a field is possible, and between which it is likely."""

    name: str
    kind: Kind
    low: float
    high: float
    likely_low: float
    likely_high: float


# Possible: what the quantity or its instrument allows. Likely: what wash water is, common practice.
BOUNDS = {
    "fac_mg_l": Bound("free chlorine", Kind.CONCENTRATION, 0, 1000, 0, 300),
    "total_mg_l": Bound("total chlorine", Kind.CONCENTRATION, 0, 1000, 0, 350),
    "ph": Bound("pH", Kind.PH, 0, 14, 5, 9.5),
    "turbidity_ntu": Bound("cloudiness", Kind.TURBIDITY, 0, 4000, 0, 1000),
    "water_c": Bound("water temperature", Kind.TEMPERATURE, -2, 80, 0.5, 45),
    "pulp_c": Bound("pulp temperature", Kind.TEMPERATURE, -5, 60, 0, 40),
    "orp_mv": Bound("ORP", Kind.POTENTIAL, -500, 1500, 100, 950),
    "paa_mg_l": Bound("peracetic acid", Kind.CONCENTRATION, 0, 2000, 0, 250),
    "peroxide_mg_l": Bound("hydrogen peroxide", Kind.CONCENTRATION, 0, 5000, 0, 400),
    "weight_kg": Bound("weight", Kind.PRODUCE_MASS, 0.001, 50_000, 0.1, 5000),
    "contact_s": Bound("contact time", Kind.CONTACT_TIME, 1, 7200, 5, 1800),
    "volume_l": Bound("volume", Kind.VOLUME, 1, 200_000, 5, 100_000),
}
