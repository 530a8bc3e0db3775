"""Brings a database to the schema of this program, or refuses it."""

import sqlite3
from pathlib import Path

from sqlalchemy import Connection, insert
from sqlalchemy.exc import DBAPIError

from washmon.store import schema
from washmon.store.engine import copy_to, driver
from washmon.store.errors import (
    CannotWrite,
    LaterVersion,
    OlderVersion,
    Place,
    StoreBug,
    cannot_write,
    not_a_database,
)
from washmon.store.place import Server
from washmon.store.postgres import check_server, is_refused, lock_schema
from washmon.store.projecting import Projections
from washmon.whole_file import sync_folder

SCRIPTS = Path(__file__).parent / "migrations"

_TABLES = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'table'",
    "postgresql": "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()",
}


def version_of(connection: Connection, place: Place) -> str | None:
    """Return the schema version of a database, or None when it holds nothing yet.

    Raises:
        NotADatabase: other tables than ours are in it.
        LaterVersion: this program does not know the version.
    """
    tables = set(connection.exec_driver_sql(_TABLES[connection.dialect.name]).scalars())
    if not tables:
        return None
    if not {"alembic_version", "journal"} <= tables:
        raise not_a_database(place)
    found = version_number(connection)
    if found is None:
        raise not_a_database(place)
    if found not in schema.VERSIONS:
        raise LaterVersion(
            f"{place.name} was made by a later version of washmon (schema {found}): "
            "install that version or a newer one to open it."
        )
    return found


def version_number(connection: Connection) -> str | None:
    """Return what a database of ours says its version is; None where it says none, or several."""
    numbers = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalars()
    found = [str(number) for number in numbers]
    return found[0] if len(found) == 1 else None


def check_readable(connection: Connection, place: Place) -> None:
    """Refuse what can't be read as it is.

    Raises:
        NotADatabase, LaterVersion, OlderVersion: see there.
    """
    version = version_of(connection, place)
    if version is None:
        raise not_a_database(place)
    if version != schema.VERSIONS[-1]:
        raise OlderVersion(
            f"{place.name} was made by an earlier version of washmon: open it once for writing, "
            "which brings it up to date and keeps a copy."
        )


def make_ready(connection: Connection, place: Place) -> None:
    """Create or migrate, so that the schema is the one of this program.

    A file that is brought up to date is first copied beside itself. Only then is anything written,
    all of it in one transaction.

    Raises:
        NotADatabase, LaterVersion: nothing was changed.
    """
    if isinstance(place, Path):
        _make_file_ready(connection, place)
    elif isinstance(place, Server):
        with connection.begin():
            check_server(connection, place)
            lock_schema(connection)
            _bring_server_up_to_date(connection, place)


def _bring_server_up_to_date(connection: Connection, place: Server) -> None:
    try:
        _bring_up_to_date(connection, place, version_of(connection, place))
    except DBAPIError as error:
        if not is_refused(error):
            raise
        raise CannotWrite(
            f"The tables of {place.name} are not those of this version, and only their owner may "
            "change them: have 'washmon migrate --roles' run with the owner's address."
        ) from error


def _make_file_ready(connection: Connection, path: Path) -> None:
    db = driver(connection)
    with connection.begin():
        version = version_of(connection, path)
    (mode,) = db.execute("PRAGMA journal_mode = WAL").fetchone()
    if mode != "wal":
        raise cannot_write(path, "this drive can't keep a write-ahead log; use a local disk")
    if version == schema.VERSIONS[-1]:
        return
    if version is not None:
        _copy_aside(db, path.with_name(f"{path.stem}-before-{schema.VERSIONS[-1]}{path.suffix}"))
    with connection.begin():
        _bring_up_to_date(connection, path, version)
    if version is None:
        sync_folder(path.parent)


def _copy_aside(db: sqlite3.Connection, copy: Path) -> None:
    """Copy a database; on a full disk nothing of it stays behind, and an older copy as it was."""
    part = copy.with_name(copy.name + ".part")
    try:
        copy_to(db, part)
        part.replace(copy)
        sync_folder(copy.parent)
    finally:
        part.unlink(missing_ok=True)


def _bring_up_to_date(connection: Connection, place: Place, version: str | None) -> None:
    if version is None:
        create(connection)
    elif version != schema.VERSIONS[-1]:
        upgrade(connection)
        # What a new schema keeps of a shift stands in its journal.
        Projections(place, connection).rebuild()


def create(connection: Connection) -> None:
    """Make the newest schema at once, within the caller's transaction.

    The same comes out as from all migrations in turn (a test compares the two), without the cost
    of importing alembic at the first start.
    """
    if connection.dialect.name == "postgresql":
        schema.suit_server()
    schema.metadata.create_all(connection, checkfirst=False)
    for guard in schema.GUARDS[connection.dialect.name]:
        connection.exec_driver_sql(guard)
    connection.execute(insert(schema.version), {"version_num": schema.VERSIONS[-1]})


def upgrade(connection: Connection) -> None:
    """Run the migrations that are still due, within the caller's transaction."""
    # Imported here: it takes a fifth of a second, and is rarely needed.
    from alembic import command  # noqa: PLC0415
    from alembic.config import Config  # noqa: PLC0415

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(SCRIPTS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    command.upgrade(config, "head")
    if not connection.in_transaction():
        raise StoreBug("A migration ended the transaction that it ran in.")
