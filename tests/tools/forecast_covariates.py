"""Print whether cloudiness or ORP would make the forecast better: ``python -m`` this, ``--shifts``.

See ``tests/forecast/worlds/covariates.py`` for what the worlds and the forecast then know.
"""

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from unittest import mock

from tests.forecast.worlds.covariates import beside, watched
from tests.forecast.worlds.scoring import Scored, score, table

_ROWS = ("all", "strip", "kit", "meter", "after a step", "first of", "checks", "batches in")
WAYS = {
    "neither": {"ntu": False, "orp": False},
    "cloudiness": {"ntu": True, "orp": False},
    "ORP": {"ntu": False, "orp": True},
    "both": {"ntu": True, "orp": True},
}
LOT_SPREADS = {"cloudy as the demand goes": 0.15, "cloudy as it likes": 0.6}


def scored(way: str, lot_spread: float, seed: int) -> Scored:
    """Judge one shift, followed in one way."""
    with mock.patch("washmon.forecast.shift.forecaster_of", beside(**WAYS[way])):
        return score(watched(seed, lot_spread))


def main() -> None:
    """Score as many shifts as asked for in each way, and print the first rows of each table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shifts", type=int, default=208)
    parser.add_argument("--first", type=int, default=80_000, help="the first seed")
    parser.add_argument("--jobs", type=int, default=1)
    told = parser.parse_args()
    seeds = range(told.first, told.first + told.shifts)
    with ProcessPoolExecutor(told.jobs, mp_context=get_context("spawn")) as pool:
        for world, spread in LOT_SPREADS.items():
            for way in WAYS:
                found = list(pool.map(partial(scored, way, spread), seeds, chunksize=8))
                rows = table(found).splitlines()
                sys.stdout.write(f"{world}, {way}\n")
                sys.stdout.write("".join(f"  {row}\n" for row in rows if row.startswith(_ROWS)))


if __name__ == "__main__":
    main()
