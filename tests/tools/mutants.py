"""Do the tests notice a wrong change?  ``python -m tests.tools.mutants [PATH[:LINE] ...]``.

--map           first find out which test runs which line (some minutes); needed once, and again
                after many tests have changed; with files of tests, of these alone
--each N        so many mutants of each room (80)
--seed S        which of all (1)
--rooms A,B     of these rooms alone
--again         only those that survived last time
--most SECONDS  at most so many seconds of tests for one mutant, thrice that before it counts as
                survived (15)

With paths, and lines if given, all mutants of these are tried; else a sample of each room. A mutant
is one small change of one module: a comparison's boundary, a sign, a number, a rounding, ``and``
for ``or``, a condition turned round, nothing returned, a call or one of several things left out.
The tests that run its line are run with it, the quick ones first, in a forked process of their own.
Survivors that mean nothing stand in ``mutants_left.toml``, each with its reason.
"""

import argparse
import json
import os
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from hashlib import sha256
from pathlib import Path

from hypothesis import Phase, settings

from tests.tools.mutant_runs import KEPT, ROOT, Trials, make_map, name_of
from tests.tools.mutating import Mutant, mutants_of

ROOMS = ("chemistry", "line", "rules", "store", "planning")
LEFT = Path(__file__).with_name("mutants_left.toml")
Key = tuple[str, str, str, str]


def modules(room: str) -> list[Path]:
    """Return the modules of a room, without the steps of the schema, which never change."""
    found = sorted((ROOT / "washmon" / room).rglob("*.py"))
    return [path for path in found if "migrations" not in path.parts]


def sampled(each: int, seed: int, rooms: Sequence[str] = ROOMS) -> list[Mutant]:
    """Return so many mutants of each room, all of a room equally likely.

    Each has a lot of its own, so that most of a sample stays the same where code is changed.
    """
    chosen: list[Mutant] = []
    for room in rooms:
        lots = [(_lot(seed, one, at), one) for path in modules(room) for at, one in _told(path)]
        lots.sort(key=lambda lot: lot[0])
        chosen += sorted((one for _, one in lots[:each]), key=lambda one: (one.path, one.number))
    return chosen


def _told(path: Path) -> Iterator[tuple[int, Mutant]]:
    """Yield the mutants of a module, each with how many before it read the same."""
    before = Counter[Key]()
    for one in mutants_in(path):
        yield before[one.key], one
        before[one.key] += 1


def _lot(seed: int, mutant: Mutant, at: int) -> bytes:
    return sha256(repr((seed, mutant.key, at)).encode()).digest()


def named(place: str) -> list[Mutant]:
    """Return all mutants of a module, or of one line of it."""
    name, _, line = place.partition(":")
    every = mutants_in(ROOT / name)
    return [one for one in every if not line or one.lines[0] <= int(line) <= one.lines[1]]


def mutants_in(path: Path) -> list[Mutant]:
    """Return all mutants of a module."""
    return mutants_of(name_of(path), path.read_text("utf-8"))


def left() -> dict[Key, str]:
    """Return the survivors that are explained, with the reason of each."""
    told = tomllib.loads(LEFT.read_text("utf-8"))["mutant"]
    return {(one["path"], one["where"], one["before"], one["after"]): one["why"] for one in told}


def again() -> list[Mutant]:
    """Return those that survived last time, as far as they are still there."""
    before = json.loads((KEPT / "survived.json").read_text("utf-8"))
    keys = {tuple(one) for one in before}
    paths = sorted({key[0] for key in keys})
    return [one for path in paths for one in mutants_in(ROOT / path) if one.key in keys]


def table(tried: list[Mutant], alive: list[Mutant]) -> Iterator[str]:
    """Yield the table by rooms."""
    explained = left()
    yield "| room | mutants | killed | survived | of these explained |"
    yield "| --- | --- | --- | --- | --- |"
    for room in (*ROOMS, ""):
        ours = [one for one in tried if one.path.startswith(f"washmon/{room}")]
        some = [one for one in alive if one in ours]
        known = sum(one.key in explained for one in some)
        share = f"{len(some)} ({100 * len(some) / max(1, len(ours)):.1f} %)"
        yield f"| {room or 'all'} | {len(ours)} | {len(ours) - len(some)} | {share} | {known} |"


def asked() -> argparse.Namespace:
    """Return what the command line asks for."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("places", nargs="*")
    parser.add_argument("--map", action="store_true")
    parser.add_argument("--each", type=int, default=80)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rooms", default=",".join(ROOMS))
    parser.add_argument("--again", action="store_true")
    parser.add_argument("--most", type=float, default=15.0)
    return parser.parse_args()


def main() -> int:
    """Judge what is asked for, tell each survivor and the table; return 1 if one is unexplained."""
    args = asked()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    os.chdir(ROOT)
    if args.map:
        make_map((path for room in ROOMS for path in modules(room)), args.places)
        return 0
    tried = again() if args.again else [one for place in args.places for one in named(place)]
    tried = tried or sampled(args.each, args.seed, args.rooms.split(","))
    phases = (Phase.explicit, Phase.generate)  # one failure is enough, however large
    settings.register_profile(
        "mutants", database=None, derandomize=True, deadline=None, phases=phases
    )
    settings.load_profile("mutants")
    explained, alive = left(), list[Mutant]()
    for mutant, tests in Trials(args.most).alive(tried):
        alive.append(mutant)
        why = explained.get(mutant.key, f"not noticed by {tests} tests")
        sys.stdout.write(f"{mutant}  ({why})\n")
        sys.stdout.flush()
    (KEPT / "survived.json").write_text(json.dumps([one.key for one in alive]), "utf-8")
    sys.stdout.writelines(f"{line}\n" for line in table(tried, alive))
    return int(any(one.key not in explained for one in alive))


if __name__ == "__main__":
    raise SystemExit(main())
