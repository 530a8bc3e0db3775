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


def hocl_share_in_salt(ph: Number, temperature_c: Number, ionic_strength: Number) -> Number:
    """Return the share (0 to 1) that is HOCl in water with dissolved salt (mol/L).

    A used tank holds 0.01 to 0.04 mol/L, which lowers the share by some points near pH 7.5.

    Raises:
        ChemistryError: a pH, a temperature or a salt content that no wash water has.
    """
    require(ionic_strength, "dissolved salt", 0.0, 0.5, "mol/L")
    return hocl_share(ph - log_activity(temperature_c, ionic_strength), temperature_c)


def log_activity(temperature_c: Number, ionic_strength: Number) -> Number:
    """Return log10 of the activity coefficient of an ion with one charge (Davies 1962)."""
    root: Number = ionic_strength**0.5
    # Debye-Hückel's A: 0.491 at 0 °C, 0.509 at 25 °C.
    slope = 0.4913 + 6.9e-4 * temperature_c + 1.7e-6 * temperature_c * temperature_c
    return -slope * (root / (1 + root) - 0.3 * ionic_strength)
