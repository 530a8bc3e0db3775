"""Commands that write papers and tables: binder, bench sheets, a lot's trace, registers."""

from collections import defaultdict
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import (
    DatabaseOption,
    counted,
    default_database,
    plainly,
    progress_bar,
    refuse,
)
from washmon.cli.exporting import PaperName, begin_of, day_of, not_whole
from washmon.cli.place import state_folder
from washmon.line.fold import NotAShift, fold
from washmon.line.journal import SITE
from washmon.line.register_state import Stock
from washmon.line.registers import Paper
from washmon.line.registry import drawn_in, registers_of
from washmon.recorder.binding import BinderSource, Wish, bind
from washmon.recorder.proving import first_of, wrong_with
from washmon.recorder.starting import newest_setup
from washmon.recorder.tracing import LotWish, write_trace
from washmon.reports.csv_export import ExportError
from washmon.reports.register_table import write_registers
from washmon.store.errors import StoreUnavailable
from washmon.store.papers import amiss
from washmon.store.store import Store

_MadeAt = Annotated[
    str | None,
    typer.Option(
        "--made-at",
        help="Make it as it was at this time, such as 2026-06-30T17:00:00-04:00: what was "
        "written later is left out. Now unless given.",
    ),
]


def binder(
    output: Annotated[Path, typer.Argument(help="The PDF to write.")],
    *,
    since: Annotated[str, typer.Option("--from", help="First day, YYYY-MM-DD.")],
    until: Annotated[str, typer.Option("--to", help="Last day, YYYY-MM-DD.")],
    by: Annotated[str, typer.Option("--by", help="Who makes it: it stands on the cover.")],
    made_at: _MadeAt = None,
    line: Annotated[str | None, typer.Option(help="Only this line.")] = None,
    paper: Annotated[PaperName, typer.Option(help="What it is printed on.")] = PaperName.A4,
    lists_only: Annotated[
        bool, typer.Option("--lists-only", help="Leave the shifts' own records out.")
    ] = False,
    as_zip: Annotated[
        bool,
        typer.Option("--zip", help="Beside it, the tables as CSV in a ZIP of the same name."),
    ] = False,
    database: DatabaseOption = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Though it is not whole; the binder says so.")
    ] = False,
) -> None:
    """Bind the records of a period into one PDF; what is not whole only on demand."""
    first, last = day_of(since), day_of(until)
    if first > last:
        raise refuse("The first day is after the last: swap them.")
    if output.suffix.lower() == ".zip":
        raise refuse(f"{output} is the name of the PDF: the ZIP is written beside it with --zip.")
    if output.suffix.lower() != ".pdf":
        raise refuse(f"{output} is no name of a PDF: let it end with .pdf.")
    if not by.strip():
        raise refuse("Say with --by who makes it: it stands on the cover.")
    moment = _moment(made_at)
    wish = Wish(first, last, by, moment, paper, bool(made_at), lists_only, as_zip)
    with (
        plainly(StoreUnavailable, ExportError),
        Store.open(
            database or default_database(), read_only=True, state_folder=state_folder()
        ) as store,
    ):
        raise _bound(store, output, wish, line, anyway=anyway)


def _bound(store: Store, output: Path, wish: Wish, line: str | None, *, anyway: bool) -> typer.Exit:
    since, until = begin_of(wish.first), begin_of(wish.last + timedelta(days=1))
    found = store.iter_shifts(since=since, until=until, practice=False, line=line)
    chains = [row.chain for row in found]
    if not chains:
        of = f" on {line}" if line else ""
        return refuse(f"No shift began{of} from {wish.first} to {wish.last}: nothing was written.")
    with progress_bar(wish.steps(len(chains))) as progress:
        source = BinderSource(lambda query: query(store), chains, wish, progress)
        wrong = source.wrong
        if wrong and not anyway:
            return not_whole(wrong)
        paths = bind(output, wish, source, progress)
    typer.echo(
        f"{counted(len(source.leaves), 'shift')} in {' and '.join(map(str, paths))}. "
        f"{'NOT WHOLE: ' + first_of(wrong) if wrong else 'WHOLE.'}"
    )
    return typer.Exit(1 if wrong else 0)


def _moment(text: str | None) -> datetime:
    if text is None:
        return datetime.now().astimezone().replace(microsecond=0)
    try:
        at = datetime.fromisoformat(text).replace(microsecond=0)
    except ValueError:
        raise refuse(f"{text!r} is no time: write it as 2026-06-30T17:00:00-04:00.") from None
    if at.tzinfo is None:
        raise refuse(f"{text!r} lacks the offset from UTC: write it as {text}-04:00.")
    return at


def bench(
    output: Annotated[Path, typer.Option("--output", "-o", help="The PDF file.")],
    *,
    line: Annotated[str | None, typer.Option(help="Which line; else the newest set-up.")] = None,
    paper: Annotated[PaperName, typer.Option()] = PaperName.A4,
    database: DatabaseOption = None,
) -> None:
    """Write a sheet for each tank: limits, measures, doses for the usual steps, cautions."""
    from washmon.reports.bench_sheets import write_bench_sheets  # noqa: PLC0415 - slow to load
    from washmon.reports.paper import PaperSize  # noqa: PLC0415 - the same

    with (
        plainly(StoreUnavailable, ExportError),
        Store.open(database or default_database(), read_only=True) as store,
    ):
        setups = store.setups()
        setup = newest_setup(store, line)
        if setup is None or (line is not None and setup.line != line):
            raise refuse(f"No line {line!r} is set up." if line else "No line is set up yet.")
        made_at = next(one.saved_at for one in setups if one.setup == setup)
        write_bench_sheets(output, setup, made_at, PaperSize(paper.value))
    typer.echo(f"{counted(len(setup.tanks), 'tank')} in {output}.")


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
