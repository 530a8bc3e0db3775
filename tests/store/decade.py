"""Ten years of shifts, made fast: the entries are plausible, the rules have not looked at them."""

import random
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

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
    setups = [_setup(line, size.tanks) for line in LINES]
    after: tuple[str, str] | None = None
    for number in range(size.shifts):
        chain, head = chain_of(number), GENESIS
        for seq, event in enumerate(_shift(number, size, setups, after, chance)):
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


def _shift(
    number: int,
    size: Decade,
    setups: list[LineSetup],
    after: tuple[str, str] | None,
    chance: random.Random,
) -> Iterator[Event]:
    at = began(number)
    setup = setups[number % len(setups)]
    crew = chance.sample(PEOPLE, 3)
    codes = [lot_of(number, turn) for turn in range(2)]
    lots = tuple(Lot(code=code, produce=setup.commodity) for code in codes)
    yield ShiftStarted(at=at, by=crew[0], setup=setup, lots=lots, after=after)
    left = size.entries - (3 if number % SIGNED == 0 else 2)
    for turn in range(left):
        at += timedelta(hours=10) / left
        by, tank = chance.choice(crew), turn % size.tanks + 1
        if turn < size.tanks:
            yield TankFilled(at=at, by=by, tank=tank, volume_l=570.0)
        elif turn == size.tanks and number % 200 == 0:
            yield HoldPlaced(at=at, by=by, tank=1, batches=(), reason="low chlorine")
        elif chance.random() < 0.5:
            lot = codes[turn * 2 // size.entries]
            yield BatchWashed(at=at, by=by, tanks=(tank,), lot=lot, weight_kg=12.5)
        else:
            # One shift in ten has readings out of limits.
            low = number % 10 == 0 and chance.random() < 0.1
            yield _other(at, by, tank, 20.0 if low else 50.0, chance.randrange(8))
    yield ShiftEnded(at=at, by=crew[0])


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


def _setup(line: str, tanks: int) -> LineSetup:
    limits = ChlorineLimits(
        critical_low_mg_l=25, low_mg_l=35, target_mg_l=50, high_mg_l=75, label_max_mg_l=200
    )
    return LineSetup(
        site="Quiet Hollow",
        location="North shed",
        line=line,
        commodity=PRODUCE[LINES.index(line)],
        people=tuple(Person(initials=one, name=one, role=Role.SUPERVISOR) for one in PEOPLE),
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
