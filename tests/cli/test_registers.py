"""Registers and papers outside of the window: as CSV, in a binder, and in its ZIP."""

import csv
import hashlib
import io
import shutil
from datetime import date, timedelta
from pathlib import Path
from zipfile import ZipFile

import polars as pl
import pytest

from tests.cli.touching import run
from tests.gui.logbook.past import keep, quiet_shift, three_tanks
from tests.reports.paper_read import flat
from tests.shed import START, Shed
from washmon.line.events import DoseAdded, Instrument, InstrumentChecked
from washmon.line.flags import Amount
from washmon.line.journal import SITE
from washmon.line.registers import Container, Device, Pack, Paper, PaperKind
from washmon.line.site_events import RegistersUsed, SetupSaved, ThingRegistered
from washmon.reports.register_table import REGISTER_COLUMNS
from washmon.store import Store

BODY = b"%PDF-1.4 an invented certificate\n"
HASH = hashlib.sha256(BODY).hexdigest()
DAY = START.date()
THINGS = (
    Device(
        key="Meter A",
        name="Meter A",
        serial="PH-0417",
        measures=("ph", "water_c"),
        check_days=7,
        checked_on=DAY - timedelta(days=30),
    ),
    Pack(
        key="Strips", name="Strips", lot="26-118", measures=("fac_mg_l",), use_by=date(2099, 1, 1)
    ),
    Container(key="Drum 7", name="Drum", lot="7", product="bleach", full=Amount(20_000, "mL")),
    Paper(
        key="Well",
        name="Certificate of the well",
        kind=PaperKind.CERTIFICATE,
        sha256=HASH,
        size=len(BODY),
        file="../../well.pdf",
    ),
)


@pytest.fixture(scope="module")
def told_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("told") / "shed.db"
    shift = quiet_shift(START)
    shift.tell(
        InstrumentChecked(
            at=shift.now,
            by="TK",
            instrument=Instrument.PH_METER,
            standard=7.0,
            found=7.31,
            fit=False,
            which="Meter A",
        )
    )
    with Store.open(path) as store:
        folder = store.papers_folder
        assert folder is not None
        folder.mkdir()
        (folder / HASH).write_bytes(BODY)
        told = [ThingRegistered(at=START, by="RM", what=one) for one in THINGS]
        used = RegistersUsed(
            at=START, by="RM", shift="earlier", drawn={"Drum 7": 2_500.0}, made_with={}
        )
        store.append(SITE, [SetupSaved(at=START, by="RM", setup=three_tanks()), *told, used], START)
        keep(store, shift.shift, "quiet")
    return path


@pytest.fixture
def database(told_once: Path, tmp_path: Path) -> Path:
    shutil.copytree(told_once.with_name("shed-papers"), tmp_path / "shed-papers")
    return Path(shutil.copy(told_once, tmp_path / "shed.db"))


def bind(database: Path, out: Path, *more: str) -> int:
    days = ("--from", str(DAY), "--to", str(DAY), "--by", "R. Moss")
    made = ("--made-at", f"{DAY + timedelta(days=9)}T17:00:00-04:00")
    return run("binder", out, *days, *made, "--zip", "--database", database, *more).exit_code


def test_the_registers_are_one_csv_file_that_others_read(database: Path, tmp_path: Path) -> None:
    out = tmp_path / "registers.csv"
    told = run("registers", out, "--database", database)
    assert (told.exit_code, told.stdout.split()[:2]) == (0, ["4", "rows"])
    rows = {row["key"]: row for row in csv.DictReader(io.StringIO(out.read_text("utf-8")))}
    assert list(rows["Drum 7"]) == [column.name for column in REGISTER_COLUMNS]
    assert (rows["Drum 7"]["left"], rows["Drum 7"]["unit"]) == ("17500", "mL")
    assert (rows["Meter A"]["presses"], rows["Meter A"]["measures"]) == ("act", "ph water_c")
    assert rows["Well"]["sha256"] == HASH
    read = pl.read_csv(out, try_parse_dates=True)
    poured = read.filter(read["key"] == "Drum 7").select(pl.col("full") - pl.col("left"))
    assert poured.item() == pytest.approx(2_500)


def test_what_a_running_shift_has_poured_counts_as_it_does_in_the_window(
    database: Path, tmp_path: Path
) -> None:
    dose = DoseAdded(
        at=START, by="RM", tank=1, product="bleach", amount=Amount(500, "mL"), container="Drum 7"
    )
    with Store.open(database) as store:
        shed = Shed(start=START)
        shed.fill()
        shed.tell(dose)
        keep(store, shed.shift, "running")
    out = tmp_path / "registers.csv"
    assert run("registers", out, "--database", database).exit_code == 0
    rows = {row["key"]: row for row in csv.DictReader(io.StringIO(out.read_text("utf-8")))}
    assert rows["Drum 7"]["left"] == "17000"


def test_a_binder_lists_instruments_checks_supplies_and_papers(
    database: Path, tmp_path: Path
) -> None:
    assert bind(database, tmp_path / "b.pdf", "--lists-only") == 0
    words = flat((tmp_path / "b.pdf").read_bytes())
    for said in (
        "Instrument register",
        "PH-0417",
        "Its check is overdue",
        "UNFIT TK",
        "Packs and containers",
        "17500 mL",
        "Certificate of the well",
        "yearly results or certificates of the public supply",
        "LACKING",
    ):
        assert said in words
    assert HASH in words


def test_its_zip_has_the_papers_themselves_and_the_same_bytes_each_time(
    database: Path, tmp_path: Path
) -> None:
    assert bind(database, tmp_path / "a.pdf") == 0
    assert bind(database, tmp_path / "b.pdf") == 0
    for ending in (".pdf", ".zip"):
        first, second = (tmp_path / f"{name}{ending}" for name in "ab")
        assert first.read_bytes() == second.read_bytes()
    with ZipFile(tmp_path / "a.zip") as packed:
        assert packed.read(f"papers/{HASH[:12]}-well.pdf") == BODY
        assert f"{HASH}  papers/{HASH[:12]}-well.pdf" in packed.read("sha256sums.txt").decode()
        assert packed.read("registers.csv").decode().count("\r\n") == 5
        assert "registers.csv,left," in packed.read("dictionary.csv").decode()


def test_a_paper_whose_content_was_changed_is_told_and_left_out(
    database: Path, tmp_path: Path
) -> None:
    (database.with_name("shed-papers") / HASH).write_bytes(b"another")
    assert bind(database, tmp_path / "b.pdf", "--lists-only") == 0
    words = flat((tmp_path / "b.pdf").read_bytes())
    assert "Its file is missing or was" in words
    assert "NOT THERE" in words
    with ZipFile(tmp_path / "b.zip") as packed:
        assert not [name for name in packed.namelist() if name.startswith("papers/")]
