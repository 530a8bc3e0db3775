"""``washmon registers``: instruments, packs, containers and papers as a CSV file."""

from collections import defaultdict
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import DatabaseOption, counted, default_database, plainly
from washmon.cli.place import state_folder
from washmon.line.fold import NotAShift, fold
from washmon.line.journal import SITE
from washmon.line.register_state import Stock
from washmon.line.registers import Paper
from washmon.line.registry import drawn_in, registers_of
from washmon.reports.csv_export import ExportError
from washmon.reports.register_table import write_registers
from washmon.store.errors import StoreUnavailable
from washmon.store.papers import amiss
from washmon.store.store import Store


def registers(
    output: Annotated[Path, typer.Argument(help="The CSV file to write.")],
    database: DatabaseOption = None,
) -> None:
    """Write what is registered, with how it stands today; what is missing of papers is told."""
    with (
        plainly(StoreUnavailable, ExportError),
        Store.open(
            database or default_database(), read_only=True, state_folder=state_folder()
        ) as store,
    ):
        known = registers_of(store.entries(SITE))
        gone = frozenset(one.sha256 for one, _ in amiss(known.of(Paper), store.papers_folder))
        poured, setup = _poured_by_running(store), store.latest_setup()
        stock = Stock(registers=known, drawn=poured, setup=setup, missing=gone)
        rows = write_registers(output, stock, datetime.now().astimezone().date())
    typer.echo(f"{counted(rows, 'row')} in {output}")


def _poured_by_running(store: Store) -> dict[str, float]:
    """Return what the shifts that run have poured out of each container by now, mL or g."""
    poured: dict[str, float] = defaultdict(float)
    for row in store.running():
        with suppress(NotAShift):
            for key, amount in drawn_in(fold(row.chain, store.entries(row.chain))).items():
                poured[key] += amount
    return poured
