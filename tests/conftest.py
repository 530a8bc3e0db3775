"""For every test: Qt draws to memory, and nothing reads or writes the tester's own files."""

import gc
import os
import re
import tempfile
from collections.abc import Iterator
from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher
from pytestqt.qtbot import QtBot
from xdist.scheduler import LoadScopeScheduling
from xdist.workermanage import WorkerController

from tests.store.programs import MISSING, PROGRAMS
from washmon.gui.app import collect_what_is_due
from washmon.line import pins

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


PATIENCE_MS = 30_000
"""How long a test waits for what should come soon: a busy machine is no fault of the program's."""


@pytest.fixture
def qtbot(qtbot: QtBot) -> QtBot:
    """Wait longer than the five seconds that pytest-qt gives up after, where nothing is said."""
    for name in ("waitSignal", "waitSignals", "waitUntil", "waitExposed", "waitActive"):
        setattr(qtbot, name, partial(getattr(qtbot, name), timeout=PATIENCE_MS))
    return qtbot


class KeepsGroups(LoadScopeScheduling):
    """Gives a module to one worker, and all of an ``xdist_group``: what they share is made once.

    The marker alone does not: pytest 9.2 takes no name that xdist 3.8 appends to a test's.
    """

    def _split_scope(self, nodeid: str) -> str:
        module = nodeid.partition("::")[0]
        return _group_of(self.config.rootpath / module) or module

    def schedule(self) -> None:
        """Begin with groups, which take longest, so that no worker ends with one alone."""
        begun = self.collection is not None
        super().schedule()
        if not begun:
            groups = [scope for scope in self.workqueue if not scope.endswith(".py")]
            for group in reversed(groups):
                self.workqueue.move_to_end(group, last=False)

    def remove_node(self, node: WorkerController) -> str | None:
        """Hand on what a worker had left, and return what it died of, which is not run again.

        xdist 3.8 hands on all that it was ever given. A worker that is given what is done reports
        nothing, so it is given no more, and the run never ends.
        """
        had = self.assigned_work.pop(node)
        left = {scope: [one for one in unit if not unit[one]] for scope, unit in had.items()}
        crashed = next((unit.pop(0) for unit in left.values() if unit), None)
        self.workqueue.update(
            {scope: dict.fromkeys(unit, False) for scope, unit in left.items() if unit}
        )
        for other in self.assigned_work:
            self._reschedule(other)
        return crashed


@cache
def _group_of(module: Path) -> str:
    """Return the first group that a module names; empty where it names none."""
    named = re.search(r'xdist_group\("([^"]+)"\)', module.read_text(encoding="utf-8"))
    return named[1] if named else ""


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadScopeScheduling | None:
    """Keep groups together where that is asked for."""
    return KeepsGroups(config, log) if config.getvalue("dist") == "loadgroup" else None


@pytest.fixture(autouse=True)
def garbage_goes_on_this_thread() -> Iterator[None]:
    """Collect after each test what Python would have collected during it."""
    yield
    assert not gc.isenabled()  # else later tests meet it on any thread
    collect_what_is_due()


@pytest.fixture(scope="session", autouse=True)
def pins_are_hashed_cheaply() -> Iterator[None]:
    """What a hash costs whoever guesses, it would cost hundreds of tests."""
    cheap = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pins, "_hasher", lambda: cheap)
        yield


def pytest_collection_finish() -> None:
    """Leave out of each collection what is there for good: all modules, and all tests."""
    gc.freeze()


def pytest_report_header() -> str:
    """Say whether the store meets a real server, or that its tests with one are left out."""
    if PROGRAMS is None:
        return f"PostgreSQL: tests deselected. {MISSING}"
    return f"PostgreSQL: a server from {PROGRAMS}"
