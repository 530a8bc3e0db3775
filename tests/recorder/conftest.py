"""A recorder on a database of its own, and the hash of the PIN that acts are done with."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.recorder.acting import PIN
from tests.recorder.recorder_bench import Bench
from washmon.line.pins import hash_pin


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """Return a recorder that is closed after the test."""
    bench = Bench(tmp_path / "shed.db")
    yield bench
    bench.recorder.close()


@pytest.fixture(scope="session")
def kept() -> str:
    return hash_pin(PIN)
