"""Ten years in one database: opening, finding, checking and exporting, against the least they cost.

By default a tenth of it is made. ``WASHMON_DECADE=full`` makes all 3,000 shifts and 6 million
entries, which takes some minutes and 4 GB of disk; ``WASHMON_DECADE=<file>`` takes one made before.
"""

import csv
import gc
import hashlib
import logging
import os
import shutil
import sqlite3
import subprocess
import time
import tracemalloc
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any, TypeVar

import pytest

from tests.benchmarks.ratio import TRIES, until_under
from tests.store.decade import Decade, began, chain_of, lot_of, make
from washmon.line.events import BatchWashed
from washmon.line.fold import fold
from washmon.recorder import summaries
from washmon.recorder.kept_parts import table_parts
from washmon.recorder.summaries import summary_parts
from washmon.reports.csv_export import export_parts, in_csv
from washmon.reports.tables import ACTIONS, BATCHES, READINGS, SUMMARIES, Table
from washmon.store import NameKind, Store, Wanted, searching
from washmon.store.shift import microseconds

pytestmark = [pytest.mark.benchmark_ratio, pytest.mark.xdist_group("benchmark")]

LOG = logging.getLogger(__name__)  # figures are shown by --log-cli-level=INFO

WHICH = os.environ.get("WASHMON_DECADE", "")
SIZE = Decade() if WHICH else Decade(shifts=300, entries=400)
MIDDLE = SIZE.shifts // 2
YEAR = min(SIZE.shifts, 300)
MADE = 60
T = TypeVar("T")
SHELL = shutil.which("sqlite3")

LEAST_S = 0.050
"""Under this nobody waits: a third of the 150 ms that a filter may take."""

COLUMNS = (
    "shift.chain, site, line, commodity, started_at, ended_at, supervisor, lots, practice, "
    "open_holds, entries, head, after_chain, after_hash, signatures, stage, outside, "
    "critical"
)
NEWEST = "ORDER BY shift.started_us DESC, shift.chain DESC"


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if WHICH not in {"", "full"}:
        return Path(WHICH)
    path = tmp_path_factory.mktemp("decade") / "shed.db"
    make(path, SIZE)
    return path


@pytest.fixture
def store(path: Path) -> Iterator[Store]:
    with Store.open(path, read_only=True) as store:
        yield store


def seconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def take_up(path: Path) -> None:
    """What the recorder asks when the program starts."""
    with Store.open(path) as store:
        store.latest_setup()
        assert store.running_shift() is None
        assert store.shifts_without_summary() == []
        store.last_shift_head()


def test_ten_years_open_as_fast_as_nothing(path: Path, tmp_path: Path) -> None:
    empty = tmp_path / "empty.db"
    for one in (empty, path):
        take_up(one)
    pairs = [(seconds(lambda: take_up(empty)), seconds(lambda: take_up(path))) for _ in range(25)]
    nothing, decade = (median(times) for times in zip(*pairs, strict=True))
    LOG.info("opening: %.2f of an empty one (%.1f ms)", decade / nothing, decade * 1e3)
    assert decade <= 1.25 * nothing, f"{decade * 1e3:.1f} ms against {nothing * 1e3:.1f} ms"


def _named(what: str, name: str) -> str:
    return (
        f"SELECT {COLUMNS} FROM mention JOIN shift USING (chain) WHERE what = '{what}' "  # noqa: S608 - ours
        f"AND tank = -1 AND key = '{name}' ORDER BY mention.started_us DESC"
    )


def _where(rule: str) -> str:
    return f"SELECT {COLUMNS} FROM shift WHERE {rule} {NEWEST}"  # noqa: S608 - ours


SINCE, UNTIL = began(MIDDLE), began(MIDDLE) + timedelta(days=90)
BETWEEN = f"started_us >= {microseconds(SINCE)} AND started_us < {microseconds(UNTIL)}"


