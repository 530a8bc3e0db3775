"""What a set-up may say up to the very edge, and beside which field it is refused beyond it.

Where no source is named, the numbers are common practice, no published source.
"""

import math
from datetime import date, timedelta

import pytest
from msgspec.structs import fields, replace

from tests.shed import START, a_peracetic_setup, a_setup, a_tank
from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.chemistry.measures import METRIC_SET
from washmon.line.message import say
from washmon.line.setup import (
    Acid,
    LineSetup,
    Look,
    Margins,
    Person,
    PhLimits,
    Price,
    Role,
    RuleOff,
    SanitizerKind,
    SoldBy,
    SourceWater,
    Stage,
    TemperatureRule,
    TemperatureRuleKind,
    Unfit,
)
from washmon.line.validate import cautions, faults
from washmon.line.working_days import WorkCalendar
from washmon.units import UnitSystem

TODAY = START.date()
ONE = a_setup(a_tank(1, "Only"), measures=METRIC_SET)
CHLORINE = ONE.tanks[0].chlorine
COLDER = TemperatureRule(kind=TemperatureRuleKind.NOT_COLDER, by_c=0.0)


def wrong(setup: LineSetup) -> set[str]:
    return {one.path for one in faults(setup)}


def asked(setup: LineSetup) -> set[str]:
    return {one.path for one in cautions(setup, TODAY)}


def with_tank(**changes: object) -> LineSetup:
    return replace(ONE, tanks=(replace(ONE.tanks[0], **changes),))


def with_product(**changes: object) -> LineSetup:
    return replace(ONE, sanitizers=(replace(ONE.sanitizers[0], **changes),))


NEITHER: set[str] = set()


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"volume_l": 5.0}, ""),
        ({"volume_l": 4.9}, "volume_l"),
        ({"volume_l": 200_000.0}, ""),
        ({"volume_l": 200_001.0}, "volume_l"),
        ({"second_volume_l": 5.0}, ""),
        ({"second_volume_l": 4.9}, "second_volume_l"),
        ({"turbidity_max_ntu": None, "look_limit": Look.FAINT}, ""),
        ({"turbidity_max_ntu": 60.0, "look_limit": None}, ""),
        ({"turbidity_max_ntu": None, "look_limit": None}, "look_limit"),
        ({"look_limit": Look.READABLE}, "look_limit"),
        ({"turbidity_max_ntu": 0.5}, ""),
        ({"turbidity_max_ntu": 0.0}, "turbidity_max_ntu"),
        ({"batches_per_fill": 1}, ""),
        ({"batches_per_fill": 0}, "batches_per_fill"),
        ({"hours_per_fill": 0.5}, ""),
        ({"hours_per_fill": 0.0}, "hours_per_fill"),
        ({"check_batches": 1}, ""),
        ({"check_batches": 0}, "check_batches"),
        ({"check_minutes": 0.5}, ""),
        ({"check_minutes": 0.0}, "check_minutes"),
        ({"check_batches": None}, ""),
        ({"check_minutes": None}, ""),
        ({"check_batches": None, "check_minutes": None}, "check_minutes"),
        ({"mix_minutes": 1.0}, ""),
        ({"mix_minutes": 0.9}, "mix_minutes"),
        ({"second_check_min": 0.5}, ""),
        ({"second_check_min": 0.0}, "second_check_min"),
        ({"min_batches_per_dose": 1}, ""),
        ({"min_batches_per_dose": 0}, "min_batches_per_dose"),
        ({"contact_s": 1.0}, ""),
        ({"contact_s": 0.9}, "contact_s"),
        ({"temperature_rule": COLDER}, ""),
        ({"temperature_rule": replace(COLDER, by_c=-0.1)}, "temperature_rule.by_c"),
        ({"critical_temperature": True, "temperature_rule": COLDER}, ""),
        ({"critical_temperature": True}, "critical_temperature"),
        ({"critical_contact_s": 1.0}, ""),
        ({"critical_contact_s": 0.9}, "critical_contact_s"),
        ({"critical_contact_s": 60.0}, ""),  # as long as is wanted
        ({"critical_contact_s": 60.1}, "critical_contact_s"),
        ({"critical_contact_s": 90.0, "contact_s": None}, ""),
        ({"critical_ph": 7.5}, ""),  # pH high
        ({"critical_ph": 7.4}, "critical_ph"),
        ({"critical_ph": 10.0}, ""),
        ({"critical_ph": 10.1}, "critical_ph"),
        ({"ph": PhLimits(low=5.0, target=7.0, high=9.0)}, ""),
        ({"ph": PhLimits(low=4.9, target=7.0, high=9.0)}, "ph.low"),
        ({"ph": PhLimits(low=5.0, target=7.0, high=9.1)}, "ph.high"),
        ({"chlorine": replace(CHLORINE, label_basis=None)}, "chlorine.label_basis"),
        ({"acid": None}, ""),
        ({"acid": "lye"}, "acid"),
        ({"sanitizer": "lye"}, "sanitizer"),
        ({"name": " "}, "name"),
        ({"number": 2}, "number"),
    ],
)
def test_what_a_tank_may_be_told_to_keep(changes: dict[str, object], field: str) -> None:
    assert wrong(with_tank(**changes)) == ({f"tanks.0.{field}"} if field else NEITHER)


