"""The calculator's jobs without a window, each against a published number where there is one."""

import math
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.line.calculated import BY_KEY, METRIC, TRADE, faults, outcome, result
from tests.shed import Shed, a_peracetic_setup, a_setup
from washmon.chemistry.ageing import Stay, present_strength_g_l
from washmon.chemistry.measures import US_SET
from washmon.line.calculations import CALCULATIONS
from washmon.line.calculations.asking import Circumstances, Field, Unready
from washmon.line.calculations.fields import LEVEL, METHOD, PH
from washmon.line.calculations.latest import latest
from washmon.line.calculations.result import Result
from washmon.line.flags import Caution
from washmon.line.message import say
from washmon.units import Kind, UnitSystem


def number(key: str, name: str, texts: dict[str, str]) -> float:
    value = result(key, texts).data[name]
    assert isinstance(value, float)
    return value


def test_a_packing_line_takes_the_calcium_hypochlorite_of_the_mass_balance() -> None:
    # Ritenour, Sargent, Bartz, UF/IFAS CH160: 65 % products, 100 to 150 ppm. 400 US gal to
    # 120 ppm are 1514 L × 120 ÷ 650 = 279.5 g.
    texts = {"volume": "400 gal", "from": "0", "to": "120", "strength": "65", "solid": "yes"}
    assert number("dose", "amount", texts) == pytest.approx(279.5, rel=1e-3)
    assert "Dissolve it" in say(result("dose", texts).notes[0], UnitSystem.METRIC)


