"""Which tests run which line, and what they say of one wrong change of it."""

import ast
import gc
import json
import os
import signal
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from importlib import import_module
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_file_location
from inspect import CO_OPTIMIZED
from itertools import accumulate, zip_longest
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

import pytest

from tests.tools.mutating import Mutant, mutated, starts

ROOT = Path(__file__).parent.parent.parent
KEPT = ROOT / ".mutants"
TOOK, STARTS = KEPT / "took.json", KEPT / "starts.json"
KILLER, SURVIVED = (KEPT / f"{name}-{os.getpid()}" for name in ("killer", "survived-at-first"))
"""Of this run alone: another may try other mutants beside it."""
TESTS = (
    "chemistry line rules planning store recorder reports test_units.py test_tampering.py "
    "test_unchangeable.py cli/test_forged_records.py cli/test_touched_records.py "
    "faults/test_vanishing.py"
)
DECLARED = ("tests/test_unchangeable.py",)
"""Looks at all declarations, and comes first."""
ON_SERVER, AT_LAST = 4, 3
"""So many tests on a server at most; so much more time for what survived at first."""
LOADED = (
    "alembic.command hypothesis msgspec numpy pint phreeqpython PySide6.QtWidgets pytestqt.plugin "
    "scipy.optimize scipy.stats sqlalchemy.orm fpdf pypdf"
)
"""What the program and its tests need of others: loaded once, shared by all that is forked."""
OPTIONS = (
    "-q",
    "-s",
    "--tb=no",
    "--no-header",
    "--no-summary",
    *["-p", "no:cacheprovider", "-p", "no:xdist"],
    *["-W", "ignore::pytest.PytestAssertRewriteWarning"],  # of what is loaded before pytest begins
)


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


def make_map(modules: Iterable[Path], files: Sequence[str] = ()) -> None:
    """Run the tests once and keep which of them run which line of modules, and how long.

    Where files of tests are named, these alone are run and what is known of others is kept.
    """
    from coverage import Coverage  # noqa: PLC0415 - only here

    KEPT.mkdir(exist_ok=True)
    paths = list(modules)
    where = [str(path) for path in paths]
    cover = Coverage(data_file=str(KEPT / "map.db"), include=where, config_file=False)
    cover.set_option("run:relative_files", True)
    if files:
        cover.load()
    else:
        cover.erase()
    watch = _Watch(cover)
    cover.start()
    tests = files or [f"tests/{one}" for one in TESTS.split()]
    pytest.main([*OPTIONS, "-m", "not benchmark_ratio", *tests], plugins=[watch])
    cover.stop()
    cover.save()
    took = {test: time for test, time in watch.took.items() if test not in watch.failed}
    if files:
        took = json.loads(TOOK.read_text("utf-8")) | took
    else:
        lines = {name_of(path): starts(path.read_text("utf-8")) for path in paths}
        STARTS.write_text(json.dumps(lines), "utf-8")
    TOOK.write_text(json.dumps(took), "utf-8")


def name_of(path: Path) -> str:
    """Return how a module is named in a mutant."""
    return path.relative_to(ROOT).as_posix()


