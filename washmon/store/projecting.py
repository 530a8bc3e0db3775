"""The projections: what the Logbook reads, kept in step with the journal, or made anew from it."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from sqlalchemy import (
    Connection,
    Select,
    Text,
    and_,
    bindparam,
    delete,
    exists,
    func,
    insert,
    select,
    update,
)

from washmon.line.journal import SITE
from washmon.store.engine import Ready
from washmon.store.errors import Place
from washmon.store.journal_check import JournalFault
from washmon.store.postgres import is_server
from washmon.store.rows import read_entries, read_rows
from washmon.store.schema import journal, mention, shift, summary_rows, tank_summary
from washmon.store.searching import SummaryRows
from washmon.store.shift import Mention, ShiftFold, ShiftRow, microseconds

_MENTION_KEY = ("what", "tank", "key", "started_us", "chain")


class Projections:
    """Writes the list of shifts and the names in them, within the caller's transaction."""

    def __init__(self, place: Place, connection: Connection) -> None:
        self._place = place
        self._connection = connection
        chain = bindparam("of_chain", type_=Text)
        last = select(func.max(journal.c.seq)).where(journal.c.chain == chain).scalar_subquery()
        newest = select(journal.c.seq, journal.c.hash)
        newest = newest.where(journal.c.chain == chain, journal.c.seq == last)
        self._newest = Ready(connection, newest)
        self._add_shift = Ready(connection, insert(shift))
        self._set_shift = Ready(
            connection, update(shift).where(shift.c.chain == chain), *shift.c.keys()
        )
        self._add_mention = Ready(connection, insert(mention))
        this = and_(*(mention.c[name] == bindparam(name) for name in _MENTION_KEY))
        self._drop_mention = Ready(connection, delete(mention).where(this))

    def fold(self, chain: str, kept: ShiftFold | None = None) -> ShiftFold:
        """Return where a chain stands: as remembered if the journal agrees, else read anew.

        Raises:
            StoreUnavailable: an entry can't be read.
        """
        newest = self._newest.first(of_chain=chain)
        if newest is None:
            return ShiftFold(chain)
        if kept and kept.head and newest == (kept.head.seq, kept.head.hash):
            return kept
        rows = read_rows(self._connection, self._place, chain)
        return ShiftFold(chain).then(read_entries(self._place, rows))

    def keep(self, before: ShiftFold, after: ShiftFold) -> None:
        """Write what has changed of a shift from one state to a later one."""
        row = after.row()
        if row is None or row.chain == SITE:
            return
        values = shift_values(row)
        if self._set_shift.run({**values, "of_chain": row.chain}) == 0:
            self._add_shift.run(values)
        was, now = before.mentioned(), after.mentioned()
        begun = before.started
        then_us = values["started_us"] if begun is None else microseconds(begun.at)
        moved = then_us != values["started_us"]  # the clock was set: all stand at another time
        come, left = (now, was) if moved else (now - was, was - now)
        new = [mention_values(after, one, values["started_us"]) for one in sorted(come)]
        gone = [mention_values(after, one, then_us) for one in sorted(left)]
        if gone:
            self._drop_mention.run(*gone)
        if new:
            self._add_mention.run(*new)

    def rebuild(self, made: Iterable["MadeRows"] | None = None) -> int:
        """Make the list of shifts and their names anew, and return how many are summed up.

        Args:
            made: all that is kept of each shift, where somebody made it beside; without it
                summaries stay if they are up to date.
        """
        connection = self._connection
        for table in (mention, shift) if made is None else PROJECTIONS:
            connection.execute(delete(table))
        if made is not None:
            return self._take(made)
        for chain in connection.scalars(every_chain()).all():
            self.keep(ShiftFold(chain), self.fold(chain))
        summed = exists().where(
            tank_summary.c.chain == shift.c.chain, tank_summary.c.head == shift.c.head
        )
        return connection.execute(update(shift).where(summed).values(due=False)).rowcount

    def _take(self, made: Iterable["MadeRows"]) -> int:
        add = {table: Ready(self._connection, insert(table)) for table in PROJECTIONS}
        count = 0
        for one in made:
            for table, rows in zip(PROJECTIONS, one, strict=True):
                if rows:
                    add[table].run(*rows)
            count += bool(one.summaries)
        return count


