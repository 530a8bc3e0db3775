"""The check of a whole database: the file, every chain, and how the shifts follow each other."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any

import msgspec
from sqlalchemy import Connection, Row, select

from washmon.line.events import ShiftStarted
from washmon.line.journal import SITE, BrokenChain, decode, verify
from washmon.store.schema import journal, shift

_STEP = 1000


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong; ``chain`` and ``seq`` say where, as far as it has a place."""

    what: str
    chain: str | None = None
    seq: int | None = None

    def __str__(self) -> str:
        return self.what


@dataclass(slots=True)
class _Seen:
    """What is remembered of a chain after walking it."""

    entries: int
    head: str
    after: tuple[str, str] | None
    broken: bool = False


def faults(connection: Connection) -> list[Fault]:
    """Return everything that is wrong with a database; empty when all is as it was written."""
    found = list(_file(connection))
    return found or list(_journal(connection))


def _file(connection: Connection) -> Iterator[Fault]:
    for said in connection.exec_driver_sql("PRAGMA quick_check(1)").scalars():
        if said != "ok":
            yield Fault(f"The file is damaged ({said}): keep it, and go on with a backup.")


def _journal(connection: Connection) -> Iterator[Fault]:
    query = select(journal).order_by(journal.c.chain, journal.c.seq)
    seen: dict[str, _Seen] = {}
    # Read in steps: ten years of entries need not fit into memory.
    rows = connection.execution_options(yield_per=_STEP).execute(query)
    for chain, links in groupby(rows, key=lambda row: str(row.chain)):
        yield from _chain(chain, links, seen)
    yield from _order(connection, seen)
    yield from _list(connection, seen)


def _chain(chain: str, links: Iterator[Row[Any]], seen: dict[str, _Seen]) -> Iterator[Fault]:
    walked = _Seen(0, "", None)
    seen[chain] = walked

    def remembered() -> Iterator[tuple[int, datetime, bytes, str]]:
        for row in links:
            try:
                link = (row.seq, datetime.fromisoformat(row.recorded_at), bytes(row.body), row.hash)
            except (TypeError, ValueError) as error:
                raise BrokenChain(row.seq, "its time or its content can't be read") from error
            if row.seq == 0:
                walked.after = _after(link[2])
            walked.entries, walked.head = walked.entries + 1, row.hash
            yield link

    try:
        verify(chain, remembered())
    except BrokenChain as broken:
        walked.broken = True
        where = "the site's chain" if chain == SITE else f"shift {chain}"
        yield Fault(f"In {where}: {broken}", chain, broken.seq)


def _after(body: bytes) -> tuple[str, str] | None:
    try:
        event = decode(body)
    except (msgspec.DecodeError, ValueError):
        return None  # its hash says whether that is how it was written
    return event.after if isinstance(event, ShiftStarted) else None


def _order(connection: Connection, seen: dict[str, _Seen]) -> Iterator[Fault]:
    """Look for the shifts that others say they followed."""
    for chain, walked in seen.items():
        if walked.after is None:
            continue
        before, digest = walked.after
        if before not in seen:
            yield Fault(
                f"Shift {before} is missing: shift {chain} was started after it.", before, None
            )
        elif digest != seen[before].head:
            query = select(journal.c.seq).where(journal.c.chain == before, journal.c.hash == digest)
            if connection.scalar(query.limit(1)) is None:
                yield Fault(
                    f"The end of shift {before} is missing: shift {chain} was started after an "
                    "entry that is not there.",
                    before,
                    seen[before].entries,
                )


def _list(connection: Connection, seen: dict[str, _Seen]) -> Iterator[Fault]:
    """Hold the list of shifts against the journal: it remembers where each chain ended."""
    for row in connection.execute(select(shift.c.chain, shift.c.entries, shift.c.head)):
        walked = seen.get(row.chain)
        if walked is None:
            yield Fault(f"Shift {row.chain} is in the list, but its entries are gone.", row.chain)
        elif not walked.broken and (walked.entries, walked.head) != (row.entries, row.head):
            yield Fault(
                f"Shift {row.chain} has {walked.entries} entries, the list of shifts says "
                f"{row.entries}, or they end differently.",
                row.chain,
                min(walked.entries, row.entries),
            )
