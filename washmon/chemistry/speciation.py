"""Which part of the free chlorine is hypochlorous acid, the part that disinfects fast."""

from washmon.chemistry.checks import Number, require

KELVIN = 273.15
COLDEST_C, HOTTEST_C = -2.0, 60.0


def pka(temperature_c: Number) -> Number:
    """Return the pKa of hypochlorous acid at zero ionic strength.

    Morris (1966), J. Phys. Chem. 70:3798, fitted from 5 to 35 °C. An EU registration dossier
    (ECHA 16137) lists about 0.12 less, which lowers the share by up to 7 points near pH 7.5; the
    handbooks follow Morris, and so do we.

    Raises:
        ChemistryError: a temperature that no wash water has.
    """
    require(temperature_c, "temperature of the water", COLDEST_C, HOTTEST_C, "°C")
    kelvin = temperature_c + KELVIN
    return 3000.0 / kelvin - 10.0686 + 0.0253 * kelvin


def hocl_share(ph: Number, temperature_c: Number) -> Number:
    """Return the share (0 to 1) of free chlorine that is HOCl, not OCl-.

    Dissolved Cl2, which matters only below pH 5 or so, is counted as HOCl. Good to some points of
    a hundred in used water: show it as a whole number.

    Raises:
        ChemistryError: a pH or a temperature that no water has.
    """
    require(ph, "pH", 0.0, 14.0)
    dissociated: Number = 10.0 ** (ph - pka(temperature_c))
    return 1.0 / (1.0 + dissociated)
