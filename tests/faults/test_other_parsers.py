"""Texts and files that were mutated, for every parser but that of databases and of sessions."""

import os
import random
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.shed import START, a_setup
from washmon import data
from washmon.line.journal import NoPaperNumber, paper_number, read_paper_number
from washmon.sessions.imported.choices import Choices
from washmon.sessions.imported.log import LogError, parse_log
from washmon.sessions.imported.log_columns import guess, guess_taste, tanks_named
from washmon.sessions.imported.log_rows import take
from washmon.sessions.imported.shifts import shifts
from washmon.sessions.imported.when import DateOrder
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario_files import parse_scenario
from washmon.store import Store
from washmon.store.errors import StoreUnavailable
from washmon.store.gap import Outbox
from washmon.store.place import locate
from washmon.store.witness import Witness
from washmon.units import Kind, UnitError, UnitSystem, parse

ROUNDS = int(os.environ.get("WASHMON_PARSED", "80"))
"""How many for each parser; 10000 repeat what was asked for once."""
ODD = (
    b"", b"\0", b"\xff", b"\xc3", b'"', b"\n", b",", b";", b"9" * 40, b"-", b"1e999", b"\x1b[",
    b"\xe2\x80\xae", b"{", b"[" * 300, b"=1+1", b"nan", b"NaT", b"0000-00-00", b"24:61",
)  # fmt: skip
LOG = (
    b"Date,Time,Tank,Free chlorine (ppm),pH,Lot,Batches,Dose,Initials,Notes\n"
    b"2026-05-07,07:05,1,48,7.1,L-1,2,50 mL,RM,all well\n"
    b'2026-05-07,07:35,2,"31,5",7.4,L-1,3,2 tsp,RM,"muddy, dosed"\n'
    b"07/05/2026,8:10 am,1,12,8.2,L-2,1,,TK,held\n"
)  # fmt: skip
AMOUNTS = (b"2 1/4 tsp", b"48 ppm", b"7,1", b"1.200,5", b"5 fl oz", "\u00bc cup".encode(), b"9 h")


def mutated(chance: random.Random, body: bytes) -> bytes:
    """Return a text with a few bytes changed, cut, doubled or put in."""
    for _ in range(chance.choice((1, 1, 2, 5))):
        at = chance.randrange(len(body) + 1)
        upto = min(len(body), at + chance.choice((0, 1, 1, 4, 30)))
        new = chance.choice((chance.choice(ODD), bytes([chance.randrange(256)]), body[at:upto] * 2))
        body = body[:at] + new + body[upto:]
    return body


def amount(body: bytes, _folder: Path) -> None:
    for kind in (Kind.CONCENTRATION, Kind.VOLUME, Kind.TIME, Kind.PH):
        for sign in ".,":
            parse(body.decode("utf-8", "replace"), kind, UnitSystem.US, sign)


def log(body: bytes, _folder: Path) -> None:
    found, setup = parse_log("log.csv", body), a_setup()
    columns = guess(found, setup)
    taste = guess_taste(found, columns, UnitSystem.METRIC)
    named = tanks_named(found, setup)
    choices = Choices(columns, setup, DateOrder.YEAR_FIRST, named, taste=taste, tank=1, by="RM")
    shifts(found, take(found, choices, START), choices, "RM")


def scenario(body: bytes, _folder: Path) -> None:
    parse_scenario(body.decode("utf-8", "replace"))


def number(body: bytes, _folder: Path) -> None:
    read_paper_number(body.decode("utf-8", "replace"))


def outbox(body: bytes, folder: Path) -> None:
    place = locate("postgresql+psycopg://somebody@nowhere/shed")
    box = Outbox(folder, place)
    path = box.path
    box.close()
    path.write_bytes(body)
    Outbox(folder, place).close()


def witness(body: bytes, folder: Path) -> None:
    with Store.open(folder / "shed.db") as store:
        made = Witness(folder, store.place)
        made.path.write_bytes(body)
        assert isinstance(list(made.faults(store)), list)


WITNESS = b'{"database":"x","ends":{"site":{"seq":1,"hash":"00","seen_at":"2026-05-07T07:00:00Z"}}}'
OUTBOX = (
    b'{"chain":"a","seq":1,"recorded_at":"2026-05-07T07:00:00+00:00","body":{"event":"note '
    b'written","at":"2026-05-07T07:00:00+00:00","by":"RM","text":"x"},"hash":"00"}\n'
) * 3
SCENARIO = next(iter(sorted(data.resource("practice", "scenarios").glob("*.toml")))).read_bytes()
PARSERS: dict[Callable[[bytes, Path], None], tuple[bytes, ...]] = {
    amount: AMOUNTS,
    log: (LOG, LOG.replace(b",", b";")),
    scenario: (SCENARIO,),
    number: (paper_number("ab" * 32).encode(),),
    outbox: (OUTBOX,),
    witness: (WITNESS,),
}
PLAIN = (UnitError, LogError, PracticeError, NoPaperNumber, StoreUnavailable)
"""What a person is told in a sentence."""


@pytest.mark.parametrize("parser", PARSERS, ids=lambda one: one.__name__)
def test_no_mutated_text_ends_in_a_traceback(
    tmp_path: Path, parser: Callable[[bytes, Path], None]
) -> None:
    chance = random.Random(parser.__name__)  # noqa: S311 - repeatable, not secret
    taken = refused = 0
    for count in range(ROUNDS):
        body = chance.choice(PARSERS[parser])
        body = mutated(chance, body) if count else body
        try:
            parser(body, tmp_path)
            taken += 1
        except PLAIN:
            refused += 1
    assert taken + refused == ROUNDS
    assert taken > 0
