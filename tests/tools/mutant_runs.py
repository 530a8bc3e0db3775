"""Which tests run which line, and what they say of one wrong change of it."""

import ast
import json
import os
import signal
import sys
import time
from collections.abc import Iterable, Iterator
from importlib import import_module
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from tests.tools.mutating import Mutant, mutated, starts

ROOT = Path(__file__).parent.parent.parent
KEPT = ROOT / ".mutants"
KILLER = KEPT / "killer"
TESTS = "chemistry line rules planning store recorder reports test_units.py test_tampering.py"
LOADED = (
    "alembic.command hypothesis msgspec numpy pint phreeqpython PySide6.QtWidgets pytestqt.plugin "
    "scipy.optimize scipy.stats sqlalchemy.orm fpdf pypdf"
)
"""What the program and its tests need of others: loaded once, shared by all that is forked."""
OPTIONS = ("-q", "--no-header", "--no-summary", "-p", "no:cacheprovider", "-p", "no:xdist")


class _Watch:
    """Tells the tracer which test runs, and keeps how long each took and whether it passed."""

    def __init__(self, cover: Any) -> None:
        self.cover = cover
        self.took: dict[str, float] = {}
        self.failed: set[str] = set()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.cover.switch_context(item.nodeid)
        return (yield)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.took[report.nodeid] = self.took.get(report.nodeid, 0.0) + report.duration
        if not report.passed:
            self.failed.add(report.nodeid)


def make_map(modules: Iterable[Path]) -> None:
    """Run the tests once and keep which of them run which line of modules, and how long."""
    from coverage import Coverage  # noqa: PLC0415 - only here

    KEPT.mkdir(exist_ok=True)
    paths = list(modules)
    where = [str(path) for path in paths]
    cover = Coverage(data_file=str(KEPT / "map.db"), include=where, config_file=False)
    cover.set_option("run:relative_files", True)
    cover.erase()
    watch = _Watch(cover)
    cover.start()
    tests = [f"tests/{one}" for one in TESTS.split()]
    pytest.main([*OPTIONS, "-m", "not benchmark_ratio", *tests], plugins=[watch])
    cover.stop()
    cover.save()
    lines = {name_of(path): starts(path.read_text("utf-8")) for path in paths}
    took = {test: time for test, time in watch.took.items() if test not in watch.failed}
    (KEPT / "starts.json").write_text(json.dumps(lines), "utf-8")
    (KEPT / "took.json").write_text(json.dumps(took), "utf-8")


def name_of(path: Path) -> str:
    """Return how a module is named in a mutant."""
    return path.relative_to(ROOT).as_posix()


class Map:
    """Which tests run which line of the rooms, and how long each takes, s."""

    def __init__(self) -> None:
        from coverage import CoverageData  # noqa: PLC0415 - only here

        self._data = CoverageData(str(KEPT / "map.db"))
        self._data.read()
        self.took: dict[str, float] = json.loads((KEPT / "took.json").read_text("utf-8"))
        self._starts = json.loads((KEPT / "starts.json").read_text("utf-8"))
        self._lines: dict[str, dict[int, list[str]]] = {}

    def tests(self, mutant: Mutant, most_s: float) -> list[str]:
        """Return the tests that run a mutant's lines, or its module's if those run at import.

        The quick ones come first; together they take ``most_s`` at most, and there is at least one
        if any runs it.
        """
        if mutant.path not in self._lines:
            self._lines[mutant.path] = self._data.contexts_by_lineno(mutant.path)
        lines = self._lines[mutant.path]
        first, last = (line + self._moved(mutant) for line in mutant.lines)
        own = {test for line in range(first, last + 1) for test in lines.get(line, ()) if test}
        module = {test for tests in lines.values() for test in tests if test}
        every = own or module or self.took.keys()  # a module of declarations runs at import alone
        chosen: list[str] = []
        for test in sorted(every & self.took.keys(), key=lambda test: (self.took[test], test)):
            most_s -= self.took[test]
            if chosen and most_s < 0:
                break
            chosen.append(test)
        return chosen

    def _moved(self, mutant: Mutant) -> int:
        """Return how far down a function stood when the map was made."""
        before = self._starts.get(mutant.path, {}).get(mutant.where)
        now = starts((ROOT / mutant.path).read_text("utf-8"))
        return 0 if before is None else int(before) - now[mutant.where]


