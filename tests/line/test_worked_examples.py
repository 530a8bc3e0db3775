"""The calculator's whole answers, with every figure of them worked out by hand beside them.

What comes out of a balance of carbonate is held against PHREEQC elsewhere (tests/chemistry); here
it is only looked at how it is told.
"""

import re
from typing import NamedTuple

import pytest

from tests.line.calculated import TRADE, faults, result
from washmon.line.flags import Caution
from washmon.line.message import Message, say
from washmon.units import UnitSystem


class Told(NamedTuple):
    """An answer: its lines as they stand, how its notes begin, and the numbers of how it came."""

    headline: str
    lines: tuple[str, ...]
    """Those marked with ``!`` ask for a second look."""
    notes: tuple[str, ...] = ()
    how: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()


def plain(message: Message) -> str:
    return say(message, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")


def told(key: str, texts: dict[str, str]) -> Told:
    found = result(key, texts)
    return Told(
        plain(found.headline),
        tuple(f"{'!' * one.notable}{one.label}: {plain(one.value)}" for one in found.lines),
        tuple(" ".join(plain(note).split()[:5]) for note in found.notes),
        tuple(" ".join(re.findall(r"\d+(?:\.\d+)?", plain(step))) for step in found.how),
        found.cautions,
    )


DOSED = (Caution.HYPOCHLORITE, Caution.LABEL)
COMPARED = "Active at pH: 6.5: 92 %  7.0: 79 %  7.5: 55 %  8.0: 28 %"
"""1 / (1 + 10^(pH - 7.58)): Morris (1966)."""


@pytest.mark.parametrize(
    ("texts", "answer"),
    [
        # Of 50 ppm at pH 7.0, 79.2 % is HOCl. Cl2 by its hydrolysis constant of about 4e-4, and
        # about 0.1 mol/L of it to the atmosphere over the water; HOCl some 930 mol/L.
        (
            {"chlorine": "50", "ph": "7", "temperature": "20"},
            Told(
                "79 % is active (HOCl)",
                (
                    "Hypochlorous acid, HOCl: 40 ppm",
                    "Hypochlorite, OCl⁻: 10 ppm",
                    "Dissolved gas, Cl₂: 0.000 ppm",
                    "Gas in still air over it, at most: 0.04 ppm",
                    "HOCl vapour in still air, at most: 0.6 ppm",
                    COMPARED,
                ),
                (),
                ("1 1 10 20", "", "1000 255 1125 2012"),
            ),
        ),
        # 27.6 % at pH 8.0: less than half.
        (
            {"chlorine": "50", "ph": "8", "temperature": "20"},
            Told(
                "28 % is active (HOCl)",
                (
                    "Hypochlorous acid, HOCl: 14 ppm",
                    "Hypochlorite, OCl⁻: 36 ppm",
                    "Dissolved gas, Cl₂: 0.000 ppm",
                    "Gas in still air over it, at most: 0.00 ppm",
                    "HOCl vapour in still air, at most: 0.2 ppm",
                    COMPARED,
                ),
                ("Less than half of the",),
                ("1 1 10 20", "", "1000 255 1125 2012"),
            ),
        ),
        # 63 times as sour as at pH 7 is 63 times the gas per HOCl: over OSHA's ceiling of 1 ppm.
        (
            {"chlorine": "100", "ph": "5.2", "temperature": "20", "chloride": "1000"},
            Told(
                "100 % is active (HOCl)",
                (
                    "Hypochlorous acid, HOCl: 99 ppm",
                    "Hypochlorite, OCl⁻: 0.5 ppm",
                    "!Dissolved gas, Cl₂: 0.048 ppm",
                    "!Gas in still air over it, at most: 6.48 ppm",
                    "HOCl vapour in still air, at most: 1.5 ppm",
                    # In salt an ion is worth less, and a little more of the acid gives up its own.
                    "Active at pH: 6.5: 91 %  7.0: 77 %  7.5: 51 %  8.0: 25 %",
                ),
                ("Gas can stand over this",),
                ("1 1 10 20", ""),
                (Caution.GAS,),
            ),
        ),
    ],
)
def test_what_is_active_and_what_is_gas(texts: dict[str, str], answer: Told) -> None:
    assert told("active", texts) == answer


@pytest.mark.parametrize(
    ("texts", "answer"),
    [
        # 600 L x 45 / (125 - 0.1) = 216 mL. A kit is 10 % off at 55; 220 mL bring 45.8, 11.2 % off.
        (
            {"volume": "600", "from": "55", "to": "100", **TRADE},
            Told(
                "Add 220 mL",
                ("Worked out: 216 mL", "Brings it to: 101 ppm (93 ppm to 108 ppm)"),
                (),
                ("125.0", "600 55 100 45", "50 60 5 10"),
                DOSED,
            ),
        ),
        # 160 mL bring 33.3 ppm, 11.2 % off, to a reading 10 % off: 95.0 at the upper end, the most.
        (
            {
                "volume": "600",
                "from": "55",
                "to": "100",
                "most": "95",
                **TRADE,
                "ph": "7.2",
                "alkalinity": "100",
                "temperature": "20",
            },
            Told(
                "Add 160 mL",
                (
                    "Worked out: 216 mL",
                    "Brings it to: 88 ppm (82 ppm to 95 ppm)",
                    "!pH after it: 7.5",
                    "pH once it is used up: 7.2",
                ),
                ("This stops short of the", "The dose lifts the pH"),
                ("125.0", "600 55 100 45", "50 60 5 10"),
                DOSED,
            ),
        ),
        # 1000 L x 250 / 650 g/kg = 385 g, over the 200 ppm of usual labels (value from memory).
        (
            {"volume": "1000", "from": "0", "to": "250", "strength": "65", "solid": "yes"},
            Told(
                "Add 385 g",
                ("Worked out: 385 g", "Brings it to: 250 ppm (222 ppm to 278 ppm)"),
                ("The target is over 200", "Dissolve it in a clean"),
                ("650.0", "1000 0 250 250", "0 0 5 10"),
                DOSED,
            ),
        ),
        # White: 12.5 % NaOCl by weight at 1.20 kg/L is 12.5 x 12 / 1.05 = 142.9 g/L.
        (
            {
                "volume": "600",
                "from": "55",
                "to": "100",
                "strength": "12.5",
                "basis": "weight_pct_naocl",
            },
            Told(
                "Add 190 mL",
                ("Worked out: 189 mL", "Brings it to: 100 ppm (93 ppm to 108 ppm)"),
                (),
                ("142.9 1.20 0.02", "600 55 100 45", "50 60 5 10"),
                DOSED,
            ),
        ),
    ],
)
def test_what_raises_chlorine(texts: dict[str, str], answer: Told) -> None:
    assert told("dose", texts) == answer


@pytest.mark.parametrize(
    ("texts", "answer"),
    [
        # 25 g in 500.2 L are 49.98 ppm, hypot(5, 10) = 11.2 % off.
        (
            {"volume": "500", "from": "10", "amount": "200", **TRADE},
            Told(
                "It raises the water by about 50 ppm",
                ("From: 10 ppm", "To about: 60 ppm (54 ppm to 66 ppm)"),
                (),
                ("125.0", "200 500"),
                DOSED,
            ),
        ),
        # 32.5 g in 500 L.
        (
            {"volume": "500", "from": "10", "amount": "50", "strength": "65", "solid": "yes"},
            Told(
                "It raises the water by about 65 ppm",
                ("From: 10 ppm", "To about: 75 ppm (68 ppm to 82 ppm)"),
                (),
                ("650.0", "50 500"),
                DOSED,
            ),
        ),
        # 625 g in 55 L, less what thins the 10 ppm.
        (
            {"volume": "50", "from": "10", "amount": "5000", **TRADE},
            Told(
                "It raises the water by about 11363 ppm",
                ("From: 10 ppm", "To about: 11373 ppm (10102 ppm to 12643 ppm)"),
                ("This is no wash water",),
                ("125.0", "5000 50"),
                DOSED,
            ),
        ),
    ],
)
def test_what_an_amount_raises(texts: dict[str, str], answer: Told) -> None:
    assert told("rise", texts) == answer


WEAK = "This container is weak: replace"
BEST_CASE = "This is the best case:"


@pytest.mark.parametrize(
    ("texts", "answer"),
    [
        # Adam & Gordon (1999), by hand: 125 g/L at 30 °C, 76 % after 30 days.
        (
            {"made": "2026-04-07", "storage-temperature": "30"},
            Told(
                "It should still hold 94.6 g/L",
                (
                    "On the label: 125.0 g/L",
                    "!Left of it: 76 %",
                    "Had it stood 5 °C warmer: 76.7 g/L",
                    "Half of that is left after: 123 days",
                ),
                (WEAK, BEST_CASE),
                ("30 30",),
            ),
        ),
        # A kit is 5 % off; 80 is 15.4 % less than 94.6, and over 15 % is too far.
        (
            {"made": "2026-04-07", "storage-temperature": "30", "reading": "80"},
            Told(
                "It tests at 80.0 g/L",
                (
                    "On the label: 125.0 g/L",
                    "!Left of it: 64 %",
                    "Kit's range: 76 to 84 g/L",
                    "!By its age alone: 94.6 g/L",
                    "Had it stood 5 °C warmer: 76.7 g/L",
                    "Half of that is left after: 123 days",
                ),
                (WEAK,),
                ("30 30", "1 1000 80 5"),
                (Caution.HYPOCHLORITE,),
            ),
        ),
        # 82 is 13.3 % less than 94.6: near enough.
        (
            {"made": "2026-04-07", "storage-temperature": "30", "reading": "82"},
            Told(
                "It tests at 82.0 g/L",
                (
                    "On the label: 125.0 g/L",
                    "!Left of it: 66 %",
                    "Kit's range: 78 to 86 g/L",
                    "By its age alone: 94.6 g/L",
                    "Had it stood 5 °C warmer: 76.7 g/L",
                    "Half of that is left after: 123 days",
                ),
                (WEAK,),
                ("30 30", "1 1000 82 5"),
                (Caution.HYPOCHLORITE,),
            ),
        ),
        # 100 of 125 is the four fifths from which it is weak under them.
        (
            {"reading": "4000", "sample": "2", "total": "50"},
            Told(
                "It tests at 100.0 g/L",
                ("On the label: 125.0 g/L", "Left of it: 80 %", "Kit's range: 95 to 105 g/L"),
                (),
                ("2 50 4000 5",),
                (Caution.HYPOCHLORITE,),
            ),
        ),
        # At 56 °C it goes 26 times as fast as at 30 (104 kJ/mol): 1/125 + 26 x 8.6e-5 = 1/97.7. Of
        # a shed 5 °C warmer than that nothing is told: the equation was measured up to 60 °C.
        (
            {"made": "2026-05-06", "storage-temperature": "56"},
            Told(
                "It should still hold 97.4 g/L",
                (
                    "On the label: 125.0 g/L",
                    "!Left of it: 78 %",
                    "Half of that is left after: 5 days",
                ),
                (WEAK, BEST_CASE),
                ("1 56",),
            ),
        ),
    ],
)
def test_what_a_container_still_holds(texts: dict[str, str], answer: Told) -> None:
    assert told("container", {**texts, **TRADE}) == answer


def test_a_container_is_told_for_the_day_that_is_asked_for() -> None:
    texts = {"made": "2026-04-07", "storage-temperature": "30", **TRADE}
    fresh = told("container", {**texts, "on": "2026-04-07"})
    assert fresh.headline == "It should still hold 125.0 g/L"
    assert fresh.how == ("0 30",)
    aged = told("container", {**texts, "on": "2026-05-07"})
    assert aged == told("container", texts)  # today


def test_a_warmer_shed_is_told_of_up_to_what_the_equation_was_measured_at() -> None:
    for celsius, told_of in (("55", True), ("55.1", False)):
        texts = {"made": "2026-05-06", "storage-temperature": celsius, **TRADE}
        lines = told("container", texts).lines
        assert any(line.startswith("Had it stood 5 °C warmer") for line in lines) is told_of


def test_an_alkalinity_is_sure_where_its_ends_are_less_than_twice_apart() -> None:
    texts = {"volume": "500", "chlorine": "50", "ph-before": "8.3", "ph-after": "7.0"}
    for amount, is_wide in (("300", True), ("350", True), ("400", False)):
        found = result("alkalinity", {**texts, "amount": amount})
        low, high = (float(str(found.data[f"alkalinity_{end}_mg_l"])) for end in ("low", "high"))
        assert (high > 2 * low) is is_wide
        assert any(line.notable for line in found.lines) is is_wide
        assert bool(found.notes) is is_wide
        best = float(str(found.data["alkalinity_mg_l"]))
        # To a tenth, which is more than any reading tells.
        assert found.carry == {
            "alkalinity": pytest.approx(best, abs=0.05),
            "alkalinity-low": pytest.approx(low, abs=0.05),
            "alkalinity-high": pytest.approx(high, abs=0.05),
        }
        assert [len(str(one).rpartition(".")[2]) for one in found.carry.values()] == [1, 1, 1]


def test_what_is_half_gone_in_a_day_is_told_in_one_day() -> None:
    # 200 g/L at 60 °C: 40 % are left of it after a day, so half is gone a little sooner.
    hot = {"made": "2026-05-06", "storage-temperature": "60", **TRADE, "strength": "20"}
    assert "!Left of it: 40 %" in told("container", hot).lines
    fresh = told("container", {**hot, "made": "2026-05-07"})
    assert "Half of that is left after: 1 day" in fresh.lines


STRONGER = {
    "volume": "1000",
    "from": "0",
    "to": "60",
    "paa": "15",
    "peroxide": "22",
    "density": "1.15",
}


@pytest.mark.parametrize(
    ("texts", "answer"),
    [
        # 60 g / 172.5 g/L, less what 0.35 L thin; 350 mL bring 60.4, and 22/15 of it of peroxide.
        # 59 x 15 / 22 = 40.2 keeps 21 CFR 173.315(a)(5).
        (
            {**STRONGER, "ph": "7.5", "alkalinity": "100"},
            Told(
                "Add 350 mL",
                (
                    "Worked out: 348 mL",
                    "Brings it to: 60 ppm (54 ppm to 67 ppm)",
                    "Peracetic acid: 60 ppm, limit 80 ppm",
                    "!Hydrogen peroxide: 89 ppm, limit 59 ppm",
                    "Most PAA of a fresh fill: 40 ppm",
                    "pH after it: 7.3",
                ),
                ("This would be over the", "With this product a fresh"),
                ("15 1.15", ""),
                (Caution.PERACETIC, Caution.LABEL),
            ),
        ),
        # 45 g / 168 g/L; 44.8 ppm more bring 10/15 of it of peroxide to the 25 that were there, and
        # the stabiliser is 0.6/15 of all: 3.0.
        (
            {
                "volume": "1000",
                "from": "30",
                "to": "75",
                "peroxide-now": "25",
                "paa": "15",
                "peroxide": "10",
                "hedp": "0.6",
            },
            Told(
                "Add 267 mL",
                (
                    "Worked out: 268 mL",
                    "Brings it to: 75 ppm (70 ppm to 80 ppm)",
                    "Peracetic acid: 75 ppm, limit 80 ppm",
                    "Hydrogen peroxide: 55 ppm, limit 59 ppm",
                    "HEDP, a stabiliser: 3 ppm, limit 4.8 ppm",
                    "Most PAA of a fresh fill: 80 ppm",
                ),
                (),
                ("15 1.12", ""),
                (Caution.PERACETIC, Caution.LABEL),
            ),
        ),
    ],
)
def test_what_raises_peracetic_acid(texts: dict[str, str], answer: Told) -> None:
    assert told("peracetic", texts) == answer


TUB = {"volume": "500", "ph": "8.2", "chlorine": "50"}
ACID_CAUTIONS = (Caution.ACID, Caution.LABEL)


@pytest.mark.parametrize(
    ("texts", "answer"),
    [
        # Half of the whole first; a kit's alkalinity is 20 % off.
        (
            {"alkalinity": "150", "kind": "hydrochloric", "strength": "31.45"},
            Told(
                "First add 24 mL",
                (
                    "Worked out: 24 mL",
                    "All of it, about: 48 mL (43 mL to 54 mL)",
                    "pH after the first part: about 7.4, not under 7.4",
                ),
                (),
                ("31.45", "150 120 180", "8.2 7.0 50 20"),
                ACID_CAUTIONS,
            ),
        ),
        # Two mol of carbon dioxide do what one of the carbonate in the water was; half first.
        (
            {
                "alkalinity": "150",
                "alkalinity-low": "120",
                "alkalinity-high": "160",
                "kind": "carbon_dioxide",
            },
            Told(
                "First let in 13 g of gas",
                (
                    "All of it, about: 26 g (23 g to 27 g)",
                    "pH after the first part: about 7.4, not under 7.3",
                ),
                ("Bubbles that reach the air",),
                ("150 120 160", "8.2 7.0 50 20"),
                (Caution.CARBON_DIOXIDE, Caution.LABEL),
            ),
        ),
        # Half a teaspoon, 2.464 mL, to 18.93 L: 65 mL to 500 L.
        (
            {},
            Told(
                "Add 65 mL, no more",
                ("Worked out: 65 mL", "pH after it, soft to hard water: 7.9 to 8.1"),
                ("The alkalinity is not known.",),
                ("5", "20 6"),
                ACID_CAUTIONS,
            ),
        ),
        # As much acid as in 65 mL of 5 % vinegar (60.05 g/mol): 3.47 g of citric acid (192.1 / 3).
        (
            {"kind": "citric"},
            Told(
                "Add 3.5 g, no more",
                ("Worked out: 3.5 g", "pH after it, soft to hard water: 7.9 to 8.1"),
                (
                    "None of your measures comes",
                    "Citric acid uses up free",
                    "The alkalinity is not known.",
                ),
                ("100", "20 6"),
                ACID_CAUTIONS,
            ),
        ),
    ],
)
def test_what_brings_the_ph_down(texts: dict[str, str], answer: Told) -> None:
    assert told("acid", {**TUB, **texts}) == answer


@pytest.mark.parametrize(
    ("texts", "field", "words"),
    [
        ({"ph": "7.5"}, "ph", "pH 7.5 is not over 7.5: add no acid."),
        ({"ph": "7.8", "to": "7.8"}, "to", "The pH is not above its target: add no acid."),
        ({"alkalinity": "100", "alkalinity-low": "101"}, "alkalinity-low", "The alkalinity must"),
        ({"alkalinity": "100", "alkalinity-high": "99"}, "alkalinity-high", "The alkalinity must"),
        ({"ph": "12.5"}, "ph", "A pH of 12.5 is not wash water: read it again."),
    ],
)
def test_where_no_acid_is_due(texts: dict[str, str], field: str, words: str) -> None:
    assert faults("acid", {**TUB, **texts})[field].startswith(words)


def test_gas_first_let_in_leaves_the_ph_higher_in_the_likely_water_than_in_the_softest() -> None:
    texts = {**TUB, "alkalinity": "150", "alkalinity-low": "120", "kind": "carbon_dioxide"}
    data = result("acid", texts).data
    # As told above: about 7.4, not under 7.3; half of the whole, and the whole within its ends.
    assert float(str(data["ph_after_first"])) == pytest.approx(7.37, abs=0.005)
    assert float(str(data["lowest_ph_after_first"])) == pytest.approx(7.32, abs=0.005)
    assert 2 * float(str(data["amount"])) == pytest.approx(float(str(data["whole"])))


def test_an_alkalinity_may_be_its_own_least_and_most() -> None:
    exactly = {"alkalinity": "100", "alkalinity-low": "100", "alkalinity-high": "100"}
    found = told("acid", {**TUB, **exactly})
    assert found.how[1] == "100 100 100"


@pytest.mark.parametrize(
    ("key", "texts", "answer"),
    [
        # 0.5 is moved by a meter that is 0.1 off at both readings: that leaves much open.
        (
            "alkalinity",
            {
                "volume": "500",
                "chlorine": "50",
                "amount": "150",
                "ph-before": "8.0",
                "ph-after": "7.5",
            },
            Told(
                "About 61 mg/L as CaCO₃",
                ("!Between: 8 and 161 mg/L", "The pH moved by: 0.5"),
                ("The range is wide: a",),
                ("0.1",),
            ),
        ),
        # (120 - 30) / 120 of 500 L; ln 4 of them where it runs through.
        (
            "lower",
            {"volume": "500", "from": "120", "to": "30"},
            Told(
                "Drain 375 L (75 %) and refill",
                ("Or let run through the full tank: 693 L",),
                ("Or wait: washing uses chlorine",),
                ("120 30",),
                (Caution.DISCHARGE,),
            ),
        ),
        # AWWA table 7-2: 1.61 g to the g.
        (
            "neutralise",
            {"volume": "1000", "total": "100", "agent": "sodium_bisulfite"},
            Told(
                "Add 161 g",
                ("Worked out: 161 g",),
                ("Into water that is out",),
                ("1.61 7 1000 100 100.0",),
                (Caution.DISCHARGE,),
            ),
        ),
        # The mean of 50 and 30 ppm for a minute, 79.2 % of it HOCl.
        (
            "exposure",
            {"chlorine": "50", "end": "30", "contact": "60", "ph": "7"},
            Told(
                "31.7 mg·min/L of active chlorine",
                ("Of all free chlorine: 40.0 mg·min/L", "Active share: 79 %"),
                ("Compare batches with it, conclude",),
                ("50 30 60 7.0",),
            ),
        ),
        # White, as above; 142.9 / 125 = 1.14.
        (
            "strength",
            {"strength": "12.5", "basis": "weight_pct_naocl"},
            Told(
                "142.9 g/L of available chlorine",
                (
                    "Percent sodium hypochlorite, by weight: 12.50 %",
                    "Percent available chlorine, by weight: 11.91 %",
                    "Trade percent: 14.29 %",
                    "Grams per litre of available chlorine: 142.9 g/L",
                ),
                ("Taken for a trade percent",),
                ("2 100 100 1.20", "0.02"),
            ),
        ),
    ],
)
def test_what_else_is_worked_out(key: str, texts: dict[str, str], answer: Told) -> None:
    assert told(key, texts) == answer


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        (TRADE, "percent of sodium hypochlorite by weight it would be 142.9 g/L: 14 % more"),
        (
            {"strength": "12.5", "basis": "weight_pct_naocl"},
            "trade percent it would be 125.0 g/L: 13 % less",
        ),
    ],
)
def test_what_a_mistaken_percent_would_cost_is_told(texts: dict[str, str], words: str) -> None:
    # White, Handbook of Chlorination (1972), as above: 142.9 and 125 g/L.
    (note,) = result("strength", texts).notes
    assert words in plain(note)
