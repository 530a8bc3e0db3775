"""The list of shifts and all summaries made anew from the journal, by all cores of the computer."""

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from itertools import chain as flattened
from multiprocessing import get_context
from pathlib import Path

from washmon.line.fold import NotAShift, fold
from washmon.line.journal import Entry
from washmon.recorder.summaries import filed
from washmon.reports.summing import summarize
from washmon.store.place import Server
from washmon.store.projecting import MadeRows, made_of
from washmon.store.searching import SummaryRows
from washmon.store.shift import ShiftFold
from washmon.store.store import Store

_AT_ONCE = 8
"""Shifts that a process folds before it hands over what it made."""
_WORTH = 200
"""So many shifts take longer than other processes to start."""

_opened: list[Store] = []
"""The database, in each process of its own."""


def rebuild(
    store: Store,
    progress: Callable[[int], None] = lambda _done: None,
    processes: int | None = None,
) -> int:
    """Make list and summaries anew; return how many ended shifts are summed up.

    Args:
        store: a database that may be written.
        progress: is told how many shifts are done.
        processes: how many fold at once; one for each core where nothing is said.

    Raises:
        StoreUnavailable: nothing was changed.
    """
    chains = store.chains()
    if processes is None:
        cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
        # A frozen program would begin anew, with its window, where it starts a process.
        processes = 1 if len(chains) < _WORTH or hasattr(sys, "frozen") else cores or 1
    with _folding(store, processes) as folded:
        return store.rebuild_projections(lambda: _counted(folded(_parts(chains)), progress))


@contextmanager
def _folding(
    store: Store, processes: int
) -> Iterator[Callable[[Iterable[Sequence[str]]], Iterator[list[MadeRows]]]]:
    """Lend what folds chains: a reader here, or processes with a reader each."""
    if processes == 1:
        with store.reader() as reader:
            yield partial(map, partial(_all_made, reader))
        return
    where: Path | str = str(store.place)
    if isinstance(store.place, Server):
        where = store.place.url.render_as_string(hide_password=False)
    with ProcessPoolExecutor(processes, get_context("spawn"), _begin, (where,)) as pool:
        yield partial(pool.map, _made)


def _counted(
    parts: Iterator[list[MadeRows]], progress: Callable[[int], None]
) -> Iterator[MadeRows]:
    for done, made in enumerate(flattened.from_iterable(parts), 1):
        yield made
        progress(done)


def _parts(chains: Sequence[str]) -> Iterator[Sequence[str]]:
    return (chains[begin : begin + _AT_ONCE] for begin in range(0, len(chains), _AT_ONCE))


def _begin(where: Path | str) -> None:
    _opened.append(Store.open(where, read_only=True))


def _made(chains: Sequence[str]) -> list[MadeRows]:
    return _all_made(_opened[0], chains)


def _all_made(store: Store, chains: Sequence[str]) -> list[MadeRows]:
    return [_of_chain(chain, store.entries(chain)) for chain in chains]


def _of_chain(chain: str, entries: list[Entry]) -> MadeRows:
    """Fold a chain for the list and for its summary, whose entries are decoded once for both."""
    return made_of(ShiftFold(chain).then(entries), *_summed(chain, entries))


def _summed(chain: str, entries: list[Entry]) -> tuple[list[tuple[int, str]], SummaryRows | None]:
    try:
        shift = fold(chain, entries)
    except NotAShift:
        return [], None
    return ([], None) if shift.ended is None else filed(summarize(shift))
