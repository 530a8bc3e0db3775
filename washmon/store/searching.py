"""Finding shifts in ten years of them: by date, names, holds, signatures and limits."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from typing import Any, NamedTuple, TypedDict, Unpack

import msgspec
from sqlalchemy import (
    Boolean,
    ColumnElement,
    Connection,
    Engine,
    Select,
    and_,
    literal_column,
    or_,
    select,
)

from washmon.line.events import BatchWashed, Corrected, Event
from washmon.line.journal import decode
from washmon.line.signing import SigningStage
from washmon.store.errors import Place, StoreBug, damaged, told
from washmon.store.schema import PARTS, journal, mention, shift, summary_rows, tank_summary
from washmon.store.shift import WHOLE_SHIFT, NameKind, ShiftRow, key_of, microseconds, storable

_PAGE = 200

_COLUMNS = (
    shift.c.chain,
    shift.c.site,
    shift.c.line,
    shift.c.commodity,
    shift.c.started_at,
    shift.c.ended_at,
    shift.c.supervisor,
    shift.c.lots,
    shift.c.practice,
    shift.c.open_holds,
    shift.c.entries,
    shift.c.head,
    shift.c.after_chain,
    shift.c.after_hash,
    shift.c.signatures,
    shift.c.stage,
    shift.c.outside,
    shift.c.critical,
)


class Wanted(TypedDict, total=False):
    """What the shifts to be found have in common; what is left out does not matter.

    Names are compared without regard to case and spacing. The last four say "only those that".
    """

    since: datetime | None
    """From this moment on they began (an aware time)."""
    until: datetime | None
    """Before this moment they began (an aware time)."""
    practice: bool | None
    line: str | None
    person: str | None
    """Initials of somebody who entered something, or took over."""
    lot: str | None
    recipient: str | None
    """A customer or load that a lot was sent to."""
    product: str | None
    """Produce that was washed, or a chemical (by its name in the set-up) that was added."""
    open_holds: bool
    """have a hold on which nobody has decided."""
    unsigned: bool
    """have ended, and nobody has signed them as they are now."""
    unreviewed: bool
    """were signed, and no manager has reviewed them as they are now."""
    out_of_limits: bool
    """have a reading outside its limits; see :attr:`washmon.store.shift.ShiftRow.outside`."""


class TankSummaryRow(NamedTuple):
    """The summary of one tank in one shift; ``body`` is JSON that the store does not read."""

    chain: str
    tank: int
    body: str


class SummaryRows(NamedTuple):
    """The rows of a shift in the table of summaries, written out in a form the store can't read."""

    form: str
    """Which columns they have: rows of another form are not the ones that are asked for."""
    rows: int
    text: str


class LotBatch(NamedTuple):
    """A batch of a lot: its place in the shift's journal, and what was entered, or corrected to."""

    seq: int
    event: BatchWashed


class LotFound(NamedTuple):
    """A shift that knows a lot: the tanks it went through and its batches, both maybe none."""

    shift: ShiftRow
    tanks: tuple[int, ...]
    batches: tuple[LotBatch, ...]


