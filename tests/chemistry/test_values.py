"""Values that were taken from elsewhere, and formulas where they are simplest, to the digit."""

import math
from itertools import pairwise

import pytest

from washmon.chemistry.acid import (
    ACIDS,
    HIGHEST_PH,
    PERACETIC,
    WEAK_ACIDS,
    AcidKind,
    acid_mol_per_unit,
    anion_charge,
    small_step,
)
from washmon.chemistry.ageing import decay_l_mol_s
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.chlorine_gas import chlorine_in_air_ppm, hypochlorous_in_air_ppm
from washmon.chemistry.constants import _paired
from washmon.chemistry.diluting import _counts, _stocks, _Way
from washmon.chemistry.dilution import drained_share, overflow_l
from washmon.chemistry.hypochlorite import (
    CL2_G_PER_MOL,
    NAOCL_G_PER_MOL,
    NAOH_G_PER_MOL,
    StrengthBasis,
    caustic_per_mol,
    typical_density_kg_l,
)
from washmon.chemistry.measures import MEASURES, METRIC_SET, UNIT_ML, US_SET
from washmon.chemistry.measuring import in_measure
from washmon.chemistry.neutralising import FIELD_DOSE_G_PER_G, Neutraliser
from washmon.chemistry.peracetic import PAA_MG_PER_MOL, PeraceticProduct
from washmon.chemistry.speciation import log_activity
from washmon.chemistry.titration import UNKNOWN_ALKALINITY, USUAL_SOURCE_PH, Alkalinity
from washmon.chemistry.uncertainty import LABEL_ERROR, TESTED_ERROR, VOLUME_ERROR
from washmon.chemistry.water import (
    CACO3_MG_PER_EQ,
    CAUSTIC_HIGH,
    CAUSTIC_LOW,
    CAUSTIC_PER_MOL,
    CHLORIDE_MG_PER_MOL,
)


def test_sodium_clings_to_carbonate_as_in_phreeqc() -> None:
    # phreeqc.dat: Na+ + CO3-2 = NaCO3-, log K 1.27, 8.91 kcal/mol; Na+ + HCO3- = NaHCO3,
    # log K -0.25, -1 kcal/mol. At 25 °C with activities of 1 these are all there is.
    carbonate, bicarbonate = _paired(25.0, 0.1, 0.0)
    assert carbonate == pytest.approx(1 + 0.1 * 10**1.27)
    assert bicarbonate == pytest.approx(1 + 0.1 * 10**-0.25)
    # An ion's coefficient counts four times for the pair with charge, twice for the one without.
    carbonate, bicarbonate = _paired(25.0, 0.1, -0.1)
    assert carbonate == pytest.approx(1 + 0.1 * 10 ** (1.27 - 0.4))
    assert bicarbonate == pytest.approx(1 + 0.1 * 10 ** (-0.25 - 0.2))
    # Van 't Hoff: d log K / d(1/T) = -enthalpy / (R ln 10).
    carbonate, bicarbonate = _paired(35.0, 1.0, 0.0)
    steps = 4184 / (8.314463 * math.log(10)) * (1 / 298.15 - 1 / 308.15)
    assert math.log10(carbonate - 1) - 1.27 == pytest.approx(8.91 * steps, rel=2e-3)
    assert math.log10(bicarbonate - 1) + 0.25 == pytest.approx(-steps, rel=2e-3)


@pytest.mark.parametrize("kind", WEAK_ACIDS)
def test_half_of_a_weak_acid_has_given_off_a_proton_at_its_constant(kind: AcidKind) -> None:
    # The definition of a dissociation constant; the others of an acid with several add a little.
    constants = [pk for pk, _ in WEAK_ACIDS[kind]]
    for lost, pk in enumerate(constants):
        shares = [1.0]
        for other in constants:
            shares.append(shares[-1] * 10 ** (pk - other))
        mean = sum(n * share for n, share in enumerate(shares)) / sum(shares)
        assert anion_charge(WEAK_ACIDS[kind], 10**-pk, 1.0, 25.0) == pytest.approx(mean)
        assert mean == pytest.approx(lost + 0.5, abs=0.04)


