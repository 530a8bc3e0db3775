"""A set-up judged as a whole."""

import math
from datetime import date

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.shed import a_setup, a_tank
from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.message import say
from washmon.line.setup import (
    Acid,
    ChlorineLimits,
    InsideMeasurements,
    LabelBasis,
    LineSetup,
    Look,
    Margins,
    Person,
    PhLimits,
    Role,
    Sanitizer,
    SanitizerKind,
    Shape,
    Tank,
    TemperatureRule,
    TemperatureRuleKind,
)
from washmon.line.templates import templates
from washmon.line.validate import cautions, faults
from washmon.line.validate_watching import SPANS
from washmon.units import Kind, UnitSystem

replace = msgspec.structs.replace
TODAY = date(2026, 5, 7)


def complete(draft: LineSetup) -> LineSetup:
    """Answer what a template leaves open, as an invented shed would."""
    return replace(
        draft,
        site="Willow Bend Packing",
        location="4 Mill Lane, Fairford",
        people=(Person(initials="RM", name="Robin Meyer", role=Role.SUPERVISOR),),
        sanitizers=tuple(
            replace(one, strength=12.5, basis=StrengthBasis.TRADE_PCT) for one in draft.sanitizers
        ),
        tanks=tuple(
            replace(tank, chlorine=replace(tank.chlorine, label_basis=LabelBasis.FREE))
            for tank in draft.tanks
        ),
        measures=("teaspoon",),
    )


SETUPS = [complete(template.draft()) for template in templates()]
LEAF, _, FRUIT, BENCH, _ = SETUPS


def with_tank(setup: LineSetup, at: int, **changes: object) -> LineSetup:
    tanks = list(setup.tanks)
    tanks[at] = replace(tanks[at], **changes)
    return replace(setup, tanks=tuple(tanks))


def with_chlorine(setup: LineSetup, at: int, **changes: object) -> LineSetup:
    return with_tank(setup, at, chlorine=replace(setup.tanks[at].chlorine, **changes))


def with_product(setup: LineSetup, **changes: object) -> LineSetup:
    return replace(setup, sanitizers=(replace(setup.sanitizers[0], **changes),))


def paths(setup: LineSetup) -> set[str]:
    return {fault.path for fault in faults(setup)}


