"""``washmon calc``: what it prints, its JSON, and how it refuses."""

import json
import re

import pytest
from typer.testing import CliRunner, Result

from tests.some import some
from washmon.cli.calc import app
from washmon.line.calculations import CALCULATIONS

SAMPLES = {
    "dose": "--volume 600 --from 55 --to 100 --strength 12.5 --basis trade_pct",
    "rise": "--volume 600 --from 0 --amount 200 --strength 12.5 --basis trade_pct",
    "strength": "--strength 12.5 --basis weight_pct_naocl",
    "container": "--strength 12.5 --basis trade_pct --made 2026-01-01 --on 2026-05-07",
    "active": "--chlorine 100 --ph 7",
    "acid": "--volume 570 --ph 7.9 --alkalinity 120",
    "alkalinity": "--volume 570 --chlorine 50 --ph-before 7.9 --ph-after 7.5 --amount 300",
    "lower": "--volume 570 --from 120 --to 60",
    "neutralise": "--volume 1000 --total 100",
    "peracetic": "--volume 1000 --from 0 --to 60 --paa 15 --peroxide 10",
    "exposure": "--chlorine 50 --contact 90 --ph 7",
}


def run(command: str, *more: str) -> Result:
    return CliRunner().invoke(app, [*command.split(), *more])


def test_there_is_a_sample_of_every_calculation() -> None:
    assert set(SAMPLES) == {calculation.key for calculation in CALCULATIONS}


@pytest.mark.parametrize("key", SAMPLES)
def test_every_calculation_answers_in_text_and_in_json(key: str) -> None:
    told = run(f"{key} {SAMPLES[key]}", "--how")
    data = run(f"{key} {SAMPLES[key]}", "--json")
    assert told.exit_code == data.exit_code == 0, told.output + data.output
    facts = json.loads(data.stdout)
    assert told.stdout.startswith(facts["say"])
    assert [caution for caution in facts["cautions"] if caution not in told.stdout] == []
    assert all(
        step in told.stdout for step in some((*facts["how"], *facts["sources"], *facts["notes"]))
    )


@pytest.mark.parametrize("key", SAMPLES)
def test_every_calculation_says_in_one_sentence_what_it_needs(key: str) -> None:
    refused = run(key)
    assert refused.exit_code == 2
    assert not refused.stdout
    assert re.fullmatch(r"washmon: --.+ (is|are) needed: see --help\.\n", refused.stderr)


def test_the_documented_dose_keeps_its_options_and_its_json() -> None:
    texts = ["--volume", "150 gal", "--from", "31", "--to", "50", "--density", "1.17", "--json"]
    found = run("dose --strength 12.5 --basis trade_pct --units us", *texts)
    facts = json.loads(found.stdout)
    # White, Handbook of Chlorination (1972), mass balance: 567.8 L × 19 ÷ 125.
    assert facts["amount"] == pytest.approx(86.3, abs=0.1)
    assert facts["unit"] == "mL"
    assert facts["rise_mg_l"] == 19.0
    assert facts["available_chlorine"] == 125.0
    assert facts["density_guessed"] is False
    assert facts["measured"].endswith(("tbsp", "tsp", "cup", "cups"))
    assert "WARNING" in facts["cautions"][0]


def test_a_solid_needs_no_basis() -> None:
    facts = json.loads(
        run("dose --volume 100 --from 0 --to 65 --strength 65 --solid --json").stdout
    )
    assert facts["amount"] == pytest.approx(10.0)
    assert facts["unit"] == "g"


def test_the_documented_acid_is_one_careful_step() -> None:
    found = run("acid --ph 7.9 --json", "--volume", "570 L")
    facts = json.loads(found.stdout)
    # Common practice, no published source: half a teaspoon of vinegar to 5 US gallons.
    assert facts["amount"] == pytest.approx(4.92892 / 2 * 570 / 18.927, rel=1e-3)
    assert facts["alkalinity_known"] is False


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("dose --volume 5kg", "--volume: 5 kg is a weight"),
        (f"dose {SAMPLES['dose']} --from 200", "--to: The target is not above"),
        ("dose --basis guess", "--basis: guess is not known here: choose one of"),
        ("acid --volume 570 --ph 7.4", "--ph: pH 7.4 is not over 7.5: add no acid"),
        ("acid --volume 570 --ph 7.4 --high 7.2 --to 7.45", "add no acid"),
        ("active --chlorine 100 --ph 19", "--ph: The pH must be between"),
        ("container --made 7.5.2026", "--made: 7.5.2026 is no date"),
    ],
)
def test_a_refusal_is_one_sentence_and_status_two(command: str, words: str) -> None:
    refused = run(command)
    assert refused.exit_code == 2
    assert not refused.stdout
    assert words in refused.stderr
    assert refused.stderr.count("\n") == 1


def test_help_names_every_option_of_a_calculation() -> None:
    text = run("acid --help").stdout
    for calculation in CALCULATIONS:
        if calculation.key == "acid":
            assert all(f"--{field.key}" in text for field in some(calculation.fields))
