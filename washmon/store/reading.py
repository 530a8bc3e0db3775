"""The read side: everything that can be asked of a database, writer or not."""

from collections.abc import Callable
from itertools import count
from pathlib import Path
from typing import Self

from sqlalchemy import ColumnElement, Connection, and_, false, select, text

from washmon.line.journal import SITE, Entry
from washmon.line.registers import Paper
from washmon.line.registry import registers_of
from washmon.store import journal_check, papers
from washmon.store.engine import any_text, copy_to, driver, reading_engine
from washmon.store.errors import (
    Damaged,
    StoreBug,
    cannot_write,
    damaged,
    told,
)
from washmon.store.fresh import stored_rows, write_fresh
from washmon.store.postgres import is_server
from washmon.store.projecting import differences, every_chain
from washmon.store.rows import RawEntry, read_entries, read_rows
from washmon.store.schema import PARTS, journal, shift, summary_rows
from washmon.store.shift import storable
from washmon.store.site_chain import ReadingSite
from washmon.whole_file import sync_folder

_NEWEST = 20


class Reading(ReadingSite):
    """Answers questions about the journal and its projections.

    Each call sees one consistent moment. Any of them raises
    :class:`~washmon.store.errors.StoreUnavailable` when the file can't be read.
    """

    state_folder: Path | None = None
    """Where this computer remembers how the chains ended, if anybody said so."""

    @property
    def path(self) -> Path:
        """The file of this database.

        Raises:
            StoreBug: it is on a server.
        """
        if not isinstance(self.place, Path):
            raise StoreBug(f"{self.place} is no file.")
        return self.place

    def entries(self, chain: str) -> list[Entry]:
        """Return a chain, oldest entry first; empty when there is no such chain."""
        if chain == SITE:
            return list(self.site())
        return read_entries(self.place, self.rows(chain))

    def rows(self, chain: str) -> list[RawEntry]:
        """Return a chain as it is stored, for verifying and for session files."""
        with self._asking() as connection:
            return read_rows(connection, self.place, chain)

    def entries_from(self, chain: str, since: int) -> list[Entry]:
        """Return what a chain has from a place on, as :meth:`entries`."""
        with self._asking() as connection:
            return read_entries(self.place, read_rows(connection, self.place, chain, since))

    def chains(self) -> list[str]:
        """Return the names of all chains, in order."""
        with self._asking() as connection:
            return list(connection.scalars(every_chain()))

    def head(self, chain: str) -> str | None:
        """Return the hash that a chain ends with."""
        newest = select(journal.c.hash).where(journal.c.chain == chain)
        with self._asking() as connection:
            return connection.scalar(newest.order_by(journal.c.seq.desc()).limit(1))

    def end(self, chain: str) -> tuple[int, str] | None:
        """Return the place and the hash that a chain ends with."""
        newest = select(journal.c.seq, journal.c.hash).where(journal.c.chain == chain)
        with self._asking() as connection:
            row = connection.execute(newest.order_by(journal.c.seq.desc()).limit(1)).first()
        return None if row is None else (row.seq, row.hash)

    def hash_at(self, chain: str, seq: int) -> str | None:
        """Return the hash at a place of a chain."""
        query = select(journal.c.hash).where(journal.c.chain == chain, journal.c.seq == seq)
        with self._asking() as connection:
            return connection.scalar(query)

    def last_shift_head(self, line: str | None = None) -> tuple[str, str] | None:
        """Return the chain and hash that the next shift (of a line) says it comes after.

        It is the shift that no other one follows; practice does not count.
        """
        newest = (
            select(shift.c.chain, shift.c.head)
            .where(shift.c.practice == false(), *_of(line))
            .order_by(shift.c.started_us.desc(), shift.c.chain.desc())
        )
        followed = select(shift.c.chain).where(shift.c.practice == false()).limit(1)
        with self._asking() as connection:
            # One after the other, as mostly the first is it; a server would join all of ten years.
            for at in count(0, _NEWEST):
                page = connection.execute(newest.limit(_NEWEST).offset(at)).all()
                for chain, head in page:
                    if connection.scalar(followed.where(shift.c.after_chain == chain)) is None:
                        return chain, head
                if len(page) < _NEWEST:
                    return None
        return None

    def running_shift(self, line: str | None = None) -> str | None:
        """Return the chain of the newest shift (of a line) that has not ended.

        Practice does not count.
        """
        running = (
            select(shift.c.chain)
            .where(shift.c.ended_at.is_(None), shift.c.practice == false(), *_of(line))
            .order_by(shift.c.started_us.desc(), shift.c.chain.desc())
            .limit(1)
        )
        with self._asking() as connection:
            return connection.scalar(running)

    def shifts_without_summary(self) -> list[str]:
        """Return the chains of ended shifts whose summary is missing or older than their entries.

        The oldest comes first.
        """
        query = select(shift.c.chain).where(text(PARTS["due"]))
        with self._asking() as connection:
            return list(connection.scalars(query.order_by(shift.c.started_us, shift.c.chain)))

    def summed_up_otherwise(self, form: str) -> list[str]:
        """Return the chains of ended shifts without rows of this form for the table of summaries.

        The oldest comes first.
        """
        fresh = and_(
            summary_rows.c.chain == shift.c.chain,
            summary_rows.c.head == shift.c.head,
            summary_rows.c.form == form,
        )
        query = (
            select(shift.c.chain)
            .select_from(shift.outerjoin(summary_rows, fresh))
            .where(shift.c.ended_at.is_not(None), summary_rows.c.chain.is_(None))
            .order_by(shift.c.started_us, shift.c.chain)
        )
        with self._asking() as connection:
            return list(connection.scalars(query))

    def verify(self, stop: Callable[[], bool] = bool) -> list[journal_check.JournalFault]:
        """Go through the whole database and return what is wrong with it, most basic first.

        ``stop`` is asked between shifts; once it says yes, the rest is not looked at.
        """
        return list(self.look(stop).faults)

    def look(self, stop: Callable[[], bool] = bool) -> journal_check.LookedThrough:
        """Go through the whole database as :meth:`verify`, and say from when on anchors stand."""
        try:
            with self._asking() as connection:
                return journal_check.look(connection, stop)
        except Damaged as damage:
            return journal_check.LookedThrough(
                tuple(self._named(stop)) or (journal_check.JournalFault(str(damage)),)
            )

    @property
    def papers_folder(self) -> Path | None:
        """Where the content of papers lies; None where there is no place for it now.

        That is while the file is not in its place, or of a server where no state is kept.
        """
        home = self.place == self._home
        return papers.papers_folder(self.place, self.state_folder) if home else None

    def papers_amiss(self) -> list[journal_check.PaperFault]:
        """Return the papers whose content is missing or was changed since it was filed."""
        known = registers_of(self.entries(SITE)).of(Paper)
        return [
            journal_check.PaperFault(papers.said(paper, what), SITE)
            for paper, what in papers.amiss(known, self.papers_folder)
        ]

    def _named(self, stop: Callable[[], bool]) -> list[journal_check.JournalFault]:
        """Return the places of texts that are none; empty where that is not what is wrong."""
        try:
            with self._asking() as connection:
                if is_server(connection):
                    return []
                with any_text(connection):
                    return journal_check.faults(connection, stop)
        except Damaged:
            return []

    def unsound(self, chain: str) -> list[journal_check.JournalFault]:
        """Return what is wrong with one chain by itself, and with what the list says of it."""
        try:
            with self._asking() as connection:
                return journal_check.of_one(connection, chain)
        except Damaged as damage:
            return [journal_check.JournalFault(str(damage), chain)]

    def compare_projections(
        self, stop: Callable[[], bool] = bool
    ) -> list[journal_check.JournalFault]:
        """Fold the whole journal anew and return where the Logbook's list says something else.

        ``stop`` is asked between shifts; once it says yes, the rest is not looked at. That
        is no loss: :meth:`washmon.store.store.Store.rebuild_projections` mends it.
        """
        with self._asking() as connection:
            return list(differences(self.place, connection, stop))

    def backup(self, to: Path) -> None:
        """Copy the database into one file, check the copy, and only then give it its name.

        Of a server's database it becomes a file with the same chains.

        Raises:
            CannotWrite, DiskFull: there is no new file.
            Damaged: the copy has a fault that the database has not.
        """
        if to.resolve() == self.place:
            raise cannot_write(to, "it is the database itself")
        part = to.with_name(to.name + ".part")
        with told(to):
            to.parent.mkdir(parents=True, exist_ok=True)
            try:
                with self._reader.begin() as connection:
                    self._copy(connection, part)
                self._compare(part)
                part.replace(to)
                sync_folder(to.parent)
            finally:
                part.unlink(missing_ok=True)
                part.with_name(part.name + ".lock").unlink(missing_ok=True)

    def _copy(self, connection: Connection, part: Path) -> None:
        if not is_server(connection):
            copy_to(driver(connection), part)
            return
        part.unlink(missing_ok=True)
        write_fresh(part, stored_rows(connection), connection)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._reader.dispose()

    def _compare(self, copy: Path) -> None:
        engine = reading_engine(copy)
        try:
            with engine.begin() as connection:
                found = journal_check.faults(connection)
        finally:
            engine.dispose()
        if found and (new := [fault for fault in found if fault not in self.verify()]):
            raise damaged(copy, str(new[0]))


def _of(line: str | None) -> tuple[ColumnElement[bool], ...]:
    return () if line is None else (shift.c.line == storable(line),)
