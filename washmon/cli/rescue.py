"""Commands for bad days: a backup put back, a damaged database read, a forgotten PIN."""

import json
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import (
    DatabaseOption,
    JsonOption,
    counted,
    default_database,
    plainly,
    refuse,
)
from washmon.cli.place import state_folder
from washmon.line.event_base import RULES
from washmon.line.journal import SITE
from washmon.line.pins import pins_of
from washmon.line.registers import Paper
from washmon.line.registry import registers_of
from washmon.line.site_events import BackupRestored, PinReset
from washmon.recorder.anchoring import anchored
from washmon.store import backups
from washmon.store.errors import StoreUnavailable
from washmon.store.papers import copy_missing
from washmon.store.place import Server, locate
from washmon.store.salvage import salvage as save_what_can_be_read
from washmon.store.store import Store
from washmon.store.witness import Witness

CONSOLE = "console"
"""Stands in ``by`` where the command line, and no manager, took a PIN away."""


def restore(
    backup: Annotated[Path, typer.Argument(help="The backup to put in place.")],
    database: DatabaseOption = None,
) -> None:
    """Put a backup in the place of the database; the replaced one is kept beside it.

    On a PostgreSQL server it goes into an empty database; to go back to a file, restore there what
    ``washmon backup`` wrote of the server's.
    """
    with plainly(StoreUnavailable):
        target = locate(database or default_database())
        if isinstance(target, Server):
            backups.restore_to_server(backup, target)
            _journal_it(database or default_database(), backup)
            typer.echo(f"Restored and checked: {target.name}")
            _bring_papers(database or default_database(), backup)
            return
        if not isinstance(target, Path):
            raise refuse(f"There is no way to restore to {target}.")
        now = datetime.now().astimezone()
        aside = backups.restore(backup, target, now)
        _journal_it(target, backup)
        _bring_papers(target, backup)
        with suppress(OSError), Store.open(target, read_only=True) as store:
            witness = Witness(state_folder(), store.place)
            witness.forget()  # it may remember more than there is in a backup
            witness.look(store, now)
    typer.echo(f"Restored: {target}")
    if aside is not None:
        typer.echo(f"What was there before is kept as {aside}")


def _journal_it(database: Path | str, backup: Path) -> None:
    """Let the restored records say that they are: whoever reads them later must know."""
    now = datetime.now().astimezone()
    with Store.open(database) as store:
        event = BackupRestored(at=now, by=RULES, backup=backup.name)
        store.append(SITE, [anchored(store, SITE, event)], now)


def _bring_papers(database: Path | str, backup: Path) -> None:
    """Copy back what the database lacks of its papers, and say what the backup lacks, too."""
    with Store.open(database, read_only=True, state_folder=state_folder()) as store:
        known = registers_of(store.entries(SITE)).of(Paper)
        folder = store.papers_folder
        lost: list[str] = []
        if known and folder is not None:
            lost = copy_missing(known, backups.papers_of_backup(backup), folder)
    typer.echo("\n".join(lost), nl=bool(lost))


def salvage(
    damaged: Annotated[Path, typer.Argument(help="The damaged database; it is left as it is.")],
    into: Annotated[Path, typer.Argument(help="The new database to write.")],
    *,
    as_json: JsonOption = False,
) -> None:
    """Save what can be read of a damaged database into a new one, and say what is lost."""
    with plainly(StoreUnavailable):
        found = save_what_can_be_read(damaged, into)
    if as_json:
        typer.echo(json.dumps({"kept": dict(found.kept), "lost": list(found.lost)}))
    else:
        shifts = sum(chain != SITE for chain in found.kept)
        entries = counted(sum(found.kept.values()), "entry", "entries")
        typer.echo(f"Saved {entries}, {counted(shifts, 'shift')}, in {into}")
        typer.echo("\n".join(found.lost) or "Nothing is lost.")
    raise typer.Exit(1 if found.lost else 0)


def reset_pin(
    initials: Annotated[str, typer.Argument(help="Whose PIN is forgotten.")],
    database: DatabaseOption = None,
) -> None:
    """Take a forgotten PIN away where no manager can; the journal says that it was done so."""
    with plainly(StoreUnavailable), Store.open(database or default_database()) as store:
        known = pins_of(store.entries(SITE))
        if initials not in known.hashes:
            raise refuse(f"{initials} has no PIN in this database.")
        now = datetime.now().astimezone()
        reset = PinReset(at=now, by=CONSOLE, who=initials, role=known.roles[initials])
        store.append(SITE, [anchored(store, SITE, reset)], now)
    typer.echo(f"{initials} has no PIN any more, and can choose one in the window.")
