"""Entries as they are stored, and read back."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, NamedTuple

import msgspec
from sqlalchemy import Connection, select

from washmon.line.journal import Entry, decode
from washmon.store.errors import Place, StoreUnavailable, damaged
from washmon.store.schema import journal


class RawEntry(NamedTuple):
    """One place of a chain as it is stored; what :func:`washmon.line.journal.verify` walks."""

    seq: int
    recorded_at: datetime
    body: bytes
    hash: str


def read_rows(
    connection: Connection, place: Place, chain: str, since: int = 0, most: int | None = None
) -> list[RawEntry]:
    """Return the stored rows of a chain from a place on, in order, or so many of them.

    Raises:
        Damaged: a time can't be read.
    """
    columns = (journal.c.seq, journal.c.recorded_at, journal.c.body, journal.c.hash)
    of = (journal.c.chain == chain, *((journal.c.seq >= since,) if since else ()))
    query = select(*columns).where(*of).order_by(journal.c.seq).limit(most)
    return to_rows(connection.execute(query), place, chain)


def to_rows(found: Iterable[Any], place: Place, chain: str) -> list[RawEntry]:
    """Return stored rows of a chain, given as place, time, body and hash.

    Raises:
        Damaged: a time can't be read.
    """
    try:
        return [
            RawEntry(seq, datetime.fromisoformat(at), bytes(body), digest)
            for seq, at, body, digest in found
        ]
    except (TypeError, ValueError) as error:
        raise damaged(place, f"shift {chain}: {error}") from error


def read_entries(place: Place, rows: Sequence[RawEntry]) -> list[Entry]:
    """Return the entries in stored rows.

    Raises:
        StoreUnavailable: an event can't be read by this version.
    """
    entries = []
    for row in rows:
        try:
            event = decode(row.body)
        except (msgspec.DecodeError, ValueError) as error:
            raise StoreUnavailable(
                f"Entry {row.seq} in {place.name} can't be read ({error}): a newer version of "
                "washmon may have written it; otherwise go on with a backup."
            ) from error
        entries.append(Entry(row.seq, row.recorded_at, event, row.hash))
    return entries
