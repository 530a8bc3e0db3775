"""Ten years of many lines, made fast: valid chains, with all lists that are kept of them."""

import sqlite3
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from multiprocessing import get_context
from random import Random
from typing import Any, NamedTuple

import psycopg
from msgspec.structs import replace
from sqlalchemy import Table

from tests.store.decade import Work, a_setup, shift_events
from washmon.line.events import Event, ShiftReviewed, ShiftSigned
from washmon.line.flags import Amount
from washmon.line.fold import fold
from washmon.line.journal import GENESIS, SITE, Entry, encode, link
from washmon.line.registers import Container
from washmon.line.setup import LineSetup, Role
from washmon.line.site_events import RegistersUsed, SetupSaved, ThingRegistered
from washmon.recorder.summaries import filed
from washmon.reports.summary import TankSummary
from washmon.reports.summing import summarize
from washmon.store import Store, schema
from washmon.store.place import Server, locate
from washmon.store.projecting import mention_values, shift_values
from washmon.store.shift import ShiftFold

BEGIN = datetime(2016, 1, 4, 6, 0, tzinfo=UTC)
APART = timedelta(hours=29.2)
"""From the beginning of one shift of a line to that of its next: 300 a year."""
SHIFTS = 3000
TANKS = 4
CHECKED = 12
"""After so many shifts a set-up is saved: an instrument was checked, or a price changed."""
OPENED = 10
"""So many shifts does a container last."""
WAITING = 10
"""The newest shifts of each line wait for review."""
_AT_ONCE = 40
_SAID_EVERY = 200

Rows = dict[Table, list[tuple[Any, ...]]]


class Line(NamedTuple):
    """One of the lines: its number from 0, and its set-up."""

    number: int
    setup: LineSetup

    @classmethod
    def of(cls, number: int) -> "Line":
        people = [f"{chr(65 + number)}{other}" for other in "KLMNP"]
        return cls(number, a_setup(f"Line {number + 1:02}", "baby chard", TANKS, people))

    @property
    def crew(self) -> list[str]:
        return [one.initials for one in self.setup.people]

    def began(self, shift: int) -> datetime:
        return BEGIN + APART * shift + timedelta(minutes=7 * self.number)

    def chain(self, shift: int) -> str:
        at = self.began(shift).strftime("%Y%m%dT%H%M%S%f")
        return f"shift-{at}-line-{self.number + 1:02}-{shift:010x}"

    def lot(self, shift: int) -> str:
        return f"L{self.number + 1:02}-{shift // 2:05}"

    def container(self, shift: int) -> str:
        return f"jug-{self.number}-{shift // OPENED}"


class Chain:
    """A chain that grows, each entry written down when it happened."""

    def __init__(self, name: str, rows: list[tuple[Any, ...]]) -> None:
        self._name, self._rows = name, rows
        self.entries: list[Entry] = []

    @property
    def head(self) -> str:
        return self.entries[-1].hash if self.entries else GENESIS

    def add(self, event: Event) -> None:
        body, seq = encode(event), len(self.entries)
        entry = Entry(seq, event.at, event, link(self.head, self._name, seq, event.at, body))
        self.entries.append(entry)
        self._rows.append((self._name, seq, event.at.isoformat(), body, entry.hash))


class Filling:
    """Yields the rows of the shifts of some lines, which have so many entries each."""

    def __init__(self, lines: Sequence[Line], entries: int) -> None:
        self._lines, self._entries = lines, entries
        self._chance = Random(2016)  # noqa: S311 - repeatable, not secret
        self._after: dict[int, tuple[str, str]] = {}
        self._summed: tuple[TankSummary, ...] = ()

    def parts(self) -> Iterator[Rows]:
        """Yield rows of all tables, some shifts at a time."""
        made = _no_rows()
        for shift in range(SHIFTS):
            for line in self._lines:
                self._shift(line, shift, made)
            if shift % _AT_ONCE == _AT_ONCE - 1 or shift == SHIFTS - 1:
                yield made
                made = _no_rows()
            if self._lines[0].number == 0 and (shift + 1) % _SAID_EVERY == 0:
                print(f"  {shift + 1} of {SHIFTS} shifts a line", flush=True)  # noqa: T201

    def _shift(self, line: Line, shift: int, made: Rows) -> None:
        chain = Chain(line.chain(shift), made[schema.journal])
        work = Work(
            begun=line.began(shift),
            crew=line.crew[:3],
            lots=[line.lot(shift)] * 2,
            after=self._after.get(line.number),
            signed=True,
            low=shift % 10 == 0,
            held=shift % 200 == 0,
        )
        reviewed = shift < SHIFTS - WAITING
        for event in shift_events(work, line.setup, self._entries - reviewed, self._chance):
            chain.add(event)
        end, by = work.begun + timedelta(hours=11), line.crew[0]
        chain.add(ShiftSigned(at=end, by=by, role=Role.SUPERVISOR, covers=chain.head))
        if reviewed:
            end += timedelta(days=1)
            chain.add(ShiftReviewed(at=end, by=line.crew[4], role=Role.MANAGER, covers=chain.head))
        self._after[line.number] = (line.chain(shift), chain.head)
        self._lists(line.chain(shift), chain, made)

    def _lists(self, name: str, chain: Chain, made: Rows) -> None:
        """Add what is kept of a shift; all summaries are those of the first under its name."""
        self._summed = self._summed or summarize(fold(name, chain.entries))
        folded = ShiftFold(name).then(chain.entries)
        row = folded.row()
        assert row is not None
        values = {**shift_values(row), "due": False}
        made[schema.shift].append(_ordered(schema.shift, values))
        for one in folded.mentioned():
            said = mention_values(folded, one, values["started_us"])
            made[schema.mention].append(_ordered(schema.mention, said))
        head = replace(
            self._summed[0].shift,
            chain=name,
            head=row.head,
            line=row.line,
            started_at=row.started_at,
            ended_at=row.ended_at,
        )
        bodies, rows = filed(tuple(replace(one, shift=head) for one in self._summed))
        made[schema.tank_summary] += [(name, tank, row.head, body) for tank, body in bodies]
        made[schema.summary_rows].append((name, row.head, rows.form, rows.rows, rows.text))