@pytest.mark.parametrize(
    ("ph", "steps"),
    [
        (PhLimits(low=7.0, target=7.0, high=7.5), {"low", "target"}),
        (PhLimits(low=6.5, target=7.5, high=7.5), {"target", "high"}),
    ],
)
def test_limits_of_ph_rise_in_both_their_steps(ph: PhLimits, steps: set[str]) -> None:
    assert wrong(with_tank(ph=ph)) == {f"tanks.0.ph.{name}" for name in steps}


@pytest.mark.parametrize(
    ("changes", "steps"),
    [
        ({"critical_low_mg_l": 35.0}, {"critical_low_mg_l", "low_mg_l"}),
        ({"low_mg_l": 50.0}, {"low_mg_l", "target_mg_l"}),
        ({"target_mg_l": 75.0}, {"target_mg_l", "high_mg_l"}),
        ({"high_mg_l": 100.0}, set()),
        ({"high_mg_l": 100.1}, {"high_mg_l", "label_max_mg_l"}),
        ({"critical_low_mg_l": 0.0}, set()),
        ({"critical_low_mg_l": -0.1}, {"critical_low_mg_l"}),
    ],
)
def test_limits_of_the_level_rise_in_each_of_their_steps(
    changes: dict[str, float], steps: set[str]
) -> None:
    found = wrong(with_tank(chlorine=replace(CHLORINE, **changes)))
    assert found == {f"tanks.0.chlorine.{name}" for name in steps}
    acid = a_peracetic_setup()
    limits = acid.tanks[0].peracetic
    assert limits is not None
    known = replace(
        limits,
        critical_low_mg_l=25,
        low_mg_l=35,
        target_mg_l=50,
        high_mg_l=75,
        label_max_mg_l=100,
    )
    tank = replace(acid.tanks[0], peracetic=replace(known, **changes))
    assert wrong(replace(acid, tanks=(tank,))) == {f"tanks.0.peracetic.{name}" for name in steps}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"strength": None}, "strength"),
        ({"basis": None}, "basis"),
        ({"strength": 35.0, "basis": StrengthBasis.TRADE_PCT}, ""),
        ({"strength": 36.0, "basis": StrengthBasis.TRADE_PCT}, "strength"),
        ({"basis": StrengthBasis.WEIGHT_PCT_NAOCL}, ""),
        ({"basis": StrengthBasis.WEIGHT_PCT_NAOCL, "density_kg_l": None}, "density_kg_l"),
        (
            {"basis": StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE, "density_kg_l": None},
            "density_kg_l",
        ),
        ({"density_kg_l": None}, ""),  # a trade percent needs none
        ({"storage_c": -20.0}, ""),
        ({"storage_c": -20.1}, "storage_c"),
        ({"storage_c": 60.0}, ""),
        ({"storage_c": 60.1}, "storage_c"),
        ({"tested_g_l": 110.0, "tested_on": TODAY}, ""),
        ({"tested_g_l": 110.0}, "tested_on"),
        ({"tested_g_l": 350.0, "tested_on": TODAY}, ""),
        ({"tested_g_l": 351.0, "tested_on": TODAY}, "tested_g_l"),
        ({"tested_g_l": 0.5, "tested_on": TODAY}, ""),
        ({"tested_g_l": 0.0, "tested_on": TODAY}, "tested_g_l"),
        ({"caustic_pct": 0.0}, ""),
        ({"caustic_pct": -0.1}, "caustic_pct"),
        ({"caustic_pct": 5.0}, ""),
        ({"caustic_pct": 5.1}, "caustic_pct"),
        ({"name": ""}, "name"),
        ({"price": Price(cost=0.0, amount=0.5)}, ""),
        ({"price": Price(cost=-0.1, amount=0.5)}, "price.cost"),
        ({"price": Price(cost=1.0, amount=0.0)}, "price.amount"),
    ],
)
def test_what_a_container_of_bleach_may_say(changes: dict[str, object], field: str) -> None:
    setup = replace(with_product(**changes), currency="EUR")
    assert wrong(setup) == ({f"sanitizers.0.{field}"} if field else NEITHER)


