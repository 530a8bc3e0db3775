"""Databases that many tests begin with: each is filled once, and copied."""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from washmon.store.store import Store

Fill = Callable[..., object]


def put_filled(path: Path, fill: Fill, *arguments: object) -> Path:
    """Lay a database at a path that ``fill(store, *arguments)`` filled, and return the path.

    A function that is made anew in each test gains nothing: what is kept is found by the function.
    """
    assert not path.exists(), path
    path.write_bytes(_filled(fill, *arguments))
    return path


@cache
def _filled(fill: Fill, *arguments: object) -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "shed.db"
        with Store.open(path) as store:
            fill(store, *arguments)
        assert [one.name for one in path.parent.glob("shed.db-*")] == []
        return path.read_bytes()
