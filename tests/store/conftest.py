import os
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine, text

from tests.store import server
from tests.store.programs import MISSING, PROGRAMS
from washmon.store import JournalFault, Store
from washmon.store.place import Server as ServerPlace
from washmon.store.place import locate

SERVER_PLACES = (0, 6, 11, 12)
KINDS = [
    "sqlite",
    # All on one worker, so that one server does for all of them.
    *([pytest.param("postgresql", marks=pytest.mark.xdist_group("postgresql"))] * bool(PROGRAMS)),
]


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what needs a server where there is none: the head of the report says so.

    Not where all must be tested (``CI`` is set): there it fails. Of what is tried at each place of
    a shift, a server gets the first, the middle and the last: only the SQL is another there, and
    each needs a database of its own.
    """
    gone = [item for item in items if _is_told_by_others(item)]
    if PROGRAMS is None and not os.environ.get("CI"):
        gone += [item for item in items if "postgresql" in getattr(item, "fixturenames", ())]
    left = set(items) - set(gone)
    items[:] = [item for item in items if item in left]
    config.hook.pytest_deselected(items=gone)


def _is_told_by_others(item: pytest.Item) -> bool:
    call = getattr(item, "callspec", None)
    if call is None or call.params.get("new_place") != "postgresql":
        return False
    return call.params.get("seq", 0) not in SERVER_PLACES


@pytest.fixture(scope="session")
def postgresql() -> Iterator[server.Server]:
    """A real server for as long as the tests run; without its programs this fails."""
    assert PROGRAMS is not None, MISSING
    started = server.Server(PROGRAMS)
    yield started
    started.remove()


@pytest.fixture(params=KINDS)
def new_place(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[], str]:
    """Makes empty places for databases: files, and again databases on a server."""
    if request.param == "postgresql":
        started: server.Server = request.getfixturevalue("postgresql")
        return started.new_place
    numbers = count(1)
    return lambda: f"sqlite:///{tmp_path}/shed{next(numbers)}.db"


@pytest.fixture
def where(new_place: Callable[[], str]) -> str:
    """An empty place for a database: a file, and again a server."""
    return new_place()


def beside_guards(store: Store) -> list[JournalFault]:
    """What is wrong beside that the guards are off, which is told each time."""
    *others, off = store.verify()
    assert "guards that keep hands off the journal were taken off" in str(off)
    return others


Sql = Callable[..., list[tuple[Any, ...]]]


@pytest.fixture
def by_hand(where: str) -> Iterator[Sql]:
    """Runs SQL in the database from behind, each statement on its own; returns the last's rows."""
    place = locate(where)
    url = place.url if isinstance(place, ServerPlace) else f"sqlite:///{place}"
    engine = create_engine(url, isolation_level="AUTOCOMMIT")

    def run(*statements: str, **values: object) -> list[tuple[Any, ...]]:
        with engine.connect() as connection:
            for statement in statements:
                result = connection.execute(text(statement), values)
            return [tuple(row) for row in result] if result.returns_rows else []

    yield run
    engine.dispose()


@pytest.fixture
def unguarded(by_hand: Sql, where: str) -> Callable[[], None]:
    """Takes the guards off the journal, as a determined hand would."""

    def drop() -> None:
        if where.startswith("postgresql"):
            by_hand("ALTER TABLE journal DISABLE TRIGGER ALL")
            return
        for (name,) in by_hand("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            by_hand(f"DROP TRIGGER {name}")

    return drop