SOLID = {
    "kind": SanitizerKind.CALCIUM,
    "strength": 65.0,
    "basis": StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE,
    "density_kg_l": None,
}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({}, ""),
        ({"density_kg_l": 1.1}, "density_kg_l"),
        ({"basis": StrengthBasis.TRADE_PCT}, "basis"),
        ({"strength": 100.0}, ""),
        ({"strength": 101.0}, "strength"),
        ({"price": Price(cost=9.0, amount=5.0, sold_by=SoldBy.WEIGHT)}, ""),
        ({"price": Price(cost=9.0, amount=5.0, sold_by=SoldBy.VOLUME)}, "price.sold_by"),
    ],
)
def test_what_a_container_of_granules_may_say(changes: dict[str, object], field: str) -> None:
    setup = replace(with_product(**{**SOLID, **changes}), currency="EUR")
    assert wrong(setup) == ({f"sanitizers.0.{field}"} if field else NEITHER)


def test_a_liquid_sold_by_weight_has_no_price_without_its_density() -> None:
    price = Price(cost=9.0, amount=5.0, sold_by=SoldBy.WEIGHT)
    for density, said in ((1.17, NEITHER), (None, {"sanitizers.0.density_kg_l"})):
        assert asked(with_product(price=price, density_kg_l=density)) == said
    assert asked(with_product(**{**SOLID, "price": price})) == NEITHER
    by_volume = replace(price, sold_by=SoldBy.VOLUME)
    assert asked(with_product(price=by_volume, density_kg_l=None)) == NEITHER


POSSIBLE = {
    AcidKind.VINEGAR: (1.0, 4.0, 10.0, 35.0),
    AcidKind.CITRIC: (50.0, 90.0, 100.0, 100.0),
    AcidKind.HYDROCHLORIC: (1.0, 10.0, 37.0, 40.0),
    AcidKind.PHOSPHORIC: (1.0, 25.0, 85.0, 90.0),
    AcidKind.SODIUM_BISULFATE: (50.0, 85.0, 100.0, 100.0),
}
"""Percent that there is at least, that is sold at least and at most, and that there is at most."""


@pytest.mark.parametrize("kind", POSSIBLE)
def test_a_strength_that_no_acid_of_its_kind_has_is_refused_and_an_odd_one_asked_about(
    kind: AcidKind,
) -> None:
    least, usual_least, usual_most, most = POSSIBLE[kind]

    def told(strength: float) -> tuple[bool, bool]:
        acid = Acid(key="vinegar", name="acid", kind=kind, strength_pct=strength)
        setup = replace(ONE, acids=(acid,))
        return not wrong(setup), not asked(setup)

    assert told(least) == (True, least == usual_least)
    assert told(least - 0.1)[0] is False
    assert told(most) == (True, most == usual_most)
    assert told(most + 0.1)[0] is False
    assert told(usual_least) == (True, True)
    assert told(usual_most) == (True, True)
    assert told(usual_least - 0.1) == (True, False)
    assert usual_most == most or told(usual_most + 0.1) == (True, False)