def sentence(setup: LineSetup, path: str) -> str:
    message = next(fault.message for fault in faults(setup) if fault.path == path)
    return say(message, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("setup", SETUPS, ids=lambda one: one.line)
def test_a_completed_template_has_no_fault_and_no_caution(setup: LineSetup) -> None:
    assert faults(setup) == []
    assert cautions(setup, TODAY) == []


# --- place, people, order of tanks


@pytest.mark.parametrize("empty", ["", "   "])
def test_the_line_is_named(empty: str) -> None:
    assert paths(replace(LEAF, line=empty)) == {"line"}


@pytest.mark.parametrize("field", ["site", "location"])
@pytest.mark.parametrize("empty", ["", "   "])
def test_a_shift_may_run_before_the_site_is_written_which_is_said(field: str, empty: str) -> None:
    nowhere = replace(LEAF, **{field: empty})
    assert paths(nowhere) == set()
    # 21 CFR 112.161(a)(1)(i): a record has the name and location of the farm; `line/record.py`
    # says so, too, before a shift is signed.
    assert field in {one.path for one in cautions(nowhere, TODAY)}


@pytest.mark.parametrize("initials", ["", "ABCDE", "R1", "R M", "R."])
def test_initials_are_one_to_four_letters(initials: str) -> None:
    people = (replace(LEAF.people[0], initials=initials),)
    assert paths(replace(LEAF, people=people)) == {"people.0.initials"}


@pytest.mark.parametrize("initials", ["ÑÁ", "R", "ABCD"])
def test_letters_of_any_language_are_initials(initials: str) -> None:
    people = (replace(LEAF.people[0], initials=initials),)
    assert faults(replace(LEAF, people=people)) == []


def test_no_two_people_sign_alike() -> None:
    people = (*LEAF.people, Person(initials="rm", name="Rosa Marín", role=Role.LINE_WORKER))
    assert paths(replace(LEAF, people=people)) == {"people.1.initials"}


def test_a_shift_needs_a_supervisor() -> None:
    people = (replace(LEAF.people[0], role=Role.MANAGER),)
    assert paths(replace(LEAF, people=people)) == {"people"}
    assert paths(replace(LEAF, people=())) == {"people"}


def test_a_line_has_a_tank() -> None:
    assert paths(replace(LEAF, tanks=())) == {"tanks"}


def test_tanks_are_numbered_in_line_order() -> None:
    first, second, third = FRUIT.tanks
    assert paths(replace(FRUIT, tanks=(second, first, third))) == {
        "tanks.0.number",
        "tanks.1.number",
    }


def test_two_tanks_of_one_name_are_told_apart() -> None:
    assert paths(with_tank(FRUIT, 2, name=" dump tank ")) == {"tanks.0.name", "tanks.2.name"}


@pytest.mark.parametrize("volume", [4.9, 0.0, -640.0, 200_001.0])
def test_a_tank_holds_5_to_200_000_litres(volume: float) -> None:
    assert paths(with_tank(LEAF, 1, volume_l=volume)) == {"tanks.1.volume_l"}
    assert faults(with_tank(LEAF, 1, volume_l=5.0)) == []
    assert faults(with_tank(LEAF, 1, volume_l=200_000.0)) == []


def test_an_impossible_measurement_is_named_beside_its_own_field() -> None:
    trough = InsideMeasurements(shape=Shape.TROUGH, width_cm=60, depth_cm=40, length_cm=200)
    assert paths(with_tank(LEAF, 0, measured=trough)) == {"tanks.0.measured.depth_cm"}


# --- chlorine

LADDER = ["critical_low_mg_l", "low_mg_l", "target_mg_l", "high_mg_l", "label_max_mg_l"]


@given(
    setup=st.sampled_from(SETUPS),
    pick=st.integers(0, 7),
    field=st.sampled_from(LADDER),
    value=st.floats(-10, 1_200),
)
def test_one_limit_moved_out_of_its_place_is_named_at_its_path(
    setup: LineSetup, pick: int, field: str, value: float
) -> None:
    at = pick % len(setup.tanks)
    moved = with_chlorine(setup, at, **{field: value})
    limits = moved.tanks[at].chlorine
    low, operating, target, high, most = (getattr(limits, name) for name in LADDER)
    in_order = 0 <= low < operating < target < high <= most <= 1_000
    named = paths(moved)
    assert (named == set()) is in_order
    assert in_order or f"tanks.{at}.chlorine.{field}" in named
    assert all(path.startswith(f"tanks.{at}.chlorine.") for path in named)


@given(
    setup=st.sampled_from(SETUPS),
    field=st.sampled_from(["low", "target", "high"]),
    value=st.floats(0, 14),
)
def test_one_limit_of_ph_moved_out_of_its_place_is_named_at_its_path(
    setup: LineSetup, field: str, value: float
) -> None:
    moved = with_tank(setup, 0, ph=replace(setup.tanks[0].ph, **{field: value}))
    ph = moved.tanks[0].ph
    in_order = 5 <= ph.low < ph.target < ph.high <= 9
    assert (faults(moved) == []) is in_order
    assert in_order or f"tanks.0.ph.{field}" in paths(moved)


def test_limits_out_of_order_are_told_with_their_numbers() -> None:
    crossed = with_chlorine(LEAF, 0, low_mg_l=60.0)
    assert paths(crossed) == {"tanks.0.chlorine.low_mg_l", "tanks.0.chlorine.target_mg_l"}
    assert (
        sentence(crossed, "tanks.0.chlorine.low_mg_l")
        == "Low (60 ppm) must be under the target (55 ppm)."
    )


def test_high_may_be_the_label_maximum_but_not_over_it() -> None:
    assert faults(with_chlorine(LEAF, 0, high_mg_l=120.0)) == []
    assert "tanks.0.chlorine.high_mg_l" in paths(with_chlorine(LEAF, 0, high_mg_l=120.1))


def test_a_rinse_may_have_half_a_ppm_or_none_as_critical_low() -> None:
    for least in (0.0, 0.5):
        assert faults(with_chlorine(BENCH, 1, critical_low_mg_l=least)) == []
    assert paths(with_chlorine(BENCH, 1, critical_low_mg_l=-0.1)) == {
        "tanks.1.chlorine.critical_low_mg_l"
    }


def test_what_the_label_means_is_asked_and_never_assumed() -> None:
    assert paths(with_chlorine(LEAF, 1, label_basis=None)) == {"tanks.1.chlorine.label_basis"}
    for basis in LabelBasis:
        assert faults(with_chlorine(LEAF, 1, label_basis=basis)) == []


# --- products


def test_a_percent_without_its_basis_is_not_accepted() -> None:
    bare = with_product(LEAF, basis=None)
    assert paths(bare) == {"sanitizers.0.basis"}
    assert "12.5 % can be read in two ways that differ by about 14 %" in sentence(
        bare, "sanitizers.0.basis"
    )


def test_a_basis_without_a_strength_is_not_accepted() -> None:
    assert paths(with_product(LEAF, strength=None)) == {"sanitizers.0.strength"}


@pytest.mark.parametrize(
    "basis", [StrengthBasis.WEIGHT_PCT_NAOCL, StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE]
)
def test_a_percent_by_weight_needs_the_density(basis: StrengthBasis) -> None:
    by_weight = with_product(LEAF, basis=basis)
    assert paths(by_weight) == {"sanitizers.0.density_kg_l"}
    assert faults(with_product(LEAF, basis=basis, density_kg_l=1.2)) == []


def test_a_usual_density_is_offered() -> None:
    by_weight = with_product(LEAF, basis=StrengthBasis.WEIGHT_PCT_NAOCL)
    # 12.5 % NaOCl by weight, about 1.2 kg/L: value from memory.
    assert sentence(by_weight, "sanitizers.0.density_kg_l").endswith("it is about 1.20 kg/L.")


@pytest.mark.parametrize("strength", [0.0, -12.5, 90.0, 1e6])
def test_a_strength_that_no_product_has_is_refused(strength: float) -> None:
    assert paths(with_product(LEAF, strength=strength)) == {"sanitizers.0.strength"}


def test_a_solid_counts_available_chlorine_by_weight_only() -> None:
    solid = with_product(
        LEAF,
        kind=SanitizerKind.CALCIUM,
        strength=65.0,
        basis=StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE,
    )
    assert faults(solid) == []
    assert paths(with_product(solid, basis=StrengthBasis.TRADE_PCT)) == {"sanitizers.0.basis"}
    assert paths(with_product(solid, density_kg_l=1.2)) == {"sanitizers.0.density_kg_l"}
    assert paths(with_product(solid, strength=101.0)) == {"sanitizers.0.strength"}


def test_a_tank_uses_products_that_the_set_up_has() -> None:
    assert paths(with_tank(LEAF, 0, sanitizer="other")) == {"tanks.0.sanitizer"}
    assert paths(with_tank(LEAF, 0, acid="other")) == {"tanks.0.acid"}
    assert faults(with_tank(LEAF, 0, acid=None)) == []
    assert "sanitizers" in paths(replace(LEAF, sanitizers=()))


def test_two_products_do_not_share_a_key() -> None:
    twice = replace(LEAF, sanitizers=LEAF.sanitizers * 2)
    assert paths(twice) == {"sanitizers.0.key", "sanitizers.1.key"}


@pytest.mark.parametrize("strength", [0.0, -5.0, 101.0])
def test_an_acid_has_a_possible_strength(strength: float) -> None:
    acid = Acid(key="vinegar", name="Vinegar", kind=AcidKind.VINEGAR, strength_pct=strength)
    assert paths(replace(LEAF, acids=(acid,))) == {"acids.0.strength_pct"}


@pytest.mark.parametrize(
    ("kind", "strength", "is_possible", "is_usual"),
    [
        (AcidKind.VINEGAR, 5.0, True, True),
        (AcidKind.VINEGAR, 30.0, True, False),
        (AcidKind.VINEGAR, 100.0, False, False),
        (AcidKind.CITRIC, 5.0, False, False),  # a vinegar whose kind was changed
        (AcidKind.CITRIC, 50.0, True, False),
        (AcidKind.CITRIC, 99.5, True, True),
        (AcidKind.HYDROCHLORIC, 31.45, True, True),
        (AcidKind.HYDROCHLORIC, 5.0, True, False),
        (AcidKind.HYDROCHLORIC, 75.0, False, False),
        (AcidKind.PHOSPHORIC, 85.0, True, True),
        (AcidKind.PHOSPHORIC, 5.0, True, False),
        (AcidKind.SODIUM_BISULFATE, 93.0, True, True),
        (AcidKind.SODIUM_BISULFATE, 5.0, False, False),
    ],
)
def test_the_strength_of_an_acid_fits_its_kind(
    *, kind: AcidKind, strength: float, is_possible: bool, is_usual: bool
) -> None:
    setup = replace(LEAF, acids=(Acid(key="a", name="Acid", kind=kind, strength_pct=strength),))
    there = "acids.0.strength_pct"
    tanks = tuple(replace(tank, acid=None) for tank in LEAF.tanks)
    setup = replace(setup, tanks=tanks)
    assert (there not in paths(setup)) is is_possible
    asked = [one.path for one in cautions(setup, date(2026, 5, 7))]
    assert (there in asked) is (is_possible and not is_usual)


# --- the rest of a tank


def test_cloudiness_has_a_limit_of_one_kind_or_the_other() -> None:
    neither = with_tank(LEAF, 0, turbidity_max_ntu=None, look_limit=None)
    assert paths(neither) == {"tanks.0.look_limit"}
    assert faults(with_tank(LEAF, 0, turbidity_max_ntu=None)) == []
    assert faults(with_tank(LEAF, 0, look_limit=None)) == []


def test_clear_water_is_no_limit_for_cloudiness() -> None:
    assert paths(with_tank(LEAF, 0, look_limit=Look.READABLE)) == {"tanks.0.look_limit"}


@pytest.mark.parametrize(
    "field",
    ["batches_per_fill", "hours_per_fill", "check_batches", "check_minutes", "turbidity_max_ntu"],
)
@pytest.mark.parametrize("value", [0, -1])
def test_counts_and_intervals_are_positive_when_given(field: str, value: int) -> None:
    assert paths(with_tank(LEAF, 0, **{field: value})) == {f"tanks.0.{field}"}


@pytest.mark.parametrize("minutes", [-1.0, 0.0, 0.5])
def test_mixing_takes_at_least_a_minute_or_acid_and_chlorine_would_not_be_kept_apart(
    minutes: float,
) -> None:
    assert paths(with_tank(LEAF, 0, mix_minutes=minutes)) == {"tanks.0.mix_minutes"}
    assert paths(with_tank(LEAF, 0, mix_minutes=1.0)) == set()


def test_a_check_is_due_at_some_time() -> None:
    never = with_tank(LEAF, 0, check_batches=None, check_minutes=None)
    assert paths(never) == {"tanks.0.check_minutes"}
    assert faults(with_tank(LEAF, 0, check_batches=None)) == []
    assert faults(with_tank(LEAF, 0, check_minutes=None)) == []


def test_contact_takes_at_least_a_second_and_under_a_minute_is_a_caution_in_a_wash() -> None:
    assert paths(with_tank(LEAF, 0, contact_s=0.5)) == {"tanks.0.contact_s"}
    assert paths(with_tank(LEAF, 0, contact_s=1.0)) == set()
    short = with_tank(LEAF, 0, contact_s=30.0)
    assert faults(short) == []
    # At least one minute of contact: common practice, no published source.
    assert [one.path for one in cautions(short, TODAY)] == ["tanks.0.contact_s"]
    assert cautions(with_tank(BENCH, 1, contact_s=30.0), TODAY) == []


def test_a_temperature_rule_has_a_difference_of_0_or_more() -> None:
    for kind in TemperatureRuleKind:
        below = with_tank(LEAF, 0, temperature_rule=TemperatureRule(kind=kind, by_c=-1.0))
        assert paths(below) == {"tanks.0.temperature_rule.by_c"}
        assert faults(with_tank(LEAF, 0, temperature_rule=TemperatureRule(kind=kind, by_c=0))) == []


def test_margins_are_not_below_zero() -> None:
    margins = replace(LEAF.margins, ph_deadband=-0.1)
    assert paths(replace(LEAF, margins=margins)) == {"margins.ph_deadband"}


def test_a_measure_is_one_that_is_known() -> None:
    assert paths(replace(LEAF, measures=("bucket of unknown size",))) == {"measures"}


# --- cautions


def test_a_product_past_its_date_is_a_caution_and_no_fault() -> None:
    old = with_product(LEAF, use_by=date(2026, 5, 6))
    assert faults(old) == []
    assert [one.path for one in cautions(old, TODAY)] == ["sanitizers.0.use_by"]
    assert cautions(with_product(LEAF, use_by=TODAY), TODAY) == []


def test_a_container_opened_tomorrow_is_a_caution() -> None:
    early = with_product(LEAF, opened_on=date(2026, 5, 8))
    assert [one.path for one in cautions(early, TODAY)] == ["sanitizers.0.opened_on"]
    made = with_product(LEAF, made_on=date(2026, 5, 8))
    assert [one.path for one in cautions(made, TODAY)] == ["sanitizers.0.made_on"]
    assert cautions(with_product(LEAF, made_on=TODAY), TODAY) == []


def test_no_measures_and_a_high_label_are_cautions() -> None:
    assert [one.path for one in cautions(replace(LEAF, measures=()), TODAY)] == ["measures"]
    high = with_chlorine(LEAF, 0, label_max_mg_l=250.0)
    assert [one.path for one in cautions(high, TODAY)] == ["tanks.0.chlorine.label_max_mg_l"]


# --- numbers that are none


def number_paths(setup: LineSetup) -> list[str]:
    """Every path at which this set-up holds a float."""
    found: list[str] = []

    def walk(path: str, value: object) -> None:
        if isinstance(value, msgspec.Struct):
            for name in value.__struct_fields__:
                walk(f"{path}.{name}".lstrip("."), getattr(value, name))
        elif isinstance(value, tuple):
            for at, part in enumerate(value):
                walk(f"{path}.{at}", part)
        elif isinstance(value, float):
            found.append(path)

    walk("", setup)
    return found


def put(value: object, steps: list[str], number: float) -> object:
    """Return a copy with one number changed at a path."""
    if not steps:
        return number
    first, rest = steps[0], steps[1:]
    if isinstance(value, tuple):
        at = int(first)
        return (*value[:at], put(value[at], rest, number), *value[at + 1 :])
    assert isinstance(value, msgspec.Struct)
    return replace(value, **{first: put(getattr(value, first), rest, number)})


FULL = with_tank(
    with_product(LEAF, basis=StrengthBasis.WEIGHT_PCT_NAOCL, density_kg_l=1.2),
    0,
    temperature_rule=TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.6),
    measured=InsideMeasurements(
        shape=Shape.RECTANGULAR, width_cm=100, depth_cm=57, length_cm=100.0
    ),
)


