"""The check of a whole database: the file, every chain, and how the shifts follow each other."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple, get_args

import msgspec
from sqlalchemy import Connection, select

from washmon.line.event_base import Anchoring, Signature
from washmon.line.events import Event, ShiftStarted
from washmon.line.journal import GENESIS, SITE, BrokenChain, decode, link_as_stored
from washmon.store import schema
from washmon.store.postgres import is_server
from washmon.store.schema import journal, shift

_STEP = 1000
_ANCHORING = tuple(
    f'{{"event":"{kind.__struct_config__.tag}"'.encode()
    for kind in get_args(Event)
    if issubclass(kind, Anchoring)
)
"""How an entry begins that may say where other chains ended."""


@dataclass(frozen=True, slots=True)
class JournalFault:
    """One thing that is wrong; ``chain`` and ``seq`` say where, as far as it has a place."""

    what: str
    chain: str | None = None
    seq: int | None = None

    def __str__(self) -> str:
        return self.what


class PaperFault(JournalFault):
    """The content of a paper is missing or was changed; the journal itself is whole."""

    __slots__ = ()


class Anchor(NamedTuple):
    """What an entry says of another chain: with which hash it ended when the entry was written."""

    chain: str
    seq: int
    of: str
    digest: str


@dataclass(frozen=True, slots=True)
class LookedThrough:
    """What came of looking through a database."""

    faults: tuple[JournalFault, ...]
    anchored_from: tuple[str, int, str] | None = None
    """The first entry by time (chain, place, time) that anchors other chains; older ones do not."""


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
    hashes: set[str] | None = None
    """All of them, of the one chain that nearly everything is anchored to."""


@dataclass(slots=True)
class _Walk:
    """What is remembered of all chains while walking them."""

    seen: dict[str, _Seen]
    anchors: list[Anchor]
    anchored_from: tuple[str, str, int] | None = None


def faults(connection: Connection, stop: Callable[[], bool] = bool) -> list[JournalFault]:
    """Return everything that is wrong with a database; empty when all is as it was written.

    ``stop`` is asked between chains; once it says yes, the rest is not looked at.
    """
    return list(look(connection, stop).faults)


def look(connection: Connection, stop: Callable[[], bool] = bool) -> LookedThrough:
    """Look through a database as :func:`faults`, and say from when on its anchors stand."""
    if found := tuple(_file(connection)):
        return LookedThrough(found)
    walk = _Walk({}, [])
    found = (*_journal(connection, walk, stop), *_guards(connection))
    if (first := walk.anchored_from) is None:
        return LookedThrough(found)
    at, chain, seq = first
    return LookedThrough(found, (chain, seq, at))


def of_one(connection: Connection, chain: str) -> list[JournalFault]:
    """Return what is wrong with one chain by itself, and with what the list says of it."""
    walk = _Walk({}, [])
    found = list(_walked(connection, walk, bool, only=chain))
    return [*found, *_list(connection, walk.seen, only=chain), *_followed(connection, chain)]


def _followed(connection: Connection, chain: str) -> Iterator[JournalFault]:
    """Look whether the shift after this one names an entry that is still there."""
    later = select(shift.c.chain, shift.c.after_hash).where(shift.c.after_chain == chain)
    for row in connection.execute(later).all():
        named = (journal.c.chain == chain, journal.c.hash == row.after_hash)
        if connection.execute(select(journal.c.seq).where(*named).limit(1)).first() is None:
            yield JournalFault(
                f"Shift {row.chain} follows on an entry of shift {chain} that is not there any "
                "more: the end of that shift was changed or cut off.",
                chain,
            )


def _guards(connection: Connection) -> Iterator[JournalFault]:
    if names := schema.missing(connection):
        yield JournalFault(
            f"The guards that keep hands off the journal were taken off or changed "
            f"({', '.join(names)}): find out who did it. Opening the database for writing puts "
            "them back into a file; on a server, ask for it."
        )
    if names := schema.strange(connection):
        yield JournalFault(
            f"There are triggers in the database that are not washmon's ({', '.join(names)}): find "
            "out who put them there."
        )


def _file(connection: Connection) -> Iterator[JournalFault]:
    if is_server(connection):  # which looks after its own files
        return
    for said in connection.exec_driver_sql("PRAGMA quick_check(1)").scalars():
        if said != "ok":
            yield JournalFault(f"The file is damaged ({said}): keep it, and go on with a backup.")


def _journal(
    connection: Connection, walk: _Walk, stop: Callable[[], bool]
) -> Iterator[JournalFault]:
    yield from _walked(connection, walk, stop)
    if stop():
        return
    yield from _order(connection, walk.seen)
    yield from _anchored(connection, walk)
    yield from _list(connection, walk.seen)


def _walked(
    connection: Connection, walk: _Walk, stop: Callable[[], bool], only: str | None = None
) -> Iterator[JournalFault]:
    """Walk every chain, or one, entry by entry."""
    columns = (journal.c.chain, journal.c.seq, journal.c.recorded_at, journal.c.body)
    query = select(*columns, journal.c.hash).order_by(journal.c.chain, journal.c.seq)
    if only is not None:
        query = query.where(journal.c.chain == only)
    seen = walk.seen
    walked: _Seen | None = None
    # Read in steps: ten years of entries need not fit into memory.
    for chain, seq, at, body, digest in connection.execution_options(yield_per=_STEP).execute(
        query
    ):
        if walked is None or chain != walked.chain:
            if stop():
                return
            walked = seen[str(chain)] = _Seen(chain, hashes=set() if chain == SITE else None)
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
        if body.startswith(_ANCHORING):
            yield from _anchoring(walk, walked, at, body)
        walked.entries, walked.head = walked.entries + 1, digest
        if walked.hashes is not None:
            walked.hashes.add(digest)


def _anchoring(walk: _Walk, walked: _Seen, at: str, body: bytes) -> Iterator[JournalFault]:
    """Remember what a sound entry says of others, and look whether a signature covers its own."""
    try:
        event = decode(body)
    except (msgspec.DecodeError, ValueError):
        return  # its hash says whether that is how it was written
    if isinstance(event, ShiftStarted) and walked.entries == 0:
        walked.after = event.after
    if isinstance(event, Signature) and event.covers != walked.head:
        # Forged hashes may fit, it does not.
        what = "this signature does not cover what stands before it"
        yield JournalFault(
            f"In shift {walked.chain}: {BrokenChain(walked.entries, what)}",
            walked.chain,
            walked.entries,
        )
    if isinstance(event, Anchoring) and (anchors := event.anchors):
        place = (at, walked.chain, walked.entries)
        walk.anchored_from = min(walk.anchored_from or place, place)
        walk.anchors += (Anchor(walked.chain, walked.entries, *one) for one in anchors)


def _anchored(connection: Connection, walk: _Walk) -> Iterator[JournalFault]:
    """Look for what other chains say was there."""
    told: set[tuple[str, str]] = set()
    for anchor in walk.anchors:
        of = walk.seen.get(anchor.of)
        if of is not None and (anchor.digest == of.head or _has(connection, of, anchor.digest)):
            continue
        if (anchor.of, "" if of is None else anchor.digest) in told:
            continue
        told.add((anchor.of, "" if of is None else anchor.digest))
        what, which = _name(anchor.of), _name(anchor.chain)
        gone = "All entries" if of is None else "Entries"
        yield JournalFault(
            f"{gone} of {what} are missing or were changed: entry {anchor.seq} of {which} was "
            "written after them.",
            anchor.of,
            None if of is None else of.entries,
        )


def _has(connection: Connection, of: _Seen, digest: str) -> bool:
    if of.hashes is not None:
        return digest in of.hashes
    query = select(journal.c.seq).where(journal.c.chain == of.chain, journal.c.hash == digest)
    return connection.scalar(query.limit(1)) is not None


def _name(chain: str) -> str:
    return "the site's chain" if chain == SITE else f"shift {chain}"


def _broken(walked: _Seen, seq: object, at: object, body: object) -> JournalFault:
    chain, place = walked.chain, walked.entries
    where = _name(chain)
    if seq != place:
        what = f"missing, entry {seq} stands in its place"
    elif not isinstance(body, bytes) or not _is_time(at):
        what = "its time or its content can't be read"
    else:
        what = "its content or its time was changed after it was written"
    return JournalFault(f"In {where}: {BrokenChain(place, what)}", chain, place)


def _is_time(stored: object) -> bool:
    try:
        return isinstance(stored, str) and datetime.fromisoformat(stored) is not None
    except ValueError:
        return False


def _order(connection: Connection, seen: dict[str, _Seen]) -> Iterator[JournalFault]:
    """Look for the shifts that others say they followed."""
    for chain, walked in seen.items():
        if walked.after is None:
            continue
        before, digest = walked.after
        if before not in seen:
            yield JournalFault(
                f"Shift {before} is missing: shift {chain} was started after it.", before, None
            )
        elif digest != seen[before].head and not _has(connection, seen[before], digest):
            yield JournalFault(
                f"The end of shift {before} is missing: shift {chain} was started after an "
                "entry that is not there.",
                before,
                seen[before].entries,
            )


def _list(
    connection: Connection, seen: dict[str, _Seen], only: str | None = None
) -> Iterator[JournalFault]:
    """Hold the list of shifts against the journal: it remembers where each chain ended."""
    query = select(shift.c.chain, shift.c.entries, shift.c.head)
    if only is not None:
        query = query.where(shift.c.chain == only)
    for row in connection.execute(query):
        walked = seen.get(row.chain)
        if walked is None:
            yield JournalFault(
                f"Shift {row.chain} is in the list, but its entries are gone.", row.chain
            )
        elif not walked.broken and (walked.entries, walked.head) != (row.entries, row.head):
            yield JournalFault(
                f"Shift {row.chain} has {walked.entries} entries, the list of shifts says "
                f"{row.entries}, or they end differently.",
                row.chain,
                min(walked.entries, row.entries) if isinstance(row.entries, int) else None,
            )