@pytest.mark.parametrize(
    ("wanted", "sql"),
    [
        (Wanted(), _where("1")),
        (Wanted(since=SINCE, until=UNTIL), _where(BETWEEN)),
        (Wanted(line="Root flume"), _where("line = 'Root flume'")),
        (Wanted(person="ak"), _named("person", "ak")),
        (Wanted(lot=lot_of(MIDDLE)), _named("lot", lot_of(MIDDLE).lower())),
        (Wanted(product="Carrots"), _named("produce", "carrots")),
        (Wanted(product="blue jug", since=SINCE, until=UNTIL), _where(BETWEEN)),
        (Wanted(open_holds=True), _where("open_holds > 0")),
        (Wanted(unsigned=True), _where("signatures = 0 AND ended_at IS NOT NULL")),
        (Wanted(unreviewed=True), _where("stage IN ('signed', 'changed since')")),
        (Wanted(out_of_limits=True), _where("outside > 0")),
    ],
    ids=lambda one: " ".join(one) or "all" if isinstance(one, dict) else "",
)
def test_a_filter_answers_as_fast_as_sql_by_hand(store: Store, wanted: Wanted, sql: str) -> None:
    db = sqlite3.connect(store.path)
    raw = db.execute(sql).fetchall()
    found = store.shifts(**wanted)
    assert [row.chain for row in found] == [row[0] for row in raw]
    assert raw
    pairs = [
        (seconds(lambda: db.execute(sql).fetchall()), seconds(lambda: store.shifts(**wanted)))
        for _ in range(9)
    ]
    db.close()
    least, ours = (median(times) for times in zip(*pairs, strict=True))
    LOG.info("%d rows: %.2f ms, %.2f of SQL by hand", len(raw), ours * 1e3, ours / least)
    assert ours <= max(2 * least, LEAST_S), f"{ours * 1e3:.1f} ms against {least * 1e3:.1f} ms"


def test_a_lot_leads_to_its_shifts_tanks_and_batches(store: Store) -> None:
    found = store.find_lot(lot_of(MIDDLE))
    assert [one.shift.chain for one in found] == [chain_of(MIDDLE + 1), chain_of(MIDDLE)]
    for one in found:
        washed = [
            (entry.seq, entry.event)
            for entry in store.entries(one.shift.chain)
            if isinstance(entry.event, BatchWashed) and entry.event.lot == lot_of(MIDDLE)
        ]
        assert list(one.batches) == washed
        assert one.tanks == tuple(range(1, SIZE.tanks + 1))
    took = seconds(lambda: store.find_lot(lot_of(MIDDLE)))
    LOG.info("a lot: %.1f ms", took * 1e3)
    assert took < 3 * LEAST_S


def test_the_beginning_of_a_lot_number_finds_the_lots(store: Store) -> None:
    names = store.names(NameKind.LOT, "lb-000", limit=10)
    assert names == sorted({lot_of(2 * one, turn) for one in range(5) for turn in range(2)})
    assert seconds(lambda: store.names(NameKind.LOT, "lb-000", limit=10)) < 3 * LEAST_S


def _hash_all(path: Path) -> None:
    """The least that checking costs: each entry read in order, and its bytes hashed."""
    db = sqlite3.connect(path)
    before = ""
    every = "SELECT chain, seq, recorded_at, body FROM journal ORDER BY chain, seq"
    for chain, seq, at, body in db.execute(every):
        head = f"{before}\n{chain}\n{seq}\n{at}\n".encode()
        before = hashlib.sha256(head + body).hexdigest()
    db.close()


def test_the_check_costs_little_more_than_hashing(path: Path, store: Store) -> None:
    rounds = 1 if WHICH else 3
    pairs = [(seconds(lambda: _hash_all(path)), seconds(store.verify)) for _ in range(rounds)]
    least, ours = (min(times) for times in zip(*pairs, strict=True))
    rate = SIZE.shifts * SIZE.entries / ours
    LOG.info("verify: %.0f entries a second, %.2f of plain hashing", rate, ours / least)
    assert store.verify() == []
    assert rate >= 100_000 or ours <= 2.5 * least, f"{ours:.2f} s against {least:.2f} s"


def _peak(stream: Iterator[object]) -> int:
    tracemalloc.start()
    for done, _ in enumerate(stream):
        _tidy(done)
    (_, peak) = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak


