"""The check of a whole database: the file, every chain, and how the shifts follow each other."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime

import msgspec
from sqlalchemy import Connection, select

from washmon.line.events import ShiftStarted, Signature
from washmon.line.journal import GENESIS, SITE, BrokenChain, decode, link_as_stored
from washmon.store.postgres import is_server
from washmon.store.schema import journal, shift

_STEP = 1000
_SIGNATURES = (b'{"event":"shift signed"', b'{"event":"shift reviewed"')


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
    """What is remembered of a chain while walking it."""

    chain: str
    entries: int = 0
    head: str = GENESIS
    after: tuple[str, str] | None = None
    broken: bool = False
    failing: bool = False
    """The newest entry did not follow from the one before it."""


def faults(connection: Connection, stop: Callable[[], bool] = bool) -> list[Fault]:
    """Return everything that is wrong with a database; empty when all is as it was written.

    ``stop`` is asked between chains; once it says yes, the rest is not looked at.
    """
    found = list(_file(connection))
    return found or list(_journal(connection, stop))


def _file(connection: Connection) -> Iterator[Fault]:
    if is_server(connection):  # which looks after its own files
        return
    for said in connection.exec_driver_sql("PRAGMA quick_check(1)").scalars():
        if said != "ok":
            yield Fault(f"The file is damaged ({said}): keep it, and go on with a backup.")


def _journal(connection: Connection, stop: Callable[[], bool]) -> Iterator[Fault]:
    columns = (journal.c.chain, journal.c.seq, journal.c.recorded_at, journal.c.body)
    query = select(*columns, journal.c.hash).order_by(journal.c.chain, journal.c.seq)
    seen: dict[str, _Seen] = {}
    walked: _Seen | None = None
    # Read in steps: ten years of entries need not fit into memory.
    for chain, seq, at, body, digest in connection.execution_options(yield_per=_STEP).execute(
        query
    ):
        if walked is None or chain != walked.chain:
            if stop():
                return
            walked = seen[str(chain)] = _Seen(chain)
        # All that is in a sound entry is in its hash: nothing else needs to be looked at.
        try:
            follows = (
                seq == walked.entries
                and link_as_stored(walked.head, chain, seq, at, body) == digest
            )
        except (TypeError, ValueError):
            follows = False
        if not follows:
            if not walked.failing:  # of entries side by side the first is named
                yield _broken(walked, seq, at, body)
            walked.broken = walked.failing = True
            # On from what stands there, so that a change further on is named, too.
            place = seq if isinstance(seq, int) else walked.entries
            walked.entries, walked.head = place + 1, str(digest)
            continue
        walked.failing = False
        if seq == 0:
            walked.after = _after(body)
        elif body.startswith(_SIGNATURES):
            yield from _signature(walked, body)
        walked.entries, walked.head = walked.entries + 1, digest
    yield from _order(connection, seen)
    yield from _list(connection, seen)


def _signature(walked: _Seen, body: bytes) -> Iterator[Fault]:
    """Look whether a signature covers what stands before it: forged hashes may fit, it does not."""
    event = decode(body)
    if isinstance(event, Signature) and event.covers != walked.head:
        what = "this signature does not cover what stands before it"
        yield Fault(
            f"In shift {walked.chain}: {BrokenChain(walked.entries, what)}",
            walked.chain,
            walked.entries,
        )


def _broken(walked: _Seen, seq: object, at: object, body: object) -> Fault:
    chain, place = walked.chain, walked.entries
    where = "the site's chain" if chain == SITE else f"shift {chain}"
    if seq != place:
        what = f"missing, entry {seq} stands in its place"
    elif not isinstance(body, bytes) or not _is_time(at):
        what = "its time or its content can't be read"
    else:
        what = "its content or its time was changed after it was written"
    return Fault(f"In {where}: {BrokenChain(place, what)}", chain, place)


def _is_time(stored: object) -> bool:
    try:
        return isinstance(stored, str) and datetime.fromisoformat(stored) is not None
    except ValueError:
        return False


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
                min(walked.entries, row.entries) if isinstance(row.entries, int) else None,
            )
