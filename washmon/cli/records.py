"""Commands on the records: verify, backup, and the list of rules."""

import json
from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import DatabaseOption, JsonOption, default_database, plainly
from washmon.rules import all_rules
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store


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