@pytest.mark.parametrize("kind", WEAK_ACIDS)
def test_an_acid_gives_the_protons_that_it_loses_under_ph_nine(kind: AcidKind) -> None:
    assert ACIDS[kind].protons == sum(pk < 9.0 for pk, _ in WEAK_ACIDS[kind])


@pytest.mark.parametrize(
    ("kind", "strength_pct", "g_l"),
    [
        # Perry's Chemical Engineers' Handbook, densities at 20 °C: value from memory.
        (AcidKind.HYDROCHLORIC, 20.0, 0.20 * 1098),
        (AcidKind.HYDROCHLORIC, 36.0, 0.36 * 1179),
        (AcidKind.HYDROCHLORIC, 25.0, 0.25 * (1098 + 1149) / 2),
        (AcidKind.HYDROCHLORIC, 10.0, 0.10 * 1048),
        (AcidKind.HYDROCHLORIC, 30.0, 0.30 * 1149),
        (AcidKind.HYDROCHLORIC, 38.0, 0.38 * 1189),
        (AcidKind.PHOSPHORIC, 10.0, 0.10 * 1053),
        (AcidKind.PHOSPHORIC, 20.0, 0.20 * 1113),
        (AcidKind.PHOSPHORIC, 30.0, 0.30 * 1181),
        (AcidKind.PHOSPHORIC, 40.0, 0.40 * 1254),
        (AcidKind.PHOSPHORIC, 50.0, 0.50 * 1335),
        (AcidKind.PHOSPHORIC, 100.0, 1870),
        (AcidKind.PHOSPHORIC, 75.0, 0.75 * 1579),
        (AcidKind.PHOSPHORIC, 85.0, 0.85 * 1689),
    ],
)
def test_the_density_of_a_strong_acid_is_read_between_the_lines_of_the_table(
    kind: AcidKind, strength_pct: float, g_l: float
) -> None:
    # Molar masses: IUPAC standard atomic weights.
    mass = {AcidKind.HYDROCHLORIC: 36.461, AcidKind.PHOSPHORIC: 97.995}[kind]
    expected = g_l / mass / 1000.0
    assert acid_mol_per_unit(kind, strength_pct) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("weight_pct", "density"),
    [(5.25, 1.08), (6.0, 1.085), (8.25, 1.11), (10.0, 1.14), (11.25, 1.17), (12.5, 1.2)],
)
def test_typical_densities_of_hypochlorite(weight_pct: float, density: float) -> None:
    # Values from memory; the one between two lies in the middle.
    found = typical_density_kg_l(weight_pct, StrengthBasis.WEIGHT_PCT_NAOCL)
    assert found == pytest.approx(density, abs=1e-9)


def test_weaker_than_any_label_hypochlorite_is_nearly_water() -> None:
    found = typical_density_kg_l(0.525, StrengthBasis.WEIGHT_PCT_NAOCL)
    assert found == pytest.approx(1.008, abs=1e-9)


def test_fresh_water_with_a_level_of_its_own_dilutes_less() -> None:
    # A stirred tank: volumes = ln((level - fresh) / (target - fresh)), by integration.
    assert overflow_l(1000.0, 200.0, 100.0, 50.0) == pytest.approx(1000 * math.log(150 / 50))
    assert drained_share(200.0, 100.0, 50.0) == pytest.approx(100 / 150)


def test_neutralisers_as_the_table_of_the_waterworks_tells_them() -> None:
    # AWWA, guide to the disinfection of water mains, table 7-2; molar masses of Na2S2O3 (158.11)
    # and of its pentahydrate (248.18): IUPAC standard atomic weights.
    by_agent = {one.name: round(dose, 3) for one, dose in FIELD_DOSE_G_PER_G.items()}
    assert by_agent == {
        "SODIUM_THIOSULFATE_PENTAHYDRATE": 2.982,
        "SODIUM_THIOSULFATE": 1.9,
        "SODIUM_BISULFITE": 1.61,
        "SODIUM_METABISULFITE": 1.47,
        "SODIUM_SULFITE": 1.96,
        "ASCORBIC_ACID": 2.5,
    }
    assert len(by_agent) == len(Neutraliser)


