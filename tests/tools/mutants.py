"""Do the tests notice a wrong change?  ``python -m tests.tools.mutants [PATH[:LINE] ...]``.

--map           first find out which test runs which line (some minutes); needed once, and again
                after many tests have changed
--each N        so many mutants of each room (80)
--seed S        which of all (1)
--again         only those that survived last time
--most SECONDS  at most so many seconds of tests for one mutant (40)

With paths, and lines if given, all mutants of these are tried; else a sample of each room. A mutant
is one small change of one module: a comparison's boundary, a sign, a number, a rounding, ``and``
for ``or``, a condition turned round, nothing returned, a call or one of several things left out.
The tests that run its line are run with it, the quick ones first, in a forked process of their own.
Survivors that mean nothing stand in ``mutants_left.toml``, each with its reason.
"""

import argparse
import ast
import json
import os
import random
import signal
import sys
import time
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from importlib import import_module
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from tests.tools.mutating import Mutant, mutants_of, mutated, starts

ROOT = Path(__file__).parent.parent.parent
ROOMS = ("chemistry", "line", "rules", "store", "planning")
KEPT = ROOT / ".mutants"
LEFT = Path(__file__).with_name("mutants_left.toml")
TESTS = [
    "chemistry",
    "line",
    "rules",
    "planning",
    "store",
    "recorder",
    "reports",
    "test_units.py",
    "test_tampering.py",
    "test_record_table.py",
]
LOADED = [
    "alembic.command",
    "hypothesis",
    "msgspec",
    "numpy",
    "pint",
    "phreeqpython",
    "PySide6.QtWidgets",
    "pytestqt.plugin",
    "scipy.optimize",
    "scipy.stats",
    "sqlalchemy.orm",
    "fpdf",
    "pypdf",
]
OPTIONS = ("-q", "--no-header", "--no-summary", "-p", "no:cacheprovider", "-p", "no:xdist")


def modules() -> dict[str, list[Path]]:
    """Return the modules of each room, without the steps of the schema, which never change."""
    found = {room: sorted((ROOT / "washmon" / room).rglob("*.py")) for room in ROOMS}
    return {
        room: [path for path in paths if "migrations" not in path.parts]
        for room, paths in found.items()
    }


def every_module() -> Iterator[Path]:
    """Yield the modules of all rooms."""
    for paths in modules().values():
        yield from paths


def sampled(each: int, seed: int) -> list[Mutant]:
    """Return so many mutants of each room, all of them equally likely."""
    chosen: list[Mutant] = []
    for room, paths in modules().items():
        every = [one for path in paths for one in mutants_in(path)]
        dice = random.Random(f"{seed} {room}")  # noqa: S311 - a sample, no secret
        chosen += sorted(dice.sample(every, min(each, len(every))), key=lambda one: one.key)
    return chosen


def named(place: str) -> list[Mutant]:
    """Return all mutants of a module, or of one line of it."""
    name, _, line = place.partition(":")
    every = mutants_in(ROOT / name)
    return [one for one in every if not line or one.lines[0] <= int(line) <= one.lines[1]]


def mutants_in(path: Path) -> list[Mutant]:
    """Return all mutants of a module."""
    return mutants_of(name(path), path.read_text("utf-8"))


def name(path: Path) -> str:
    """Return how a module is named in a mutant."""
    return path.relative_to(ROOT).as_posix()


def left() -> dict[tuple[str, str, str, str], str]:
    """Return the survivors that are explained, with the reason of each."""
    told = tomllib.loads(LEFT.read_text("utf-8")).get("mutant", [])
    return {(one["path"], one["where"], one["before"], one["after"]): one["why"] for one in told}


# -- which test runs which line -------------------------------------------------------------------


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


def make_map() -> None:
    """Run the tests of the rooms once and keep which of them run which line."""
    from coverage import Coverage  # noqa: PLC0415 - only here

    KEPT.mkdir(parents=True, exist_ok=True)
    rooms = [f"{ROOT}/washmon/{room}/*" for room in ROOMS]
    cover = Coverage(data_file=str(KEPT / "map.db"), include=rooms, config_file=False)
    cover.set_option("run:relative_files", True)
    cover.erase()
    watch = _Watch(cover)
    cover.start()
    pytest.main(
        [*OPTIONS, "-m", "not benchmark_ratio", *(f"tests/{one}" for one in TESTS)], plugins=[watch]
    )
    cover.stop()
    cover.save()
    lines = {name(path): starts(path.read_text("utf-8")) for path in every_module()}
    (KEPT / "starts.json").write_text(json.dumps(lines), "utf-8")
    took = {test: time for test, time in watch.took.items() if test not in watch.failed}
    (KEPT / "took.json").write_text(json.dumps(took), "utf-8")


