"""A desk over a database with past shifts."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from tests.gui.logbook.past import days_ago, keep, quiet_shift, troubled_shift, with_checks
from tests.shed import START, Shed
from washmon.gui.context import Person
from washmon.gui.desk import Desk
from washmon.store.store import Store
from washmon.units import Taste

NOW = START + timedelta(hours=9)
READER = Person("RM", Taste.METRIC)


@pytest.fixture
def open_desk(tmp_path: Path) -> Iterator[Callable[..., Desk]]:
    """Return how to open desks; they are closed in the end."""
    opened: list[Desk] = []

    def make(fill: Callable[[Store], object], *, read_only: bool = False) -> Desk:
        path = tmp_path / "shed.db"
        with Store.open(path) as store:
            fill(store)
        desk = Desk(Store.open(path, read_only=read_only), clock=lambda: NOW)
        desk.start()
        opened.append(desk)
        return desk

    yield make
    for desk in opened:
        desk.close()


@pytest.fixture
def desk(open_desk: Callable[..., Desk]) -> Desk:
    """A desk with a quiet shift, one in trouble, one long ago, and one that runs."""
    return open_desk(some_shifts)


def some_shifts(store: Store) -> None:
    keep(store, quiet_shift(days_ago(400)).shift, "long-ago")
    keep(store, quiet_shift(days_ago(3)).shift, "quiet")
    keep(store, with_checks(troubled_shift(days_ago(1)), missed=True), "troubled")
    running = Shed(start=START)
    running.fill()
    running.wait(5).read(fac=50, ph=7.0)
    keep(store, running.shift, "running")
