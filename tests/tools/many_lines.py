"""What people wait for in ten years of many lines, against ten years of one: the same questions.

``python -m tests.tools.many_lines [--lines 1,6,20] [--entries 340] [--files]`` starts a server of
its own (or makes files), builds a database for each count of lines, and prints a table and the
plans of the largest. 20 lines × 3,000 shifts × 340 entries are 20.4 million entries, some 11 GB and
half an hour. ``--at URL`` with NAME in it takes databases l1, l6, … that were built before.
"""

import argparse
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from queue import SimpleQueue
from threading import Thread
from typing import Any

from sqlalchemy import Connection, event

from tests.store.lines import SHIFTS, Line, build
from tests.store.programs import PROGRAMS
from tests.store.server import Server
from washmon.line.events import BatchWashed, ShiftStarted
from washmon.line.registry import registers_of
from washmon.line.setup import Lot
from washmon.recorder.kept_parts import table_parts
from washmon.recorder.line_watch import LinesSeen, LineWatch
from washmon.recorder.reviewing import waiting
from washmon.recorder.starting import newest_setup
from washmon.reports.tables import WEEK
from washmon.store import NameKind, Store

ROUNDS, ASKED_S = 15, 5.0
"""So often, and so long, each question is asked: other work on the machine comes and goes."""
RUNNING = 3
_RUN = 340
LINE = Line.of(0)
NOW = LINE.began(SHIFTS)
QUARTER = NOW - timedelta(days=90)
WEEK_OF = LINE.began(SHIFTS - 40)


def opening(where: str) -> None:
    """What the recorder asks when the program starts."""
    with Store.open(where) as store:
        name = LINE.setup.line
        newest_setup(store, name)
        store.running_shift(name)
        store.shifts_without_summary()
        store.last_shift_head(name)


def week_report(store: Store) -> None:
    until = WEEK_OF + timedelta(days=7)
    rows = store.shifts(since=WEEK_OF, until=until, line=LINE.setup.line, practice=False)
    parts = table_parts(lambda query: query(store), [row.chain for row in rows], WEEK)
    assert sum(part.rows for part in parts) == len(rows) * len(LINE.setup.tanks)


def first_picture(store: Store) -> None:
    """All lines, from the press to the first that is seen."""
    seen: SimpleQueue[LinesSeen] = SimpleQueue()
    watch = LineWatch(store.reader, seen.put, lambda: NOW)
    Thread(target=watch.run, daemon=True).start()
    first = seen.get(timeout=60)
    watch.stop()  # it listens a little longer, which nobody waits for
    assert not first.trouble, first.trouble
    assert len(first.shifts) == RUNNING


def registers(store: Store) -> None:
    """What a shift asks as it begins and ends."""
    assert registers_of(store.site()).things


def first_registers(store: Store) -> None:
    """The same, the first time after the program has started."""
    with store.reader() as fresh:
        registers(fresh)


QUESTIONS: dict[str, Callable[[Store], object]] = {
    "a line, 90 days": lambda s: s.shifts(since=QUARTER, line=LINE.setup.line, practice=False),
    "initials, 90 days": lambda s: s.shifts(since=QUARTER, person=LINE.crew[0], practice=False),
    "a lot, ever": lambda s: s.shifts(lot=LINE.lot(1500), practice=False),
    "batches of a lot": lambda s: s.find_lot(LINE.lot(1500)),
    "lots that begin so": lambda s: s.names(NameKind.LOT, "l01-007", limit=10),
    "out of limits, 90 days of a line": lambda s: s.shifts(
        since=QUARTER, line=LINE.setup.line, out_of_limits=True, practice=False
    ),
    "open holds of a line, ever": lambda s: s.shifts(
        line=LINE.setup.line, open_holds=True, practice=False
    ),
    "all lines, 90 days": lambda s: s.shifts(since=QUARTER, practice=False),
    "waits for review": lambda s: waiting(s, NOW),
    "week report of a line": week_report,
    f"All lines, first picture ({RUNNING} run)": first_picture,
    "registers, as a shift begins": registers,
    "registers, the first time": first_registers,
}


