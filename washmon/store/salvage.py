"""What can be read of a damaged database is saved into a fresh one; what is lost is said."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from pathlib import Path

import msgspec
from msgspec import Struct
from sqlalchemy import select
from sqlalchemy.exc import SQLAlchemyError

from washmon.line.journal import GENESIS, SITE, Entry, decode, link_as_stored
from washmon.line.registers import Paper
from washmon.line.registry import registers_of
from washmon.store import journal_check
from washmon.store.carve import carve
from washmon.store.engine import reading_engine, take_lock
from washmon.store.errors import cannot_write, no_file, not_a_database, told
from washmon.store.fresh import StoredRow, write_fresh
from washmon.store.papers import copy_missing, papers_folder
from washmon.store.schema import journal, shift

NO_LIST = (
    "The list of shifts can't be read: a shift, or the end of one, of which no entry is left is "
    "not named here. Compare with a backup."
)

_Candidates = Mapping[int, list[StoredRow]]


class Salvaged(Struct, frozen=True):
    """How many entries of each chain were saved, and in sentences what was not."""

    kept: Mapping[str, int]
    lost: tuple[str, ...]


def salvage(path: Path, into: Path) -> Salvaged:
    """Save what can be read of a database; the damaged file itself is left as it is.

    Raises:
        StoreInUse: a program is writing it.
        NotADatabase: nothing in it is an entry of ours.
        CannotWrite: ``into`` is there already, or its place refuses.
    """
    with told(path):
        if not path.is_file():
            raise no_file(path)
        if into.exists():
            raise cannot_write(into, "there is a file of this name")
        with take_lock(path):
            expected = _expected(path)
            found = _found(path)
    if not found:
        raise not_a_database(path)
    kept: list[StoredRow] = []
    lost = [] if expected is not None else [NO_LIST]
    expected = expected or {}
    for chain in sorted({*found, *expected}):
        rows = list(_best(chain, found.get(chain, {})))
        kept += rows
        lost += _losses(chain, rows, expected.get(chain, 0))
    with told(into):
        part = into.with_name(into.name + ".part")
        try:
            write_fresh(part, kept)
            part.replace(into)
        finally:
            for ending in ("", "-wal", "-shm", ".lock"):
                part.with_name(part.name + ending).unlink(missing_ok=True)
    counts: dict[str, int] = defaultdict(int)
    for row in kept:
        counts[row.chain] += 1
    lost += copy_missing(
        _papers(kept), papers_folder(path, None), into.with_name(f"{into.stem}-papers")
    )
    return Salvaged(dict(counts), (*lost, *_missing_shifts(into, expected)))


def _papers(kept: list[StoredRow]) -> list[Paper]:
    """Return the papers that saved entries name."""
    site = [
        Entry(row.seq, datetime.fromisoformat(row.recorded_at), decode(row.body), row.hash)
        for row in kept
        if row.chain == SITE
    ]
    return registers_of(site).of(Paper)


def _found(path: Path) -> dict[str, dict[int, list[StoredRow]]]:
    """Return all that looks like an entry, by chain and place; a place may have several."""
    found: dict[str, dict[int, list[StoredRow]]] = defaultdict(lambda: defaultdict(list))
    for row in (*_asked(path), *carve(path)):
        if row not in found[row.chain][row.seq]:
            found[row.chain][row.seq].append(row)
    return found


def _asked(path: Path) -> Iterator[StoredRow]:
    """Yield what SQLite itself can still read, up to where it fails."""
    columns = (journal.c.chain, journal.c.seq, journal.c.recorded_at, journal.c.body)
    engine = reading_engine(path)
    try:
        with engine.begin() as connection:
            for row in connection.execute(select(*columns, journal.c.hash)):
                chain, seq, at, body, digest = row
                if isinstance(body, bytes) and isinstance(at, str) and isinstance(chain, str):
                    yield StoredRow(chain, seq, at, body, str(digest))
    except (SQLAlchemyError, UnicodeDecodeError):
        return
    finally:
        engine.dispose()


def _expected(path: Path) -> dict[str, int] | None:
    """Return how many entries the list of shifts remembers of each; None if it can't be read."""
    engine = reading_engine(path)
    try:
        with engine.begin() as connection:
            rows = connection.execute(select(shift.c.chain, shift.c.entries)).all()
    except (SQLAlchemyError, UnicodeDecodeError):
        return None
    finally:
        engine.dispose()
    return {
        chain: entries
        for chain, entries in rows
        if isinstance(chain, str) and isinstance(entries, int)
    }


def _best(chain: str, places: _Candidates) -> Iterator[StoredRow]:
    """Yield what is to be kept at each place: what follows by its hash, else what can be read."""
    before, expected = GENESIS, 0
    for seq in sorted(places):
        readable = [row for row in places[seq] if _is_readable(row)]
        if not readable:
            continue
        linked = [row for row in readable if seq == expected and _follows(before, chain, row)]
        chosen = (linked or readable)[0]
        yield chosen
        before, expected = chosen.hash, seq + 1


def _is_readable(row: StoredRow) -> bool:
    try:
        decode(row.body)
        return datetime.fromisoformat(row.recorded_at).utcoffset() is not None
    except (msgspec.DecodeError, ValueError):
        return False


def _follows(before: str, chain: str, row: StoredRow) -> bool:
    return link_as_stored(before, chain, row.seq, row.recorded_at, row.body) == row.hash


def _losses(chain: str, rows: list[StoredRow], expected: int) -> Iterator[str]:
    where = "the site's chain" if chain == SITE else f"shift {chain}"
    if not rows:
        all_of = f"All {expected} entries of" if expected else "All that was found of"
        yield f"{all_of} {where} {'are' if expected else 'is'} lost."
        return
    there = {row.seq for row in rows}
    count = max(expected, max(there) + 1)
    for first, last in _runs(place for place in range(count) if place not in there):
        which = f"Entry {first}" if first == last else f"Entries {first} to {last}"
        verb = "is" if first == last else "are"
        yield f"{which} of {where} {verb} lost."
    if 0 not in there and chain != SITE:
        yield f"The start of {where} is lost, so the Logbook can't list it."
    before: StoredRow | None = None
    for row in rows:
        follows_on = row.seq == (before.seq + 1 if before else 0)
        if follows_on and not _follows(before.hash if before else GENESIS, chain, row):
            yield (
                f"Entry {row.seq} of {where} was saved as it reads now, but does not match its "
                "hash: it was damaged or changed."
            )
        before = row


def _runs(places: Iterable[int]) -> Iterator[tuple[int, int]]:
    """Yield first and last of each run of places that follow each other."""
    run: tuple[int, int] | None = None
    for place in places:
        if run is not None and place == run[1] + 1:
            run = (run[0], place)
            continue
        if run is not None:
            yield run
        run = (place, place)
    if run is not None:
        yield run


def _missing_shifts(into: Path, expected: Mapping[str, int]) -> list[str]:
    """Return what other shifts say was there before them, beside what is known already."""
    engine = reading_engine(into)
    try:
        with engine.begin() as connection:
            found = journal_check.faults(connection)
    finally:
        engine.dispose()
    return [
        str(fault) for fault in found if "is missing:" in str(fault) and fault.chain not in expected
    ]
