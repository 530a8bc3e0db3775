"""Connections to a PostgreSQL server: durable commits, one writer per chain at a time.

The roles of a server: who may only append, and who may only read.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, NullPool, create_engine, event, text
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from washmon.store.errors import CannotWrite, told
from washmon.store.place import Server, locate

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
ANSWER_S, READ_S, PATIENCE_S = 8.0, 60.0, 3600.0
"""So long one statement of an entry, of a question, and of a rebuild waits for its answer. A server
that stands still, or a network that swallows answers, keeps its connections alive."""
IDLE_MS = 30_000
"""So soon the server lets go of the locks of a program that vanished within a transaction."""
PROBE_S = 3

SETTING_OF_DISK = "SHOW fsync"

_MIGRATING = "washmon: the schema"
_HEARD = "washmon"
"""The channel on which entries are told of."""


def writing_engine(server: Server) -> Engine:
    """Return an engine whose commits have reached the server's disk when they return.

    Each statement sees what others have committed before it, so that a lock that was waited for
    shows the entries of whoever held it.
    """
    engine = _engine(server, ANSWER_S, isolation_level="READ COMMITTED")

    @event.listens_for(engine, "connect")
    def make_durable(db: Any, _record: object) -> None:  # noqa: ANN401 - psycopg is an extra
        # Whatever the server's own settings say: an acknowledged entry survives a power cut.
        db.execute("SET synchronous_commit = on")
        db.execute(f"SET lock_timeout = {LOCK_TIMEOUT_MS}")
        db.execute(f"SET idle_in_transaction_session_timeout = {IDLE_MS}")
        db.commit()

    return engine


def reading_engine(server: Server) -> Engine:
    """Return an engine that can't write, and sees one moment through each transaction."""
    engine = _engine(server, READ_S, isolation_level="REPEATABLE READ", pool_pre_ping=True)
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


def lock_chain_and_tell(connection: Connection, chain: str) -> None:
    """As :func:`lock_chain`; once the transaction is committed, whoever listens hears of it."""
    if is_server(connection):
        connection.exec_driver_sql(
            "SELECT pg_advisory_xact_lock(hashtextextended(%s, 0)), pg_notify(%s, '')",
            (f"washmon: {chain}", _HEARD),
        )


def listener(server: Server) -> Any:  # noqa: ANN401 - psycopg is an extra
    """Return a connection of the driver's own that hears of each entry that is committed."""
    import psycopg  # noqa: PLC0415 - it is there only where a server is used

    engine = _engine(server, PROBE_S, poolclass=NullPool)
    arguments, named = engine.dialect.create_connect_args(server.url)
    alive = ALIVE | {"connect_timeout": PROBE_S}
    db = psycopg.connect(*arguments, autocommit=True, **{**named, **alive})
    db.execute(f"LISTEN {_HEARD}")
    return db


def driver_error() -> type[Exception]:
    """Return what the driver raises."""
    import psycopg  # noqa: PLC0415 - as above

    return psycopg.Error


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


@contextmanager
def patiently(connection: Connection) -> Iterator[None]:
    """Wait long for each answer, as where all lists are made anew."""
    db = connection.connection.driver_connection if is_server(connection) else None
    if db is None:
        yield
        return
    before, db.answer_s = db.answer_s, PATIENCE_S
    try:
        yield
    finally:
        db.answer_s = before


def engine(server: Server, **options: Any) -> Engine:  # noqa: ANN401 - SQLAlchemy's
    """Return a plain engine, for what is done once."""
    return _engine(server, READ_S, **options)


def is_refused(error: DBAPIError) -> bool:
    """Tell whether a server refused something for want of a privilege."""
    return str(getattr(error.orig, "sqlstate", None) or "") == "42501"


def answers(server: Server) -> bool:
    """Tell whether a server can be reached now; takes a few seconds at the most."""
    engine = _engine(server, PROBE_S, poolclass=NullPool)
    try:
        with engine.connect() as connection:
            return bool(connection.scalar(text("SELECT 1")) == 1)
    except SQLAlchemyError:
        return False


def _engine(server: Server, answer_s: float, **options: Any) -> Engine:  # noqa: ANN401 - SQLAlchemy's
    try:
        alive = ALIVE | {"connect_timeout": min(CONNECT_TIMEOUT_S, max(2, int(answer_s)))}
        engine = create_engine(server.url, connect_args=alive, **options)
        limited = _limited()
    except ModuleNotFoundError as error:
        raise CannotWrite(
            "A database on a server needs one more package: install washmon[postgres]."
        ) from error

    @event.listens_for(engine, "do_connect")
    def connect(_dialect: object, _record: object, arguments: Any, named: Any) -> Any:  # noqa: ANN401
        db = limited.connect(*arguments, **named)
        db.answer_s = answer_s
        return db

    return engine


@cache
def _limited() -> Any:  # noqa: ANN401 - psycopg is an extra
    """Return a kind of connection that gives up on a server that does not answer."""
    import psycopg  # noqa: PLC0415 - it is there only where a server is used

    class Limited(psycopg.Connection[Any]):
        answer_s = READ_S

        def wait(
            self,
            gen: Any,  # noqa: ANN401 - the driver's own
            interval: float = 0.1,
            timeout: float | None = None,
        ) -> Any:  # noqa: ANN401
            try:
                return super().wait(gen, interval, timeout or self.answer_s)
            except psycopg.OperationalError as error:
                if error.sqlstate is None:  # nothing of it can be trusted any more
                    self.pgconn.finish()
                raise

    return Limited


def grant_roles(where: Path | str, sql: str) -> None:
    """Run the SQL that makes the roles, as the owner of the tables.

    Raises:
        StoreUnavailable: nothing was changed.
    """
    place = locate(where)
    if not isinstance(place, Server):
        raise CannotWrite("Roles are of a server: a file has none.")
    with told(place):
        owner = engine(place, poolclass=NullPool)
        with owner.begin() as connection:
            connection.exec_driver_sql(sql)