class Map:
    """Which tests run which line of the rooms, and how long each takes, s."""

    def __init__(self) -> None:
        from coverage import CoverageData  # noqa: PLC0415 - only here

        data = CoverageData(str(KEPT / "map.db"))
        data.read()  # all at once: in a forked process it would begin anew
        self._lines = {path: data.contexts_by_lineno(path) for path in data.measured_files()}
        self.took: dict[str, float] = json.loads(TOOK.read_text("utf-8"))
        self._texts: dict[str, str] = {}
        self._starts = json.loads(STARTS.read_text("utf-8"))

    def tests(self, mutant: Mutant, most_s: float) -> list[str]:
        """Return the tests that run a mutant's lines; of lines that run at import, its module's.

        These are the tests that run any line of it, those of files that import it, as they may ask
        for a constant alone, and those of all declarations.
        The quick ones come first, and those of its own room before others four times as quick;
        together they take ``most_s`` at most, and there is at least one if any runs it. A few on a
        server come last: starting it takes its time.
        """
        lines = self._lines.get(mutant.path, {})
        first, last = mutant.lines
        # Where the function stood when all was looked at, and where it stands: some came later.
        own = {line + by for line in range(first, last + 1) for by in (0, self._moved(mutant))}
        every = {test for line in own for test in lines.get(line, ()) if test}
        if len(every) < 2:  # that one may be who imported it first
            name = _module(ROOT / mutant.path)
            every |= {test for tests in lines.values() for test in tests if test}
            every |= {test for test in self.took if self._imports(test.partition("::")[0], name)}
        near = f"tests/{mutant.path.split('/')[1]}/"
        weight = {
            test: self.took[test] * (1 if test.startswith(near) else 4)
            for test in every & self.took.keys()
        }
        weight |= {test: 0.0 for test in weight if test.startswith(DECLARED)}
        chosen: list[str] = []
        on_server: list[str] = []
        for test in sorted(weight, key=lambda test: (weight[test], test)):
            if "postgresql" in test:
                on_server.append(test)
            elif not chosen or self.took[test] <= most_s:
                most_s -= self.took[test]
                chosen.append(test)
        return chosen + on_server[:ON_SERVER]

    def _imports(self, file: str, module: str) -> bool:
        """Tell whether a file of tests takes anything from a module, or from a package of it."""
        if file not in self._texts:
            self._texts[file] = (ROOT / file).read_text("utf-8")
        top, *rest = module.split(".")
        names = list(accumulate(rest, "{}.{}".format, initial=top))[1:]
        return file in DECLARED or any(f"from {one} import" in self._texts[file] for one in names)

    def _moved(self, mutant: Mutant) -> int:
        """Return how far down a function stood when the map was made."""
        before = self._starts.get(mutant.path, {}).get(mutant.where)
        now = starts((ROOT / mutant.path).read_text("utf-8"))
        return 0 if before is None else int(before) - now[mutant.where]


