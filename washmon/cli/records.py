"""Commands on the records: verify, backup, and the list of rules.

``washmon migrate``: what the owner of a server's tables does; nobody else need own them.
"""

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from washmon import data
from washmon.cli.common import (
    DatabaseOption,
    JsonOption,
    counted,
    default_database,
    plainly,
    progress_bar,
    refuse,
)
from washmon.cli.place import state_folder
from washmon.line.flags import ALWAYS_ON
from washmon.line.journal import SITE, NoPaperNumber, paper_number, read_paper_number
from washmon.recorder.summaries import differing_summaries
from washmon.rules import all_rules
from washmon.store.backups import copy_papers, papers_of_backup
from washmon.store.errors import StoreUnavailable
from washmon.store.postgres import grant_roles
from washmon.store.schema import VERSIONS
from washmon.store.store import Store
from washmon.store.witness import Witness

_MISSED = (
    "No entry has the witness number {}: what was printed with it was changed or cut off since, or "
    "belongs to another database."
)
_Blocks = Annotated[
    list[str] | None, typer.Argument(help="Blocks of --witness that stand apart, as printed.")
]

_Lists = Annotated[
    bool,
    typer.Option(
        "--lists", help="Hold what the Logbook lists and sums up against the journal, too."
    ),
]
_OnPaper = Annotated[
    str,
    typer.Option("--witness", help="A witness number from a printed record: is it still so?"),
]


def verify(
    blocks: _Blocks = None,
    database: DatabaseOption = None,
    *,
    lists: _Lists = False,
    on_paper: _OnPaper = "",
    as_json: JsonOption = False,
) -> None:
    """Check that no entry of the journal was changed, removed, inserted or moved."""
    now = datetime.now().astimezone()
    on_paper = " ".join((on_paper, *(blocks or ()))).strip()  # as printed, in blocks
    with (
        plainly(StoreUnavailable, NoPaperNumber),
        Store.open(database or default_database(), read_only=True) as store,
    ):
        witness = Witness(state_folder(), store.place)
        looked, ends = store.look(), witness.ends()
        found = [str(fault) for fault in (*looked.faults, *witness.faults(store))]
        amiss = [] if looked.faults else [str(fault) for fault in store.papers_amiss()]
        printed = _printed(store, read_paper_number(on_paper)) if on_paper else ""
        found += [_MISSED.format(on_paper)] if on_paper and not printed else []
        if lists and not found:
            found = [str(fault) for fault in store.compare_projections()]
            found += differing_summaries(store)
    seen_at = max((end.seen_at for end in ends.values()), default=None)
    if as_json:
        facts = {
            "whole": not found,
            "faults": found,
            "papers": amiss,
            "anchored_from": looked.anchored_from,
            "witnessed": None if seen_at is None else seen_at.isoformat(),
        }
        typer.echo(json.dumps(facts))
    else:
        good = "The journal is whole: every entry follows from the last."
        good += " The lists agree with it." if lists else ""
        typer.echo("\n".join(found) or good + printed)
        typer.echo("\n".join(amiss), nl=bool(amiss))
        typer.echo(_proof(looked.anchored_from, seen_at, now), err=True)  # a remark, no result
    raise typer.Exit(1 if found or amiss else 0)


def _printed(store: Store, number: str) -> str:
    """Say which entry has a witness number; an empty text where none has."""
    chains = [SITE, *(row.chain for row in store.iter_shifts(newest_first=True))]
    places = ((chain, row) for chain in chains for row in store.rows(chain))
    found = ((chain, row.seq) for chain, row in places if paper_number(row.hash) == number)
    chain, seq = next(found, (None, 0))
    return "" if chain is None else f" {number} is entry {seq} of shift {chain}."


def _proof(anchored: tuple[str, int, str] | None, seen_at: datetime | None, now: datetime) -> str:
    """Say how far what was cut off would be missed."""
    if anchored is None:
        said = "No entry anchors other chains yet: the next shift will."
    else:
        chain, seq, at = anchored
        where = "the site's chain" if chain == SITE else f"shift {chain}"
        said = f"Anchors stand from entry {seq} of {where} on, written {at[:16]}."
    if seen_at is None:
        return f"{said} Not witnessed: no other file on this machine remembers this database."
    hours = max(0, round((now - seen_at).total_seconds() / 3600))
    return f"{said} Witnessed up to {counted(hours, 'hour')} ago."


def rebuild(
    database: DatabaseOption = None,
    *,
    anyway: Annotated[
        bool,
        typer.Option("--anyway", help="Though the journal is not whole; the old lists are kept."),
    ] = False,
) -> None:
    """Make anew, from a journal that is whole, what the Logbook lists and sums up."""
    with plainly(StoreUnavailable), Store.open(database or default_database()) as store:
        witness = Witness(state_folder(), store.place)
        found = [str(fault) for fault in (*store.verify(), *witness.faults(store))]
        found += [said] if (said := store.heed()) else []
        if found and not anyway:
            typer.echo("\n".join(found))
            raise refuse(
                "the lists were left as they are, because they show what is missing: keep a copy "
                "of the database, then use --anyway."
            )
        if found:
            stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
            beside = store.path.with_name(f"{store.path.stem}-before-rebuild-{stamp}.db")
            store.backup(beside)
            typer.echo(f"The database is kept as it was in {beside}")
        made = _made_anew(store)
    summed = counted(made, "summary", "summaries")
    typer.echo(f"Made anew from the journal: the list, and {summed}.")


def _made_anew(store: Store) -> int:
    from washmon.recorder.rebuilding import rebuild as made_anew  # noqa: PLC0415 - seldom needed

    with progress_bar(len(store.chains())) as progress:
        return made_anew(store, progress)


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
        lacks = copy_papers(store, papers_of_backup(target))
    typer.echo(f"Copied and checked: {target}")
    if lacks:
        typer.echo("\n".join(lacks))
        raise typer.Exit(1)


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


def migrate(
    database: DatabaseOption = None,
    *,
    roles: Annotated[
        bool,
        typer.Option("--roles", help="Make the roles washmon_append and washmon_read, too."),
    ] = False,
) -> None:
    """Make the tables of an empty database, or bring those of an earlier version up to date."""
    where = database or default_database()
    with plainly(StoreUnavailable):
        Store.open(where).close()
        if roles:
            sql = data.resource("server", "roles.sql").read_text("utf-8")
            grant_roles(where, sql)
    typer.echo(f"The tables are those of schema {VERSIONS[-1]}.")
    if roles:
        typer.echo("Members of washmon_append may only append, those of washmon_read only read.")