class MadeRows(NamedTuple):
    """All rows that are kept of one shift, in the order of :data:`PROJECTIONS`."""

    shifts: list[dict[str, Any]]
    mentions: list[dict[str, Any]]
    summaries: list[dict[str, Any]]
    rows: list[dict[str, Any]]


PROJECTIONS = (shift, mention, tank_summary, summary_rows)


def made_of(
    folded: ShiftFold, bodies: Sequence[tuple[int, str]] = (), written: SummaryRows | None = None
) -> MadeRows:
    """Return what is kept of a chain: nothing where no shift began in it.

    Args:
        folded: all of its entries.
        bodies: its summaries, as :meth:`washmon.store.store.Store.save_summaries` takes them.
        written: the same, written out.
    """
    row = folded.row()
    if row is None or row.chain == SITE:
        return MadeRows([], [], [], [])
    values = shift_values(row)
    of = {"chain": row.chain, "head": row.head}
    names = [mention_values(folded, one, values["started_us"]) for one in folded.mentioned()]
    summaries = [{**of, "tank": tank, "body": body} for tank, body in bodies]
    # PostgreSQL has no NUL in a text.
    rows = [] if written is None or "\0" in written.text else [{**of, **written._asdict()}]
    return MadeRows([{**values, "due": values["due"] and not summaries}], names, summaries, rows)


def every_chain() -> Select[Any]:
    """Return the query for the names of all chains, in order."""
    return select(journal.c.chain).distinct().order_by(journal.c.chain)


def differences(
    place: Place, connection: Connection, stop: Callable[[], bool] = bool
) -> Iterator[JournalFault]:
    """Fold every chain anew, and yield where the kept projections say something else.

    Raises:
        StoreUnavailable: an entry can't be read.
    """
    yield from _indexes(connection)
    projections = Projections(place, connection)
    for chain in connection.scalars(every_chain()).all():
        if stop():
            return
        fold = projections.fold(chain)
        row = None if chain == SITE else fold.row()
        kept = connection.execute(select(shift).where(shift.c.chain == chain)).mappings().first()
        said = connection.execute(select(mention).where(mention.c.chain == chain)).mappings()
        names = {Mention(one["what"], one["tank"], one["key"]): dict(one) for one in said}
        if row is None:
            same = kept is None and not names
        else:
            values = shift_values(row)
            same = {**values, "due": None} == {**dict(kept or {}), "due": None}
            same = same and names == {
                one: mention_values(fold, one, values["started_us"]) for one in fold.mentioned()
            }
        if not same:
            yield JournalFault(
                f"What the Logbook lists of shift {chain} does not agree with its journal: have "
                "the list made anew.",
                chain,
            )
    known = exists().where(journal.c.chain == mention.c.chain)
    strays = select(mention.c.chain).where(~known).distinct()
    for chain in connection.scalars(strays):
        yield JournalFault(
            f"The Logbook finds a shift {chain} by its names that the journal does not have: have "
            "the list made anew.",
            chain,
        )


def _indexes(connection: Connection) -> Iterator[JournalFault]:
    """Look whether the indexes of the lists agree with them, which the quick check passes over."""
    if is_server(connection):
        return
    for table in (shift, mention, tank_summary, summary_rows):
        (said, *_) = connection.exec_driver_sql(f"PRAGMA integrity_check('{table.name}')").scalars()
        if said != "ok":
            yield JournalFault(f"The list {table.name} is damaged ({said}): have it made anew.")


def shift_values(row: ShiftRow) -> dict[str, Any]:
    """Return a shift as the table has it."""
    after_chain, after_hash = row.after or (None, None)
    return {
        "chain": row.chain,
        "site": row.site,
        "line": row.line,
        "commodity": row.commodity,
        "started_at": row.started_at.isoformat(),
        "started_us": microseconds(row.started_at),
        "ended_at": row.ended_at.isoformat() if row.ended_at else None,
        "supervisor": row.supervisor,
        "lots": row.lots,
        "practice": row.practice,
        "open_holds": row.open_holds,
        "entries": row.entries,
        "head": row.head,
        "after_chain": after_chain,
        "after_hash": after_hash,
        "signatures": row.signatures,
        "stage": row.stage.value,
        "outside": row.outside,
        "critical": row.critical,
        "due": row.ended_at is not None,
    }


def mention_values(fold: ShiftFold, one: Mention, started_us: int) -> dict[str, Any]:
    """Return a name in a shift as the table has it."""
    return {**one._asdict(), "started_us": started_us, "chain": fold.chain, "name": fold.names[one]}
