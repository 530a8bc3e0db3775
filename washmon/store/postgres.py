"""Connections to a PostgreSQL server: durable commits, one writer per chain at a time."""

from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text

from washmon.store.errors import CannotWrite
from washmon.store.place import Server

CONNECT_TIMEOUT_S = 10
ALIVE: dict[str, int] = {
    "connect_timeout": CONNECT_TIMEOUT_S,
    "keepalives": 1,
    "keepalives_idle": 5,
    "keepalives_interval": 2,
    "keepalives_count": 3,
    "tcp_user_timeout": 10_000,
}
"""A cable that is pulled is noticed after some ten seconds, waiting or sending. In seconds, the
last in milliseconds: https://www.postgresql.org/docs/current/libpq-connect.html."""
LOCK_TIMEOUT_MS = 5000
"""How long an entry waits for another program that writes the same chain."""

SETTING_OF_DISK = "SHOW fsync"

_MIGRATING = "washmon: the schema"


def writing_engine(server: Server) -> Engine:
    """Return an engine whose commits have reached the server's disk when they return.

    Each statement sees what others have committed before it, so that a lock that was waited for
    shows the entries of whoever held it.
    """
    engine = _engine(server, isolation_level="READ COMMITTED")

    @event.listens_for(engine, "connect")
    def make_durable(db: Any, _record: object) -> None:  # noqa: ANN401 - psycopg is an extra
        # Whatever the server's own settings say: an acknowledged entry survives a power cut.
        db.execute("SET synchronous_commit = on")
        db.execute(f"SET lock_timeout = {LOCK_TIMEOUT_MS}")
        db.commit()

    return engine


def reading_engine(server: Server) -> Engine:
    """Return an engine that can't write, and sees one moment through each transaction."""
    engine = _engine(server, isolation_level="REPEATABLE READ", pool_pre_ping=True)
    return engine.execution_options(postgresql_readonly=True)


def check_server(connection: Connection, server: Server) -> None:
    """Refuse a server that would lose entries or mangle names.

    Raises:
        CannotWrite: with the setting that is to be changed.
    """
    if connection.scalar(text(SETTING_OF_DISK)) != "on":
        raise CannotWrite(
            f"The server of {server.name} does not wait for its disk (fsync is off), so entries "
            "could be lost: ask for it to be turned on."
        )
    if connection.scalar(text("SHOW server_encoding")) != "UTF8":
        raise CannotWrite(
            f"The database {server.name} can't hold every letter: ask for one with encoding UTF8."
        )


def lock_chain(connection: Connection, chain: str) -> None:
    """Wait until no other program writes this chain; held to the end of the transaction.

    There is nothing to do in SQLite, whose transaction locks all of the file when it begins.
    """
    if is_server(connection):
        connection.exec_driver_sql(
            "SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", (f"washmon: {chain}",)
        )


def lock_schema(connection: Connection) -> None:
    """Wait until no other program changes the tables; held to the end of the transaction."""
    lock_chain(connection, _MIGRATING)


def lock_projections(connection: Connection) -> None:
    """Let others go on reading the projections, but not change them, as :func:`lock_chain`."""
    if is_server(connection):
        connection.exec_driver_sql("LOCK TABLE shift, mention, tank_summary IN EXCLUSIVE MODE")


def is_server(connection: Connection) -> bool:
    """Return whether a connection leads to PostgreSQL."""
    return connection.dialect.name == "postgresql"


def _engine(server: Server, **options: Any) -> Engine:  # noqa: ANN401 - those of SQLAlchemy
    try:
        return create_engine(server.url, connect_args=ALIVE, **options)
    except ModuleNotFoundError as error:
        raise CannotWrite(
            "A database on a server needs one more package: install washmon[postgres]."
        ) from error
