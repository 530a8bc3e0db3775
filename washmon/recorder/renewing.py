"""Summaries that an earlier version kept, or that are missing, made anew while the shed works."""

from collections.abc import Callable

from washmon.line.fold import NotAShift, fold
from washmon.line.state import ShiftState
from washmon.recorder.summaries import FORM, AskStore, filed
from washmon.reports.summing import summarize
from washmon.store.errors import CannotWrite, StoreUnavailable, Unreachable
from washmon.store.store import Store


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