@pytest.mark.parametrize("path", number_paths(FULL))
@pytest.mark.parametrize("nonsense", [math.nan, math.inf, -math.inf])
def test_what_is_not_a_number_never_passes_and_is_named_at_its_path(
    path: str, nonsense: float
) -> None:
    spoilt = put(FULL, path.split("."), nonsense)
    assert isinstance(spoilt, LineSetup)
    assert path in paths(spoilt)
    for fault in faults(spoilt):
        assert say(fault.message, UnitSystem.US).endswith(".")


def test_a_default_tank_in_no_particular_shed_is_judged_the_same() -> None:
    lone = LineSetup(
        site="Site",
        location="Place",
        line="Line",
        commodity="",
        people=LEAF.people,
        tanks=(
            Tank(
                number=1,
                name="Tub",
                stage=LEAF.tanks[0].stage,
                volume_l=20.0,
                sanitizer="bleach",
                chlorine=ChlorineLimits(
                    critical_low_mg_l=10,
                    low_mg_l=20,
                    target_mg_l=25,
                    high_mg_l=30,
                    label_max_mg_l=50,
                    label_basis=LabelBasis.TOTAL,
                ),
                ph=PhLimits(),
                check_batches=3,
            ),
        ),
        sanitizers=(
            Sanitizer(
                key="bleach",
                name="Bleach",
                kind=SanitizerKind.SODIUM,
                strength=87.0,
                basis=StrengthBasis.G_PER_L_AVAILABLE_CHLORINE,
            ),
        ),
    )
    assert faults(lone) == []


