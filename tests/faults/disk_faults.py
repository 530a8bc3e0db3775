"""A shift on a disk that fails once, at each of its calls in turn: nothing lost, nothing lied.

``python -m tests.faults.disk_faults [EACH]`` tries every kind of fault at every EACH-th call.
"""

import shutil
import sys
import tempfile
from collections import Counter
from contextlib import suppress
from itertools import product
from pathlib import Path
from typing import NamedTuple

from tests.faults.faulty_disk import Fault, FaultyDisk
from tests.store.shed import batch, ended, minutes, note, started
from washmon.line.events import Event
from washmon.store import Store
from washmon.store.errors import NotKnown, StoreUnavailable

ENTRIES = 18
STAYING = (Fault.FULL, Fault.ERROR)
"""Faults that are tried once, and again as such that stay until the program is started anew."""


class Run(NamedTuple):
    """What came of one fault."""

    lost: int
    """Told as saved, and not there afterwards."""
    wrong: int
    """Told as not saved, and there all the same, or there twice."""
    odd: int
    """Databases that are not whole afterwards, or that nobody can open."""
    untold: int
    """Faults of other kinds than a sentence for a person."""


def events() -> list[Event]:
    """Return a shift, its entries all different."""
    middle = [batch(turn) if turn % 3 else note(turn, "x" * 900) for turn in range(1, ENTRIES)]
    return [started(), *middle, ended(ENTRIES)]


def wash(
    path: Path, disk: FaultyDisk, fault: Fault | None, at: int, *, stays: bool = False
) -> tuple[Run, int]:
    """Run the shift while one fault comes about, then look at what is there.

    Returns:
        What came of it, and how many calls the fault could have struck.
    """
    disk.vanish = lambda: path.unlink(missing_ok=True)
    disk.strike(fault, at, stays=stays)
    saved: list[int] = []
    failed: list[int] = []
    untold = 0
    with disk:
        try:
            untold = _wash(path, saved, failed)
        except StoreUnavailable:
            pass
        except Exception as odd:  # noqa: BLE001 - it is what is looked for
            print(f"{fault} at {at}: {odd!r}")  # noqa: T201
            untold += 1
    calls = disk.calls
    disk.strike(None)
    run = _looked(path, saved, failed, untold)
    cut = path.parent / "cut" / path.name
    if cut.exists() and fault is not Fault.VANISH:
        before = [turn for turn in saved if turn < failed[0]]
        run = Run(*map(sum, zip(run, _looked(cut, before, failed[:1], 0), strict=True)))
    return run, calls


def _wash(path: Path, saved: list[int], failed: list[int]) -> int:
    with Store.open(path) as store:
        for turn, event in enumerate(events()):
            try:
                store.append("a", [event], minutes(turn))
                saved.append(turn)
            except NotKnown:
                pass
            except StoreUnavailable:
                failed.append(turn)
                if len(failed) == 1:
                    _copied(path)
            if turn == ENTRIES // 2:
                _beside(store)
    return 0


def _copied(path: Path) -> None:
    """Keep the files as they are at this moment: so a power cut would leave them at the best."""
    folder = path.parent / "cut"
    folder.mkdir(exist_ok=True)
    for ending in ("", "-wal"):
        with suppress(OSError):
            shutil.copyfile(f"{path}{ending}", folder / f"{path.name}{ending}")


def _beside(store: Store) -> None:
    """Let a reader look, as the Logbook does beside the entries."""
    try:
        with store.reader() as reader:
            reader.entries("a")
            reader.verify()
    except StoreUnavailable:
        pass


def _looked(path: Path, saved: list[int], failed: list[int], untold: int) -> Run:
    try:
        with Store.open(path) as store:
            there = Counter(one.recorded_at for one in store.entries("a"))
            odd = bool(store.verify()) or bool(store.compare_projections())
    except StoreUnavailable as trouble:
        print(f"can't be opened: {trouble}")  # noqa: T201
        there, odd = Counter(), bool(saved)
    lost = sum(not there[minutes(turn)] for turn in saved)
    wrong = sum(there[minutes(turn)] > 0 for turn in failed)
    wrong += sum(count > 1 for count in there.values())
    return Run(lost, wrong, int(odd), untold)


def all_faults(folder: Path, each: int, kinds: list[Fault]) -> dict[Fault, tuple[int, Run]]:
    """Try each kind at every ``each``-th call; return how many there were and their sums."""
    disk = FaultyDisk()
    found = {}
    for fault in kinds:
        _, calls = wash(folder / f"{fault.name}.db", disk, fault, -1)
        sums, tried = Run(0, 0, 0, 0), 0
        ways = [False, True] if fault in STAYING else [False]
        for at, stays in product(range(0, calls, each), ways):
            place = folder / f"{fault.name}-{at}-{stays}"
            place.mkdir()
            run, _ = wash(place / "shed.db", disk, fault, at, stays=stays)
            if any(run):
                print(f"{fault.name} {stays=} at {at} of {calls}: {run}", flush=True)  # noqa: T201
            sums, tried = Run(*map(sum, zip(sums, run, strict=True))), tried + 1
            shutil.rmtree(place)
        found[fault] = (tried, sums)
    return found


def main() -> None:
    """Try them and print the sums."""
    each = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    with tempfile.TemporaryDirectory() as folder:
        for fault, (tried, sums) in all_faults(Path(folder), each, list(Fault)).items():
            print(f"{fault.name:8} {tried:5} {sums}", flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
