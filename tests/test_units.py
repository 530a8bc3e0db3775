"""Amounts as people write them."""

import math
import subprocess
import sys

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.some import some
from washmon.units import (
    FAMILIES,
    KINDS,
    SPELLINGS,
    Kind,
    UnitError,
    UnitSystem,
    parse,
    registry,
    scale,
    show,
)
from washmon.units import symbol as symbol_of

METRIC, US = UnitSystem.METRIC, UnitSystem.US
POINTS = st.sampled_from([".", ","])


@pytest.mark.parametrize(
    ("text", "kind", "taste", "base"),
    [
        ("2.3 tsp", Kind.SMALL_VOLUME, US, 2.3 * 4.92892159375),
        ("150 gal", Kind.VOLUME, METRIC, 567.811767600),
        ("570 L", Kind.VOLUME, US, 570),
        ("1/2 cup", Kind.SMALL_VOLUME, US, 118.29411825),
        ("1 1/2 tsp", Kind.SMALL_VOLUME, METRIC, 7.393382390625),
        ("1-1/2 tsp", Kind.SMALL_VOLUME, METRIC, 7.393382390625),
        ("2¼ tsp", Kind.SMALL_VOLUME, US, 2.25 * 4.92892159375),
        ("¾ cup", Kind.SMALL_VOLUME, US, 177.441177375),
        ("2 cdtas", Kind.SMALL_VOLUME, METRIC, 9.8578431875),
        ("48 °F", Kind.TEMPERATURE, METRIC, 80 / 9),
        ("48", Kind.TEMPERATURE, US, 80 / 9),
        ("48", Kind.TEMPERATURE, METRIC, 48),
        ("-2 c", Kind.TEMPERATURE, US, -2),
        ("\N{MINUS SIGN}2", Kind.TEMPERATURE, METRIC, -2),
        ("10 °F", Kind.TEMPERATURE_DIFFERENCE, METRIC, 50 / 9),
        ("10", Kind.TEMPERATURE_DIFFERENCE, US, 50 / 9),
        (" 24 in ", Kind.LENGTH, METRIC, 60.96),
        ('24"', Kind.LENGTH, METRIC, 60.96),
        ("2 ft", Kind.LENGTH, US, 60.96),
        ("1.2 m³", Kind.VOLUME, METRIC, 1200),
        ("1200cm3", Kind.VOLUME, METRIC, 1.2),
        ("22 lbs", Kind.PRODUCE_MASS, METRIC, 9.97903214),
        ("2 oz", Kind.MASS, METRIC, 56.69904625),
        ("2 fl oz", Kind.SMALL_VOLUME, METRIC, 59.147059125),
        ("50", Kind.CONCENTRATION, US, 50),
        ("50 mg/L", Kind.CONCENTRATION, US, 50),
        (".5 ppm", Kind.CONCENTRATION, US, 0.5),
        ("1 h", Kind.TIME, METRIC, 60),
        ("1 1/2 min", Kind.CONTACT_TIME, METRIC, 90),
        ("7.2", Kind.PH, METRIC, 7.2),
        ("-120 mV", Kind.POTENTIAL, METRIC, -120),
        ("8.25 %", Kind.PERCENT, US, 8.25),
        ("125 g/L", Kind.STRENGTH, US, 125),
        ("10 lb/gal", Kind.DENSITY, METRIC, 1.1982642731),
        ("12", Kind.COUNT, METRIC, 12),
    ],
)
def test_what_people_write_is_read(text: str, kind: Kind, taste: UnitSystem, base: float) -> None:
    assert parse(text, kind, taste) == pytest.approx(base, rel=1e-9)


def test_a_decimal_comma_is_read_as_the_locale_writes_it_and_never_as_thousands() -> None:
    assert parse("1,5 L", Kind.VOLUME, METRIC, ",") == 1.5
    assert parse("1,500 L", Kind.VOLUME, METRIC, ",") == 1.5
    with pytest.raises(UnitError, match=r"as in 1\.5"):
        parse("1,500 L", Kind.VOLUME, METRIC)
    with pytest.raises(UnitError, match="as in 1,5"):
        parse("1.5 L", Kind.VOLUME, METRIC, ",")
    with pytest.raises(UnitError, match=r"Write 1,500,000 without a mark for thousands"):
        parse("1,500,000 L", Kind.VOLUME, METRIC)


