"""Ten years of shifts, made fast: the entries are plausible, the rules have not looked at them."""

import random
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from msgspec.structs import replace

from washmon.line.event_base import RULES
from washmon.line.events import (
    BatchWashed,
    DoseAdded,
    Event,
    HoldPlaced,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftSigned,
    ShiftStarted,
    TankFilled,
)
from washmon.line.flag_events import FlagsChanged
from washmon.line.flags import Amount
from washmon.line.fold import fold
from washmon.line.journal import GENESIS, encode, link
from washmon.line.setup import (
    ChlorineLimits,
    LineSetup,
    Lot,
    Person,
    Role,
    Sanitizer,
    SanitizerKind,
    Stage,
    Tank,
)
from washmon.recorder.summaries import FORM
from washmon.reports.csv_export import in_csv
from washmon.reports.summary import summary_bodies
from washmon.reports.summing import summarize
from washmon.reports.tables import SUMMARIES
from washmon.store import Store
from washmon.store.fresh import StoredRow, write_fresh

BEGIN = datetime(2016, 1, 4, 6, 0, tzinfo=UTC)
LINES = ("Leaf line", "Root flume", "Herb line")
PRODUCE = ("baby chard", "carrots", "parsley", "radishes")
SIGNED = 3
"""One shift in so many is signed; none is reviewed."""
PEOPLE = tuple(f"{first}{second}" for first in "ABCDEFGH" for second in "KLMNP")


@dataclass(frozen=True, slots=True)
class Decade:
    """How much of it: the whole is 3,000 shifts of 10 tanks and 2,000 entries each."""

    shifts: int = 3000
    tanks: int = 10
    entries: int = 2000


def make(path: Path, size: Decade) -> None:
    """Write a database of this size, in the time that its bytes take."""
    write_fresh(path, _rows(size))
    sum_up(path, size)


def sum_up(path: Path, size: Decade) -> None:
    """Keep a summary for each tank and shift, as the recorder would at each shift's end.

    All are those of the first shift, under the name, the time and the hash of their own.
    """
    with Store.open(path, read_only=True) as store:
        summed = summarize(fold(chain_of(0), store.entries(chain_of(0))))
        kept = store.shifts()
    db = sqlite3.connect(path)
    with db:
        for row in kept:
            shift = replace(
                summed[0].shift, chain=row.chain, head=row.head, started_at=row.started_at
            )
            own = [replace(one, shift=shift) for one in summed]
            bodies = [(row.chain, tank, row.head, body) for tank, body in summary_bodies(own)]
            text = in_csv(SUMMARIES, own).text
            db.executemany("INSERT INTO tank_summary VALUES (?, ?, ?, ?)", bodies)
            db.execute(
                "INSERT INTO summary_rows VALUES (?, ?, ?, ?, ?)",
                (row.chain, row.head, FORM, size.tanks, text),
            )
        db.execute("UPDATE shift SET due = 0")
    db.close()


def chain_of(number: int) -> str:
    return f"shift-{began(number).strftime('%Y%m%dT%H%M%S%f')}"


def lot_of(number: int, turn: int = 0) -> str:
    return f"LB-{number // 2:05}-{turn}"


def began(number: int) -> datetime:
    return BEGIN + timedelta(hours=29.2 * number)


def _rows(size: Decade) -> Iterator[StoredRow]:
    chance = random.Random(2016)  # noqa: S311 - repeatable, not secret
    setups = [a_setup(line, PRODUCE[at], size.tanks) for at, line in enumerate(LINES)]
    after: tuple[str, str] | None = None
    for number in range(size.shifts):
        chain, head = chain_of(number), GENESIS
        work = Work(
            begun=began(number),
            crew=chance.sample(PEOPLE, 3),
            lots=[lot_of(number, turn) for turn in range(2)],
            after=after,
            signed=number % SIGNED == 0,
            low=number % 10 == 0,
            held=number % 200 == 0,
        )
        events = shift_events(work, setups[number % len(setups)], size.entries, chance)
        for seq, event in enumerate(events):
            body = encode(event)
            head = link(head, chain, seq, event.at, body)
            yield StoredRow(chain, seq, event.at.isoformat(), body, head)
        if number % SIGNED == 0:
            at = began(number) + timedelta(hours=11)
            signature = ShiftSigned(at=at, by=PEOPLE[0], role=Role.SUPERVISOR, covers=head)
            body = encode(signature)
            head = link(head, chain, size.entries - 1, at, body)
            yield StoredRow(chain, size.entries - 1, at.isoformat(), body, head)
        after = (chain, head)


class Work(NamedTuple):
    """What sets one shift apart from another."""

    begun: datetime
    crew: Sequence[str]
    lots: Sequence[str]
    after: tuple[str, str] | None
    signed: bool
    """Whether there is room left for a signature."""
    low: bool
    """Whether some readings are out of limits."""
    held: bool


def shift_events(
    work: Work, setup: LineSetup, entries: int, chance: random.Random
) -> Iterator[Event]:
    """Yield the events of a plain shift, from its beginning to its end."""
    at, tanks = work.begun, len(setup.tanks)
    lots = tuple(Lot(code=code, produce=setup.commodity) for code in work.lots)
    yield ShiftStarted(at=at, by=work.crew[0], setup=setup, lots=lots, after=work.after)
    left = entries - (3 if work.signed else 2)
    for turn in range(left):
        at += timedelta(hours=10) / left
        by, tank = chance.choice(work.crew), turn % tanks + 1
        if turn < tanks:
            yield TankFilled(at=at, by=by, tank=tank, volume_l=570.0)
        elif turn == tanks and work.held:
            yield HoldPlaced(at=at, by=by, tank=1, batches=(), reason="low chlorine")
        elif chance.random() < 0.5:
            lot = work.lots[turn * 2 // entries]
            yield BatchWashed(at=at, by=by, tanks=(tank,), lot=lot, weight_kg=12.5)
        else:
            low = work.low and chance.random() < 0.1
            yield _other(at, by, tank, 20.0 if low else 50.0, chance.randrange(8))
    yield ShiftEnded(at=at, by=work.crew[0])


def _other(at: datetime, by: str, tank: int, fac_mg_l: float, kind: int) -> Event:
    match kind:
        case 0:
            return NoteWritten(at=at, by=by, text="crates came in late", tank=tank)
        case 1 | 2:
            return DoseAdded(at=at, by=by, tank=tank, product="jug", amount=Amount(92.0, "mL"))
        case 3:
            return FlagsChanged(at=at, by=RULES, upto=0)
        case _:
            return ReadingTaken(at=at, by=by, tank=tank, fac_mg_l=fac_mg_l, ph=7.0)


def a_setup(line: str, commodity: str, tanks: int, people: Sequence[str] = PEOPLE) -> LineSetup:
    """Return the set-up of a line of tanks alike."""
    limits = ChlorineLimits(
        critical_low_mg_l=25, low_mg_l=35, target_mg_l=50, high_mg_l=75, label_max_mg_l=200
    )
    return LineSetup(
        site="Quiet Hollow",
        location="North shed",
        line=line,
        commodity=commodity,
        people=tuple(Person(initials=one, name=one, role=Role.SUPERVISOR) for one in people),
        tanks=tuple(
            Tank(
                number=number,
                name=f"Tank {number}",
                stage=Stage.WASH,
                volume_l=570,
                sanitizer="jug",
                chlorine=limits,
            )
            for number in range(1, tanks + 1)
        ),
        sanitizers=(Sanitizer(key="jug", name="Blue jug", kind=SanitizerKind.SODIUM),),
    )
