"""Damaged databases of every kind: each question gets an answer or one plain sentence."""

import os
import random
import shutil
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from tests.gui.logbook.past import keep, troubled_shift
from tests.store.make_sample import fill
from tests.store.shed import minutes, note, started
from washmon.line.fold import NotAShift, fold
from washmon.line.journal import SITE
from washmon.recorder.summaries import differing_summaries, file_away, summary_parts
from washmon.store import Damaged, NotADatabase, Store
from washmon.store.errors import StoreUnavailable
from washmon.store.salvage import salvage
from washmon.store.shift import NameKind

FILES = int(os.environ.get("WASHMON_DAMAGED", "60"))
"""How many are made; set it to 10000 to repeat what the issue of the day asked for."""
PAGE = 4096
ODD = (0, 0x80, 0xC3, 0xFF)

Damage = Callable[[random.Random, bytearray], None]


def some_bytes(chance: random.Random, data: bytearray) -> None:
    for _ in range(chance.choice((1, 1, 1, 3, 20))):
        data[chance.randrange(len(data))] = chance.choice((*ODD, chance.randrange(256)))


def the_schema(chance: random.Random, data: bytearray) -> None:
    for _ in range(chance.choice((1, 3))):
        data[chance.randrange(PAGE)] = chance.choice((*ODD, chance.randrange(256)))


def cut_off(chance: random.Random, data: bytearray) -> None:
    del data[chance.randrange(len(data)) :]


def pages_swapped(chance: random.Random, data: bytearray) -> None:
    one, other = (chance.randrange(len(data) // PAGE) * PAGE for _ in range(2))
    data[one : one + PAGE], data[other : other + PAGE] = (
        data[other : other + PAGE],
        data[one : one + PAGE],
    )


def a_stretch(chance: random.Random, data: bytearray) -> None:
    begin = chance.randrange(len(data))
    data[begin : begin + chance.choice((1, 16, 512, 5000))] = chance.randbytes(500)


DAMAGES: tuple[Damage, ...] = (some_bytes, the_schema, cut_off, pages_swapped, a_stretch)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The bytes of a database with several shifts, one with every kind of entry."""
    path = tmp_path_factory.mktemp("whole") / "shed.db"
    with Store.open(path) as store:
        fill(store)
        keep(store, troubled_shift(hours=1).shift, "long")
        file_away(store, fold("long", store.entries("long")))
    return path.read_bytes()


def asked(path: Path) -> Iterator[Callable[[], object]]:
    """Yield every question and every job there is for a database."""
    with Store.open(path, read_only=True) as store:
        chains: list[str] = []
        yield lambda: chains.extend(row.chain for row in store.iter_shifts())
        yield store.verify
        yield store.compare_projections
        yield store.latest_setup
        yield store.running_shift
        yield store.last_shift_head
        yield store.shifts_without_summary
        yield lambda: store.find_lot("LB-0507-3")
        yield from (lambda kind=kind: store.names(kind) for kind in NameKind)
        yield from (lambda chain=chain: fold(chain, store.entries(chain)) for chain in chains)
        yield lambda: list(summary_parts(lambda query: query(store), chains))
        yield lambda: list(differing_summaries(store))
        yield lambda: store.backup(path.with_name("backup.db"))


def changed(path: Path) -> Iterator[Callable[[], object]]:
    """Yield what writes."""
    with Store.open(path) as store:
        yield lambda: store.append("wed", [note(9000)], minutes(9000))
        yield lambda: store.append("new", [started(9000)], minutes(9000))
        yield store.rebuild_projections


def answer_all(questions: Iterator[Callable[[], object]]) -> None:
    """Nothing but a sentence for a person may come instead of an answer."""
    with suppress(StoreUnavailable):
        for ask in questions:
            with suppress(StoreUnavailable, NotAShift):
                ask()


@pytest.mark.parametrize("damage", DAMAGES)
def test_no_damage_ends_in_a_traceback(whole: bytes, tmp_path: Path, damage: Damage) -> None:
    chance = random.Random(damage.__name__)  # noqa: S311 - repeatable, not secret
    for count in range(FILES // len(DAMAGES)):
        folder = tmp_path / str(count)
        folder.mkdir()
        data = bytearray(whole)
        damage(chance, data)
        path = folder / "shed.db"
        path.write_bytes(data)
        answer_all(asked(path))
        with suppress(StoreUnavailable):
            salvage(path, folder / "salvaged.db")
        answer_all(changed(path))
        shutil.rmtree(folder)


def flipped(path: Path, whole: bytes, old: bytes, place: int = 0) -> None:
    """Set the high bit of one byte of the first text like this."""
    data = bytearray(whole)
    data[data.index(old) + place] |= 0x80
    path.write_bytes(data)


def entries_in(whole: bytes, path: Path) -> dict[str, int]:
    path.write_bytes(whole)
    with Store.open(path, read_only=True) as store:
        shifts = {row.chain: row.entries for row in store.shifts()}
        return {**shifts, SITE: len(store.entries(SITE))}


def test_a_high_byte_in_the_schema_is_damage(whole: bytes, tmp_path: Path) -> None:
    path = tmp_path / "shed.db"
    flipped(path, whole, b"CREATE TABLE journal", place=8)
    for read_only in (True, False):
        with pytest.raises(Damaged, match="go on with a backup"):
            Store.open(path, read_only=read_only)
    saved = salvage(path, tmp_path / "salvaged.db")
    assert saved.kept == entries_in(whole, tmp_path / "whole.db")


def test_a_high_byte_in_the_name_of_a_chain_is_told_with_its_place(
    whole: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "shed.db"
    flipped(path, whole, b"wed2026-05-09T")  # a chain, and when its entry was written
    with Store.open(path, read_only=True) as store:
        assert "\ufffded" in str(store.verify())


@pytest.mark.parametrize("read_only", [True, False])
def test_a_pipe_is_no_database_and_nobody_waits_for_it(tmp_path: Path, *, read_only: bool) -> None:
    pipe = tmp_path / "pipe.db"
    os.mkfifo(pipe)
    with pytest.raises(NotADatabase, match="no file that could hold records"):
        Store.open(pipe, read_only=read_only)
    with pytest.raises(NotADatabase):
        salvage(pipe, tmp_path / "salvaged.db")