@pytest.mark.parametrize(
    ("text", "kind", "sentence"),
    [
        (
            "150 gal",
            Kind.TEMPERATURE,
            "150 gal is a volume; a temperature is needed here, such as 50 °F.",
        ),
        ("2 oz", Kind.SMALL_VOLUME, "2 oz is a weight; a volume is needed here, such as 4 fl oz."),
        ("", Kind.VOLUME, "Nothing is written here: write a volume, such as 220 gal."),
        (
            "nan",
            Kind.CONCENTRATION,
            "nan cannot be read as a concentration: write a number and its unit, such as 65 ppm.",
        ),
        (
            "12 parsecs",
            Kind.LENGTH,
            "The unit parsecs is not known here: write a length, such as 24 in.",
        ),
        ("-5 gal", Kind.VOLUME, "-5 gal is less than nothing: write an amount above 0."),
        ("1/0 cup", Kind.VOLUME, "1/0 cup divides by 0: write another fraction."),
        (
            "1e400",
            Kind.VOLUME,
            "1e400 cannot be read as a volume: write a number and its unit, such as 220 gal.",
        ),
        ("9" * 30, Kind.VOLUME, f"{'9' * 30} is far too large: check the number."),
        (
            "9" * 400,
            Kind.VOLUME,
            "That is too long for an amount: write only a number and its unit, such as 220 gal.",
        ),
        ("2.5", Kind.COUNT, "A whole number is needed here, such as 12."),
    ],
)
def test_a_text_that_is_no_amount_gets_one_sentence(text: str, kind: Kind, sentence: str) -> None:
    with pytest.raises(UnitError) as refusal:
        parse(text, kind, US)
    assert str(refusal.value) == sentence
    assert refusal.value.template.format(**refusal.value.values) == sentence


@given(st.text(max_size=30), st.sampled_from(Kind), st.sampled_from(UnitSystem), POINTS)
def test_any_text_is_an_amount_or_a_sentence(
    text: str, kind: Kind, taste: UnitSystem, point: str
) -> None:
    sentence, base = ".", 0.0
    try:
        base = parse(text, kind, taste, point)
    except UnitError as refusal:
        sentence = str(refusal)
    assert sentence.endswith(".")
    assert math.isfinite(base)


@pytest.mark.parametrize("text", ["2**9 L", "__import__('os')", "L", "5 L + 2", "5 L 2 mL", "٣ L"])
def test_a_formula_is_not_run(text: str) -> None:
    with pytest.raises(UnitError):
        parse(text, Kind.VOLUME, METRIC)


@pytest.mark.parametrize(
    ("value", "kind", "taste", "text"),
    [
        (570, Kind.VOLUME, METRIC, "570 L"),
        (567.811767, Kind.VOLUME, US, "150 gal"),
        (18.92705892, Kind.VOLUME, US, "5 gal"),
        (9, Kind.TEMPERATURE, METRIC, "9 °C"),
        (80 / 9, Kind.TEMPERATURE, US, "48 °F"),
        (-2, Kind.TEMPERATURE, METRIC, "\N{MINUS SIGN}2 °C"),
        (-0.01, Kind.TEMPERATURE, METRIC, "0 °C"),
        (50 / 9, Kind.TEMPERATURE_DIFFERENCE, US, "10 °F"),
        (48.3, Kind.CONCENTRATION, US, "48 ppm"),
        (2.46, Kind.CONCENTRATION, US, "2.5 ppm"),
        (7.1, Kind.PH, US, "7.1"),
        (7, Kind.PH, US, "7.0"),
        (7.15, Kind.PH, US, "7.15"),
        (1.2, Kind.DENSITY, US, "1.20 kg/L"),
        (12.5, Kind.PERCENT, US, "12.5 %"),
        (90, Kind.SMALL_VOLUME, METRIC, "90 mL"),
        (60.96, Kind.LENGTH, US, "24 in"),
        (100, Kind.COUNT, US, "100"),
    ],
)
def test_an_amount_is_shown_as_its_trade_rounds_it(
    value: float, kind: Kind, taste: UnitSystem, text: str
) -> None:
    assert show(value, kind, taste).replace("\N{NO-BREAK SPACE}", " ") == text


