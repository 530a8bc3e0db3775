"""A binder of a period: an audit is one file, and says what proves it."""

import csv
import hashlib
import io
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from typer.testing import Result

from tests.cli.touching import run, touch, touch_a_reading
from tests.gui.logbook.past import keep, quiet_shift, three_tanks, troubled_shift
from tests.reports.paper_read import flat, texts
from tests.shed import START, Shed
from washmon.line.events import Decision, HoldReleased, NoteWritten, ShiftReviewed
from washmon.line.fold import fold
from washmon.line.journal import SITE
from washmon.line.setup import Role
from washmon.line.site_events import SetupSaved
from washmon.line.working_days import working_days
from washmon.reports.binder_leaves import leaf_of
from washmon.reports.files import ExportError
from washmon.reports.tables import TABLES
from washmon.store import Store

SUMMER, WINTER = timezone(timedelta(hours=-4)), timezone(timedelta(hours=-5))
STARTS = {
    # Daylight saving begins on the second Sunday of March, in 2026 the 8th: 15 U.S.C. 260a,
    # value from memory.
    "early": datetime(2026, 3, 6, 7, tzinfo=WINTER),
    "touched": datetime(2026, 3, 9, 7, tzinfo=SUMMER),
    "late": datetime(2026, 3, 10, 7, tzinfo=SUMMER),
}
MADE_AT = "2026-03-31T17:00:00-04:00"
Make = Callable[..., Result]


