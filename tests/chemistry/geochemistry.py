"""PHREEQC with the acids of wash water built in: independent of what is tested."""

import math
from functools import cache

from phreeqpython import PhreeqPython

from washmon.chemistry.acid import AcidKind
from washmon.chemistry.water import CL2_MG_PER_MOL

# An inert "element" for hypochlorite, so that PHREEQC works no redox with chloride. Its pKa is
# that of Morris (1966); the rest is phreeqc.dat as it is shipped.
ADDED_SPECIES = """
SOLUTION_MASTER_SPECIES
Hyp   Hyp-   1.0 51.452 51.452
Acet  Acet-  1.0 59.044 59.044
Citr  Citr-3 1.0 189.10 189.10
Pera  Pera-  1.0 75.043 75.043
SOLUTION_SPECIES
Hyp- = Hyp-
 log_k 0
H+ + Hyp- = HHyp
 log_k 7.54
 -analytical_expression -10.0686 0.0253 3000
Acet- = Acet-
 log_k 0
H+ + Acet- = HAcet
 log_k 4.757
 delta_h 0.41 kJ
Pera- = Pera-
 log_k 0
H+ + Pera- = HPera
 log_k 8.2
Citr-3 = Citr-3
 log_k 0
H+ + Citr-3 = HCitr-2
 log_k 6.396
2H+ + Citr-3 = H2Citr-
 log_k 11.157
3H+ + Citr-3 = H3Citr
 log_k 14.285
END
"""
BACKGROUND_MG_L = 3.5453  # chloride that each water has, 0.1 mmol/L
FORMULAS = {
    AcidKind.HYDROCHLORIC: "HCl",
    AcidKind.VINEGAR: "HAcet",
    AcidKind.CITRIC: "H3Citr",
    AcidKind.PHOSPHORIC: "H3PO4",
    AcidKind.SODIUM_BISULFATE: "NaHSO4",
}


@cache
def phreeqc() -> PhreeqPython:
    """Return one PHREEQC for the whole test run."""
    program = PhreeqPython(database="phreeqc.dat")
    program.ip.run_string(ADDED_SPECIES)
    return program


def ph_after(
    alkalinity_mg_l: float,
    ph: float,
    celsius: float,
    reaction: dict[str, float],
    carbon_mol_l: float | None = None,
) -> float:
    """Return PHREEQC's pH of sodium bicarbonate water after a reaction (mol/L of each formula).

    A little sodium chloride, 0.1 mmol/L, lets it balance charge where there is no alkalinity;
    there the carbon must be given instead.
    """
    content = f"Alkalinity {alkalinity_mg_l} as Ca0.5(CO3)0.5"
    if carbon_mol_l is not None:
        content = f"C(4) {carbon_mol_l * 12011} as C"
    steps = "\n".join(f" {formula} {amount:.12g}" for formula, amount in reaction.items())
    program = phreeqc()
    program.ip.run_string(
        f"SOLUTION 1\n temp {celsius}\n pH {ph}\n units mg/L\n"
        f" {content}\n Cl {BACKGROUND_MG_L}\n Na 46 charge\n"
        f"REACTION 1\n{steps}\n 1.0 moles in 1 step\nSAVE SOLUTION 1\nEND\n"
    )
    found = float(program.ip.get_ph(1))
    assert math.isfinite(found)
    return found


def bleach(rise_mg_l: float) -> dict[str, float]:
    """Return a hypochlorite dose (mg/L as Cl2) as a reaction, with caustic of 0.08 mol/mol."""
    dose = rise_mg_l / CL2_MG_PER_MOL
    return {"NaHyp": dose, "NaOH": 0.08 * dose, "NaCl": dose} if dose else {"NaCl": 1e-9}


def hocl_share(ph: float, celsius: float, salt_mol_l: float) -> float:
    """Return PHREEQC's share of HOCl at a pH in sodium chloride, with 10 ppm of chlorine."""
    program = phreeqc()
    program.ip.run_string(
        f"SOLUTION 1\n temp {celsius}\n pH {ph}\n units mmol/kgw\n Hyp 0.141\n"
        f" Cl {salt_mol_l * 1000}\n Na {salt_mol_l * 1000} charge\nEND\n"
    )
    acid, anion = program.ip.get_molality(1, "HHyp"), program.ip.get_molality(1, "Hyp-")
    return float(acid / (acid + anion))