def test_the_mass_of_peracetic_acid() -> None:
    # C2H4O3, IUPAC standard atomic weights.
    assert pytest.approx(2 * 12.011 + 4 * 1.008 + 3 * 15.999, abs=0.01) == PAA_MG_PER_MOL / 1000


@pytest.mark.parametrize(
    "contents", [(15.0, 40.0, 40.0, 5.1), (15.0, 86.0, 0.0, 0.0), (15.0, 10.0, 76.0, 0.0)]
)
def test_a_label_of_more_than_all_is_refused_whatever_there_is_too_much_of(
    contents: tuple[float, float, float, float],
) -> None:
    paa, peroxide, acetic, hedp = contents
    with pytest.raises(ChemistryError, match="more than 100 %"):
        PeraceticProduct(paa, peroxide, 1.12, acetic_pct=acetic, hedp_pct=hedp)
    assert PeraceticProduct(15.0, 40.0, 1.12, acetic_pct=40.0, hedp_pct=5.0)


def test_the_measures_are_those_on_the_shelf() -> None:
    # Sizes of common kitchen and laboratory ware, no published source.
    held = {key: (one.unit, one.step, one.capacity) for key, one in MEASURES.items()}
    assert held == {
        "quarter_teaspoon": ("tsp", 0.25, 0.25),
        "half_teaspoon": ("tsp", 0.5, 0.5),
        "teaspoon": ("tsp", 1, 1),
        "tablespoon": ("tbsp", 1, 1),
        "quarter_cup": ("cup", 0.25, 0.25),
        "half_cup": ("cup", 0.5, 0.5),
        "cup": ("cup", 1, 1),
        "fluid_ounce_jug": ("fl oz", 0.5, 16),
        "quart_jug": ("qt", 0.25, 1),
        "gallon_jug": ("gal", 0.25, 1),
        "syringe_1_ml": ("mL", 0.05, 1),
        "cylinder_10_ml": ("mL", 0.2, 10),
        "cylinder_100_ml": ("mL", 1, 100),
        "cylinder_250_ml": ("mL", 2, 250),
        "jug_1000_ml": ("mL", 10, 1000),
        "jug_5_l": ("L", 0.1, 5),
        "bucket_10_l": ("L", 0.5, 10),
        "kitchen_scale": ("g", 1, 5000),
        "spoon_scale": ("g", 0.1, 500),
    }
    spoons = {"quarter_teaspoon", "half_teaspoon", "teaspoon", "tablespoon"}
    assert set(US_SET) == spoons | {"quarter_cup", "half_cup", "cup", "kitchen_scale"}
    cylinders = {"cylinder_10_ml", "cylinder_100_ml"}
    assert set(METRIC_SET) == cylinders | {"jug_1000_ml", "kitchen_scale"}


def test_an_amount_that_can_be_measured_exactly_is_not_over_it() -> None:
    exact = in_measure(90.0, ["cylinder_100_ml"])
    assert (exact.actual, exact.is_under, exact.unit) == (90.0, True, "mL")


def test_a_first_step_of_acid_is_half_a_teaspoon_of_vinegar_to_five_gallons() -> None:
    # Common practice, no published source; a US teaspoon holds 4.929 mL, a gallon 3785 mL (NIST
    # Handbook 44, appendix C).
    step_ml = small_step(5 * 3.785411784, 7.8, AcidKind.VINEGAR, 5.0)
    assert step_ml == pytest.approx(4.92892159375 / 2, rel=1e-9)


def test_a_dilution_is_made_of_round_counts_of_a_scale_and_a_few_spoons() -> None:
    jug = [one.parts[0].count for one in _counts([MEASURES["jug_1000_ml"]])]
    assert jug == [100, 200, 250, 500, 1000]
    cylinder = [one.parts[0].count for one in _counts([MEASURES["cylinder_250_ml"]])]
    assert cylinder == [20, 40, 50, 100, 200]
    fine = [one.parts[0].count for one in _counts([MEASURES["spoon_scale"]])]
    assert fine == pytest.approx([1, 2, 2.5, 5, 10, 20, 25, 50])
    assert [one.parts[0].count for one in _counts([MEASURES["teaspoon"]])] == [1, 2, 3, 4]


