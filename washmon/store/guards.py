"""The triggers that keep hands off the journal: looked for, and put back where they are missing."""

from collections.abc import Iterator

from sqlalchemy import Connection

from washmon.store.postgres import is_server
from washmon.store.schema import GUARDS

_ON_SERVER = """
SELECT tgname FROM pg_trigger
WHERE tgrelid = 'journal'::regclass AND NOT tgisinternal AND tgenabled <> 'D'
"""


def missing(connection: Connection) -> list[str]:
    """Return the names of the guards that are missing, switched off, or not as they were made."""
    if is_server(connection):
        there = set(connection.exec_driver_sql(_ON_SERVER).scalars())
        return [name for name, _ in _wanted("postgresql") if name not in there]
    rows = connection.exec_driver_sql(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'journal'"
    )
    found = {str(row.name): row.sql for row in rows}
    return [name for name, sql in _wanted("sqlite") if _plain(found.get(name)) != _plain(sql)]


def strange(connection: Connection) -> list[str]:
    """Return the names of triggers on any table of a file that are none of ours."""
    if is_server(connection):
        return []
    found = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    ours = {name for name, _ in _wanted("sqlite")}
    return sorted(str(name) for name in found.scalars() if name not in ours)


def put_back(connection: Connection) -> list[str]:
    """Put back into a file what is missing, within the caller's transaction; return the names."""
    if is_server(connection):
        return []
    lost = missing(connection)
    for name, sql in _wanted("sqlite"):
        if name in lost:
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")
            connection.exec_driver_sql(sql)
    return lost


def _wanted(dialect: str) -> Iterator[tuple[str, str]]:
    for sql in GUARDS[dialect]:
        words = sql.split()
        if words[1] == "TRIGGER":
            yield words[2], sql


def _plain(sql: object) -> list[str]:
    return str(sql).split()
