"""A client over a database with past shifts."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from tests.gui.logbook.past import days_ago, keep, quiet_shift, troubled_shift, with_checks
from tests.shed import START, Shed
from tests.store.filled import put_filled
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.store.store import Store
from washmon.units import UnitSystem

NOW = START + timedelta(hours=9)
READER = UserContext("RM", UnitSystem.METRIC)


@pytest.fixture
def open_client(tmp_path: Path) -> Iterator[Callable[..., RecorderClient]]:
    """Return how to open desks; they are closed in the end."""
    opened: list[RecorderClient] = []

    def make(fill: Callable[[Store], object], *, read_only: bool = False) -> RecorderClient:
        path = put_filled(tmp_path / "shed.db", fill)
        client = RecorderClient(Store.open(path, read_only=read_only), clock=lambda: NOW)
        client.start()
        opened.append(client)
        return client

    yield make
    for client in opened:
        client.close()


@pytest.fixture
def client(open_client: Callable[..., RecorderClient]) -> RecorderClient:
    """A client with a quiet shift, one in trouble, one long ago, and one that runs."""
    return open_client(some_shifts)


def some_shifts(store: Store) -> None:
    keep(store, quiet_shift(days_ago(400)).shift, "long-ago")
    keep(store, quiet_shift(days_ago(3)).shift, "quiet")
    keep(store, with_checks(troubled_shift(days_ago(1)), missed=True), "troubled")
    running = Shed(start=START)
    running.fill()
    running.wait(5).read(fac=50, ph=7.0)
    keep(store, running.shift, "running")