def the_site(lines: Sequence[Line]) -> Rows:
    """Return the site's chain: set-ups, containers, and what each shift drew of them."""
    made = _no_rows()
    chain = Chain(SITE, made[schema.journal])
    for shift in range(SHIFTS):
        for line in lines:
            at, by = line.began(shift), line.crew[4]
            if shift % CHECKED == 0:
                chain.add(SetupSaved(at=at, by=by, setup=line.setup))
            key = line.container(shift)
            if shift % OPENED == 0:
                jug = Container(key=key, name="Jug", product="jug", full=Amount(20_000.0, "mL"))
                chain.add(ThingRegistered(at=at, by=by, what=jug))
            end = at + timedelta(hours=10)
            used = RegistersUsed(
                at=end, by=by, shift=line.chain(shift), drawn={key: 1900.0}, made_with={}
            )
            chain.add(used)
    return made


def build(where: str, lines: int, entries: int, processes: int = 2) -> None:
    """Fill an empty database; only a server is filled by several processes."""
    Store.open(where).close()
    every = [Line.of(number) for number in range(lines)]
    place = locate(where)
    if not isinstance(place, Server):
        _fill_file(str(place), every, entries)
        return
    with _raw(where) as db:
        db.execute("ALTER TABLE journal DISABLE TRIGGER USER")
        _copy(db, the_site(every))
    parts = [part for part in (every[at::processes] for at in range(processes)) if part]
    jobs = [get_context("fork").Process(target=_fill, args=(where, one, entries)) for one in parts]
    for job in jobs:
        job.start()
    for job in jobs:
        job.join()
        assert job.exitcode == 0
    with _raw(where) as db:
        db.execute("ALTER TABLE journal ENABLE TRIGGER USER")
        db.execute("VACUUM ANALYZE")


def _fill(where: str, lines: Sequence[Line], entries: int) -> None:
    with _raw(where) as db:
        for part in Filling(lines, entries).parts():
            _copy(db, part)


def _copy(db: "psycopg.Connection[Any]", made: Rows) -> None:
    for table, rows in made.items():
        with db.cursor() as cursor, cursor.copy(f"COPY {table.name} FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)


def _raw(where: str) -> "psycopg.Connection[Any]":
    return psycopg.connect(where.replace("+psycopg", ""), autocommit=True)


def _fill_file(path: str, lines: Sequence[Line], entries: int) -> None:
    db = sqlite3.connect(path)
    (guard,) = (one for one in schema.GUARDS["sqlite"] if "journal_only_extended" in one)
    db.execute("DROP TRIGGER journal_only_extended")
    _insert(db, the_site(lines))
    for part in Filling(lines, entries).parts():
        _insert(db, part)
    db.execute(guard)
    db.close()


def _insert(db: sqlite3.Connection, made: Rows) -> None:
    with db:
        for table, rows in made.items():
            marks = ", ".join("?" * len(table.columns))
            db.executemany(f"INSERT INTO {table.name} VALUES ({marks})", rows)  # noqa: S608 - ours


def _no_rows() -> Rows:
    tables = (schema.journal, schema.shift, schema.mention)
    return {table: [] for table in (*tables, schema.tank_summary, schema.summary_rows)}


def _ordered(table: Table, values: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(values[column.name] for column in table.columns)