def test_a_column_can_ask_for_its_decimals_and_leave_the_unit_to_its_head() -> None:
    assert show(7, Kind.PH, METRIC, decimals=2) == "7.00"
    assert show(48.25, Kind.CONCENTRATION, METRIC, ",", decimals=1, with_unit=False) == "48,2"
    assert symbol_of(Kind.CONCENTRATION, METRIC) == "ppm"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_not_shown(value: float) -> None:
    with pytest.raises(UnitError):
        show(value, Kind.PH, METRIC)


@given(
    st.sampled_from(Kind),
    st.sampled_from(UnitSystem),
    POINTS,
    st.floats(0, 1e6, allow_nan=False),
)
def test_what_is_shown_reads_back_within_its_rounding(
    kind: Kind, taste: UnitSystem, point: str, value: float
) -> None:
    facts = KINDS[kind]
    shown = facts.us if taste is US else facts.metric
    if facts.signed:
        value = value / 1000 - 300
    decimals = shown.most + (abs((value - shown.offset) / shown.factor) < shown.fine_below)
    back = parse(show(value, kind, taste, point), kind, taste, point)
    assert abs(back - value) <= 0.5 * 10**-decimals * shown.factor * 1.000001 + 1e-9


@given(st.sampled_from(Kind), st.floats(0, 1e6), POINTS)
def test_a_number_with_its_unit_reads_the_same_to_both_tastes(
    kind: Kind, value: float, point: str
) -> None:
    value = float(round(value)) if kind is Kind.COUNT else value
    text = show(value, kind, METRIC, point, decimals=0 if kind is Kind.COUNT else 9)
    assert parse(text, kind, US, point) == pytest.approx(value, abs=1e-6, rel=1e-9)


def test_the_shown_factors_are_those_of_the_registry() -> None:
    for kind, facts in KINDS.items():
        for shown in (facts.metric, facts.us):
            assert scale(shown.unit, facts.base) == pytest.approx(
                (shown.factor, shown.offset), rel=1e-12, abs=1e-12
            ), kind


def test_the_small_registry_agrees_with_pints_own() -> None:
    theirs: pint.UnitRegistry[float] = pint.UnitRegistry()
    names = {
        "cubic_meter": "meter ** 3",
        "gram_per_liter": "gram / liter",
        "kilogram_per_liter": "kilogram / liter",
        "pound_per_gallon": "pound / gallon",
        "ppm": "milligram / liter",
    }
    ours_alone = {"NTU", "pH"}  # neither is a unit for pint: nothing converts to or from them
    units = {unit.name for unit in SPELLINGS.values()} - ours_alone
    assert len(units) > 25
    for name in units:
        here, there = registry().Quantity(7.25, name), theirs.Quantity(7.25, names.get(name, name))
        assert here.to_base_units().magnitude == pytest.approx(
            there.to(str(here.to_base_units().units)).magnitude, rel=1e-12
        ), name


def test_no_spelling_means_two_units() -> None:
    texts = [
        text
        for lines in FAMILIES.values()
        for line in lines.strip().splitlines()
        for text in line.strip().partition(": ")[2].split()
    ]
    assert len(texts) == len(set(texts))
    assert all(text == text.lower() for text in some(texts))


def test_showing_and_bare_numbers_load_no_registry() -> None:
    code = (
        "import sys; from washmon.units import *; from washmon.units import show, parse\n"
        "show(parse('48', Kind.TEMPERATURE, UnitSystem.US), Kind.TEMPERATURE, UnitSystem.US)\n"
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    ("text", "millilitres"),
    [
        ("1 cup + 2 tbsp", 236.5882365 + 2 * 14.78676478125),
        ("1\N{NO-BREAK SPACE}cup + 1½\N{NO-BREAK SPACE}tsp", 236.5882365 + 1.5 * 4.92892159375),
    ],
)
def test_what_takes_two_measures_is_read_as_their_sum(text: str, millilitres: float) -> None:
    assert parse(text, Kind.SMALL_VOLUME, UnitSystem.US) == pytest.approx(millilitres)


def test_a_sum_is_only_an_amount_of_something() -> None:
    for text, kind in (("7 + 1", Kind.PH), ("1 cup + ", Kind.SMALL_VOLUME)):
        with pytest.raises(UnitError):
            parse(text, kind, UnitSystem.US)
