"""The site's chain grows for ten years: what was read of it is not read again."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from msgspec.structs import replace
from sqlalchemy import event

from tests.store.shed import line_setup, minutes, note
from washmon.line.journal import SITE
from washmon.line.registry import registers_of
from washmon.line.site_events import SetupSaved
from washmon.recorder import Recorder
from washmon.store import Store, site_chain
from washmon.store.rows import read_rows


def saved(at: int, line: str) -> SetupSaved:
    return SetupSaved(
        at=minutes(at), by="RM", setup=replace(line_setup(line), location=f"bay {at}")
    )


def save(store: Store, *lines: str) -> None:
    for at, line in enumerate(lines):
        store.append(SITE, [saved(at, line)], minutes(at))


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Notes how many rows of the chain each reading brought."""
    found: list[int] = []

    def counting(*words: object) -> object:
        rows = read_rows(*words)  # type: ignore[arg-type]
        found.append(len(rows))
        return rows

    monkeypatch.setattr(site_chain, "read_rows", counting)
    return found


@contextmanager
def counted(store: Store) -> Iterator[list[str]]:
    said: list[str] = []

    def note_sql(*words: object) -> None:
        said.extend([str(words[2])] * str(words[2]).startswith("SELECT"))

    event.listen(store._reader, "before_cursor_execute", note_sql)
    yield said
    event.remove(store._reader, "before_cursor_execute", note_sql)


def test_only_the_end_is_read_again_whoever_wrote_it(where: str, read: list[int]) -> None:
    with Store.open(where) as store:
        save(store, *["Leaf line"] * 5)
        reader = store.reader()
        assert [one.seq for one in reader.entries(SITE)] == [0, 1, 2, 3, 4]
        assert reader.entries(SITE) == store.entries(SITE)
        store.append(SITE, [note(9)], minutes(9))
        assert [one.seq for one in reader.entries(SITE)] == [0, 1, 2, 3, 4, 5]
        assert read == [5, 1, 5, 2]
        known = reader.site()
        assert reader.site() is known
        assert registers_of(reader.site()) is registers_of(known)
        store.append(SITE, [note(10)], minutes(10))
        assert reader.site() is not known
        reader.close()


def test_it_is_read_ahead_in_pieces_by_a_recorder(
    where: str, read: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(site_chain, "AHEAD", 2)
    with Store.open(where) as store:
        save(store, *["Leaf line"] * 5)
    recorder = Recorder(Store.open(where), lambda _: None, tick_s=3600)
    recorder.start()
    for _ in range(4):  # each job that is asked for lets another piece pass before it
        recorder.read(lambda _store: None).result(20)
    assert read == [2, 2, 1]
    assert len(recorder.read(Store.site).result(20)) == 5
    assert read == [2, 2, 1, 1]
    recorder.close()


def test_a_chain_that_took_its_place_is_read_anew(where: str, read: list[int]) -> None:
    with Store.open(where) as store:
        save(store, "Leaf line", "Root line")
        known = store.entries(SITE)
        store._site._known = (*known[:-1], replace(known[-1], hash="f" * 64))
        assert store.entries(SITE) == known
        assert read == [2, 1, 2]


def test_the_newest_set_ups_are_found_from_the_end(where: str) -> None:
    with Store.open(where) as store:
        save(store, "Old line", "Leaf line", *["Root line"] * 25, "Leaf line")
        store.append(SITE, [note(99)], minutes(99))
        every = [(one.line, one.setup.location) for one in store.setups()]
        assert every == [("Leaf line", "bay 27"), ("Root line", "bay 26"), ("Old line", "bay 0")]
        with counted(store) as said:
            assert [one.line for one in store.setups(["Leaf line", "Root line"])] == [
                "Leaf line",
                "Root line",
            ]
            latest = store.latest_setup()
        assert len(said) == 2  # of the oldest line they did not have to read
        assert latest is not None
        assert latest.location == "bay 27"
        assert [one.setup.location for one in store.setups({"Old line"})] == ["bay 0"]
        assert store.setups({"No line"}) == []
