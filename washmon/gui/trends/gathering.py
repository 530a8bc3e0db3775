"""Gathering from many shifts, a few at a time, so that entries get in between."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import NamedTuple

from PySide6.QtCore import QObject, Signal

from washmon.gui.desk import Desk
from washmon.line.fold import NotAShift, fold
from washmon.reports.punctuality import Check, checks_in
from washmon.reports.summary import TankSummary, read_summary, summarize
from washmon.store.shift import ShiftRow
from washmon.store.store import Store

Made = Callable[[Store, Sequence[str]], Sequence[object]]


class Kind(NamedTuple):
    """What is gathered, and from how many shifts in one go."""

    made: Made
    at_once: int


class Gatherer(QObject):
    """Reads from the oldest shift on; a new asking puts an end to the one before.

    Signals:
        progressed(int, int): so many of so many shifts are read.
        gathered(object): a tuple of all that was made, or the exception that stood in the way.
    """

    progressed = Signal(int, int)
    gathered = Signal(object)

    def __init__(self, desk: Desk, kind: Kind, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk, self._kind = desk, kind
        self._asked = 0
        self._waiting: list[str] = []
        self._total = 0
        self._found: list[object] = []

    def gather(self, since: datetime | None) -> None:
        """Read the shifts that began from a moment on, without practice."""
        self._asked += 1
        self._found = []
        self._desk.read(_shifts(self._asked, since), self._take_shifts)

    def stop(self) -> None:
        """Read no further, and say nothing more."""
        self._asked += 1
        self._waiting = []

    def _take_shifts(self, result: object) -> None:
        if not isinstance(result, tuple):
            self.gathered.emit(result)
            return
        asked, rows = result
        if asked == self._asked:
            self._waiting = [row.chain for row in rows]
            self._total = len(self._waiting)
            self._next()

    def _next(self) -> None:
        count = self._kind.at_once
        some, self._waiting = self._waiting[:count], self._waiting[count:]
        if some:
            self._desk.read(_making(self._asked, self._kind.made, some), self._take)
        else:
            self.gathered.emit(tuple(self._found))

    def _take(self, result: object) -> None:
        if not isinstance(result, tuple):
            self.gathered.emit(result)
            return
        asked, some = result
        if asked == self._asked:
            self._found += some
            self.progressed.emit(self._total - len(self._waiting), self._total)
            self._next()


def _shifts(asked: int, since: datetime | None) -> Callable[[Store], tuple[int, list[ShiftRow]]]:
    def query(store: Store) -> tuple[int, list[ShiftRow]]:
        return asked, store.shifts(since=since, practice=False, newest_first=False)

    return query


def _making(
    asked: int, made: Made, chains: Sequence[str]
) -> Callable[[Store], tuple[int, Sequence[object]]]:
    def query(store: Store) -> tuple[int, Sequence[object]]:
        return asked, made(store, chains)

    return query


def summaries_of(store: Store, chains: Sequence[str]) -> list[TankSummary]:
    """Return kept summaries; one that is missing or old is made from the journal."""
    kept: dict[str, list[TankSummary | None]] = {chain: [] for chain in chains}
    for row in store.summaries(chains):
        kept[row.chain].append(read_summary(row.body))
    found: list[TankSummary] = []
    for chain, summaries in kept.items():
        whole = [one for one in summaries if one is not None]
        if not whole or len(whole) < len(summaries):
            whole = _made_anew(store, chain)
        found += whole
    return found


def _made_anew(store: Store, chain: str) -> list[TankSummary]:
    try:
        return list(summarize(fold(chain, store.entries(chain))))
    except NotAShift:
        return []


def checks_of(store: Store, chains: Sequence[str]) -> list[Check]:
    """Return the checks that came due, from the journals: they are kept nowhere else."""
    found: list[Check] = []
    for chain in chains:
        try:
            found += checks_in(chain, store.entries(chain))
        except NotAShift:
            continue
    return found


SUMMARIES = Kind(summaries_of, 25)
CHECKS = Kind(checks_of, 1)
