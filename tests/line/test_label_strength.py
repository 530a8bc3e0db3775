"""How strong a product is by its label."""

import pytest
from msgspec.structs import replace

from tests.shed import a_setup
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.strength import label_strength


@pytest.mark.parametrize(
    ("basis", "density", "expected"),
    [
        # Grams in a litre, by definition: 10 x percent, by weight times kg/L. A mol of NaOCl
        # (74.44 g) is a mol of Cl2 (70.91 g): IUPAC standard atomic weights.
        (StrengthBasis.TRADE_PCT, None, 125.0),
        (StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE, 1.2, 150.0),
        (StrengthBasis.WEIGHT_PCT_NAOCL, 1.2, 150.0 * 70.91 / 74.44),
    ],
)
def test_a_percent_by_weight_is_of_a_litre_that_weighs_more_than_water(
    basis: StrengthBasis, density: float | None, expected: float
) -> None:
    product = replace(a_setup().sanitizers[0], basis=basis, density_kg_l=density, strength=12.5)
    assert label_strength(product) == pytest.approx(expected, rel=1e-4)