def test_an_acid_that_can_not_be_is_told_with_what_there_is() -> None:
    acid = Acid(key="vinegar", name="acid", kind=AcidKind.HYDROCHLORIC, strength_pct=45.0)
    (found,) = faults(replace(ONE, acids=(acid,)))
    said = say(found.message, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")
    assert said.startswith("No hydrochloric acid has 45 %: it has 1 % to 40 %, and 31.45 % as it")


@pytest.mark.parametrize(
    ("density", "refused"),
    [(0.5, False), (0.49, True), (2.5, False), (2.51, True), (None, False)],
)
def test_an_acid_has_a_possible_density(density: float | None, *, refused: bool) -> None:
    acids = (replace(ONE.acids[0], density_kg_l=density),)
    assert wrong(replace(ONE, acids=acids)) == ({"acids.0.density_kg_l"} if refused else NEITHER)


SPANS = {
    "chlorine_deadband_fraction": (0, 0.5),
    "ph_deadband": (0, 0.5),
    "turbidity_deadband_fraction": (0, 0.5),
    "temperature_deadband_c": (0, 5),
    "overdue_delay_min": (0, 60),
    "shelve_longest_min": (0, 120),
    "act_ph": (6, 9.5),
    "gas_ph": (5, 6.5),
    "gas_air_ppm": (0.05, 1),  # OSHA's ceiling: 29 CFR 1910.1000, Table Z-1
    "gas_deadband_fraction": (0, 0.5),
    "weak_strength_fraction": (0.1, 1),
    "redose_soon_batches": (0, 50),
    "change_near_min": (0, 240),
    "change_near_batches": (0, 50),
    "combined_share": (0.05, 1),
    "rinse_share": (0.05, 1),
}


@pytest.mark.parametrize("name", [field.name for field in fields(Margins)])
def test_a_margin_lies_within_its_span_its_ends_counted_in(name: str) -> None:
    least, most = SPANS[name]
    whole = "batches" in name

    def is_taken(value: float) -> bool:
        return wrong(replace(ONE, margins=Margins(**{name: value}))) != {f"margins.{name}"}

    assert is_taken(least)
    assert is_taken(most)
    assert not is_taken(least - 1 if whole else math.nextafter(least, -math.inf))
    assert not is_taken(most + 1 if whole else math.nextafter(most, math.inf))
    assert is_taken((least + most) / 2 + (0.0 if whole else 0.01))
    assert is_taken(least + 0.5) is not whole


def test_a_span_of_shares_is_told_in_percent() -> None:
    setup = replace(ONE, margins=Margins(combined_share=0.01))
    (found,) = faults(setup)
    said = say(found.message, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")
    assert said == "This lies between 5 % and 100 %."


@pytest.mark.parametrize(
    ("changes", "path"),
    [
        ({"source": SourceWater(alkalinity_mg_l=0.0)}, ""),
        ({"source": SourceWater(alkalinity_mg_l=-0.1)}, "source.alkalinity_mg_l"),
        ({"source": SourceWater(alkalinity_mg_l=2000.0)}, ""),
        ({"source": SourceWater(alkalinity_mg_l=2000.1)}, "source.alkalinity_mg_l"),
        ({"source": SourceWater(alkalinity_error_mg_l=0.0)}, ""),
        ({"source": SourceWater(alkalinity_error_mg_l=2000.1)}, "source.alkalinity_error_mg_l"),
        ({"source": SourceWater(ph=4.0)}, ""),
        ({"source": SourceWater(ph=3.9)}, "source.ph"),
        ({"source": SourceWater(ph=11.0)}, ""),
        ({"source": SourceWater(ph=11.1)}, "source.ph"),
        ({"source": SourceWater(ph_error=0.0)}, ""),
        ({"source": SourceWater(ph_error=2.0)}, ""),
        ({"source": SourceWater(ph_error=2.1)}, "source.ph_error"),
        ({"source": SourceWater(chloride_mg_l=20_000.0)}, ""),
        ({"source": SourceWater(chloride_mg_l=20_001.0)}, "source.chloride_mg_l"),
        ({"source": SourceWater(chloride_mg_l=-0.1)}, "source.chloride_mg_l"),
        ({"meter_check_days": 1}, ""),
        ({"meter_check_days": 0}, "meter_check_days"),
        ({"meter_check_days": 90}, ""),
        ({"meter_check_days": 91}, "meter_check_days"),
        ({"strip_pads_mg_l": (0.0, 25.0)}, ""),
        ({"strip_pads_mg_l": (0.0,)}, "strip_pads_mg_l"),
        ({"strip_pads_mg_l": (25.0, 50.0)}, "strip_pads_mg_l"),
        ({"calendar": WorkCalendar(worked=())}, "calendar.worked"),
        ({"calendar": WorkCalendar(closed=(TODAY,) * 1000)}, ""),
        ({"calendar": WorkCalendar(closed=(TODAY,) * 1001)}, "calendar.closed"),
        ({"currency": "EUR"}, ""),
        ({"currency": "EURO"}, "currency"),
        ({"currency": "eur"}, "currency"),
        ({"water_price": Price(cost=1.0, amount=1000.0), "currency": "EUR"}, ""),
        ({"water_price": Price(cost=1.0, amount=1000.0)}, "currency"),
        (
            {
                "water_price": Price(cost=1.0, amount=1000.0, sold_by=SoldBy.WEIGHT),
                "currency": "EUR",
            },
            "water_price.amount",
        ),
        ({"measures": ("thimble",)}, "measures"),
        ({"line": " "}, "line"),
        ({"rules_off": (RuleOff(rule="cloudy", reason="x"),)}, ""),
        ({"rules_off": (RuleOff(rule="cloudy", reason=" "),)}, "rules_off.cloudy"),
        ({"rules_off": (RuleOff(rule="cloudy", reason="x" * 2000),)}, ""),
        ({"rules_off": (RuleOff(rule="cloudy", reason="x" * 2001),)}, "rules_off.cloudy"),
        ({"rules_off": (RuleOff(rule="cloudy", reason="x"),) * 2}, "rules_off.cloudy"),
        ({"rules_off": (RuleOff(rule="hold", reason="x"),)}, "rules_off.hold"),
        ({"rules_off": (RuleOff(rule="", reason=""),)}, "rules_off.0"),
    ],
)
def test_what_a_line_may_say_of_itself(changes: dict[str, object], path: str) -> None:
    assert wrong(replace(ONE, **changes)) == ({path} if path else NEITHER)


def person(initials: str, name: str = "Somebody", role: Role = Role.SUPERVISOR) -> Person:
    return Person(initials=initials, name=name, role=role)


@pytest.mark.parametrize(
    ("people", "paths"),
    [
        ((person("ABCD"),), NEITHER),
        ((person("ABCDE"),), {"people.0.initials"}),
        ((person("A1"),), {"people.0.initials"}),
        ((person(""),), {"people.0.initials"}),
        ((person("AB"), person("ab")), {"people.1.initials"}),
        ((person("AB", " "),), {"people.0.name"}),
        ((person("AB", role=Role.MANAGER),), {"people"}),
        ((), {"people"}),
    ],
)
def test_who_may_be_in_a_set_up(people: tuple[Person, ...], paths: set[str]) -> None:
    assert wrong(replace(ONE, people=people)) == paths


@pytest.mark.parametrize(
    ("setup", "paths"),
    [
        (ONE, NEITHER),
        (replace(ONE, measures=()), {"measures"}),
        (replace(ONE, site=" "), {"site"}),
        (replace(ONE, location=""), {"location"}),
        (with_product(use_by=TODAY), NEITHER),
        (with_product(use_by=TODAY - timedelta(days=1)), {"sanitizers.0.use_by"}),
        (with_product(made_on=TODAY, opened_on=TODAY), NEITHER),
        (with_product(made_on=TODAY + timedelta(days=1)), {"sanitizers.0.made_on"}),
        (with_product(opened_on=TODAY + timedelta(days=1)), {"sanitizers.0.opened_on"}),
        (
            replace(ONE, acids=(replace(ONE.acids[0], use_by=TODAY - timedelta(days=1)),)),
            {"acids.0.use_by"},
        ),
        (with_tank(contact_s=60.0), NEITHER),
        (with_tank(contact_s=59.0), {"tanks.0.contact_s"}),
        (with_tank(contact_s=59.0, stage=Stage.RINSE), NEITHER),
        (with_tank(chlorine=replace(CHLORINE, label_max_mg_l=200.0)), NEITHER),
        (
            with_tank(chlorine=replace(CHLORINE, label_max_mg_l=200.1)),
            {"tanks.0.chlorine.label_max_mg_l"},
        ),
        (replace(ONE, learned_since=TODAY), NEITHER),
        (replace(ONE, learned_since=TODAY + timedelta(days=1)), {"learned_since"}),
        (replace(ONE, meter_checked_on=TODAY), NEITHER),
        (replace(ONE, meter_checked_on=TODAY + timedelta(days=1)), {"meter_checked_on"}),
        (replace(ONE, strips_use_by=TODAY), NEITHER),
        (replace(ONE, strips_use_by=TODAY - timedelta(days=1)), {"strips_use_by"}),
        (
            replace(ONE, instruments_unfit=(Unfit(instrument="x", since=date(2026, 5, 1)),)),
            {"instruments_unfit.0"},
        ),
    ],
)
def test_what_a_careful_colleague_would_mention(setup: LineSetup, paths: set[str]) -> None:
    assert asked(setup) == paths


@pytest.mark.parametrize(
    ("target", "product", "paths"),
    [
        # 21 CFR 173.315(a)(5): 80 ppm of the acid, 59 of peroxide, 4.8 of HEDP.
        (59.0, {"peroxide_pct": 15.0, "hedp_pct": 0.0}, NEITHER),
        (59.1, {"peroxide_pct": 15.0, "hedp_pct": 0.0}, {"target_mg_l"}),
        (60.0, {"peroxide_pct": 10.0, "hedp_pct": 1.2}, NEITHER),
        (60.1, {"peroxide_pct": 10.0, "hedp_pct": 1.2}, {"target_mg_l"}),
    ],
)
def test_a_target_keeps_the_law_for_what_comes_with_the_acid(
    target: float, product: dict[str, float], paths: set[str]
) -> None:
    setup = replace(a_peracetic_setup(**product), measures=METRIC_SET)
    limits = setup.tanks[0].peracetic
    assert limits is not None
    tank = replace(setup.tanks[0], peracetic=replace(limits, target_mg_l=target))
    found = asked(replace(setup, tanks=(tank,)))
    assert found == {f"tanks.0.peracetic.{name}" for name in paths}


@pytest.mark.parametrize(("high", "paths"), [(80.0, NEITHER), (80.1, {"high_mg_l"})])
def test_the_operating_high_keeps_the_law_for_the_acid(high: float, paths: set[str]) -> None:
    setup = replace(a_peracetic_setup(), measures=METRIC_SET)
    limits = setup.tanks[0].peracetic
    assert limits is not None
    tank = replace(setup.tanks[0], peracetic=replace(limits, high_mg_l=high, label_max_mg_l=100.0))
    found = asked(replace(setup, tanks=(tank,)))
    assert found == {f"tanks.0.peracetic.{name}" for name in paths}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({}, ""),
        ({"strength": None}, "strength"),
        ({"density_kg_l": None}, "density_kg_l"),
        ({"peroxide_pct": None}, "peroxide_pct"),
        ({"hedp_pct": None}, ""),
        ({"density_kg_l": 9.0}, "density_kg_l"),
        ({"strength": 0.0}, "strength"),
        ({"hedp_pct": 101.0}, "strength"),
        ({"basis": StrengthBasis.TRADE_PCT}, ""),
    ],
)
def test_what_a_container_of_peracetic_acid_must_say(
    changes: dict[str, object], field: str
) -> None:
    setup = a_peracetic_setup()
    changed = replace(setup, sanitizers=(replace(setup.sanitizers[0], **changes),))
    assert wrong(changed) == ({f"sanitizers.0.{field}"} if field else NEITHER)


def test_a_tank_and_its_product_are_of_one_kind() -> None:
    setup = a_peracetic_setup()
    both = replace(ONE, sanitizers=(*ONE.sanitizers, *setup.sanitizers))
    assert wrong(replace(both, tanks=(*ONE.tanks, replace(setup.tanks[0], number=2)))) == NEITHER
    swapped = replace(both, tanks=(replace(ONE.tanks[0], sanitizer="paa"),))
    assert wrong(swapped) == {"tanks.0.sanitizer"}
    other = replace(both, tanks=(replace(setup.tanks[0], sanitizer="bleach"),))
    assert wrong(other) == {"tanks.0.sanitizer"}
    with_acid = replace(both, tanks=(replace(setup.tanks[0], acid="vinegar"),))
    assert wrong(with_acid) == {"tanks.0.acid"}
