"""Writes what each scripted trainee scores in each scenario: good, honest, careless, and gaming.

Run ``python -m tests.tools.strategies`` (about two minutes); it writes ``strategies.txt`` beside
the tests of the score, and prints it.
"""

from pathlib import Path

import typer

from washmon.sessions.debrief.score import debrief
from washmon.sessions.practice.scenario_files import scenarios
from washmon.sessions.practice.trainee import CARELESS, CHAIN, GAMES, GOOD, HASTY, scripted

GOOD_ONE, HONEST = "good", "honest, careless"
STRATEGIES = {GOOD_ONE: GOOD, HONEST: HASTY, "careless, unsafe": CARELESS, **GAMES}
TABLE = Path(__file__).parents[1] / "sessions" / "practice" / "strategies.txt"


def kept_table() -> dict[str, list[float]]:
    """Return the kept table: the points of each strategy, in the order of the scenarios."""
    _, *lines = TABLE.read_text(encoding="utf-8").splitlines()
    rows = [[cell.strip() for cell in line.split("|")] for line in lines]
    return {name: [float(cell) for cell in cells] for name, *cells in rows}


def main() -> None:
    """Write and print a line for each strategy, a column for each scenario."""
    found = scenarios()
    width = max(map(len, STRATEGIES))
    lines = ["strategy".ljust(width) + " | " + " | ".join(one.title for one, _ in found)]
    for name, manner in STRATEGIES.items():
        points = [debrief(CHAIN, scripted(text, manner).entries).score for _, text in found]
        cells = " | ".join(
            f"{one:.0f}".rjust(len(scenario.title))
            for one, (scenario, _) in zip(points, found, strict=True)
        )
        lines.append(f"{name.ljust(width)} | {cells}")
    TABLE.write_text("\n".join(lines) + "\n", encoding="utf-8")
    typer.echo("\n".join(lines))


if __name__ == "__main__":
    main()