def test_an_export_streams_with_flat_memory(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(searching, "_PAGE", 20)
    soon, late = began(SIZE.shifts // 5), began(SIZE.shifts + 1)

    def shifts(until: datetime) -> Iterator[object]:
        return store.iter_shifts(until=until)

    _peak(shifts(soon))  # statements are compiled once
    few, everything = _peak(shifts(soon)), _peak(shifts(late))
    LOG.info("%.2f of the memory for five times as much", everything / few)
    assert everything < 1.25 * few


def test_a_stream_yields_the_same_as_a_list(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(searching, "_PAGE", 7)
    wanted = Wanted(since=SINCE, until=UNTIL)
    listed = store.shifts(newest_first=False, **wanted)
    assert list(store.iter_shifts(**wanted)) == listed
    assert list(store.iter_shifts(newest_first=True, **wanted)) == listed[::-1]


def test_an_export_of_ten_years_takes_little_longer_than_the_shell(
    path: Path, store: Store, tmp_path: Path
) -> None:
    """The same rows, from a table with nothing else in it, by the program made for that."""
    ours, theirs = tmp_path / "ours.csv", tmp_path / "theirs.csv"
    assert _export(store, ours, SUMMARIES) == SIZE.shifts * SIZE.tanks
    plain = _plain_table(ours, tmp_path / "plain.db")
    _dump(plain, theirs)
    with (
        ours.open(newline="", encoding="utf-8") as file,
        theirs.open(newline="", encoding="utf-8") as other,
    ):
        assert list(csv.reader(file)) == list(csv.reader(other))

    def ratios() -> Iterator[float]:
        for _ in range(TRIES):
            pairs = [
                (seconds(lambda: _dump(plain, theirs)), seconds(lambda: _whole_export(path, ours)))
                for _ in range(3)
            ]
            least, took = (min(times) for times in zip(*pairs, strict=True))
            LOG.info(
                "export: %.2f s for %d MB, %.2f of %s",
                took,
                ours.stat().st_size // 10**6,
                took / least,
                SHELL or "csv.writer over sqlite3: there is no shell of SQLite here",
            )
            yield took / least

    assert list(until_under(1.5, ratios()))[-1] < 1.5


def test_rows_that_were_made_once_come_five_times_as_fast(path: Path, tmp_path: Path) -> None:
    """Of tables that are made from whole journals."""
    tables: tuple[Table[Any], ...] = (READINGS, BATCHES, ACTIONS)
    for at, table in enumerate(tables):
        with Store.open(path, read_only=True, state_folder=tmp_path / f"state{at}") as store:
            chains = [row.chain for row in store.shifts(limit=MADE, practice=False)]
            files = [tmp_path / "first.csv", tmp_path / "again.csv"]
            first = seconds(partial(_made, store, chains, table, files[0]))
            again = partial(_made, store, chains, table, files[1])
            shares = (5 * seconds(again) / first for _ in range(TRIES))
            found = list(until_under(1.0, shares))
            LOG.info("%s: %.1f times as fast", table.key, 5 / found[-1])
            assert files[0].read_bytes() == files[1].read_bytes()
            assert found[-1] < 1.0


def _made(store: Store, chains: list[str], table: Table[Any], target: Path) -> None:
    def ask(query: Callable[[Store], T]) -> T:
        return query(store)

    assert export_parts(target, table, table_parts(ask, chains, table))


def _whole_export(path: Path, target: Path) -> None:
    with Store.open(path, read_only=True) as store:
        _export(store, target, SUMMARIES)


def _export(store: Store, target: Path, table: Table[Any], until: datetime | None = None) -> int:
    chains = [row.chain for row in store.iter_shifts(practice=False, until=until)]
    parts = (
        summary_parts(lambda query: query(store), chains)
        if table is SUMMARIES
        else (in_csv(table, table.rows(fold(one, store.entries(one)))) for one in chains)
    )
    return export_parts(target, table, parts, progress=_tidy) or 0


def _tidy(done: int) -> None:
    """Collect what nobody needs any more: when Python does so is not what is measured here."""
    if done % 10 == 0 and tracemalloc.is_tracing():
        gc.collect()


def _plain_table(source: Path, target: Path) -> Path:
    """Make a database with nothing in it but the rows of a CSV file."""
    db = sqlite3.connect(target)
    with source.open(newline="", encoding="utf-8") as file, db:
        rows = csv.reader(file)
        names = ", ".join(f'"{name}" TEXT' for name in next(rows))
        db.execute(f"CREATE TABLE summaries ({names})")
        marks = ", ".join("?" * len(SUMMARIES.columns))
        db.executemany(f"INSERT INTO summaries VALUES ({marks})", rows)  # noqa: S608 - only marks
    db.close()
    return target


def _dump(source: Path, target: Path) -> None:
    if SHELL is not None:
        asked = (".mode csv", ".headers on", f".once {target}", "SELECT * FROM summaries;")
        subprocess.run([SHELL, str(source)], input="\n".join(asked), text=True, check=True)
        return
    db = sqlite3.connect(source)
    with target.open("w", newline="", encoding="utf-8") as file:
        found = db.execute("SELECT * FROM summaries")
        writer = csv.writer(file)
        writer.writerow([one[0] for one in found.description])
        writer.writerows(found)
    db.close()


@pytest.mark.parametrize("table", [SUMMARIES, READINGS], ids=lambda table: table.key)
def test_ten_years_need_no_more_memory_than_one(
    table: Table[Any], store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(summaries, "_AT_ONCE", 15)
    monkeypatch.setattr(searching, "_PAGE", 20)
    year, decade = began(YEAR // 10), began(YEAR)
    peaks = []
    for until in (year, year, decade):  # once to compile the statements
        tracemalloc.start()
        assert _export(store, tmp_path / "out.csv", table, until)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    LOG.info("%s: %.2f of the memory for ten times as much", table.key, peaks[2] / peaks[1])
    assert peaks[2] < 1.25 * peaks[1]
