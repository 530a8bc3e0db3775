"""The table of shift summaries: kept when a shift ends, read for an export, made anew if old.

Summaries that an earlier version kept, or that are missing, made anew while the shed works.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Protocol, TypeVar

from washmon.line.fold import NotAShift, fold
from washmon.line.state import ShiftState
from washmon.reports.cells import is_harmless
from washmon.reports.csv_export import CsvPart, form_of, in_csv
from washmon.reports.summary import VERSION, TankSummary, read_summary, summary_bodies
from washmon.reports.summing import summarize
from washmon.reports.tables import SUMMARIES
from washmon.store.errors import CannotWrite, StoreUnavailable, Unreachable
from washmon.store.searching import SummaryRows
from washmon.store.store import Store

T = TypeVar("T")

FORM = form_of(SUMMARIES, VERSION)
_AT_ONCE = 100
"""Shifts that are read in one go, so that memory stays small and entries get in between."""


class AskStore(Protocol):
    """Asks the store something, on whichever thread may read it."""

    def __call__(self, query: Callable[[Store], T], /) -> T:
        """Return the answer."""


def file_away(store: Store, shift: ShiftState) -> tuple[TankSummary, ...]:
    """Keep an ended shift's summary for the Logbook, also as rows of the table; return it.

    Raises:
        StoreUnavailable: nothing was written.
    """
    summed = summarize(shift)
    store.save_summaries(shift.chain, *filed(summed))
    return summed


def filed(summed: tuple[TankSummary, ...]) -> tuple[list[tuple[int, str]], SummaryRows]:
    """Return what is kept of an ended shift: the summary of each tank, and rows of the table."""
    part = in_csv(SUMMARIES, summed)
    return summary_bodies(summed), SummaryRows(FORM, part.rows, part.text)


def kept_summaries(store: Store, chains: Sequence[str]) -> dict[str, list[TankSummary]]:
    """Return the summaries of those shifts that have all of theirs kept, as they are made today.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    found: dict[str, list[TankSummary | None]] = {}
    for row in store.summaries(chains):
        found.setdefault(row.chain, []).append(read_summary(row.body))
    whole = {
        chain: [one for one in summaries if one is not None] for chain, summaries in found.items()
    }
    return {chain: some for chain, some in whole.items() if len(some) == len(found[chain])}


def summed_anew(store: Store, chain: str) -> Sequence[TankSummary]:
    """Return the summaries of a shift from its journal; an ended one's are kept for the next time.

    Empty where the journal is no shift's.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    try:
        shift = fold(chain, store.entries(chain))
    except NotAShift:
        return ()
    if shift.ended is None or store.read_only:
        return summarize(shift)
    try:
        return file_away(store, shift)
    except StoreUnavailable:  # a full disk keeps nobody from reading
        return summarize(shift)


def summary_parts(ask: AskStore, chains: Sequence[str]) -> Iterator[CsvPart]:
    """Yield the rows of these shifts, in this order; those of no shift have none.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    for begin in range(0, len(chains), _AT_ONCE):
        some = chains[begin : begin + _AT_ONCE]
        kept = ask(_kept(some))
        for chain in some:
            yield kept[chain] if chain in kept else ask(_anew(chain))


def _kept(chains: Sequence[str]) -> Callable[[Store], dict[str, CsvPart]]:
    def query(store: Store) -> dict[str, CsvPart]:
        found = store.summary_rows(chains, FORM)
        return {
            chain: CsvPart(one.text, one.rows)
            for chain, one in found.items()
            if is_harmless(one.text)
        }

    return query


def _anew(chain: str) -> Callable[[Store], CsvPart]:
    """Return a query for rows that are not kept, or were kept by an earlier version."""

    def query(store: Store) -> CsvPart:
        kept = kept_summaries(store, [chain]).get(chain, [])
        head = store.head(chain)
        fresh = kept and all(one.shift.head == head for one in kept)
        return in_csv(SUMMARIES, kept if fresh else summed_anew(store, chain))

    return query


def differing_summaries(
    store: Store,
    stop: Callable[[], bool] = bool,
    agrees: Callable[[Store, str], bool] | None = None,
) -> Iterator[str]:
    """Sum every shift up anew, and say which kept summaries are not what comes out.

    ``agrees`` may know of one by other means than :func:`summary_agrees`.
    ``stop`` is asked between shifts; once it says yes, the rest is not looked at.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    for row in store.iter_shifts():
        if stop():
            return
        if not (agrees or summary_agrees)(store, row.chain):
            yield (
                f"The summary that is kept of shift {row.chain} does not agree with its journal: "
                "have it made anew (washmon rebuild)."
            )


def summary_agrees(store: Store, chain: str) -> bool:
    """Sum a shift up anew, and return whether the summary that is kept of it says the same.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    head = store.head(chain)
    kept = store.summary_rows([chain], FORM).get(chain)
    bodies = [(one.tank, read_summary(one.body)) for one in store.summaries([chain])]
    if kept is None and not bodies:
        return True
    try:
        summed = summarize(fold(chain, store.entries(chain)))
    except NotAShift:
        return False
    fresh = in_csv(SUMMARIES, summed)
    # One of before another entry, or of another version, is read by nobody.
    same = kept is None or not is_harmless(kept.text) or kept[1:] == (fresh.rows, fresh.text)
    return same and (
        any(one is None or one.shift.head != head for _, one in bodies)
        or bodies == [(one.tank, one) for one in summed]
    )


def renew(
    reader: Store,
    ask: AskStore,
    stop: Callable[[], bool],
    progress: Callable[[int, int], None],
) -> int:
    """Make what is old or missing anew, and return how many shifts that were.

    Args:
        reader: a store of this thread's own: here the journals are folded.
        ask: asks the store that may write, on its thread: only there is anything saved.
        stop: asked before each shift.
        progress: is told how many are done, and of how many.

    Raises:
        StoreUnavailable: the database can't be read, or is read only.
    """
    done, chains = 0, reader.summed_up_otherwise(FORM)
    for at, chain in enumerate(chains, 1):
        if stop():
            break
        try:
            shift = fold(chain, reader.entries(chain))
            done += shift.ended is not None and ask(_saving(shift))
        except (Unreachable, CannotWrite):
            raise
        except (StoreUnavailable, NotAShift):  # verify names it
            continue
        progress(at, len(chains))
    return done


def _saving(shift: ShiftState) -> Callable[[Store], bool]:
    """Return a query that keeps a summary, unless the shift got another entry meanwhile."""
    bodies, rows = filed(summarize(shift))
    head = shift.entries[-1].hash

    def query(store: Store) -> bool:
        if store.head(shift.chain) != head:
            return False  # whoever entered it has summed it up
        store.save_summaries(shift.chain, bodies, rows)
        return True

    return query
