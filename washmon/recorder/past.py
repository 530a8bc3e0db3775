"""The shifts of the Logbook that say what is usual when another one begins, live or in a replay."""

from washmon.line.events import ShiftStarted
from washmon.line.journal import Entry
from washmon.store.store import Store

PAST_SHIFTS = 5


def past_shifts(store: Store, chain: str, started: ShiftStarted) -> list[tuple[str, list[Entry]]]:
    """Return the newest shifts of a line before one began, the oldest first, each with its chain.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    found = store.shifts(
        limit=PAST_SHIFTS, line=started.setup.line, practice=False, until=started.at
    )
    chains = [row.chain for row in reversed(found) if row.chain != chain]
    return [(one, store.entries(one)) for one in chains]