class _Changed(MetaPathFinder, Loader):
    """Imports one module of the program with a change in it."""

    def __init__(self, path: Path, code: ast.Module) -> None:
        self.path = path
        parts = path.relative_to(ROOT).with_suffix("").parts
        self.name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        self.code = compile(code, str(path), "exec")

    def find_spec(self, name: str, *_rest: object) -> ModuleSpec | None:
        return spec_from_file_location(name, self.path, loader=self) if name == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        exec(self.code, module.__dict__)  # noqa: S102 - our own code, changed


class _Only:
    """Runs the chosen tests alone, in their order, and writes down which failed."""

    def __init__(self, tests: list[str]) -> None:
        self.order = {test: at for at, test in enumerate(tests)}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted(
            (item for item in items if item.nodeid in self.order),
            key=lambda item: self.order[item.nodeid],
        )

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            KILLER.write_text(report.nodeid, "utf-8")


def _run(mutant: Mutant | None, tests: list[str]) -> int:
    """Run tests with a mutant, if any, in this process, which must not know the program yet."""
    from hypothesis import settings  # noqa: PLC0415 - loaded before

    settings.register_profile("mutants", database=None, derandomize=True, deadline=None)
    settings.load_profile("mutants")
    if mutant is not None:
        path = ROOT / mutant.path
        code = mutated(path.read_text("utf-8"), mutant.number)
        sys.meta_path.insert(0, _Changed(path, code))
    files = dict.fromkeys(test.partition("::")[0] for test in tests)
    loaded = ("-W", "ignore::pytest.PytestAssertRewriteWarning")  # of what all children share
    return int(pytest.main([*OPTIONS, *loaded, "-x", *files], plugins=[_Only(tests)]))


def passed(mutant: Mutant | None, tests: list[str], limit_s: float) -> bool:
    """Run tests with a mutant in a forked process; tell whether all passed in time."""
    KILLER.unlink(missing_ok=True)
    child = os.fork()
    if not child:
        os.setsid()
        quiet = os.open(os.devnull, os.O_RDWR)
        for number in (0, 1, 2):
            os.dup2(quiet, number)
        code = 1
        try:
            code = _run(mutant, tests)
        finally:
            os._exit(code)
    return _waited(child, time.monotonic() + limit_s) in {
        pytest.ExitCode.OK,
        pytest.ExitCode.NO_TESTS_COLLECTED,
    }


def _waited(child: int, until: float) -> int | None:
    """Return how a process ended; None if it had to be ended."""
    while time.monotonic() < until:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


class Trials:
    """Tries mutants one after the other; a test that fails without any counts for nothing."""

    def __init__(self, most_s: float) -> None:
        for name in LOADED.split():
            import_module(name)
        self._map, self._most_s = Map(), most_s
        self._sound: set[str] = set()

    def survives(self, mutant: Mutant) -> tuple[bool, int]:
        """Tell whether a mutant passes its tests, and how many there are."""
        tests = self._map.tests(mutant, self._most_s)
        while True:
            limit_s = 60 + 4 * sum(self._map.took[test] for test in tests)
            if passed(mutant, tests, limit_s):
                return True, len(tests)
            killer = KILLER.read_text("utf-8") if KILLER.exists() else ""  # none: not even imported
            if not killer or killer in self._sound:
                return False, len(tests)
            if passed(None, [killer], limit_s):
                self._sound.add(killer)
                return False, len(tests)
            del self._map.took[killer]
            tests.remove(killer)