def test_a_second_vessel_holds_what_a_tank_can_hold_or_is_not_there() -> None:
    assert paths(with_tank(LEAF, 0, second_volume_l=400.0)) == set()
    assert paths(with_tank(LEAF, 0, second_volume_l=None)) == set()
    for litres in (0.0, -5.0, 1e9):
        assert paths(with_tank(LEAF, 0, second_volume_l=litres)) == {"tanks.0.second_volume_l"}
    assert paths(with_tank(LEAF, 0, second_check_min=0.0)) == {"tanks.0.second_check_min"}


def test_every_margin_has_its_span_and_the_usual_ones_lie_within() -> None:
    assert tuple(SPANS) == Margins.__struct_fields__
    for name, span in SPANS.items():
        assert span.least <= getattr(Margins(), name) <= span.most, name


@pytest.mark.parametrize("name", SPANS)
def test_a_margin_beyond_its_span_is_refused(name: str) -> None:
    span = SPANS[name]
    for value in (span.least, span.most):
        assert paths(replace(LEAF, margins=replace(Margins(), **{name: float(value)}))) == set()
    for value in (span.least - 0.01, span.most + 0.01):
        margins = replace(Margins(), **{name: value})
        assert paths(replace(LEAF, margins=margins)) == {f"margins.{name}"}


