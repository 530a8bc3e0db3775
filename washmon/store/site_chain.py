"""The site's chain, which all lines write and nearly everything asks: only what is new is read."""

from collections.abc import Collection, Iterator
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import Connection, Engine, func, select

from washmon.line.journal import SITE, Entry
from washmon.line.setup import LineSetup
from washmon.line.site_events import SetupSaved
from washmon.store.errors import Place
from washmon.store.rows import RawEntry, read_entries, read_rows, to_rows
from washmon.store.schema import journal
from washmon.store.searching import Searching

_SAVED = b'{"event":"setup saved"'
_FIRST, _MORE = 20, 200
AHEAD = 1000
"""So many entries are read in some 10 ms: an entry that comes meanwhile is taken right after."""


class SavedSetup(NamedTuple):
    """The newest set-up of a line."""

    line: str
    setup: LineSetup
    saved_at: datetime


class SiteChain:
    """What was read of the chain so far. It only grows: the next time only its end is read.

    Twenty lines write some 70,000 entries on it in ten years, and each PIN, each register and each
    beginning of a shift asks it.
    """

    def __init__(self) -> None:
        self._known: tuple[Entry, ...] = ()

    def entries(self, connection: Connection, place: Place) -> tuple[Entry, ...]:
        """Return the whole chain as it is now; the very same object while nothing was added.

        Raises:
            StoreUnavailable: an entry can't be read.
        """
        if self._known:
            last = self._known[-1]
            rows = read_rows(connection, place, SITE, last.seq)
            if rows and (rows[0].seq, rows[0].hash) == (last.seq, last.hash):
                if len(rows) > 1:
                    self._known += tuple(read_entries(place, rows[1:]))
                return self._known
        # Read for the first time, or another database took the place of the one that was known.
        self._known = tuple(read_entries(place, read_rows(connection, place, SITE)))
        return self._known

    def read_ahead(self, connection: Connection, place: Place) -> bool:
        """Read some of what is not known yet; return whether there is more.

        Raises:
            StoreUnavailable: an entry can't be read.
        """
        since = self._known[-1].seq + 1 if self._known else 0
        rows = read_rows(connection, place, SITE, since, AHEAD)
        self._known += tuple(read_entries(place, rows))
        return len(rows) == AHEAD


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


class ReadingSite(Searching):
    """The part of the store that asks the site's chain."""

    def __init__(self, place: Place, engine: Engine) -> None:
        super().__init__(place, engine)
        self._site = SiteChain()

    def site(self) -> tuple[Entry, ...]:
        """Return the site's chain, oldest entry first; the very same object while it is the same.

        What is folded from it may be kept by that: see :func:`washmon.line.registry.registers_of`.
        """
        with self._asking() as connection:
            return self._site.entries(connection, self.place)

    def read_site_ahead(self) -> bool:
        """Read some of the site's chain before anybody asks for it; tell whether there is more."""
        with self._asking() as connection:
            return self._site.read_ahead(connection, self.place)

    def setups(self, lines: Collection[str] | None = None) -> list[SavedSetup]:
        """Return the newest saved set-up of every line, or of these, the last saved first."""
        newest: dict[str, SavedSetup] = {}
        with self._asking() as connection:
            for saved in self._saves(connection):
                if lines is None or saved.line in lines:
                    newest.setdefault(saved.line, saved)
                if lines is not None and len(newest) == len(set(lines)):
                    break
        return list(newest.values())

    def latest_setup(self) -> LineSetup | None:
        """Return the set-up that was saved last, if any was."""
        with self._asking() as connection:
            return next((one.setup for one in self._saves(connection)), None)

    def _saves(self, connection: Connection) -> Iterator[SavedSetup]:
        for entry in saved_setups(connection, self.place):
            if isinstance(entry.event, SetupSaved):
                setup = entry.event.setup
                yield SavedSetup(setup.line, setup, entry.event.at)
