"""The bench sheets: a page for each tank, with amounts that keep the label."""

import re
from pathlib import Path

import pytest
from msgspec.structs import replace
from typer.testing import CliRunner

from tests.shed import START, a_peracetic_setup, a_setup, a_tank
from tests.some import some
from washmon.cli.commands import app
from washmon.line.flags import Amount
from washmon.line.journal import SITE
from washmon.line.product import rise
from washmon.line.setup import LineSetup
from washmon.line.site_events import SetupSaved
from washmon.reports import bench_sheets
from washmon.reports.bench_sheets import _doses, _facts
from washmon.store.store import Store


def doses(setup: LineSetup) -> dict[str, str]:
    tank = setup.tanks[0]
    product = setup.sanitizer(tank.sanitizer)
    assert product is not None
    said = _doses(setup, tank, product, START)
    return {reads.replace("\N{NO-BREAK SPACE}", " "): what for reads, what, _ in said}


def test_fresh_water_takes_what_mass_balance_says() -> None:
    # 500 L to 50 mg/L with 12.5 % trade, 125 g/L of available chlorine: 200 mL (White, Handbook of
    # Chlorination, 1972).
    made = doses(a_setup())
    assert made["fresh water"].replace("\N{NO-BREAK SPACE}", " ").startswith("200 mL")
    assert list(made)[1] == "25 ppm"  # the critical low
    assert len(made) == 6


def test_an_amount_never_takes_the_water_over_the_label() -> None:
    tank = a_tank(1, "First dunk")
    limits = replace(tank.chlorine, target_mg_l=54.0, high_mg_l=54.5, label_max_mg_l=55.0)
    setup = a_setup(replace(tank, chlorine=limits))
    (product,) = setup.sanitizers
    for reads, what in some(doses(setup).items()):
        level = 0.0 if reads == "fresh water" else float(reads.split()[0])
        told = re.findall(r"([\d.]+)\smL", what)
        assert told, what
        up = rise(product, tank.volume_l, Amount(float(told[-1]), "mL"), START.date())
        assert level + up <= 55.5  # levels are read in whole ppm


def test_facts_name_the_limits_in_the_units_of_the_shed() -> None:
    facts = dict(_facts(a_setup(), a_setup().tanks[0]))
    assert facts["Stop and hold"].replace("\N{NO-BREAK SPACE}", " ") == "under 25 ppm"
    assert facts["Read it"].startswith("every 6 batches")
    assert facts["Change the water"].startswith("after 40 batches, after 4 h")
    acid = dict(_facts(a_peracetic_setup(), a_peracetic_setup().tanks[0]))
    assert "pH" not in acid


@pytest.mark.parametrize("setup", [a_setup(), a_peracetic_setup(), a_setup(sanitizers=())])
def test_every_line_prints_and_prints_the_same(setup: LineSetup) -> None:
    body = bench_sheets.bench_sheets(setup, START)
    assert body.startswith(b"%PDF")
    assert body == bench_sheets.bench_sheets(setup, START)


def test_the_command_writes_them(tmp_path: Path) -> None:
    shed, target = tmp_path / "shed.db", tmp_path / "bench.pdf"
    asked = ["bench", "-o", str(target), "--database", str(shed)]
    with Store.open(shed):
        pass
    assert "No line is set up yet" in CliRunner().invoke(app, asked).output
    with Store.open(shed) as store:
        store.append(SITE, [SetupSaved(at=START, by="RM", setup=a_setup())], START)
    told = CliRunner().invoke(app, asked)
    assert told.exit_code == 0, told.output
    assert "2 tanks in " in told.output
    assert target.read_bytes().startswith(b"%PDF")
    wrong = CliRunner().invoke(app, [*asked, "--line", "nowhere"])
    assert "No line 'nowhere' is set up." in wrong.output
