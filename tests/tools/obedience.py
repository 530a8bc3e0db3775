"""The obedient supervisor against habits, in random worlds: ``python -m tests.tools.obedience``.

--worlds N      so many random worlds in which all is entered (60)
--slips N       so many in which entries are mistyped, forgotten or late (0)
--wild N        so many in which every third reading is anything at all (0)
--tubs N        so many of three small tubs with strips and spoons (0)
--seed S        the first seed (1)
--jobs J        so many processes (1)
--who a,b       board, every2, every2w, every3w, crude, bound (board,every2,every2w)
--dump SEED     retell one shift instead (with --tubs: of the small tubs; --slips: with slips)
--twin          follow each flag with a twin that never raised it
--save FILE     keep all counts as JSON lines
"""

import argparse
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from itertools import chain
from pathlib import Path
from time import perf_counter

import msgspec

from tests.obedience.costs import listed
from tests.obedience.run import BOARD, EVERYBODY, retold, work_through
from tests.obedience.tables import by_tanks, counted, table
from tests.obedience.tally import Tally
from tests.obedience.world import World, draw_tubs, draw_wild, draw_world

TITLES = {
    "worlds": "Worlds in which all is entered",
    "slips": "Worlds with slips",
    "wild": "Worlds in which every third reading is anything at all",
    "tubs": "Three small tubs",
}
Job = tuple[str, int, str, bool]


def the_world(kind: str, seed: int) -> World:
    if kind == "tubs":
        return draw_tubs(seed)
    if kind == "wild":
        return draw_wild(seed)
    return draw_world(seed, slips=kind == "slips")


def do(job: Job) -> tuple[str, Tally]:
    kind, seed, who, twins = job
    return kind, work_through(the_world(kind, seed), who, twins=twins)


def done(jobs: list[Job], processes: int) -> Iterator[tuple[str, Tally]]:
    if processes == 1:
        yield from map(do, jobs)
        return
    with ProcessPoolExecutor(processes) as pool:
        yield from pool.map(do, jobs, chunksize=4)


def asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--worlds", type=int, default=60)
    parser.add_argument("--slips", type=int, default=0)
    parser.add_argument("--tubs", type=int, default=0)
    parser.add_argument("--wild", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--who", default="board,every2,every2w")
    parser.add_argument("--dump", type=int)
    parser.add_argument("--twin", action="store_true")
    parser.add_argument("--save", type=Path)
    return parser.parse_args()


def tell(*lines: str) -> None:
    sys.stdout.writelines(f"{line}\n" for line in lines)


def shown(title: str, tallies: list[Tally], who: list[str]) -> None:
    tell(table(title, {one: [t for t in tallies if t.who == one] for one in who}))
    for one in [name for name in who if name == BOARD]:
        mine = [t for t in tallies if t.who == one]
        if len({t.tanks for t in mine}) > 1:
            tell(table(f"{title}: {one}, by number of tanks", by_tanks(tallies, one)))
        for which in ("causes", "flagged", "idle", "overs", "doubted", "refused", "slipped"):
            lines = counted(mine, which)
            if lines:
                tell(f"{one}, {which}:", *lines, "")


def complaints(tallies: list[Tally]) -> Iterator[str]:
    """Yield what must never be, with the seeds to retell."""
    for one in tallies:
        where = f"seed {one.seed} {one.who}{' slips' if one.slips else ''}"
        yield from (f"{where}: {fault}" for fault in one.faults)
        found = {
            "under critical": one.under_critical,
            "past cloudiness": one.past_cloudy,
            "past the schedule": one.past_schedule,
            "pH < 6.0": one.lowest_ph < 6.0,
            "pH < 6.5 after acid": one.lowest_ph_by_acid < 6.5,
            "over the label": one.over_label,
            "acid meets hypochlorite": one.acid_meets_chlorine,
            "loops": one.loops,
            "stuck": one.stuck,
            "washed in a stop": one.under_in_stop,
            "bad after a stop": one.under_after_stop,
            "refused": sum(one.refused.values()),
        }
        told = ", ".join(f"{name} ({count})" for name, count in found.items() if count)
        if told and one.who == BOARD:
            yield f"{where}: {told}"


def main() -> None:
    args = asked()
    who = args.who.split(",")
    assert set(who) <= set(EVERYBODY), f"only {', '.join(EVERYBODY)}"
    if args.dump is not None:
        kind = next((one for one in ("tubs", "slips", "wild") if getattr(args, one)), "worlds")
        tell(*retold(the_world(kind, args.dump), who[0]))
        return
    counts = {kind: getattr(args, kind) for kind in TITLES}
    jobs = [
        (kind, args.seed + place, one, args.twin)
        for kind, count in counts.items()
        for place in range(count)
        for one in who
    ]
    begun, tallies = perf_counter(), dict[str, list[Tally]]()
    for number, (kind, tally) in enumerate(done(jobs, args.jobs), start=1):
        tallies.setdefault(kind, []).append(tally)
        spent = perf_counter() - begun
        sys.stderr.write(f"\r{number}/{len(jobs)} {spent:.0f} s ")
        sys.stderr.flush()
    sys.stderr.write("\n")
    tell(f"Minutes: {listed()}.\n")
    for kind, title in TITLES.items():
        if kind in tallies:
            shown(title, tallies[kind], who)
    for kind, some in tallies.items():
        tell(*(f"{kind}, {one}" for one in complaints(some)))
    if args.save is not None:
        lines = [msgspec.json.encode(one) for one in chain(*tallies.values())]
        args.save.write_bytes(b"\n".join(lines))


if __name__ == "__main__":
    main()
