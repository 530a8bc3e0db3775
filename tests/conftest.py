"""For every test: Qt draws to memory, and nothing reads or writes the tester's own files."""

import gc
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.store.programs import MISSING, PROGRAMS
from washmon.gui.collector import collect_what_is_due

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ["XDG_STATE_HOME"] = tempfile.mkdtemp(prefix="washmon-tests-")
# As in the program: a widget that is collected on another thread ends the process.
gc.disable()


@pytest.fixture(scope="session")
def qapp_args() -> list[str]:
    """A screen on which every window finds room, where there is none of the machine's own.

    One application serves all tests of a process, whichever of them comes first.
    """
    if os.environ["QT_QPA_PLATFORM"] != "offscreen":
        return ["washmon"]
    screen = Path(__file__).parent / "gui" / "screen.json"
    return ["washmon", "-platform", f"offscreen:configfile={screen}"]


@pytest.fixture(autouse=True)
def garbage_goes_on_this_thread() -> Iterator[None]:
    """Collect after each test what Python would have collected during it."""
    yield
    collect_what_is_due()


def pytest_report_header() -> str:
    """Say whether the store meets a real server, or that its tests with one are left out."""
    if PROGRAMS is None:
        return f"PostgreSQL: tests deselected. {MISSING}"
    return f"PostgreSQL: a server from {PROGRAMS}"