class Searching:
    """The part of the store that searches; see :class:`washmon.store.reading.Reading`."""

    def __init__(self, place: Place, engine: Engine) -> None:
        self.place = self._home = place
        self._reader = engine

    def shifts(
        self, *, newest_first: bool = True, limit: int | None = None, **wanted: Unpack[Wanted]
    ) -> list[ShiftRow]:
        """Return the shifts that are wanted, in the order in which they began."""
        query = _query(wanted, newest_first=newest_first).limit(limit)
        with self._asking() as connection:
            return self._shifts(connection, query)

    def running(self) -> list[ShiftRow]:
        """Return the shifts that have not ended, on any line, the oldest first.

        Practice does not count.
        """
        query = select(*_COLUMNS).where(shift.c.ended_at.is_(None), ~shift.c.practice)
        with self._asking() as connection:
            return self._shifts(connection, query.order_by(shift.c.started_us, shift.c.chain))

    def iter_shifts(
        self, *, newest_first: bool = False, **wanted: Unpack[Wanted]
    ) -> Iterator[ShiftRow]:
        """Yield the shifts that are wanted, a page at a time: memory and locks stay small.

        A shift that begins meanwhile may or may not be among them.
        """
        for page in self._pages(wanted, newest_first=newest_first):
            yield from page

    def summaries(self, chains: Sequence[str]) -> list[TankSummaryRow]:
        """Return the kept tank summaries of these shifts: by shift as given, then by tank."""
        columns = (tank_summary.c.chain, tank_summary.c.tank, tank_summary.c.body)
        found: dict[str, list[TankSummaryRow]] = {chain: [] for chain in chains}
        with self._asking() as connection:
            for begin in range(0, len(chains), _PAGE):
                some = chains[begin : begin + _PAGE]
                query = select(*columns).where(tank_summary.c.chain.in_(some))
                for row in connection.execute(query.order_by(tank_summary.c.tank)):
                    found[row.chain].append(TankSummaryRow(row.chain, row.tank, str(row.body)))
        return [row for chain in chains for row in found[chain]]

    def summary_rows(self, chains: Sequence[str], form: str) -> dict[str, SummaryRows]:
        """Return the rows that were kept of these shifts in this form, by chain.

        One that got another entry since is left out, as is one of which none were kept.
        """
        kept = summary_rows.c
        fresh = and_(shift.c.chain == kept.chain, shift.c.head == kept.head, kept.form == form)
        found: dict[str, SummaryRows] = {}
        with self._asking() as connection:
            for begin in range(0, len(chains), _PAGE):
                some = chains[begin : begin + _PAGE]
                query = select(kept.chain, kept.form, kept.rows, kept.text).join(shift, fresh)
                for chain, *row in connection.execute(query.where(kept.chain.in_(some))):
                    found[chain] = SummaryRows(*row)
        return found

    def names(self, what: NameKind, beginning: str = "", *, limit: int = 50) -> list[str]:
        """Return names that came up in shifts and begin so, in order of the alphabet."""
        start = key_of(beginning)
        of = and_(mention.c.what == what, mention.c.tank == WHOLE_SHIFT)
        found: list[str] = []
        with self._asking() as connection:
            # From one name to the next, however many shifts each of them came up in.
            last = mention.c.key >= start
            while len(found) < limit:
                query = select(mention.c.key, mention.c.name).where(of, last)
                row = connection.execute(query.order_by(mention.c.key).limit(1)).first()
                if row is None or not str(row.key).startswith(start):
                    break
                found.append(row.name)
                last = mention.c.key > row.key
        return found

    def find_lot(self, code: str) -> list[LotFound]:
        """Return every shift that knows a lot, newest first, with its tanks and batches.

        Practice washes nothing that is sold: it is left out.
        """
        rows = self.shifts(lot=code, practice=False)
        return [self._lot_in(row, key_of(code)) for row in rows]

    def _lot_in(self, row: ShiftRow, key: str) -> LotFound:
        query = select(journal.c.seq, journal.c.body).where(journal.c.chain == row.chain)
        events: dict[int, Event | None] = {}
        with self._asking() as connection:
            for seq, body in connection.execute(query.order_by(journal.c.seq)):
                # Most entries are something else, and need not be decoded.
                told_of = isinstance(body, bytes) and (
                    b"batch washed" in body or b"corrected" in body
                )
                if not told_of:
                    continue
                try:
                    event = decode(body)
                except (msgspec.DecodeError, ValueError):
                    continue  # verify names it
                if isinstance(event, Corrected):
                    events[event.entry] = event.instead
                else:
                    events[seq] = event
        batches = tuple(
            LotBatch(seq, event)
            for seq, event in sorted(events.items())
            if isinstance(event, BatchWashed) and key_of(event.lot) == key
        )
        tanks = sorted({tank for batch in batches for tank in batch.event.tanks})
        return LotFound(row, tuple(tanks), batches)

    def _pages(self, wanted: Wanted, *, newest_first: bool) -> Iterator[list[ShiftRow]]:
        last: ShiftRow | None = None
        while True:
            query = _query(wanted, newest_first=newest_first).limit(_PAGE)
            if last is not None:
                query = query.where(_beyond(last, newest_first=newest_first))
            with self._asking() as connection:
                page = self._shifts(connection, query)
            if page:
                yield page
            if len(page) < _PAGE:
                return
            last = page[-1]

    def _shifts(self, connection: Connection, query: Select[Any]) -> list[ShiftRow]:
        result = connection.execute(query)
        if result.cursor is None:
            raise StoreBug("A list of shifts came without rows.")
        # As the driver gives them: dressing ten years of rows up takes as long as reading them.
        rows = result.cursor.fetchall()
        result.close()
        try:
            return [_as_shift(row) for row in rows]
        except (TypeError, ValueError) as error:
            raise damaged(self.place, "a line of its list of shifts can't be read") from error

    @contextmanager
    def _asking(self) -> Iterator[Connection]:
        with told(self.place), self._reader.begin() as connection:
            yield connection


