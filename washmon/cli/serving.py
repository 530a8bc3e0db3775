"""``washmon migrate``: what the owner of a server's tables does; nobody else need own them."""

from typing import Annotated

import typer

from washmon import data
from washmon.cli.common import DatabaseOption, default_database, plainly
from washmon.store.errors import StoreUnavailable
from washmon.store.roles import grant_roles
from washmon.store.schema import VERSIONS
from washmon.store.store import Store


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
