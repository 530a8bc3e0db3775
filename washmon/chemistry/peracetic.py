"""Peracetic acid, the second sanitizer: doses, pH and the limits it must keep."""

from dataclasses import dataclass

from washmon.chemistry.acid import PERACETIC, WEAK_ACIDS, AcidKind
from washmon.chemistry.checks import ChemistryError, Number, require, require_water, within
from washmon.chemistry.water import Water, with_weak_acid

HIGHEST_PAA_MG_L = 5000.0
PAA_MG_PER_MOL, ACETIC_MG_PER_MOL = 76_051.0, 60_052.0

# 21 CFR 173.315(a)(5), wash water of fruits and vegetables that are not raw agricultural
# commodities: peracetic acid, hydrogen peroxide and HEDP (a stabiliser), mg/L. The product's label
# governs: for raw commodities it may say otherwise, never read it as more than the label.
LIMIT_PAA_MG_L = 80.0
LIMIT_PEROXIDE_MG_L = 59.0
LIMIT_HEDP_MG_L = 4.8
_WHOLE = 100.0


@dataclass(frozen=True, slots=True)
class PeraceticProduct:
    """What is on the label, in % by weight, and the density."""

    paa_pct: float
    peroxide_pct: float
    density_kg_l: float
    acetic_pct: float = 0.0
    hedp_pct: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what no product can be.

        Raises:
            ChemistryError: a percentage or a density that cannot be.
        """
        contents = (self.paa_pct, self.peroxide_pct, self.acetic_pct, self.hedp_pct)
        if not (all(within(each, 0.0, 100.0) for each in contents) and sum(contents) <= _WHOLE):
            raise ChemistryError(
                "The contents of this product are more than 100 %: read the label again."
            )
        if not within(self.paa_pct, 0.1, 40.0):
            raise ChemistryError(
                "A peracetic acid product holds 0.1 to 40 %: read the label again."
            )
        require(self.density_kg_l, "density of the product", 0.95, 1.45, "kg/L")


@dataclass(frozen=True, slots=True)
class PeraceticContents:
    """What is in the water after a dose, mg/L, each from the product alone."""

    paa_mg_l: float
    peroxide_mg_l: float
    hedp_mg_l: float

    @property
    def over(self) -> tuple[str, ...]:
        """Names of the contents over the limits of 21 CFR 173.315: paa, peroxide, hedp."""
        limits = (
            ("paa", self.paa_mg_l, LIMIT_PAA_MG_L),
            ("peroxide", self.peroxide_mg_l, LIMIT_PEROXIDE_MG_L),
            ("hedp", self.hedp_mg_l, LIMIT_HEDP_MG_L),
        )
        return tuple(name for name, value, limit in limits if value > limit)


def peracetic_dose_ml(
    volume_l: Number, level_mg_l: Number, target_mg_l: Number, product: PeraceticProduct
) -> Number:
    """Return mL of a product that raise a tank (L) from a level to a target (mg/L PAA).

    Mass balance by weight % and density, with the volume added; leaving out density would give
    10 to 15 % too much.

    Args:
        volume_l: of the tank, L.
        level_mg_l: peracetic acid now, mg/L.
        target_mg_l: what it is to come to, mg/L; numbers and arrays must be of one shape.
        product: by its label.

    Raises:
        ChemistryError: no water, or a target not above the level.
    """
    require_water(volume_l)
    require(level_mg_l, "present level", 0.0, HIGHEST_PAA_MG_L, "ppm")
    require(target_mg_l, "target", 0.0, HIGHEST_PAA_MG_L, "ppm")
    if not within(target_mg_l - level_mg_l, 1e-9):
        raise ChemistryError("The target is not above the present level: do not dose.")
    margin = 10.0 * product.paa_pct * product.density_kg_l - target_mg_l / 1000.0
    if not within(margin, 1e-6):
        raise ChemistryError("The product is weaker than the target: use a stronger product.")
    return volume_l * (target_mg_l - level_mg_l) / margin


def contents_at(paa_mg_l: float, product: PeraceticProduct) -> PeraceticContents:
    """Return what a fresh fill holds that was dosed to a level of PAA (mg/L).

    As PAA is used up and dosed again, peroxide and HEDP stay behind and add up: add the contents
    of each dose.

    Raises:
        ChemistryError: a negative or absurd level.
    """
    require(paa_mg_l, "peracetic acid", 0.0, HIGHEST_PAA_MG_L, "ppm")
    per_paa = paa_mg_l / product.paa_pct
    return PeraceticContents(paa_mg_l, product.peroxide_pct * per_paa, product.hedp_pct * per_paa)


def highest_paa_mg_l(product: PeraceticProduct) -> float:
    """Return the most PAA (mg/L) of a fresh fill that keeps all limits of 21 CFR 173.315."""
    highest = LIMIT_PAA_MG_L
    if product.peroxide_pct > 0:
        highest = min(highest, LIMIT_PEROXIDE_MG_L * product.paa_pct / product.peroxide_pct)
    if product.hedp_pct > 0:
        highest = min(highest, LIMIT_HEDP_MG_L * product.paa_pct / product.hedp_pct)
    return highest


def with_peracetic(
    water: Water[Number], paa_mg_l: Number, product: PeraceticProduct
) -> Water[Number]:
    """Return the water after a dose that raises PAA by so much (mg/L).

    Peracetic acid and the acetic acid that comes with it lower the pH of weakly buffered water.

    Raises:
        ChemistryError: a negative or absurd level.
    """
    require(paa_mg_l, "peracetic acid", 0.0, HIGHEST_PAA_MG_L, "ppm")
    acetic = paa_mg_l * product.acetic_pct / product.paa_pct / ACETIC_MG_PER_MOL
    dosed = with_weak_acid(water, PERACETIC, paa_mg_l / PAA_MG_PER_MOL)
    return with_weak_acid(dosed, WEAK_ACIDS[AcidKind.VINEGAR], acetic)
