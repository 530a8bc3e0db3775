"""Set-ups with peracetic acid, a tested container, and what is known of the source water."""

from datetime import date

import pytest
from msgspec.structs import replace

from tests.shed import a_peracetic_setup, a_setup
from washmon.line.message import say
from washmon.line.setup import LineSetup, PeraceticLimits, SourceWater
from washmon.line.validate import cautions, faults
from washmon.units import UnitSystem

TODAY = date(2026, 5, 7)


def paths(setup: LineSetup) -> set[str]:
    return {fault.path for fault in faults(setup)}


def warned(setup: LineSetup) -> dict[str, str]:
    return {one.path: say(one.message, UnitSystem.METRIC) for one in cautions(setup, TODAY)}


def limits(**changes: float) -> LineSetup:
    setup = a_peracetic_setup()
    tank = setup.tanks[0]
    assert tank.peracetic is not None
    kept: PeraceticLimits = replace(tank.peracetic, **changes)
    return replace(setup, tanks=(replace(tank, peracetic=kept),))


def test_a_line_of_peracetic_acid_is_sound_without_any_answer_about_chlorine() -> None:
    setup = a_peracetic_setup()
    bare = replace(setup.tanks[0].chlorine, label_basis=None)
    setup = replace(setup, tanks=(replace(setup.tanks[0], chlorine=bare),))
    assert faults(setup) == []
    assert "tanks.0.peracetic.target_mg_l" not in warned(setup)


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"low_mg_l": 55.0}, "tanks.0.peracetic.low_mg_l"),
        ({"critical_low_mg_l": -1.0}, "tanks.0.peracetic.critical_low_mg_l"),
        ({"label_max_mg_l": 60.0}, "tanks.0.peracetic.label_max_mg_l"),
        ({"label_max_mg_l": 5000.0}, "tanks.0.peracetic.label_max_mg_l"),
    ],
)
def test_its_limits_must_rise_like_those_of_chlorine(changes: dict[str, float], path: str) -> None:
    assert path in paths(limits(**changes))


@pytest.mark.parametrize(
    ("product", "path"),
    [
        ({"strength": None}, "strength"),
        ({"density_kg_l": None}, "density_kg_l"),
        ({"peroxide_pct": None}, "peroxide_pct"),
        ({"strength": 60.0}, "strength"),
        ({"density_kg_l": 3.0}, "density_kg_l"),
        ({"peroxide_pct": 95.0}, "strength"),
    ],
)
def test_its_container_must_tell_what_is_in_it(product: dict[str, float], path: str) -> None:
    assert paths(a_peracetic_setup(**product)) == {f"sanitizers.0.{path}"}


def test_tank_and_product_must_be_of_one_kind() -> None:
    setup = a_setup()
    mixed = replace(setup, sanitizers=a_peracetic_setup().sanitizers)
    tanks = tuple(replace(tank, sanitizer="paa") for tank in setup.tanks)
    assert {"tanks.0.sanitizer", "tanks.1.sanitizer"} <= paths(replace(mixed, tanks=tanks))


def test_a_target_that_breaks_the_peroxide_limit_is_a_caution_with_the_most_that_keeps_it() -> None:
    # 21 CFR 173.315(a)(5): 59 mg/L of hydrogen peroxide, 80 of the acid. 5.6 % acid with 26.5 %
    # peroxide (such compositions are sold, value from memory): 59 * 5.6 / 26.5 = 12.5 mg/L.
    said = warned(a_peracetic_setup(strength=5.6, peroxide_pct=26.5))[
        "tanks.0.peracetic.target_mg_l"
    ]
    plain = said.replace("\N{NO-BREAK SPACE}", " ")
    assert "237 ppm hydrogen peroxide" in plain
    assert "Up to 12 ppm" in plain or "Up to 12.5 ppm" in plain


def test_a_high_limit_over_the_law_is_a_caution() -> None:
    found = warned(limits(high_mg_l=90.0, label_max_mg_l=100.0))
    assert "80" in found["tanks.0.peracetic.high_mg_l"]


@pytest.mark.parametrize(
    ("water", "path"),
    [
        ({"alkalinity_mg_l": 5000.0}, "source.alkalinity_mg_l"),
        ({"ph": 2.0}, "source.ph"),
        ({"chloride_mg_l": -1.0}, "source.chloride_mg_l"),
        ({"alkalinity_mg_l": float("nan")}, "source.alkalinity_mg_l"),
    ],
)
def test_a_source_that_no_water_is_like_is_refused(water: dict[str, float], path: str) -> None:
    assert paths(a_setup(source=SourceWater(**water))) == {path}


@pytest.mark.parametrize(
    ("product", "path"),
    [
        ({"storage_c": 90.0}, "storage_c"),
        ({"tested_g_l": 100.0}, "tested_on"),
        ({"tested_g_l": 900.0, "tested_on": TODAY}, "tested_g_l"),
    ],
)
def test_storage_and_test_of_a_container_must_be_possible(
    product: dict[str, object], path: str
) -> None:
    setup = a_setup()
    changed = replace(setup, sanitizers=(replace(setup.sanitizers[0], **product),))
    assert paths(changed) == {f"sanitizers.0.{path}"}


@pytest.mark.parametrize("caustic", [-0.1, 5.1])
def test_no_product_holds_so_much_caustic(caustic: float) -> None:
    setup = a_setup()
    changed = replace(setup, sanitizers=(replace(setup.sanitizers[0], caustic_pct=caustic),))
    assert paths(changed) == {"sanitizers.0.caustic_pct"}


@pytest.mark.parametrize("name", ["own:50:750:mL", "a_thing_that_was_removed"])
def test_a_measure_that_is_none_is_refused(name: str) -> None:
    assert paths(a_setup(measures=("own:750:50:mL", name))) == {"measures"}
