"""A shift on a server behind a proxy that fails once at each moment: nothing lost, doubled, lied.

``python -m tests.faults.server_faults [MOMENTS]`` tries 12 kinds of fault at 20 moments each.
"""

import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import NamedTuple

from tests.faults.proxy import Kind, Proxy
from tests.store.programs import PROGRAMS
from tests.store.server import Server
from tests.store.shed import batch, minutes, note, started
from washmon.line.events import Event
from washmon.store import Store, gap, postgres
from washmon.store.errors import NotKnown, StoreUnavailable

ENTRIES = 8
MOMENTS = 20


class Run(NamedTuple):
    """What came of one fault."""

    lost: int
    doubled: int
    wrong: int
    """Told as saved but not there, or as not saved but there."""
    kept: int
    """Entries that were kept on this computer for a while."""
    struck: bool
    unsent: int


def patient_for_tests() -> None:
    """Let no test wait as long as a shed would."""
    postgres.ANSWER_S, postgres.READ_S, postgres.PROBE_S = 0.5, 0.5, 2
    gap.PROBE_EVERY_S = 0.02


def one_fault(proxy: Proxy, url: str, folder: Path, kind: Kind, moment: int) -> Run:
    """Wash a few batches while one fault comes about; look at what the server has afterwards."""
    before = proxy.struck
    saved: list[Event] = []
    failed: list[Event] = []
    kept = 0
    store = Store.open(url, state_folder=folder)
    store.append("a", [started()], minutes(0))
    proxy.strike(kind, moment)
    for turn in range(1, ENTRIES + 1):
        event = note(turn) if turn % 3 == 0 else batch(turn)
        try:
            store.append("a", [event], minutes(turn))
            saved.append(event)
        except NotKnown:
            pass
        except StoreUnavailable:
            failed.append(event)
        kept += store.keeps_here
        if turn == ENTRIES - 2:
            proxy.mend()
    store.close()
    proxy.mend()
    with Store.open(url, state_folder=folder) as again:
        unsent = int(again.keeps_here)
        there = Counter(str(one.event) for one in again.entries("a"))
        assert again.verify() == []
        assert again.compare_projections() == []
    lost = sum(not there[str(event)] for event in saved)
    doubled = sum(count > 1 for count in there.values())
    wrong = sum(there[str(event)] > 0 for event in failed)
    return Run(lost, doubled, wrong + lost, kept, proxy.struck > before, unsent)


def all_faults(server: Server, folder: Path, kinds: list[Kind], moments: list[int]) -> list[Run]:
    """Try each kind at each moment, each on an empty database of its own."""
    proxy = Proxy(server.socket)
    runs = []
    try:
        for kind in kinds:
            for moment in moments:
                name = server.new_name()
                runs.append(one_fault(proxy, proxy.url(name), folder / name, kind, moment))
                print(f"{kind.name:18} {moment:3} {runs[-1]}", flush=True)  # noqa: T201
    finally:
        proxy.close()
    return runs


def main() -> None:
    """Try them all and print the sums."""
    assert PROGRAMS is not None
    moments = int(sys.argv[1]) if len(sys.argv) > 1 else MOMENTS
    patient_for_tests()
    server = Server(PROGRAMS)
    try:
        with tempfile.TemporaryDirectory() as folder:
            runs = all_faults(server, Path(folder), list(Kind), list(range(moments)))
    finally:
        server.remove()
    sums = {name: sum(getattr(run, name) for run in runs) for name in Run._fields}
    print(f"{len(runs)} faults: {sums}")  # noqa: T201


if __name__ == "__main__":
    main()
