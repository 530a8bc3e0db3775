"""The site's chain, which all lines write and nearly everything asks: only what is new is read."""

from collections.abc import Iterator

from sqlalchemy import Connection, func, select

from washmon.line.journal import SITE, Entry
from washmon.store.errors import Place
from washmon.store.rows import RawEntry, read_entries, read_rows, to_rows
from washmon.store.schema import journal

_SAVED = b'{"event":"setup saved"'
_FIRST, _MORE = 20, 200


class SiteChain:
    """What was read of the chain so far. It only grows: the next time only its end is read.

    Twenty lines write some 70,000 entries on it in ten years, and each PIN, each register and each
    beginning of a shift asks it.
    """

    def __init__(self) -> None:
        self._known: list[Entry] = []

    def entries(self, connection: Connection, place: Place) -> list[Entry]:
        """Return the whole chain as it is now.

        Raises:
            StoreUnavailable: an entry can't be read.
        """
        if self._known:
            last = self._known[-1]
            rows = read_rows(connection, place, SITE, last.seq)
            if rows and (rows[0].seq, rows[0].hash) == (last.seq, last.hash):
                self._known += read_entries(place, rows[1:])
                return list(self._known)
        # Read for the first time, or another database took the place of the one that was known.
        self._known = read_entries(place, read_rows(connection, place, SITE))
        return list(self._known)


def saved_setups(connection: Connection, place: Place) -> Iterator[Entry]:
    """Yield the entries that saved a set-up, the newest first: mostly the first ones are enough.

    Raises:
        StoreUnavailable: an entry can't be read.
    """
    columns = (journal.c.seq, journal.c.recorded_at, journal.c.body, journal.c.hash)
    query = select(*columns).where(
        journal.c.chain == SITE, func.substr(journal.c.body, 1, len(_SAVED)) == _SAVED
    )
    query = query.order_by(journal.c.seq.desc())
    limit, last = _FIRST, None
    while True:
        page = query.limit(limit) if last is None else query.limit(limit).where(last)
        rows: list[RawEntry] = to_rows(connection.execute(page), place, SITE)
        yield from read_entries(place, rows)
        if len(rows) < limit:
            return
        limit, last = _MORE, journal.c.seq < rows[-1].seq