def _query(wanted: Wanted, *, newest_first: bool) -> Select[Any]:
    order = (shift.c.started_us, shift.c.chain)
    query = select(*_COLUMNS).where(*_names(wanted), *_times(wanted), *_parts(wanted))
    return query.order_by(*(key.desc() if newest_first else key for key in order))


def _names(wanted: Wanted) -> Iterator[ColumnElement[bool]]:
    kinds = {
        "line": [NameKind.LINE],
        "person": [NameKind.PERSON],
        "lot": [NameKind.LOT],
        "recipient": [NameKind.RECIPIENT],
        "product": [NameKind.PRODUCE, NameKind.CHEMICAL],
    }
    for asked, whats in kinds.items():
        if isinstance(name := wanted.get(asked), str):
            found = select(mention.c.chain).where(
                mention.c.what.in_(whats),
                mention.c.tank == WHOLE_SHIFT,
                mention.c.key == key_of(name),
                *_times(wanted, mention.c.started_us),
            )
            yield shift.c.chain.in_(found)
    if (line := wanted.get("line")) is not None:
        yield shift.c.line == storable(line)


def _times(
    wanted: Wanted, began: ColumnElement[int] = shift.c.started_us
) -> Iterator[ColumnElement[bool]]:
    if (since := wanted.get("since")) is not None:
        yield began >= microseconds(since)
    if (until := wanted.get("until")) is not None:
        yield began < microseconds(until)


def _parts(wanted: Wanted) -> Iterator[ColumnElement[bool]]:
    if (practice := wanted.get("practice")) is not None:
        yield shift.c.practice == practice
    asked = {
        "open_holds": wanted.get("open_holds"),
        "unsigned": wanted.get("unsigned"),
        "unreviewed": wanted.get("unreviewed"),
        "outside": wanted.get("out_of_limits"),
    }
    yield from (literal_column(f"({PARTS[name]})", Boolean) for name, only in asked.items() if only)


def _beyond(last: ShiftRow, *, newest_first: bool) -> ColumnElement[bool]:
    began, at = shift.c.started_us, microseconds(last.started_at)
    if newest_first:
        return and_(began <= at, or_(began < at, shift.c.chain < last.chain))
    return and_(began >= at, or_(began > at, shift.c.chain > last.chain))


def _as_shift(row: Iterable[Any]) -> ShiftRow:
    chain, site, line, commodity, started, ended, supervisor, lots, practice, *rest = row
    open_holds, entries, head, after, after_hash, signatures, stage, outside, critical = rest
    return ShiftRow(
        chain=chain,
        site=site,
        line=line,
        commodity=commodity,
        started_at=datetime.fromisoformat(started),
        ended_at=datetime.fromisoformat(ended) if ended else None,
        supervisor=supervisor,
        lots=lots,
        practice=bool(practice),
        open_holds=open_holds,
        entries=entries,
        head=head,
        after=(after, after_hash) if after is not None else None,
        signatures=signatures,
        stage=SigningStage(stage),
        outside=outside,
        critical=critical,
    )
