"""Do the tests notice a wrong change?  ``python -m tests.tools.mutants [PATH[:LINE] ...]``.

--map           first find out which test runs which line (some minutes); needed once, and again
                after many tests have changed
--each N        so many mutants of each room (80)
--seed S        which of all (1)
--rooms A,B     of these rooms alone
--again         only those that survived last time
--most SECONDS  at most so many seconds of tests for one mutant (40)

With paths, and lines if given, all mutants of these are tried; else a sample of each room. A mutant
is one small change of one module: a comparison's boundary, a sign, a number, a rounding, ``and``
for ``or``, a condition turned round, nothing returned, a call or one of several things left out.
The tests that run its line are run with it, the quick ones first, in a forked process of their own.
Survivors that mean nothing stand in ``mutants_left.toml``, each with its reason.
"""

import argparse
import json
import os
import random
import sys
import tomllib
from collections.abc import Iterator, Sequence
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
    """Return so many mutants of each room, all of a room equally likely."""
    chosen: list[Mutant] = []
    for room in rooms:
        every = [one for path in modules(room) for one in mutants_in(path)]
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
    parser.add_argument("--most", type=float, default=40.0)
    return parser.parse_args()


def main() -> int:
    """Judge what is asked for, tell each survivor and the table; return 1 if one is unexplained."""
    args = asked()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    os.chdir(ROOT)
    if args.map:
        make_map(path for room in ROOMS for path in modules(room))
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
