"""The pH of the practice water in limiting cases, against PHREEQC."""

import pytest
from msgspec.structs import replace

from tests.chemistry.geochemistry import BACKGROUND_MG_L, FORMULAS, bleach, ph_after, phreeqc
from tests.sessions.practice.pools import STEADY, a_line, a_pool, still_model
from tests.shed import a_setup, a_tank
from washmon.chemistry.acid import AcidKind, acid_mol_per_unit
from washmon.chemistry.water import CL2_MG_PER_MOL
from washmon.line.setup import Acid
from washmon.sessions.practice.line import WashLine
from washmon.sessions.practice.parameters import parameters
from washmon.sessions.practice.world import World

WATERS = [(30.0, 6.8, 8.0), (100.0, 7.8, 20.0), (250.0, 7.2, 12.0)]


def world_with(alkalinity: float, ph: float, celsius: float) -> World:
    source = replace(
        STEADY.source,
        alkalinity_mg_l=alkalinity,
        ph=ph,
        celsius=celsius,
        chloride_mg_l=BACKGROUND_MG_L,
    )
    return replace(STEADY, source=source, air_c=celsius)


def dosed(alkalinity: float, ph: float, celsius: float, acid: Acid | None = None) -> WashLine:
    tank = a_tank(1, "Dunk", acid=acid.key if acid else None)
    setup = a_setup(tank, acids=(acid,) if acid else ())
    world = world_with(alkalinity, ph, celsius)
    line = a_line(world, model=still_model(), setup=setup)
    line.dose(1, 500.0 * 75.0 / 125.0)  # 75 ppm of a 125 g/L product
    return line


@pytest.mark.parametrize(("alkalinity", "ph", "celsius"), WATERS)
def test_hypochlorite_lifts_the_ph_as_phreeqc_says(
    alkalinity: float, ph: float, celsius: float
) -> None:
    line = dosed(alkalinity, ph, celsius)
    expected = ph_after(alkalinity, ph, celsius, bleach(line.level_mg_l(1)))
    assert line.truth(1).ph == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize("kind", [AcidKind.HYDROCHLORIC, AcidKind.VINEGAR, AcidKind.PHOSPHORIC])
@pytest.mark.parametrize(("alkalinity", "ph", "celsius"), WATERS)
def test_acid_lowers_the_ph_as_phreeqc_says(
    alkalinity: float, ph: float, celsius: float, kind: AcidKind
) -> None:
    acid = Acid(key="acid", name="acid", kind=kind, strength_pct=5.0)
    line = dosed(alkalinity, ph, celsius, acid)
    millilitres = 0.0009 * 500.0 / acid_mol_per_unit(kind, 5.0)
    line.acid(1, millilitres)
    truth = line.truth(1)
    added = acid_mol_per_unit(kind, 5.0) * millilitres / truth.volume_l
    reaction = bleach(truth.level_mg_l) | {FORMULAS[kind]: added}
    expected = ph_after(alkalinity, ph, celsius, reaction)
    assert truth.ph == pytest.approx(expected, abs=0.06)


@pytest.mark.parametrize(("alkalinity", "ph", "celsius"), WATERS)
def test_used_up_hypochlorite_leaves_only_its_caustic_and_salt(
    alkalinity: float, ph: float, celsius: float
) -> None:
    # NaOCl becomes NaCl: of its alkalinity only the excess caustic stays.
    line = dosed(alkalinity, ph, celsius)
    mol = line.level_mg_l(1) / CL2_MG_PER_MOL
    water = line._tanks[1]
    water.add_dirt(1000.0 * water.volume_l, 0.0, 0.0, 0.0)
    line.advance(120.0)
    assert line.level_mg_l(1) < 0.01
    expected = ph_after(alkalinity, ph, celsius, {"NaCl": 2 * mol, "NaOH": 0.08 * mol})
    assert line.truth(1).ph == pytest.approx(expected, abs=0.06)


def test_water_left_in_air_ends_where_phreeqc_says() -> None:
    # Open to air with 420 ppm of carbon dioxide (10^-3.377 atm), 20 °C.
    model = parameters()
    pool, fresh = a_pool(model, level=0.0, fast=0.0, slow=0.0)
    start = pool.ph
    rising = []
    for _ in range(6):
        pool.rest(20 * 60.0, STEADY, fresh)
        rising.append(pool.ph)
    program = phreeqc()
    program.ip.run_string(
        "SOLUTION 1\n temp 20\n pH 7.4\n units mg/L\n Alkalinity 100 as Ca0.5(CO3)0.5\n"
        " Cl 20\n Na 46 charge\nEQUILIBRIUM_PHASES 1\n CO2(g) -3.377 10\nSAVE SOLUTION 1\nEND\n"
    )
    expected = float(program.ip.get_ph(1))
    assert start < rising[0] < rising[-1]
    # Evaporation and make-up thicken the water by a part in ten over these five days.
    assert rising[-1] == pytest.approx(expected, abs=0.08)


def test_an_hour_in_the_tank_strips_a_little_carbon_dioxide() -> None:
    # "Hours": trade reference by common practice, no published source for the rate.
    pool, fresh = a_pool(parameters(), level=0.0)
    before = pool.ph
    pool.rest(60.0, STEADY, fresh)
    assert 0.005 < pool.ph - before < 0.15


def test_chlorine_gas_leaves_only_sour_and_salty_water() -> None:
    # [Cl2]/[HOCl] = [H+][Cl-]/Kh (ECHA registration dossier 16137): at pH 4.4 four hundred times
    # as much as at pH 7, and it takes an acid along.
    good, fresh = a_pool(parameters(), level=100.0, salt=0.028)
    sour, _ = a_pool(parameters(), level=100.0, salt=0.028, alkalinity=-2e-4)
    assert sour.ph < 4.5
    for pool in (good, sour):
        pool.rest(60.0, STEADY, fresh)
    assert sour.book.gassed_mg > 100 * good.book.gassed_mg
    # The decay adds acid, the gas takes some away: less alkalinity is lost than chlorine decayed.
    lost = 1000.0 * (-2e-4 - sour.contents.alkalinity)
    assert 0.0 < lost < sour.book.decayed_mg / CL2_MG_PER_MOL