def test_the_masses_of_the_acids() -> None:
    # IUPAC standard atomic weights, g/mol.
    c, h, o, cl, p, na, s = 12.011, 1.008, 15.999, 35.45, 30.974, 22.990, 32.06
    masses = {
        AcidKind.VINEGAR: 2 * c + 4 * h + 2 * o,
        AcidKind.CITRIC: 6 * c + 8 * h + 7 * o,
        AcidKind.HYDROCHLORIC: h + cl,
        AcidKind.PHOSPHORIC: 3 * h + p + 4 * o,
        AcidKind.SODIUM_BISULFATE: na + h + s + 4 * o,
    }
    for kind, mass in masses.items():
        assert ACIDS[kind].g_per_mol == pytest.approx(mass, rel=2e-4), kind


def test_gas_over_cold_water_goes_by_the_warmth_of_its_solution() -> None:
    # Van 't Hoff with 5900 K for HOCl and 2000 K for Cl2 (rounded): Sander (2015), Atmos. Chem.
    # Phys. 15:4399.
    between = 1 / 278.15 - 1 / 298.15
    for in_air, warmth_k in ((hypochlorous_in_air_ppm, 5900.0), (chlorine_in_air_ppm, 2000.0)):
        ratio = float(in_air(1.0, 25.0)) / float(in_air(1.0, 5.0))
        assert ratio == pytest.approx(math.exp(warmth_k * between), rel=1e-3), warmth_k


def test_all_but_a_fifth_of_what_was_stirred_may_be_taken() -> None:
    # The rest clings, or is never mixed: common practice, no published source.
    part = UNIT_ML["cup"]
    for share, is_enough in ((0.8, True), (0.81, False)):
        assert (list(_stocks(share * part, ("cup",), solid=False)) != []) is is_enough


def test_phosphoric_acid_has_the_constants_of_phreeqc() -> None:
    # phreeqc.dat tells how phosphate takes up one, two and three protons: log K, and enthalpy.
    taken_up = [(12.346, -3.530 * 4.184), (19.553, -4.520 * 4.184), (21.721, -10.1)]
    steps = [(0.0, 0.0), *taken_up]
    given_off = [(pk - less, heat - warm) for (less, heat), (pk, warm) in pairwise(steps)]
    told = [value for pair in WEAK_ACIDS[AcidKind.PHOSPHORIC] for value in pair]
    assert told == pytest.approx([one for pair in reversed(given_off) for one in pair], abs=0.02)


def test_a_liquid_is_stirred_into_three_times_its_volume_at_least() -> None:
    # A quarter, the most that is still easily mixed: common practice, no published source.
    strengths = {round(one, 3) for _, _, one in _stocks(50.0, ("cup",), solid=False)}
    assert max(strengths) == 0.25


def test_a_first_step_of_acid_is_told_up_to_the_highest_ph_that_wash_water_has() -> None:
    assert small_step(500.0, HIGHEST_PH, AcidKind.VINEGAR) > 0
    with pytest.raises(ChemistryError, match="not wash water"):
        small_step(500.0, math.nextafter(HIGHEST_PH, 14.0), AcidKind.VINEGAR)


def test_the_activity_of_an_ion_goes_by_the_constant_of_debye_and_hueckel() -> None:
    # A is 0.509 at 25 °C, 0.491 at 0 °C: textbooks of physical chemistry (values from memory).
    for celsius, constant in ((25.0, 0.509), (0.0, 0.491)):
        davies = 0.1 / 1.1 - 0.3 * 0.01  # at 0.01 mol/L: Davies (1962)
        assert -log_activity(celsius, 0.01) / davies == pytest.approx(constant, abs=0.001)


def test_caustic_is_counted_in_mol_to_the_mol_of_chlorine() -> None:
    # 0.5 % of 1.17 kg/L is 5.85 g/L, NaOH 39.997 g/mol; 125 g/L of Cl2 of 70.906 g/mol.
    found = caustic_per_mol(0.5, 1.17, 125.0)
    assert found == pytest.approx((5.85 / 39.997) / (125.0 / 70.906), rel=1e-4)