def test_a_flag_is_shelved_for_two_hours_at_most() -> None:
    # Shelving is limited in time: ANSI/ISA-18.2 (from memory). Two hours: common practice, no
    # published source.
    for minutes, refused in ((120.0, set()), (121.0, {"margins.shelve_longest_min"})):
        assert paths(replace(LEAF, margins=Margins(shelve_longest_min=minutes))) == refused


@pytest.mark.parametrize("name", [name for name, span in SPANS.items() if span.kind is Kind.COUNT])
def test_part_of_a_batch_is_no_margin(name: str) -> None:
    margins = replace(Margins(), **{name: 2.5})
    (fault,) = faults(replace(LEAF, margins=margins))
    assert (fault.path, fault.message.text) == (f"margins.{name}", "A whole number is needed here.")


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"critical_contact_s": 60.0}, ""),  # contact of 60 s is wanted
        ({"critical_contact_s": 60.1}, "critical_contact_s"),
        ({"critical_contact_s": 1.0}, ""),
        ({"critical_contact_s": 0.9}, "critical_contact_s"),
        ({"critical_contact_s": 90.0, "contact_s": None}, ""),
        ({"critical_ph": 7.5}, ""),  # the high limit
        ({"critical_ph": 7.4}, "critical_ph"),
        ({"critical_ph": 10.0}, ""),
        ({"critical_ph": 10.1}, "critical_ph"),
        ({"critical_temperature": True}, "critical_temperature"),  # of no rule
    ],
)
def test_critical_limits_lie_beyond_the_others(changes: dict[str, object], wrong: str) -> None:
    setup = a_setup(replace(a_tank(1, "Flume"), **changes))
    assert paths(setup) == ({f"tanks.0.{wrong}"} if wrong else set())
