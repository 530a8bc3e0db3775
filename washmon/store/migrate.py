"""Brings a database to the schema of this program, or refuses it."""

import sqlite3
from pathlib import Path

from sqlalchemy import Connection, insert

from washmon.store import schema
from washmon.store.engine import copy_to, driver, sync_folder
from washmon.store.errors import LaterVersion, OlderVersion, StoreBug, cannot_write, not_a_database

SCRIPTS = Path(__file__).parent / "migrations"


def version_of(db: sqlite3.Connection, path: Path) -> str | None:
    """Return the schema version of a database, or None when it holds nothing yet.

    Raises:
        NotADatabase: other tables than ours are in it.
        LaterVersion: this program does not know the version.
    """
    tables = {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if not tables:
        return None
    if not {"alembic_version", "journal"} <= tables:
        raise not_a_database(path)
    found = [str(number) for (number,) in db.execute("SELECT version_num FROM alembic_version")]
    if len(found) != 1:
        raise not_a_database(path)
    if found[0] not in schema.VERSIONS:
        raise LaterVersion(
            f"{path.name} was made by a later version of washmon (schema {found[0]}): "
            "install that version or a newer one to open it."
        )
    return found[0]


def check_readable(db: sqlite3.Connection, path: Path) -> None:
    """Refuse what can't be read as it is.

    Raises:
        NotADatabase, LaterVersion, OlderVersion: see there.
    """
    version = version_of(db, path)
    if version is None:
        raise not_a_database(path)
    if version != schema.VERSIONS[-1]:
        raise OlderVersion(
            f"{path.name} was made by an earlier version of washmon: open it once for writing, "
            "which brings it up to date and keeps a copy."
        )


def make_ready(connection: Connection, path: Path) -> None:
    """Create or migrate, so that the schema is the one of this program.

    A database that is brought up to date is first copied beside itself. Only then is anything
    written, all of it in one transaction.

    Raises:
        NotADatabase, LaterVersion: nothing was changed.
    """
    db = driver(connection)
    version = version_of(db, path)
    (mode,) = db.execute("PRAGMA journal_mode = WAL").fetchone()
    if mode != "wal":
        raise cannot_write(path, "this drive can't keep a write-ahead log; use a local disk")
    if version is None:
        with connection.begin():
            create(connection)
        sync_folder(path.parent)
    elif version != schema.VERSIONS[-1]:
        copy_to(db, path.with_name(f"{path.stem}-before-{schema.VERSIONS[-1]}{path.suffix}"))
        with connection.begin():
            upgrade(connection)


def create(connection: Connection) -> None:
    """Make the newest schema at once, within the caller's transaction.

    The same comes out as from all migrations in turn (a test compares the two), without the cost
    of importing alembic at the first start.
    """
    schema.metadata.create_all(connection, checkfirst=False)
    for guard in schema.GUARDS:
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
