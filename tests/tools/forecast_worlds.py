"""Print how good the forecast is in worlds that are not its own: ``python -m`` this, ``--shifts``.

Every regime, water and instrument comes in turn, so take a multiple of 104.
"""

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from tests.forecast.worlds.scoring import score_seed, table
from tests.tools.forecast_pictures import draw


def main() -> None:
    """Score as many shifts as asked for, and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shifts", type=int, default=1040)
    parser.add_argument("--first", type=int, default=50_000, help="the first seed")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--pictures", type=Path, help="a folder to draw calibration in")
    told = parser.parse_args()
    seeds = range(told.first, told.first + told.shifts)
    with ProcessPoolExecutor(told.jobs, mp_context=get_context("spawn")) as pool:
        scored = list(pool.map(score_seed, seeds, chunksize=8))
    sys.stdout.write(table(scored) + "\n")
    if told.pictures:
        draw(scored, told.pictures)


if __name__ == "__main__":
    main()