@pytest.fixture(scope="module")
def told_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three shifts around a clock change; a hold was decided, and the first shift reviewed."""
    path = tmp_path_factory.mktemp("told") / "shed.db"
    with Store.open(path) as store:
        saved_at = STARTS["early"] - timedelta(hours=20)
        store.append(SITE, [SetupSaved(at=saved_at, by="RM", setup=three_tanks())], saved_at)
        for chain, start in STARTS.items():
            shed = quiet_shift(start) if chain == "late" else troubled_shift(start, hours=1)
            keep(store, shed.shift, chain)
        at = STARTS["early"].replace(hour=17)
        (hold, *_) = fold("early", store.entries("early")).holds
        decided = HoldReleased(
            at=at, by="TK", hold=hold.seq, decision=Decision.WASH_AGAIN, reason="sent on",
            found="the pump ran dry", water="95 mL into tank 1",
        )  # fmt: skip
        store.append("early", [decided], at)
        at = datetime(2026, 3, 18, 9, tzinfo=SUMMER)
        covers = store.head("early") or ""
        review = ShiftReviewed(at=at, by="TK", role=Role.MANAGER, covers=covers)
        store.append("early", [review], at)
    return path


@pytest.fixture
def database(told_once: Path, tmp_path: Path) -> Path:
    """A copy that a test may change."""
    return Path(shutil.copy(told_once, tmp_path / "shed.db"))


@pytest.fixture
def make(database: Path) -> Make:
    def ask(out: Path, *more: object) -> Result:
        days = ("--from", "2026-03-01", "--to", "2026-03-31", "--by", "R. Moss")
        return run("binder", out, *days, "--made-at", MADE_AT, "--database", database, *more)

    return ask


def test_bookmarks_index_and_page_numbers_agree(make: Make, tmp_path: Path) -> None:
    told = make(tmp_path / "b.pdf")
    assert (told.exit_code, told.stdout[-8:]) == (0, " WHOLE.\n")
    body = (tmp_path / "b.pdf").read_bytes()
    pages, reader = texts(body), PdfReader(io.BytesIO(body))
    at = {str(one.title): number + 1 for one, number in marks_of(reader, reader.outline)}
    assert [title[:10] for title in at][-3:] == ["2026-03-06", "2026-03-09", "2026-03-10"]
    index = pages[1].splitlines()
    assert [f"{title} {page}" for title, page in at.items()] == [
        line for line in index if line.rsplit(" ", 1)[0] in at
    ]
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
    for title in ("Week report", "Corrective actions", "Holds", "Reviews", "Verification"):
        assert title in pages[at[title] - 1]
    record = pages[at["2026-03-09 07:00 · Leaf line"] - 1]
    assert "2026-03-09 07:00 (UTC-04:00)" in record


def test_the_lists_say_what_was_decided_reviewed_and_changed(make: Make, tmp_path: Path) -> None:
    make(tmp_path / "b.pdf", "--lists-only", "--paper", "letter")
    words = flat((tmp_path / "b.pdf").read_bytes())
    # The four parts of a corrective action, 21 CFR 117.150; nobody told the fourth.
    for part in ("the pump ran dry", "wash again: sent on", "95 mL into tank 1", "not told"):
        assert part in words
    # 21 CFR 117.165, from memory: seven working days. From Friday the 6th to the 18th are 8.
    assert "2026-03-18 TK 8 LATE" in words
    assert "First set-up of the line" in words
    assert "The clock was changed in this period (UTC-04:00, UTC-05:00)" in words
    assert "Made by R. Moss Made at 2026-03-31 17:00:00-04:00" in words


def test_the_hash_covers_all_chains_and_the_same_inputs_give_the_same_bytes(
    make: Make, database: Path, tmp_path: Path
) -> None:
    make(tmp_path / "a.pdf", "--zip")
    with Store.open(database) as store:
        names = {"site": SITE} | {chain: chain for chain in STARTS}
        ends = [(name, store.end(chain)) for name, chain in names.items()]
        text = "".join(f"{name} {end[0] + 1} {end[1]}\n" for name, end in ends if end)
        later = datetime(2026, 4, 2, 9, tzinfo=UTC)
        store.append("late", [NoteWritten(at=later, by="TK", text="written in April")], later)
    assert hashlib.sha256(text.encode()).hexdigest() in flat((tmp_path / "a.pdf").read_bytes())
    make(tmp_path / "b.pdf", "--zip")  # what was written after it was made is left out
    for suffix in (".pdf", ".zip"):
        one, two = (tmp_path / f"{name}{suffix}" for name in "ab")
        assert one.read_bytes() == two.read_bytes()


def test_the_zip_is_sorted_dated_the_same_and_proves_its_files(make: Make, tmp_path: Path) -> None:
    make(tmp_path / "b.pdf", "--zip")
    with ZipFile(tmp_path / "b.zip") as packed:
        *names, sums = packed.namelist()
        assert {info.date_time for info in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        files = {name: packed.read(name) for name in names}
        listed = packed.read(sums).decode()
    beside = ["about.txt", "dictionary.csv", "registers.csv", "training.csv"]
    assert names == sorted([*beside, *(f"{one.key}.csv" for one in TABLES)])
    found = [f"{hashlib.sha256(files[name]).hexdigest()}  {name}" for name in names]
    assert listed.splitlines() == found
    told = {(row["file"], row["column"]) for row in rows_of(files["dictionary.csv"])}
    for table in TABLES:
        head = rows_of(files[f"{table.key}.csv"])[0]
        assert [(f"{table.key}.csv", name) in told for name in head] == [True] * len(table.columns)
    assert len(rows_of(files["week.csv"])) == 3 + 3 + 2  # tanks of the three shifts


def marks_of(reader: PdfReader, outline: Any) -> Iterator[tuple[Any, int]]:
    for one in outline:
        if isinstance(one, list):
            yield from marks_of(reader, one)
        else:
            yield one, reader.get_destination_page_number(one) or 0


def rows_of(body: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(body.decode(), newline="")))


def test_what_is_not_whole_is_bound_on_demand_only_and_says_so(
    make: Make, database: Path, tmp_path: Path
) -> None:
    touch_a_reading(database)
    out = tmp_path / "b.pdf"
    told = make(out, "--zip")
    assert (told.exit_code, out.exists()) == (1, False)
    assert "NOT WHOLE, so nothing was written" in told.stderr
    told = make(out, "--zip", "--anyway")
    assert told.exit_code == 1
    cover, *_ = texts(out.read_bytes())
    assert "Wash-water binder · NOT WHOLE" in cover
    assert "its content or its time was changed after it was written" in flat(out.read_bytes())
    with ZipFile(tmp_path / "b.zip") as packed:
        marks = {row["journal_whole"] for row in rows_of(packed.read("week.csv"))}
        assert "NOT WHOLE\n" in packed.read("about.txt").decode()
    assert "NOT WHOLE" in marks


def test_a_shift_that_cannot_be_read_is_told_of_and_left_out(
    make: Make, database: Path, tmp_path: Path
) -> None:
    touch(database, "UPDATE journal SET body = X'7B' WHERE chain = 'touched' AND seq = 3")
    told = make(tmp_path / "b.pdf", "--anyway")
    assert (told.exit_code, told.stdout[:8]) == (1, "2 shifts"), told.output
    assert "Shift touched can't be read, so its record is left out" in told.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--from", "2026-05-01", "--to", "2026-05-31"), "No shift began from 2026-05-01 to"),
        (("--line", "Roots"), "No shift began on Roots from 2026-03-01 to 2026-03-31"),
        (("--from", "2026-04-01"), "The first day is after the last: swap them."),
        (("--made-at", "2026-03-01T12:00:00Z"), "No shift of these days had begun at 2026-03-01"),
        (("--by", " "), "Say with --by who makes it"),
        (("--to", "31 March"), "'31 March' is no date: write it as"),
        (("--made-at", "2026-03-31T17:00"), "lacks the offset from UTC"),
        (("--made-at", "noon"), "'noon' is no time: write it as"),
    ],
)
def test_what_cannot_be_bound_is_said_in_one_sentence(
    make: Make, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    told = make(tmp_path / "b.pdf", *words)
    assert (told.exit_code, (tmp_path / "b.pdf").exists()) == (2, False)
    assert said in told.stderr
    assert len(told.stderr.splitlines()) == 1


@pytest.mark.parametrize("name", ["b.docx", "b"])
def test_a_binder_is_a_pdf_by_name_too(make: Make, tmp_path: Path, name: str) -> None:
    told = make(tmp_path / name)
    assert (told.exit_code, (tmp_path / name).exists()) == (2, False)
    assert "let it end with .pdf" in told.stderr


def test_a_binder_that_fails_leaves_the_one_before(
    make: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "b.pdf"
    out.write_bytes(b"the one before")

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    told = make(out)
    assert told.exit_code == 2
    assert told.stderr == (
        f"washmon: {ExportError('The disk is full, so b.pdf was not written: ')}"
        "free some space or choose another disk.\n"
    )
    assert out.read_bytes() == b"the one before"
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".part"] == []


@given(st.dates(), st.integers(0, 400))
def test_working_days_are_those_of_numpy(made: date, span: int) -> None:
    # numpy.busday_count counts [begin, end): one day on, that is (made, done].
    done = np.datetime64(made) + span
    if done < np.datetime64("9999-12-30"):
        expected = np.busday_count(np.datetime64(made) + 1, done + 1)
        assert working_days(made, done.item()) == expected


def test_no_weight_is_told_of_batches_that_nobody_weighed() -> None:
    shed = Shed()
    shed.fill()
    shed.wash(3)
    week = leaf_of(shed.shift, START).week
    assert [row[3:5] for row in week] == [("3", ""), ("0", "")]
