"""Which shifts know a lot, initials or a customer: asked of the index, by the name as a whole."""

from collections.abc import Callable
from datetime import datetime
from typing import NamedTuple

from washmon.store.shift import NameKind
from washmon.store.store import Store

_HINTS = 4


class NamedShifts(NamedTuple):
    """For which asking, the chains that know what was typed, and lots that only begin so."""

    asked: int
    chains: frozenset[str]
    beginning: tuple[str, ...]


def named(
    asked: int, words: str, since: datetime, until: datetime
) -> Callable[[Store], NamedShifts]:
    """Return a query for the shifts in which these initials, this lot or customer comes up.

    Whoever entered, led, took over or signed counts. Several words must each come up, unless all
    of them together are one lot.
    """

    def query(store: Store) -> NamedShifts:
        def known(name: str) -> set[str]:
            rows = store.shifts(lot=name, since=since, until=until, practice=False)
            rows += store.shifts(person=name, since=since, until=until, practice=False)
            rows += store.shifts(recipient=name, since=since, until=until, practice=False)
            return {row.chain for row in rows}

        found = known(words)
        if not found and len(words.split()) > 1:
            found = set.intersection(*(known(word) for word in words.split()))
        lots = [] if found else store.names(NameKind.LOT, words, limit=_HINTS)
        return NamedShifts(asked, frozenset(found), tuple(lots))

    return query