def run_lines(where: str, count: int) -> None:
    """Let some lines run, unless they do."""
    with Store.open(where) as store:
        for number in range(count):
            line = Line.of(number)
            if store.running_shift(line.setup.line) is not None:
                continue
            lots = (Lot(code="now", produce="baby chard"),)
            began = ShiftStarted(
                at=NOW,
                by=line.crew[0],
                setup=line.setup,
                lots=lots,
                after=store.last_shift_head(line.setup.line),
            )
            washed = [
                BatchWashed(at=NOW, by=line.crew[0], tanks=(1,), lot="now") for _ in range(_RUN)
            ]
            store.begin(line.chain(SHIFTS), [began, *washed], NOW)


def seconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def measured(places: list[str]) -> dict[str, list[float]]:
    """Return by question the least seconds at each place, asked in turn.

    The least, as other work on the machine only ever adds to it.
    """
    found: dict[str, list[float]] = {}
    stores = [Store.open(where, read_only=True) for where in places]
    works: dict[str, list[Callable[[], object]]] = {
        "open": [lambda where=where: opening(where) for where in places]  # type: ignore[misc]
    }
    for name, ask in QUESTIONS.items():
        works[name] = [lambda ask=ask, store=store: ask(store) for store in stores]  # type: ignore[misc]
    for name, of in works.items():
        for work in of:
            work()
        rounds: list[list[float]] = []
        begun = time.perf_counter()
        while len(rounds) < ROUNDS or time.perf_counter() - begun < ASKED_S:
            rounds.append([seconds(work) for work in of])
        found[name] = [min(times) for times in zip(*rounds, strict=True)]
        shown = "  ".join(f"{took * 1e3:8.1f}" for took in found[name])
        ratio = found[name][-1] / found[name][0]
        print(f"{name:40} {shown} ms   {ratio:5.2f}", flush=True)  # noqa: T201
    for store in stores:
        store.close()
    return found


@contextmanager
def asked(store: Store) -> Iterator[list[tuple[str, Any]]]:
    """Note each statement that a store runs."""
    said: list[tuple[str, Any]] = []

    def note(_c: Connection, _cursor: object, sql: str, values: Any, *_: object) -> None:
        if sql.lstrip().upper().startswith("SELECT"):
            said.append((sql, values))

    event.listen(store._reader, "before_cursor_execute", note)
    yield said
    event.remove(store._reader, "before_cursor_execute", note)


def plans(where: str) -> None:
    """Print how the server answers each question."""
    with Store.open(where, read_only=True) as store:
        for name, ask in QUESTIONS.items():
            if "first picture" in name:
                continue
            with asked(store) as said:
                ask(store)
            print(f"\n{name}: {len(said)} statements")  # noqa: T201
            for sql in dict(said):
                values = dict(said)[sql]
                with store._reader.connect() as db:
                    rows = db.exec_driver_sql(
                        f"EXPLAIN (ANALYZE, BUFFERS, COSTS OFF) {sql}", values
                    )
                    for (row,) in rows:
                        print(f"    {row}")  # noqa: T201


def main() -> None:
    """Build and measure."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--lines", default="1,6,20")
    parser.add_argument("--entries", type=int, default=340)
    parser.add_argument("--files", action="store_true")
    parser.add_argument("--at", default="")
    parser.add_argument("--plans", action="store_true")
    chosen = parser.parse_args()
    counts = [int(one) for one in chosen.lines.split(",")]
    with tempfile.TemporaryDirectory() as folder:
        server = None
        if chosen.at:
            places = [chosen.at.replace("NAME", f"l{count}") for count in counts]
        elif chosen.files:
            places = [f"sqlite:///{Path(folder) / f'l{count}.db'}" for count in counts]
        else:
            assert PROGRAMS is not None
            server = Server(PROGRAMS)
            places = [server.new_url() for _ in counts]
        try:
            _all(places, counts, chosen.entries, built=bool(chosen.at))
            if chosen.plans:
                plans(places[-1])
        finally:
            if server is not None:
                server.remove()


def _all(places: list[str], counts: list[int], entries: int, *, built: bool) -> None:
    for where, count in zip(places, counts, strict=True):
        if not built:
            took = seconds(lambda where=where, count=count: build(where, count, entries))  # type: ignore[misc]
            made = count * SHIFTS * entries
            print(f"{count} lines: {made / 1e6:.1f} million entries in {took:.0f} s", flush=True)  # noqa: T201
        run_lines(where, RUNNING)
    measured(places)


if __name__ == "__main__":
    main()
