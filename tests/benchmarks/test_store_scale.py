"""Ten years in one database: opening, finding, checking and exporting, against the least they cost.

By default a tenth of it is made. ``WASHMON_DECADE=full`` makes all 3,000 shifts and 6 million
entries, which takes some minutes and 4 GB of disk; ``WASHMON_DECADE=<file>`` takes one made before.
"""

import hashlib
import logging
import os
import sqlite3
import time
import tracemalloc
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from statistics import median

import pytest

from tests.store.decade import Decade, began, chain_of, lot_of, make
from washmon.line.events import BatchWashed
from washmon.store import Store, Wanted, What, finding
from washmon.store.shift import microseconds

pytestmark = [pytest.mark.benchmark_ratio, pytest.mark.xdist_group("benchmark")]

LOG = logging.getLogger(__name__)  # figures are shown by --log-cli-level=INFO

WHICH = os.environ.get("WASHMON_DECADE", "")
SIZE = Decade() if WHICH else Decade(shifts=300, entries=400)
MIDDLE = SIZE.shifts // 2

LEAST_S = 0.050
"""Under this nobody waits: a third of the 150 ms that a filter may take."""

COLUMNS = (
    "shift.chain, site, line, commodity, started_at, ended_at, supervisor, lots, practice, "
    "open_holds, entries, head, after_chain, after_hash, signatures, outside, critical"
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
    names = store.names(What.LOT, "lb-000", limit=10)
    assert names == sorted({lot_of(2 * one, turn) for one in range(5) for turn in range(2)})
    assert seconds(lambda: store.names(What.LOT, "lb-000", limit=10)) < 3 * LEAST_S


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
    for _ in stream:
        pass
    (_, peak) = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak


def test_an_export_streams_with_flat_memory(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(finding, "_PAGE", 20)
    soon, late = began(SIZE.shifts // 5), began(SIZE.shifts + 1)

    def shifts(until: datetime) -> Iterator[object]:
        return store.iter_shifts(until=until)

    def summaries(until: datetime) -> Iterator[object]:
        return store.iter_summaries(until=until)

    for stream in (shifts, summaries):
        _peak(stream(soon))  # statements are compiled once
        some, everything = _peak(stream(soon)), _peak(stream(late))
        LOG.info("%.2f of the memory for five times as much", everything / some)
        assert everything < 1.25 * some


def test_a_stream_yields_the_same_as_a_list(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(finding, "_PAGE", 7)
    wanted = Wanted(since=SINCE, until=UNTIL)
    listed = store.shifts(newest_first=False, **wanted)
    assert list(store.iter_shifts(**wanted)) == listed
    assert list(store.iter_shifts(newest_first=True, **wanted)) == listed[::-1]
    summed = list(store.iter_summaries(**wanted))
    assert [row for row, _ in summed] == listed
    assert all([one.tank for one in rows] == list(range(1, SIZE.tanks + 1)) for _, rows in summed)