def test_a_re_dose_says_the_amount_its_range_and_both_cautions() -> None:
    # White, Handbook of Chlorination (1972), mass balance: 600 L × 45 ÷ 125 = 216 mL.
    texts = {"volume": "600", "from": "55", "to": "100", **TRADE}
    found = result("dose", texts)
    assert found.data["amount"] == pytest.approx(216, rel=2e-3)
    assert say(found.headline, UnitSystem.METRIC) == "Add 220\N{NO-BREAK SPACE}mL"
    brought = next(line.value for line in found.lines if line.label == "Brings it to")
    # 220 mL bring 45.8 ppm, 11.2 % of it and 10 % of the reading unsure: 101 ± 7.5.
    assert (
        say(brought, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")
        == "101 ppm (93 ppm to 108 ppm)"
    )
    assert found.cautions == (Caution.HYPOCHLORITE, Caution.LABEL)


def test_a_strip_makes_the_range_wider_than_a_meter() -> None:
    texts = {"volume": "600", "from": "50", "to": "100", **TRADE}
    widths = []
    for method in ("strip", "kit", "meter"):
        data = result("dose", {**texts, "method": method}).data
        low, high = data["level_after_low_mg_l"], data["level_after_high_mg_l"]
        assert isinstance(low, float)
        assert isinstance(high, float)
        widths.append(high - low)
    assert widths == sorted(widths, reverse=True)


def test_bleach_lifts_the_ph_and_acid_brings_it_back_as_phreeqc_says() -> None:
    # PHREEQC (phreeqc.dat with HOCl of Morris 1966 added): alkalinity 100, pH 7.8, 20 °C, 100 ppm
    # of bleach take 1.53 mmol/L of acid to pH 7.0: 15.3 mL of 31.45 % to 100 L.
    water = {"volume": "100", "alkalinity": "100", "source-ph": "7.8", "temperature": "20"}
    lifted = number("dose", "ph_after", {**water, "from": "0", "to": "100", "ph": "7.8", **TRADE})
    assert 8.3 < lifted < 9.0
    acid = {**water, "ph": f"{lifted:.3f}", "chlorine": "100", "kind": "hydrochloric"}
    assert number("acid", "whole", acid) == pytest.approx(15.3, rel=0.03)


def test_a_fluid_ounce_in_a_gallon_rises_as_the_health_department_prints_it() -> None:
    # Kansas Dept. of Health & Environment, hypochlorite dosing page: 410 mg/L of 5.25 %, taken as
    # grams in 100 mL.
    texts = {
        "volume": "1 gal",
        "from": "0",
        "amount": "1 fl oz",
        "strength": "5.25",
        "basis": "trade_pct",
    }
    assert number("rise", "rise_mg_l", texts) == pytest.approx(410, rel=0.01)


def test_the_four_ways_to_write_a_strength_agree_with_the_handbook() -> None:
    # White, Handbook of Chlorination (1972): trade % = G ÷ 10; wt % NaOCl = 1.05 G ÷ (10 SG).
    texts = {"strength": "12.5", "basis": "weight_pct_naocl", "density": "1.2"}
    data = result("strength", texts).data
    assert data["trade_pct"] == pytest.approx(14.29, abs=0.01)
    assert data["weight_pct_available_chlorine"] == pytest.approx(11.9, abs=0.01)
    assert data["g_per_l_available_chlorine"] == pytest.approx(142.9, abs=0.1)
    note = say(result("strength", texts).notes[0], UnitSystem.METRIC)
    assert note.startswith("Taken for a trade percent it would be 125.0")


def test_a_month_in_a_warm_shed_leaves_what_the_decay_equation_says() -> None:
    # Adam & Gordon (1999), Inorg. Chem. 38:1299, by hand: 125 g/L at 30 °C, 76 % after 30 days.
    texts = {"made": "2026-04-07", "storage-temperature": "30", **TRADE}
    assert number("container", "share_of_label", texts) == pytest.approx(0.76, abs=0.01)
    (how,) = result("container", texts).how
    assert say(how, UnitSystem.METRIC).startswith("30 days at 30")
    assert result("container", texts).data["weak"] is True  # under 80 %: one threshold for all


def test_the_half_life_of_an_aged_container_goes_by_the_salt_it_began_with() -> None:
    """`calc container` told 109 days where it is 74."""
    texts = {"made": "2026-02-06", "storage-temperature": "30", **TRADE}
    found = result("container", texts)
    told = next(line.value for line in found.lines if line.label == "Half of that is left after")
    left = float(str(found.data["present_g_l"]))
    days = float(str(told.values["days"]))
    later = present_strength_g_l(125.0, [Stay(90.0 + days, 30.0)])
    assert later == pytest.approx(left / 2, rel=0.01)


US = Circumstances(UnitSystem.US, US_SET, date(2026, 5, 7))


@given(
    volume=st.floats(10, 2000), target=st.floats(5, 150), over=st.floats(1.0, 1.6), us=st.booleans()
)
@settings(max_examples=60)
def test_a_dose_keeps_its_label_at_the_upper_end(
    volume: float,
    target: float,
    over: float,
    us: bool,  # noqa: FBT001 - hypothesis fills it in
) -> None:
    most = target * over
    texts = {"volume": f"{volume} L", "from": "0", "to": f"{target}", "most": f"{most}", **TRADE}
    found = CALCULATIONS[0].work_out(texts, US if us else METRIC)
    assert isinstance(found, Result)
    assert float(str(found.data["level_after_high_mg_l"])) <= most + 0.01


@given(volume=st.floats(10, 2000), target=st.floats(40, 80), us=st.booleans())
@settings(max_examples=60)
def test_peracetic_acid_keeps_the_law_at_the_upper_end(
    volume: float,
    target: float,
    us: bool,  # noqa: FBT001 - hypothesis fills it in
) -> None:
    peracetic = next(one for one in CALCULATIONS if one.key == "peracetic")
    texts = {"volume": f"{volume} L", "from": "0", "to": f"{target}", "paa": "15"}
    found = peracetic.work_out({**texts, "peroxide": "10"}, US if us else METRIC)
    assert isinstance(found, Result)
    assert float(str(found.data["level_after_high_mg_l"])) <= 80.01


@given(volume=st.floats(10, 2000), alkalinity=st.one_of(st.none(), st.floats(20, 300)))
@settings(max_examples=60)
def test_acid_is_never_measured_up(volume: float, alkalinity: float | None) -> None:
    acid = next(one for one in CALCULATIONS if one.key == "acid")
    texts = {"volume": f"{volume} L", "ph": "8.4", "chlorine": "50"}
    if alkalinity is not None:
        texts["alkalinity"] = f"{alkalinity}"
    found = acid.work_out(texts, US)
    assert isinstance(found, Result)
    assert float(str(found.data["measured_error_pct"])) <= 0.05


def test_a_kit_on_a_diluted_sample_comes_before_the_label() -> None:
    # San Diego State Univ. EHS, chlorine residual methods: 2 mL made up to 50 mL counts 25 times.
    texts = {"reading": "3200", "sample": "2", "total": "50", "made": "2026-04-07", **TRADE}
    found = result("container", texts)
    assert found.data["present_g_l"] == found.data["tested_g_l"] == 80.0
    assert found.data["weak"] is True
    assert found.carry["strength"] == 80.0


def test_a_container_of_unknown_age_is_to_be_tested() -> None:
    assert "test it with a kit" in faults("container", TRADE)["made"]
    assert "after the day" in faults("container", {"made": "2026-06-01", **TRADE})["made"]


@pytest.mark.parametrize(
    ("ph", "celsius", "percent"), [("6.5", "10", 93.9), ("7.0", "0", 87.0), ("7.5", "25", 52.1)]
)
def test_the_active_share_is_that_of_morris(ph: str, celsius: str, percent: float) -> None:
    # Morris (1966), J. Phys. Chem. 70:3798, as the handbook tables have it.
    share = number("active", "active_share", {"chlorine": "100", "ph": ph, "temperature": celsius})
    assert 100 * share == pytest.approx(percent, abs=0.1)


def test_the_gas_caution_comes_from_the_computed_gas() -> None:
    # OSHA Chemical Sampling Information: 1 ppm may not be passed, NIOSH recommends 0.5.
    salty = {"chlorine": "150", "temperature": "25", "chloride": "1000"}
    assert number("active", "cl2_in_air_ppm", {**salty, "ph": "6.0"}) > 1.0
    assert result("active", {**salty, "ph": "6.0"}).cautions == (Caution.GAS,)
    fresh = {"chlorine": "20", "temperature": "25", "chloride": "20"}
    assert result("active", {**fresh, "ph": "6.0"}).cautions == ()  # the same pH, hardly any gas


def test_a_step_of_acid_is_half_a_teaspoon_to_a_tub() -> None:
    # Common practice, no published source: half a teaspoon of 5 % vinegar to 5 US gallons.
    texts = {"volume": "5 gal", "ph": "7.9"}
    assert number("acid", "amount", texts) == pytest.approx(4.92892 / 2, rel=1e-3)
    assert result("acid", texts).cautions == (Caution.ACID, Caution.LABEL)


def test_acid_too_little_for_the_smallest_measure_is_never_rounded_up() -> None:
    found = result("acid", {"volume": "5", "ph": "7.9", "kind": "hydrochloric"})
    assert found.data["measured"] == "0.054\N{NO-BREAK SPACE}mL"
    told = say(found.notes[0], UnitSystem.METRIC)
    assert "None of your measures comes near" in told
    assert "Make a dilution first" in told
    assert "never the water into it" in told


@given(
    alkalinity=st.floats(5, 400),
    ph=st.floats(7.6, 9.5),
    chlorine=st.floats(0, 200),
    kind=st.sampled_from([choice.key for choice in BY_KEY["acid"].fields[6].choices]),
)
def test_a_first_part_of_acid_never_goes_under_the_safe_ph(
    alkalinity: float, ph: float, chlorine: float, kind: str
) -> None:
    found = outcome(
        "acid",
        {
            "volume": "500",
            "ph": f"{ph:.3f}",
            "chlorine": f"{chlorine:.2f}",
            "alkalinity": f"{alkalinity:.2f}",
            "kind": kind,
        },
    )
    assert isinstance(found, Result)
    lowest, first, whole = (
        found.data[name] for name in ("lowest_ph_after_first", "amount", "whole")
    )
    assert isinstance(lowest, float)
    assert lowest >= 6.19
    assert isinstance(first, float)
    assert isinstance(whole, float)
    assert 0 < first <= whole / 2 + 0.001


def test_alkalinity_that_was_told_is_found_again_and_carried_on() -> None:
    water = {"volume": "500", "temperature": "20"}
    told = {**water, "ph": "8.2", "chlorine": "50", "alkalinity": "150"}
    plan = result("acid", told).data
    asked = {
        **water,
        "chlorine": "50",
        "ph-before": "8.2",
        "ph-after": f"{plan['ph_after_first']}",
        "amount": f"{plan['amount']}",
    }
    found = result("alkalinity", asked)
    assert found.data["alkalinity_mg_l"] == pytest.approx(150, rel=0.06)
    assert set(found.carry) <= {field.key for field in BY_KEY["acid"].fields}


def test_half_the_water_halves_the_level() -> None:
    # Dilution of a stirred tank: an overflow of ln 2 volumes halves it too.
    found = result("lower", {"volume": "500", "from": "120", "to": "60"})
    data = found.data
    assert "(50 %)" in say(found.headline, UnitSystem.METRIC)
    assert data["drain_l"] == pytest.approx(250)
    assert data["overflow_l"] == pytest.approx(500 * math.log(2), abs=0.01)


def test_bisulfite_takes_out_chlorine_by_the_field_table() -> None:
    # AWWA, guide to the disinfection of water mains, table 7-2: 1.61 g to the g at pH 7.
    texts = {"volume": "1000", "total": "100", "agent": "sodium_bisulfite"}
    found = result("neutralise", texts)
    assert found.data["amount"] == pytest.approx(161, abs=0.5)
    assert found.cautions == (Caution.DISCHARGE,)


def test_peracetic_acid_can_keep_its_limit_and_break_that_of_peroxide() -> None:
    # 21 CFR 173.315(a)(5): 80 ppm of PAA, 59 of peroxide, 4.8 of HEDP.
    texts = {
        "volume": "1000",
        "from": "0",
        "to": "60",
        "paa": "15",
        "peroxide": "22",
        "density": "1.15",
    }
    found = result("peracetic", texts)
    assert found.data["amount"] == pytest.approx(347.8, rel=1e-3)  # V Δ ÷ (10 % SG)
    assert found.data["over_limits"] == "peroxide"
    assert found.data["highest_paa_mg_l"] == pytest.approx(59 * 15 / 22, abs=0.01)
    assert [line.label for line in found.lines if line.notable] == ["Hydrogen peroxide"]
    lines = {line.label: say(line.value, UnitSystem.METRIC) for line in found.lines}
    assert lines["Worked out"].startswith("348")
    assert lines["Most PAA of a fresh fill"] == "40\N{NO-BREAK SPACE}ppm"
    assert lines["Brings it to"].startswith("60\N{NO-BREAK SPACE}ppm (")


def test_peroxide_that_was_there_counts_with_what_the_dose_brings() -> None:
    texts = {"volume": "1000", "from": "30", "to": "60", "paa": "15", "peroxide": "10"}
    assert number("peracetic", "peroxide_mg_l", texts) == pytest.approx(40.0, rel=0.01)
    assert number("peracetic", "peroxide_mg_l", {**texts, "peroxide-now": "45"}) == pytest.approx(
        65.0, rel=0.01
    )


def test_the_active_share_is_compared_over_the_ph_of_washing() -> None:
    # 1 / (1 + 10^(pH - pKa)), pKa 7.58 at 20 °C: Morris (1966).
    found = result("active", {"chlorine": "50", "ph": "7", "temperature": "20"})
    (told,) = (line.value for line in found.lines if line.label == "Active at pH")
    words = say(told, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")
    assert words == "6.5: 92 %  7.0: 79 %  7.5: 55 %  8.0: 28 %"
    lines = {line.label: say(line.value, UnitSystem.METRIC) for line in found.lines}
    assert lines["Hypochlorous acid, HOCl"].startswith("40")  # of 50 ppm, 79.2 and 20.8 %
    assert lines["Hypochlorite, OCl⁻"].startswith("10")
    assert found.data["ocl_mg_l"] == pytest.approx(50 * 0.208, rel=0.01)


def test_exposure_is_level_times_minutes_and_its_active_part() -> None:
    # Morris (1966): 79.2 % is HOCl at pH 7.0 and 20 °C.
    data = result("exposure", {"chlorine": "50", "contact": "90", "ph": "7"}).data
    assert data["ct_mg_min_l"] == 75.0
    assert data["hocl_ct_mg_min_l"] == pytest.approx(75 * 0.792, rel=1e-3)
    falling = result("exposure", {"chlorine": "50", "end": "30", "contact": "60", "ph": "7"}).data
    assert falling["ct_mg_min_l"] == 40.0


@pytest.mark.parametrize(
    ("key", "texts", "field", "words"),
    [
        ("dose", {"volume": "0"}, "volume", "no water"),
        ("dose", {"volume": "5 kg"}, "volume", "a volume is needed"),
        ("dose", {"volume": "500", "from": "60", "to": "50", **TRADE}, "to", "do not dose"),
        ("dose", {"strength": "500"}, "strength", "between"),
        ("dose", {"basis": "guess"}, "basis", "choose one of"),
        ("acid", {"volume": "500", "ph": "7.2"}, "ph", "add no acid"),
        ("acid", {"volume": "500", "ph": "8", "to": "5"}, "to", "between 6 and 9"),
        ("acid", {"volume": "500", "ph": "8", "kind": "carbon_dioxide"}, "alkalinity", "enter"),
        ("lower", {"volume": "500", "from": "50", "to": "60"}, "to", "not above"),
        ("container", {"made": "yesterday"}, "made", "no date"),
        ("peracetic", {"paa": "150"}, "paa", "between 0 and 100"),
    ],
)
def test_what_can_not_be_is_refused_beside_its_field(
    key: str, texts: dict[str, str], field: str, words: str
) -> None:
    assert words in faults(key, texts)[field]


@pytest.mark.parametrize("calculation", CALCULATIONS, ids=lambda each: each.key)
def test_an_empty_form_is_not_scolded(calculation: object) -> None:
    key = next(each.key for each in CALCULATIONS if each is calculation)
    found = outcome(key, {})
    assert isinstance(found, Unready)
    assert not found.faults
    assert found.missing


def test_one_question_in_the_same_words_means_the_same_in_each_calculation() -> None:
    seen: dict[tuple[str, str], Field] = {}
    for calculation in CALCULATIONS:
        for field in calculation.fields:
            first = seen.setdefault(field.topic, field)
            assert (field.kind, field.choices, field.check) == (
                first.kind,
                first.choices,
                first.check,
            ), field.topic


def test_the_set_up_answers_only_what_is_asked_and_never_a_reading() -> None:
    setup = a_setup()
    for calculation in CALCULATIONS:
        known = calculation.known(setup, setup.tanks[0])
        keys = {field.key for field in calculation.fields}
        assert set(known) <= keys | {"solid"}
        assert not set(known) & {"from", "ph", "chlorine", "ph-before"}


_NUMBERS = st.sampled_from(["0", "0.001", "1", "7", "7.5", "20", "100", "5000", "1e9", "-3", "x"])


def _texts(field: Field) -> st.SearchStrategy[str]:
    if field.choices:
        return st.sampled_from([choice.key for choice in field.choices])
    if field.kind is None:
        return st.sampled_from(["", "2026-01-01", "1990-01-01", "2031-01-01", "31.12."])
    if field.kind is Kind.PH:
        return st.floats(0, 14).map(lambda value: f"{value:.2f}")
    return st.one_of(_NUMBERS, st.floats(0.01, 1000).map(lambda value: f"{value:.3f}"))


@given(st.data())
def test_whatever_is_written_gives_a_plain_amount_or_a_sentence(data: st.DataObject) -> None:
    calculation = data.draw(st.sampled_from(CALCULATIONS))
    texts = {field.key: data.draw(_texts(field)) for field in calculation.fields}
    who = data.draw(
        st.sampled_from([METRIC, Circumstances(UnitSystem.US, US_SET, METRIC.today, ",")])
    )
    found = calculation.work_out(texts, who)
    if isinstance(found, Unready):
        for sentence in found.faults.values():
            assert say(sentence, who.taste).endswith((".", "?"))
        return
    for value in found.data.values():
        if isinstance(value, float) and not isinstance(value, bool):
            assert math.isfinite(value)
            assert value >= 0 or value == found.data.get("measured_error_pct")
    for message in (found.headline, *found.how, *found.notes):
        assert "{" not in say(message, who.taste, decimal_point=who.decimal_point)


def test_no_dose_is_worked_out_for_a_tank_whose_level_nobody_told() -> None:
    for key in ("dose", "rise", "peracetic"):
        found = outcome(key, {"volume": "600", "to": "100", "amount": "1", **TRADE})
        assert isinstance(found, Unready)
        assert "from" in [field.key for field in found.missing]


def test_a_target_over_the_usual_label_maximum_is_remarked() -> None:
    # 21 CFR 178.1010 and many labels stop at 200 mg/L (value from memory).
    notes = {
        target: [say(note, UnitSystem.METRIC) for note in result("dose", texts).notes]
        for target in ("200", "900")
        for texts in ({"volume": "600", "from": "0", "to": target, **TRADE},)
    }
    assert any("label" in note for note in notes["900"])
    assert not any("label" in note for note in notes["200"])


def test_a_tank_is_known_by_its_last_reading_until_something_is_added() -> None:
    shed = Shed()
    shed.fill()
    assert latest(shed.shift, 1) == {}
    shed.wait(2).read(fac=31.0, ph=7.1)
    known = latest(shed.shift, 1)
    assert known[LEVEL.topic] == 31.0
    assert known[PH.topic] == 7.1
    assert known[METHOD.topic] == "kit"
    assert latest(shed.shift, 2) == latest(None, 1) == {}
    shed.wait(2).dose()
    assert latest(shed.shift, 1) == {}
    shed.wait(5).read(fac=52.0)
    assert latest(shed.shift, 1)[LEVEL.topic] == 52.0
    assert PH.topic not in latest(shed.shift, 1)


def test_what_is_worked_out_of_chlorine_is_not_offered_at_a_tank_of_peracetic_acid() -> None:
    (flume,) = a_peracetic_setup().tanks
    (dunk, _) = a_setup().tanks
    about = {
        one.key: (one.is_about(dunk), one.is_about(flume))
        for one in CALCULATIONS
        if one.key in {"active", "dose", "peracetic"}
    }
    assert about == {"active": (True, False), "dose": (True, False), "peracetic": (True, True)}


WATER = {"volume": "500", "ph": "8.4", "chlorine": "50"}
RESPONSE = {"ph-before": "8.0", "ph-after": "7.5", "amount": "150"}
PRACTICE = "common practice, no published source"


@pytest.mark.parametrize(
    ("key", "texts", "cited"),
    [
        ("dose", {"from": "10", "to": "50", **TRADE}, ("White", "4500-Cl", PRACTICE)),
        ("rise", {"from": "10", "amount": "100", **TRADE}, ("White", PRACTICE)),
        ("strength", TRADE, ("White",)),
        ("container", {"made": "2026-04-07", **TRADE}, ("Adam & Gordon", PRACTICE)),
        ("active", {}, ("Morris", "ECHA", "Sander", "OSHA")),
        ("acid", {"alkalinity": "100"}, ("Stumm & Morgan", "Morris", PRACTICE)),
        ("acid", {}, (PRACTICE, "Thomas")),
        ("alkalinity", RESPONSE, ("Stumm & Morgan", PRACTICE)),
        ("lower", {"from": "100", "to": "50"}, ("stirred tank",)),
        ("neutralise", {"total": "100"}, ("AWWA",)),
        (
            "peracetic",
            {"from": "0", "to": "50", "paa": "15", "peroxide": "10"},
            ("21 CFR 173.315", "value from memory"),
        ),
        ("exposure", {"contact": "60"}, ("Morris",)),
    ],
)
def test_an_amount_cites_where_it_comes_from(
    key: str, texts: dict[str, str], cited: tuple[str, ...]
) -> None:
    asked = {field.key for field in BY_KEY[key].fields}
    known = {name: text for name, text in WATER.items() if name in asked and key != "peracetic"}
    volume = {"volume": "500"} if "volume" in asked else {}
    sources = result(key, {**volume, **known, **texts}).sources
    assert len(sources) == len(cited)
    for source, words in zip(sources, cited, strict=True):
        assert words in source