class Map:
    """Which tests run which line of the rooms, and how long each takes, s."""

    def __init__(self) -> None:
        from coverage import CoverageData  # noqa: PLC0415 - only here

        self._data = CoverageData(str(KEPT / "map.db"))
        self._data.read()
        self.took: dict[str, float] = json.loads((KEPT / "took.json").read_text("utf-8"))
        self._starts: dict[str, dict[str, int]] = json.loads(
            (KEPT / "starts.json").read_text("utf-8")
        )
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
        every = own or {test for tests in lines.values() for test in tests if test}
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
        return 0 if before is None else before - now[mutant.where]


# -- one mutant -----------------------------------------------------------------------------------


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
    """Runs the chosen tests alone, in their order."""

    def __init__(self, tests: list[str]) -> None:
        self.order = {test: at for at, test in enumerate(tests)}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted(
            (item for item in items if item.nodeid in self.order),
            key=lambda item: self.order[item.nodeid],
        )


def _run(mutant: Mutant, tests: list[str]) -> int:
    """Run tests with a mutant in this process, which must not know the program yet."""
    from hypothesis import settings  # noqa: PLC0415 - loaded before

    settings.register_profile("mutants", database=None, derandomize=True, deadline=None)
    settings.load_profile("mutants")
    path = ROOT / mutant.path
    code = mutated(path.read_text("utf-8"), mutant.number)
    sys.meta_path.insert(0, _Changed(path, code))
    files = dict.fromkeys(test.partition("::")[0] for test in tests)
    return int(pytest.main([*OPTIONS, "-x", *files], plugins=[_Only(tests)]))


@dataclass(frozen=True)
class Verdict:
    """What came of a mutant: ``killed``, ``slow`` (killed by the clock), ``survived``."""

    mutant: Mutant
    came: str
    tests: int
    took_s: float


def judged(mutant: Mutant, tests: list[str], limit_s: float) -> Verdict:
    """Run the tests with a mutant in a forked process and say whether one failed."""
    begun = time.monotonic()
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
    ended = _waited(child, begun + limit_s)
    came = "slow" if ended is None else "survived" if ended in SURVIVED else "killed"
    return Verdict(mutant, came, len(tests), time.monotonic() - begun)


SURVIVED = (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED)


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


# -- all of them ----------------------------------------------------------------------------------


def judge_all(mutants: Iterable[Mutant], most_s: float) -> Iterator[Verdict]:
    """Judge mutants one after the other; what all of them need of others is loaded once."""
    for name in LOADED:
        import_module(name)
    found = Map()
    for mutant in mutants:
        tests = found.tests(mutant, most_s)
        if not tests:
            yield Verdict(mutant, "survived", 0, 0.0)
            continue
        nominal_s = sum(found.took[test] for test in tests)
        yield judged(mutant, tests, 30 + 4 * nominal_s)


def told(verdicts: list[Verdict]) -> Iterator[str]:
    """Yield the table by rooms."""
    explained = left()
    yield "| room | mutants | killed | survived | of these explained |"
    yield "| --- | --- | --- | --- | --- |"
    for room in (*ROOMS, ""):
        ours = [one for one in verdicts if one.mutant.path.startswith(f"washmon/{room}")]
        alive = [one for one in ours if one.came == "survived"]
        known = sum(one.mutant.key in explained for one in alive)
        share = f"{len(alive)} ({100 * len(alive) / max(1, len(ours)):.1f} %)"
        yield f"| {room or 'all'} | {len(ours)} | {len(ours) - len(alive)} | {share} | {known} |"


def asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("places", nargs="*")
    parser.add_argument("--map", action="store_true")
    parser.add_argument("--each", type=int, default=80)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--again", action="store_true")
    parser.add_argument("--most", type=float, default=40.0)
    return parser.parse_args()


def wanted(args: argparse.Namespace) -> list[Mutant]:
    """Return the mutants that are asked for."""
    if args.again:
        before = json.loads((KEPT / "survived.json").read_text("utf-8"))
        keys = {tuple(one) for one in before}
        paths = sorted({key[0] for key in keys})
        return [one for path in paths for one in mutants_in(ROOT / path) if one.key in keys]
    if args.places:
        return [one for place in args.places for one in named(place)]
    return sampled(args.each, args.seed)


def main() -> int:
    """Judge what is asked for, tell each survivor and the table; return 1 if one is unexplained."""
    args = asked()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    os.chdir(ROOT)
    if args.map:
        make_map()
        return 0
    explained, verdicts = left(), []
    for verdict in judge_all(wanted(args), args.most):
        verdicts.append(verdict)
        if verdict.came == "survived":
            why = explained.get(verdict.mutant.key, f"not noticed by {verdict.tests} tests")
            sys.stdout.write(f"{verdict.mutant}  ({why})\n")
            sys.stdout.flush()
    alive = [one.mutant.key for one in verdicts if one.came == "survived"]
    (KEPT / "survived.json").write_text(json.dumps(alive), "utf-8")
    sys.stdout.writelines(f"{line}\n" for line in told(verdicts))
    return int(any(key not in explained for key in alive))


if __name__ == "__main__":
    raise SystemExit(main())
