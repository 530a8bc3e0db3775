"""``washmon lot``: the trace of a lot, one step back and one forward, as PDF or CSV."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import DatabaseOption, counted, default_database, plainly, refuse
from washmon.cli.exporting import PaperName, not_whole
from washmon.cli.place import state_folder
from washmon.recorder.proving import first_of, wrong_with
from washmon.recorder.tracing import LotWish, write_trace
from washmon.reports.csv_export import ExportError
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store


def lot(
    code: Annotated[str, typer.Argument(help="The number of the lot.")],
    output: Annotated[
        Path, typer.Option("--output", "-o", help="The file: a .pdf to print, or a .csv.")
    ],
    *,
    by: Annotated[str, typer.Option("--by", help="Who makes it: it stands on the paper.")] = "",
    paper: Annotated[PaperName, typer.Option(help="What it is printed on.")] = PaperName.A4,
    database: DatabaseOption = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Though it is not whole; the file says so.")
    ] = False,
) -> None:
    """Trace a lot: batches, water, holds, where it came from and went; not whole on demand only."""
    kinds = {".pdf": paper.value, ".csv": ""}
    if (suffix := output.suffix.lower()) not in kinds:
        raise refuse(f"{output} is neither a .pdf nor a .csv: give the file one of these endings.")
    where = database or default_database()
    with (
        plainly(StoreUnavailable, ExportError),
        Store.open(where, read_only=True, state_folder=state_folder()) as store,
    ):
        chains = [one.shift.chain for one in reversed(store.find_lot(code))]  # the oldest first
        wrong = wrong_with(lambda query: query(store), chains)
        if wrong and not anyway:
            raise not_whole(wrong)
        made_at = datetime.now().astimezone().replace(microsecond=0)
        wish = LotWish(code, by, made_at, kinds[suffix])
        rows, wrong = write_trace(output, lambda query: query(store), chains, wish)
    said = f"{counted(rows, 'entry', 'entries')} from {counted(len(chains), 'shift')} in {output}"
    typer.echo(f"{said}. {'NOT WHOLE: ' + first_of(wrong) if wrong else 'WHOLE.'}")
    if wrong:
        raise typer.Exit(1)
