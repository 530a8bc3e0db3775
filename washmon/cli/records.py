"""Commands on the records: export, verify, backup, and the list of rules."""

import json
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import DatabaseOption, JsonOption, default_database, plainly, refuse
from washmon.line.fold import fold
from washmon.reports.csv_export import ExportError
from washmon.reports.csv_export import export as write_csv
from washmon.reports.tables import TABLES
from washmon.rules import all_rules
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store


class TableName(StrEnum):
    """The tables of :mod:`washmon.reports.tables`, as words of the command line."""

    SUMMARIES = "summaries"
    READINGS = "readings"
    ACTIONS = "actions"
    BATCHES = "batches"
    HOLDS = "holds"


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise refuse(f"{text!r} is no date: write it as 2026-05-31.") from None


def export(
    what: Annotated[TableName, typer.Argument(help="Which table.")],
    output: Annotated[Path, typer.Option("--output", "-o", help="The CSV file to write.")],
    since: Annotated[str | None, typer.Option(help="First day, YYYY-MM-DD.")] = None,
    until: Annotated[str | None, typer.Option(help="Last day, YYYY-MM-DD.")] = None,
    database: DatabaseOption = None,
    *,
    bom: Annotated[bool, typer.Option("--bom", help="Begin with a byte order mark.")] = False,
) -> None:
    """Write a table of all shifts that began in a range of days as CSV."""
    (table,) = (table for table in TABLES if table.key == what)
    first = _begin_of(_day(since)) if since else None
    end = _begin_of(_day(until) + timedelta(days=1)) if until else None
    if first and end and first >= end:
        raise refuse("The first day is after the last: swap them.")
    with (
        plainly(StoreUnavailable, ExportError),
        Store.open(database or default_database(), read_only=True) as store,
    ):
        rows = store.shifts(since=first, until=end, practice=False, newest_first=False)
        shifts = (fold(row.chain, store.entries(row.chain)) for row in rows)
        written = write_csv(output, table, shifts, bom=bom)
    typer.echo(f"{written} rows from {len(rows)} shifts in {output}")


def _begin_of(day: date) -> datetime:
    return datetime.combine(day, time.min).astimezone()


def verify(database: DatabaseOption = None, *, as_json: JsonOption = False) -> None:
    """Check that no entry of the journal was changed, removed, inserted or moved."""
    with (
        plainly(StoreUnavailable),
        Store.open(database or default_database(), read_only=True) as store,
    ):
        found = [str(fault) for fault in store.verify()]
    if as_json:
        typer.echo(json.dumps({"whole": not found, "faults": found}))
    else:
        typer.echo("\n".join(found) or "The journal is whole: every entry follows from the last.")
    raise typer.Exit(1 if found else 0)


def backup(
    target: Annotated[Path, typer.Argument(help="The file to write.")],
    database: DatabaseOption = None,
) -> None:
    """Copy the database, even while it is in use, and check the copy."""
    with (
        plainly(StoreUnavailable),
        Store.open(database or default_database(), read_only=True) as store,
    ):
        store.backup(target)
    typer.echo(f"Copied and checked: {target}")


def rules(*, as_json: JsonOption = False) -> None:
    """List the rules, each with its source."""
    rows = [{"id": rule.id, "title": rule.title, "source": rule.source} for rule in all_rules()]
    if as_json:
        typer.echo(json.dumps(rows, ensure_ascii=False, indent=1))
        return
    for row in rows:
        typer.echo(f"{row['id']}: {row['title']}\n    {row['source']}")
