"""Commands on the records: verify, backup, and the list of rules."""

import json
from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import DatabaseOption, JsonOption, counted, default_database, plainly
from washmon.line.flags import ALWAYS_ON
from washmon.line.fold import fold
from washmon.recorder.summaries import differing_summaries, file_away
from washmon.rules import all_rules
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store


def verify(
    database: DatabaseOption = None,
    *,
    lists: Annotated[
        bool,
        typer.Option(
            "--lists", help="Hold what the Logbook lists and sums up against the journal, too."
        ),
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Check that no entry of the journal was changed, removed, inserted or moved."""
    with (
        plainly(StoreUnavailable),
        Store.open(database or default_database(), read_only=True) as store,
    ):
        found = [str(fault) for fault in store.verify()]
        if lists and not found:
            found = [str(fault) for fault in store.compare_projections()]
            found += differing_summaries(store)
    if as_json:
        typer.echo(json.dumps({"whole": not found, "faults": found}))
    else:
        good = "The journal is whole: every entry follows from the last."
        good += " The lists agree with it." if lists else ""
        typer.echo("\n".join(found) or good)
    raise typer.Exit(1 if found else 0)


def rebuild(database: DatabaseOption = None) -> None:
    """Make anew, from the journal, what the Logbook lists and sums up."""
    with plainly(StoreUnavailable), Store.open(database or default_database()) as store:
        store.rebuild_projections()
        ended = store.shifts_without_summary()
        for chain in ended:
            file_away(store, fold(chain, store.entries(chain)))
    summed = counted(len(ended), "summary", "summaries")
    typer.echo(f"Made anew from the journal: the list, and {summed}.")


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
    """List the rules, each with its source, and which are never switched off or shelved."""
    rows = [
        {
            "id": rule.id,
            "title": rule.title,
            "source": rule.source,
            "always_on": rule.id in ALWAYS_ON,
        }
        for rule in all_rules()
    ]
    if as_json:
        typer.echo(json.dumps(rows, ensure_ascii=False, indent=1))
        return
    for row in rows:
        never = "    Never switched off or shelved.\n" if row["always_on"] else ""
        typer.echo(f"{row['id']}: {row['title']}\n{never}    {row['source']}")
