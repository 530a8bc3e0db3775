"""Start-up against importing PySide6 and pyqtgraph and showing an empty plot."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.benchmarks.ratio import TRIES, until_under
from tests.shed import a_setup, a_tank
from washmon.line.events import ReadingTaken, ShiftStarted, TankFilled
from washmon.line.setup import Lot
from washmon.line.site_events import SetupSaved
from washmon.recorder import wall_clock
from washmon.store import Store

ROUNDS = 7
ROOT = Path(__file__).parents[2]


def a_running_shift(path: Path) -> None:
    """Make a database in which a shift on three tanks runs."""
    now = wall_clock()
    setup = a_setup(*(a_tank(number, f"Tank {number}") for number in (1, 2, 3)))
    with Store.open(path) as store:
        store.append("site", [SetupSaved(at=now, by="RM", setup=setup)], now)
        lots = (Lot(code="L-1", produce="chard"),)
        store.append("shift-1", [ShiftStarted(at=now, by="RM", setup=setup, lots=lots)], now)
        for number in (1, 2, 3):
            filled = TankFilled(at=now, by="RM", tank=number, volume_l=500)
            read = ReadingTaken(at=now, by="RM", tank=number, fac_mg_l=48, ph=7.0)
            store.append("shift-1", [filled, read], now)


def child(compiled: Path, *words: str) -> list[float]:
    """Run one child and return the times that it prints.

    Both children find their bytecode in ``compiled``, as they do where pip has put the program.
    """
    command = [sys.executable, "-m", "tests.benchmarks.starting", *words]
    env = os.environ | {"PYTHONPYCACHEPREFIX": str(compiled), "PYTHONDONTWRITEBYTECODE": ""}
    done = subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, check=True)
    return [float(word) for word in done.stdout.split()]


@pytest.mark.benchmark_ratio
def test_the_board_is_drawn_soon_after_an_empty_plot_would_be(tmp_path: Path) -> None:
    path, compiled = tmp_path / "shed.db", tmp_path / "compiled"
    a_running_shift(path)
    child(compiled, "bare")  # the first of each compiles, and reads the files into memory
    child(compiled, "board", str(path))
    # On two cores that eight processes want 1.2 to 1.4, with its plots 1.9 to 2.1 (before 2.3).
    tries = (measured(path, compiled) for _ in range(TRIES))
    assert min(until_under(1.5, tries)) < 1.5


def measured(path: Path, compiled: Path) -> float:
    """Return how many times as long as an empty plot the Board takes until it is drawn."""
    bare, drawn, complete = [], [], []
    for _ in range(ROUNDS):
        bare += child(compiled, "bare")
        first, last = child(compiled, "board", str(path))
        drawn.append(first)
        complete.append(last)
    base = min(bare)  # of each the run that was disturbed least
    sys.stdout.write(
        f"Board drawn in {min(drawn) / base:.2f}, with its plots in "
        f"{min(complete) / base:.2f} of an empty plot's {1000 * base:.0f} ms\n"
    )
    return min(drawn) / base
