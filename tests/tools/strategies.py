"""Prints what each scripted trainee scores in each scenario: good, honest, careless, and gaming.

Run ``python -m tests.tools.strategies`` (some ten minutes), or with the number of scenarios.
"""

import sys

import typer

from washmon.sessions.debrief.score import debrief
from washmon.sessions.practice.scenario_files import scenarios
from washmon.sessions.practice.trainee import CARELESS, CHAIN, GAMES, GOOD, HASTY, scripted

STRATEGIES = {"good": GOOD, "honest, careless": HASTY, "careless, unsafe": CARELESS, **GAMES}


def main(count: int) -> None:
    """Print a line for each strategy, a column for each scenario."""
    some = scenarios()[:count]
    typer.echo("strategy | " + " | ".join(scenario.title for scenario, _ in some))
    for name, manner in STRATEGIES.items():
        found = [debrief(CHAIN, scripted(text, manner).entries).score for _, text in some]
        typer.echo(f"{name} | " + " | ".join(f"{one:.0f}" for one in found))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else len(scenarios()))
