"""Gathering from many shifts, a few at a time, so that entries get in between."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple

from PySide6.QtCore import QObject, Signal

from washmon.gui.client import RecorderClient
from washmon.line.fold import NotAShift
from washmon.recorder.summaries import kept_summaries, summed_anew
from washmon.reports.punctuality import Check, checks_in
from washmon.store.shift import ShiftRow
from washmon.store.store import Store

_AT_ONCE = 25
"""Shifts of which what is kept is read in one go; a journal is read alone."""
Found = Sequence[object]


class Gathered(NamedTuple):
    """What is gathered: ``anew`` makes it from one journal, ``kept`` finds what is at hand."""

    anew: Callable[[Store, str], Found]
    kept: Callable[[Store, Sequence[str]], Mapping[str, Found]] | None = None


class Gatherer(QObject):
    """Reads what is kept from the oldest shift on, then what must be made from journals.

    A new asking puts an end to the one before.

    Signals:
        progressed(int, int): so many of so many shifts are read.
        gathered(object): a tuple of all that was found, or the exception that stood in the way.
    """

    progressed = Signal(int, int)
    gathered = Signal(object)

    def __init__(
        self, client: RecorderClient, kind: Gathered, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._client, self._kind = client, kind
        self._asked = 0
        self._chains: list[str] = []
        self._kept_upto = 0
        self._missing: list[str] = []
        self._found: dict[str, Found] = {}

    def gather(self, since: datetime | None) -> None:
        """Read the shifts that began from a moment on, without practice."""
        self._asked += 1
        self._found = {}
        self._client.read(_shifts(self._asked, since), self._take_shifts)

    def stop(self) -> None:
        """Read no further, and say nothing more."""
        self._asked += 1

    def _take_shifts(self, result: object) -> None:
        if not isinstance(result, tuple):
            self.gathered.emit(result)
            return
        asked, rows = result
        if asked == self._asked:
            self._chains = [row.chain for row in rows]
            self._kept_upto = 0 if self._kind.kept else len(self._chains)
            self._missing = [] if self._kind.kept else list(reversed(self._chains))
            self._next()

    def _next(self) -> None:
        some = self._chains[self._kept_upto : self._kept_upto + _AT_ONCE]
        if some and self._kind.kept is not None:
            self._kept_upto += len(some)
            self._client.read(_kept(self._asked, self._kind.kept, some), self._take)
        elif self._missing:
            chain = self._missing.pop()
            self._client.read(_anew(self._asked, self._kind.anew, chain), self._take)
        else:
            self.gathered.emit(tuple(one for chain in self._chains for one in self._found[chain]))

    def _take(self, result: object) -> None:
        if not isinstance(result, tuple):
            self.gathered.emit(result)
            return
        asked, some, missing = result
        if asked == self._asked:
            self._found.update(some)
            self._missing[:0] = reversed(missing)
            self.progressed.emit(len(self._found), len(self._chains))
            self._next()


def _shifts(asked: int, since: datetime | None) -> Callable[[Store], tuple[int, list[ShiftRow]]]:
    def query(store: Store) -> tuple[int, list[ShiftRow]]:
        return asked, store.shifts(since=since, practice=False, newest_first=False)

    return query


Taken = tuple[int, Mapping[str, Found], Sequence[str]]
"""For which asking, what was found of which shift, and of which shifts nothing was kept."""


def _kept(
    asked: int, kept: Callable[[Store, Sequence[str]], Mapping[str, Found]], chains: Sequence[str]
) -> Callable[[Store], Taken]:
    def query(store: Store) -> Taken:
        found = kept(store, chains)
        return asked, found, [chain for chain in chains if chain not in found]

    return query


def _anew(asked: int, anew: Callable[[Store, str], Found], chain: str) -> Callable[[Store], Taken]:
    def query(store: Store) -> Taken:
        return asked, {chain: anew(store, chain)}, ()

    return query


def checks_of(store: Store, chain: str) -> list[Check]:
    """Return the checks that came due, from the journal: they are kept nowhere else."""
    try:
        return checks_in(chain, store.entries(chain))
    except NotAShift:
        return []


SUMMARIES = Gathered(summed_anew, kept_summaries)
CHECKS = Gathered(checks_of)
