"""``washmon bench``: the sheets that hang over the bench, as a PDF to print."""

from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import DatabaseOption, counted, default_database, plainly, refuse
from washmon.cli.exporting import PaperName
from washmon.recorder.starting import newest_setup
from washmon.reports.csv_export import ExportError
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store


def bench(
    output: Annotated[Path, typer.Option("--output", "-o", help="The PDF file.")],
    *,
    line: Annotated[str | None, typer.Option(help="Which line; else the newest set-up.")] = None,
    paper: Annotated[PaperName, typer.Option()] = PaperName.A4,
    database: DatabaseOption = None,
) -> None:
    """Write a sheet for each tank: limits, measures, doses for the usual steps, cautions."""
    from washmon.reports.bench_sheets import write_bench_sheets  # noqa: PLC0415 - slow to load
    from washmon.reports.paper import Paper  # noqa: PLC0415 - the same

    with (
        plainly(StoreUnavailable, ExportError),
        Store.open(database or default_database(), read_only=True) as store,
    ):
        setups = store.setups()
        setup = newest_setup(store, line)
        if setup is None or (line is not None and setup.line != line):
            raise refuse(f"No line {line!r} is set up." if line else "No line is set up yet.")
        made_at = next(one.saved_at for one in setups if one.setup == setup)
        write_bench_sheets(output, setup, made_at, Paper(paper.value))
    typer.echo(f"{counted(len(setup.tanks), 'tank')} in {output}.")
