"""The roles of a server: who may only append, and who may only read."""

from pathlib import Path

from sqlalchemy import NullPool

from washmon.store import postgres
from washmon.store.errors import CannotWrite, told
from washmon.store.place import Server, locate


def grant_roles(where: Path | str, sql: str) -> None:
    """Run the SQL that makes the roles, as the owner of the tables.

    Raises:
        StoreUnavailable: nothing was changed.
    """
    place = locate(where)
    if not isinstance(place, Server):
        raise CannotWrite("Roles are of a server: a file has none.")
    with told(place):
        engine = postgres.engine(place, poolclass=NullPool)
        with engine.begin() as connection:
            connection.exec_driver_sql(sql)
