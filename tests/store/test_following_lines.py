"""All running lines followed at once: on a file, and on a server that tells of each entry."""

import queue
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from threading import Event, Thread

import pytest

from tests.store.programs import PROGRAMS
from tests.store.server import Server
from tests.store.shed import batch, ended, minutes, note, started
from washmon.recorder.line_watch import LinesSeen, LineWatch
from washmon.store import Store

NEVER_S = 3600.0
Follow = Callable[..., "Followed"]


class Followed:
    """What a watch of a database published."""

    def __init__(self, store: Store, silence_s: float) -> None:
        self._seen: queue.Queue[LinesSeen] = queue.Queue()
        self.watch = LineWatch(
            store.reader, self._seen.put, lambda: minutes(60), silence_s=silence_s
        )
        self._thread = Thread(target=self.watch.run)
        self._thread.start()

    def close(self) -> None:
        """Stop, and wait until the connections are given back."""
        self.watch.stop()
        self._thread.join()

    def until(self, wanted: Callable[[LinesSeen], bool]) -> LinesSeen:
        """Wait for something that is wanted."""
        while not wanted(seen := self._seen.get(timeout=20)):
            pass
        return seen

    def lines(self, *names: str) -> LinesSeen:
        """Wait until just these lines run."""
        return self.until(lambda seen: {one.setup.line for one in seen.shifts} == set(names))


@pytest.fixture
def follow() -> Iterator[Follow]:
    """Return how to begin to follow; all of it is stopped in the end."""
    with ExitStack() as stack:

        def begin(store: Store, silence_s: float = 0.05) -> Followed:
            followed = Followed(store, silence_s)
            stack.callback(followed.close)
            return followed

        yield begin


def test_lines_come_and_go_and_their_entries_follow(where: str, follow: Follow) -> None:
    with Store.open(where) as store:
        followed = follow(store)
        followed.lines()
        store.append("one", [started(line="Leaf line")], minutes(1))
        store.append("two", [started(line="Root line")], minutes(1))
        store.append("practised", [started(line="Mock line", practice=True)], minutes(1))
        followed.lines("Leaf line", "Root line")
        store.append("two", [batch(2)], minutes(2))
        store.append("two", [batch(4), note(5)], minutes(5))
        seen = followed.until(lambda one: any(shift.last_seq == 3 for shift in one.shifts))
        (root,) = [one for one in seen.shifts if one.setup.line == "Root line"]
        assert root.tanks[0].batches == 2
        assert seen.trouble == ""
        store.append("one", [ended(9)], minutes(9))
        followed.lines("Root line")


def test_a_line_that_can_not_be_read_leaves_the_others_in_sight(where: str, follow: Follow) -> None:
    with Store.open(where) as store:
        store.append("one", [started(line="Leaf line")], minutes(1))
        store.append("two", [started(line="Root line")], minutes(1))
        assert store._writing is not None
        insert = "INSERT INTO journal VALUES ('two', 1, '2026-05-07T06:01:00+00:00', {}, 'x')"
        body = "'\\x7b7d'::bytea" if "postgresql" in where else "x'7b7d'"
        with store._writing.connection.begin():
            store._writing.connection.exec_driver_sql(insert.format(body))
        seen = follow(store).lines("Leaf line")
        assert "Entry 1 in" in seen.trouble


def test_who_leaves_waits_for_nobody_and_hears_nothing_any_more(tmp_path: Path) -> None:
    asked, answers = Event(), Event()
    seen: list[LinesSeen] = []

    def hangs() -> Store:
        asked.set()
        assert answers.wait(20)
        return Store.open(tmp_path / "shed.db", read_only=True)

    Store.open(tmp_path / "shed.db").close()
    watch = LineWatch(hangs, seen.append, lambda: minutes(60), silence_s=NEVER_S)
    thread = Thread(target=watch.run)
    thread.start()
    assert asked.wait(20)
    watch.stop()  # while the database does not answer
    answers.set()
    thread.join(20)
    assert not thread.is_alive()
    assert seen == []


if PROGRAMS is not None:

    @pytest.mark.xdist_group("postgresql")
    def test_a_server_tells_of_each_entry_so_that_nobody_waits_for_silence(
        postgresql: Server, follow: Follow
    ) -> None:
        where = postgresql.new_url()
        with Store.open(where) as store, Store.open(where) as other:
            store.append("one", [started(line="Leaf line")], minutes(1))
            followed = follow(store, NEVER_S)
            followed.lines("Leaf line")
            other.append("two", [started(line="Root line")], minutes(1))
            followed.lines("Leaf line", "Root line")
            other.append("two", [ended(9)], minutes(9))
            followed.lines("Leaf line")

    @pytest.mark.xdist_group("postgresql")
    def test_a_server_that_let_go_is_followed_again_and_what_was_known_stays(
        postgresql: Server, follow: Follow
    ) -> None:
        where = postgresql.new_url()
        name = where.split("/")[3].split("?")[0]
        with Store.open(where) as store:
            store.append("one", [started(line="Leaf line")], minutes(1))
        with Store.open(where, read_only=True) as store:
            followed = follow(store)
            followed.lines("Leaf line")
            with postgresql.connect("postgres") as db:
                db.execute(
                    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s",
                    (name,),
                )
            seen = followed.until(lambda one: bool(one.trouble))
            assert "can't be reached" in seen.trouble
            assert [one.setup.line for one in seen.shifts] == ["Leaf line"]
            followed.until(lambda one: not one.trouble)