def _module(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


class _Changed(MetaPathFinder, Loader):
    """Imports one module of the program with a change in it."""

    def __init__(self, path: Path, code: ast.Module) -> None:
        self.path, self.name = path, _module(path)
        self.code = compile(code, str(path), "exec")

    def find_spec(self, name: str, *_rest: object) -> ModuleSpec | None:
        return spec_from_file_location(name, self.path, loader=self) if name == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        exec(self.code, module.__dict__)  # noqa: S102 - our own code, changed


def _functions() -> dict[tuple[str, str], list[FunctionType]]:
    """Return all functions that are loaded, by file and name."""
    gc.unfreeze()  # what is frozen is not listed
    found = defaultdict[tuple[str, str], list[FunctionType]](list)
    for one in gc.get_objects():
        if isinstance(one, FunctionType):
            found[one.__code__.co_filename, one.__code__.co_qualname].append(one)
    return found


def _codes(code: CodeType) -> Iterator[CodeType]:
    """Yield the code of functions and methods, but not of what is inside functions."""
    for one in code.co_consts:
        if isinstance(one, CodeType):
            if one.co_flags & CO_OPTIMIZED:
                yield one
            else:
                yield from _codes(one)


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
    if mutant is not None:
        path = ROOT / mutant.path
        code = mutated(path.read_text("utf-8"), mutant.number)
        sys.meta_path.insert(0, _Changed(path, code))
    files = dict.fromkeys(test.partition("::")[0] for test in tests)
    return int(pytest.main([*OPTIONS, "-x", *files], plugins=[_Only(tests)]))


def passed(run: Callable[[], int], limit_s: float) -> bool:
    """Run tests in a forked process; tell whether all passed in time."""
    KILLER.unlink(missing_ok=True)
    child = os.fork()
    if not child:
        os.setsid()
        quiet = os.open(os.devnull, os.O_RDWR)
        for number in (0, 1, 2):
            os.dup2(quiet, number)
        code = 1
        try:
            code = run()
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
        time.sleep(0.01)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


class _Loop:
    """In place of running the tests that were collected, lets a job run some of them at a time."""

    def __init__(self, job: Callable[["_Loop"], None]) -> None:
        self.job = job
        self.items: dict[str, pytest.Item] = {}
        self.functions: dict[tuple[str, str], list[FunctionType]] = {}
        self.failed = False

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = {item.nodeid: item for item in session.items}
        self.job(self)
        return True

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed = True
            KILLER.write_text(report.nodeid, "utf-8")

    def load(self, paths: Iterable[str]) -> None:
        """Load modules, some of which would only be when they are needed."""
        for path in sorted(paths):
            import_module(_module(ROOT / path))
        self.functions = _functions()
        gc.freeze()  # what is loaded is shared by all that is forked, and never looked through

    def exchange(self, mutant: Mutant) -> bool:
        """Put changed code into the function that is loaded; tell whether there is one."""
        path = ROOT / mutant.path
        code = compile(mutated(path.read_text("utf-8"), mutant.number), str(path), "exec")
        inside = {one.co_qualname: one for one in _codes(code)}
        names = accumulate(mutant.where.split("."), "{}.{}".format)
        outer = next((name for name in names if name in inside), "")
        old = self.functions.get((str(path), outer), [])
        for one in old:
            one.__code__ = inside[outer]
        return bool(old)

    def run(self, mutant: Mutant | None, tests: list[str]) -> int:
        """Run tests with a mutant, if any, until one fails; return 1 then."""
        if mutant is not None and not self.exchange(mutant):
            return 0
        chosen = [self.items[test] for test in tests if test in self.items]
        for item, following in zip_longest(chosen, chosen[1:]):
            item.ihook.pytest_runtest_protocol(item=item, nextitem=following)
            if self.failed:
                item.session._setupstate.teardown_exact(None)  # else a server would stay
                return 1
        return 0


class Trials:
    """Tries mutants one after the other.

    First in a process in which all is loaded: the changed code takes the place of the old. What
    survives there, and what is changed outside of functions, is tried with its module imported
    anew, as other modules may have kept what they took from it, and with more tests. One that fails
    without any change counts for nothing.
    """

    def __init__(self, most_s: float) -> None:
        self._map, self._most_s = Map(), most_s
        self._sound: set[str] = set()

    def alive(self, mutants: list[Mutant]) -> Iterator[tuple[Mutant, int]]:
        """Yield what survives, and how many tests it passes."""
        left: list[Mutant] = []

        def exchanged(loop: _Loop) -> None:
            loop.load({mutant.path for mutant in mutants})
            for number, mutant in enumerate(mutants, 1):
                if self._survives(mutant, loop.run, self._most_s):
                    left.append(mutant)
                    sys.stderr.write(f"\r{number}. {mutant}\n")
                sys.stderr.write(f"\r{number} of {len(mutants)}")

        files = sorted({test.partition("::")[0] for test in self._map.took})
        child = os.fork()
        if not child:
            pytest.main([*OPTIONS, *files], plugins=[_Loop(exchanged)])
            SURVIVED.write_text(json.dumps([mutants.index(one) for one in left]), "utf-8")
            os._exit(0)
        os.waitpid(child, 0)
        for name in LOADED.split():
            import_module(name)
        survived = json.loads(SURVIVED.read_text("utf-8"))
        SURVIVED.unlink()
        for at in survived:
            if self._survives(mutants[at], _run, self._most_s * AT_LAST):
                yield mutants[at], len(self._map.tests(mutants[at], self._most_s * AT_LAST))
        KILLER.unlink(missing_ok=True)

    def _survives(
        self, mutant: Mutant, run: Callable[[Mutant | None, list[str]], int], most_s: float
    ) -> bool:
        tests = self._map.tests(mutant, most_s)
        while True:
            limit_s = 30 + 4 * sum(self._map.took[test] for test in tests)
            if passed(partial(run, mutant, tests), limit_s):
                return True
            killer = KILLER.read_text("utf-8") if KILLER.exists() else ""  # none: not even imported
            if not killer or killer in self._sound:
                return False
            if passed(partial(run, None, [killer]), limit_s):
                self._sound.add(killer)
                return False
            del self._map.took[killer]
            tests.remove(killer)
