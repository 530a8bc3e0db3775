"""``washmon export``: tables as CSV, and the printable records of shifts."""

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import Annotated, Any

import typer

from washmon.cli.common import (
    DatabaseOption,
    counted,
    default_database,
    plainly,
    progress_bar,
    refuse,
)
from washmon.cli.place import state_folder
from washmon.line.fold import NotAShift, fold
from washmon.line.journal import SITE
from washmon.line.state import ShiftState
from washmon.recorder.kept_parts import table_parts
from washmon.recorder.proving import Wrong, first_of, marked, steps_of, wrong_with
from washmon.recorder.summaries import summary_parts
from washmon.reports.csv_export import CsvPart, ExportError, export_parts
from washmon.reports.tables import SUMMARIES, TABLES, Table
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store


class What(StrEnum):
    """The tables of :mod:`washmon.reports.tables`, and the record to print."""

    SUMMARIES = "summaries"
    READINGS = "readings"
    ACTIONS = "actions"
    BATCHES = "batches"
    HOLDS = "holds"
    LIMITS = "limits"
    WEEK = "week"
    RECORD = "record"


class PaperName(StrEnum):
    """What offices print on."""

    A4 = "a4"
    LETTER = "letter"


_Output = Annotated[
    Path,
    typer.Option("--output", "-o", help="The file; for records of a range of days, a folder."),
]
_OneShift = Annotated[str | None, typer.Option(help="One shift, by the name of its journal.")]


def export(
    what: Annotated[What, typer.Argument(help="Which table, or the record to print.")],
    output: _Output,
    *,
    since: Annotated[str | None, typer.Option(help="First day, YYYY-MM-DD.")] = None,
    until: Annotated[str | None, typer.Option(help="Last day, YYYY-MM-DD.")] = None,
    shift: _OneShift = None,
    paper: Annotated[PaperName, typer.Option(help="For records.")] = PaperName.A4,
    database: DatabaseOption = None,
    bom: Annotated[bool, typer.Option("--bom", help="Begin with a byte order mark.")] = False,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Though it is not whole; the file says so.")
    ] = False,
) -> None:
    """Write a table of shifts as CSV, or their records as PDF; what is not whole only on demand."""
    if shift and (since or until):
        raise refuse("Give either --shift or days, not both.")
    first = begin_of(day_of(since)) if since else None
    end = begin_of(day_of(until) + timedelta(days=1)) if until else None
    if first and end and first >= end:
        raise refuse("The first day is after the last: swap them.")
    with plainly(StoreUnavailable, ExportError, NotAShift), _opened(database) as store:
        if shift and (shift == SITE or store.head(shift) is None):
            raise refuse(f"There is no shift {shift!r} in this database.")
        chains = [shift] if shift else _chains(store, first, end)
        table = next((one for one in TABLES if one.key == what), None)
        with progress_bar(steps_of(len(chains), table)) as progress:
            wrong = wrong_with(lambda query: query(store), chains, table, progress)
        if wrong and not anyway:
            raise not_whole(wrong)
        with progress_bar(len(chains)) as progress:
            if table is None:
                write = partial(_records, paper=paper, alone=shift)
            else:
                write = partial(_table, table=table, bom=bom)
            said = write(output, store, chains, progress=progress, wrong=wrong)
    typer.echo(f"{said}. {'NOT WHOLE: ' + first_of(wrong) if wrong else 'WHOLE.'}")
    if wrong:
        raise typer.Exit(1)


def _opened(database: str | None) -> Store:
    where = database or default_database()
    return Store.open(where, read_only=True, state_folder=state_folder())


def not_whole(wrong: Wrong) -> typer.Exit:
    """Say what is wrong, and return what ends the program without a file."""
    typer.echo("\n".join(sentence for said in wrong.values() for sentence in said))
    typer.echo(
        "washmon: NOT WHOLE, so nothing was written. With --anyway it is, and the file says so.",
        err=True,
    )
    return typer.Exit(1)


def _table(
    output: Path,
    store: Store,
    chains: Sequence[str],
    *,
    table: Table[Any],
    progress: Callable[[int], None],
    bom: bool,
    wrong: Wrong,
) -> str:
    parts: Iterable[CsvPart] = (
        summary_parts(lambda query: query(store), chains)
        if table is SUMMARIES
        else table_parts(lambda query: query(store), chains, table)
    )
    written = export_parts(output, *marked(table, parts, chains, wrong), progress=progress, bom=bom)
    return f"{counted(written or 0, 'row')} from {counted(len(chains), 'shift')} in {output}"


def _records(
    output: Path,
    store: Store,
    chains: Sequence[str],
    *,
    paper: PaperName,
    progress: Callable[[int], None],
    alone: str | None,
    wrong: Wrong,
) -> str:
    from washmon.reports.paper import PaperSize  # noqa: PLC0415 - slow to load, and seldom needed
    from washmon.reports.printed import write_record, write_records  # noqa: PLC0415 - the same

    shifts = (_folded(store, chain) for chain in chains)
    if alone:
        write_record(output, next(shifts), PaperSize(paper), wrong=wrong.get(alone, ()))
        return f"The record of {chains[0]} is in {output}"
    if not output.is_dir():
        raise refuse(f"{output} is no folder: records of a range of days go into one, a file each.")
    done = write_records(output, shifts, PaperSize(paper), progress=progress, wrong=wrong)
    return f"{counted(done, 'record')} in {output}"


def _chains(store: Store, first: datetime | None, end: datetime | None) -> list[str]:
    found = store.iter_shifts(since=first, until=end, practice=False)
    return [row.chain for row in found]


def _folded(store: Store, chain: str) -> ShiftState:
    return fold(chain, store.entries(chain))


def day_of(text: str) -> date:
    """Return a day that was typed, or say how it is to be."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise refuse(f"{text!r} is no date: write it as 2026-05-31.") from None


def begin_of(day: date) -> datetime:
    """Return when a day begins by the clock of this machine."""
    return datetime.combine(day, time.min).astimezone()