def test_what_no_water_and_no_product_is_has_no_overflow_and_no_density() -> None:
    with pytest.raises(ChemistryError):
        overflow_l(0.0, 200.0, 100.0)
    with pytest.raises(ChemistryError, match="takes all of the water"):
        overflow_l(1000.0, 100.0, 50.001, 50.0)
    with pytest.raises(ChemistryError):
        typical_density_kg_l(60.0, StrengthBasis.WEIGHT_PCT_NAOCL)


def test_a_cylinder_is_filled_as_often_as_it_takes() -> None:
    found = [in_measure(ml, ["cylinder_100_ml"]).fillings for ml in (90.0, 100.0, 101.0, 250.0)]
    assert found == [1, 1, 2, 3]


def test_of_two_dilutions_alike_the_one_with_less_water_is_easier() -> None:
    part, less, more = (in_measure(ml, ["jug_1000_ml"]) for ml in (10.0, 100.0, 1000.0))
    ways = [_Way(part, water, part, 0.1).awkwardness for water in (less, more)]
    assert ways[1] - ways[0] == pytest.approx(1.0)


def test_weak_acids_have_the_constants_of_the_usual_tables() -> None:
    # pKa at 25 °C, and enthalpy of dissociation in kJ/mol: values from memory, as in the usual
    # tables. Those of citric and peracetic acid are told without warmth.
    assert WEAK_ACIDS[AcidKind.VINEGAR] == ((4.757, -0.41),)
    assert [pk for pk, _ in WEAK_ACIDS[AcidKind.CITRIC]] == pytest.approx([3.128, 4.761, 6.396])
    assert [pk for pk, _ in PERACETIC] == pytest.approx([8.2])


def test_the_masses_of_hypochlorite_and_caustic() -> None:
    # IUPAC standard atomic weights, g/mol.
    assert pytest.approx(CL2_G_PER_MOL, rel=1e-4) == 2 * 35.453
    assert pytest.approx(NAOCL_G_PER_MOL, rel=1e-4) == 22.990 + 35.453 + 15.999
    assert pytest.approx(NAOH_G_PER_MOL, rel=1e-4) == 22.990 + 15.999 + 1.008
    assert pytest.approx(35_453.0, rel=1e-4) == CHLORIDE_MG_PER_MOL
    assert pytest.approx(100_087.0 / 2, rel=1e-4) == CACO3_MG_PER_EQ  # CaCO3 takes two protons


def test_what_is_not_told_of_a_product_and_of_a_source_is_guessed_as_it_is_told() -> None:
    """Beside each guess stands where it is from: values from memory, and common practice."""
    # 5 g/L of NaOH in 12.5 trade % are 0.07; 0.2 to 1 % by weight are 0.03 to 0.17.
    assert round(caustic_per_mol(0.43, 1.17, 125.0), 2) == 0.07 < CAUSTIC_PER_MOL == 0.08
    assert CAUSTIC_LOW == 0.0 < caustic_per_mol(0.2, 1.2, 134.0)
    assert caustic_per_mol(1.0, 1.2, 134.0) < CAUSTIC_HIGH == 0.2
    # Soft surface water 20 to 60 mg/L, irrigation water to over 400.
    assert Alkalinity(120.0, 20.0, 400.0) == UNKNOWN_ALKALINITY
    assert USUAL_SOURCE_PH == 7.8
    assert (VOLUME_ERROR, LABEL_ERROR, TESTED_ERROR) == (0.05, 0.10, 0.05)


def test_weak_bleach_decays_as_the_weakest_that_was_measured() -> None:
    # Adam & Gordon (1999) measured 1 to 6 mol/L of salt: under that it is not extended.
    assert decay_l_mol_s(25.0, 0.2) == decay_l_mol_s(25.0, 1.0)
    for salt in (1.0, 2.5, 5.0):
        ratio = decay_l_mol_s(25.0, salt + 1.0) / decay_l_mol_s(25.0, salt)
        assert ratio == pytest.approx(10**0.149)
