"""What every failure of a database is told as; codes after SQLite's list of result codes."""

import sqlite3
from pathlib import Path

import pytest
from sqlalchemy.exc import DBAPIError

from washmon.store.errors import (
    CannotWrite,
    Damaged,
    DiskFull,
    StoreBug,
    StoreInUse,
    StoreUnavailable,
    Unreachable,
    breaks_off,
    damaged,
    disk_full,
    in_use,
    not_a_database,
    told,
)
from washmon.store.place import locate

PLACE = Path("shed.db")


def raised(name: str, words: str = "it failed") -> Exception:
    error = sqlite3.OperationalError(words)
    error.sqlite_errorname = name
    with pytest.raises((StoreUnavailable, StoreBug)) as caught, told(PLACE):
        raise error
    return caught.value


@pytest.mark.parametrize("name", ["READONLY", "PERM", "CANTOPEN", "IOERR", "AUTH", "NOLFS"])
def test_what_the_system_refuses_cannot_be_written(name: str) -> None:
    assert isinstance(raised(f"SQLITE_{name}"), CannotWrite)
    assert isinstance(raised(f"SQLITE_{name}_DIRECTORY"), CannotWrite)


@pytest.mark.parametrize(
    "name", ["CORRUPT", "CONSTRAINT", "MISMATCH", "FORMAT", "TOOBIG", "SCHEMA", "CORRUPT_INDEX"]
)
def test_what_does_not_fit_together_is_damaged(name: str) -> None:
    assert str(raised(f"SQLITE_{name}")) == str(damaged(PLACE, "it failed"))


@pytest.mark.parametrize(
    "words",
    [
        "no such table: journal",
        "table journal has no column named hash",
        "unsupported file format",
        "malformed database schema (shift)",
    ],
)
def test_tables_that_are_not_as_they_were_made_are_damage_and_other_errors_are_ours(
    words: str,
) -> None:
    assert str(raised("SQLITE_ERROR", words)) == str(damaged(PLACE, words))
    assert isinstance(raised("SQLITE_ERROR", 'near "SELEC": syntax error'), StoreBug)


def test_a_full_disk_a_busy_file_and_a_file_of_another_kind_are_told_as_such() -> None:
    for name, expected in (
        ("SQLITE_FULL", disk_full(PLACE)),
        ("SQLITE_IOERR_SHMSIZE", disk_full(PLACE)),
        ("SQLITE_BUSY", in_use(PLACE)),
        ("SQLITE_LOCKED_SHAREDCACHE", in_use(PLACE)),
        ("SQLITE_NOTADB", not_a_database(PLACE)),
    ):
        assert str(raised(name)) == str(expected), name


@pytest.mark.parametrize(
    ("state", "breaks"),
    [
        ("08006", True),  # the connection failed
        ("57P01", True),  # the administrator shut the server down
        ("53100", False),  # its disk is full: it refused, and says so
        ("42501", False),  # it does not allow that
    ],
)
def test_a_commit_is_in_doubt_only_where_the_server_went_away(state: str, *, breaks: bool) -> None:
    """By SQLSTATE: https://www.postgresql.org/docs/current/errcodes-appendix.html."""
    said = Exception("gone")
    said.sqlstate = state  # type: ignore[attr-defined]
    assert breaks_off(DBAPIError("COMMIT", None, said)) is breaks


@pytest.mark.parametrize(
    ("name", "breaks"),
    [
        ("SQLITE_IOERR_FSYNC", True),  # the disk did not take what was written
        ("SQLITE_IOERR", True),
        ("SQLITE_FULL", False),
        ("SQLITE_BUSY", False),
    ],
)
def test_a_commit_to_a_file_is_in_doubt_only_where_the_disk_failed(
    name: str, *, breaks: bool
) -> None:
    said = sqlite3.OperationalError("it failed")
    said.sqlite_errorname = name
    assert breaks_off(DBAPIError("COMMIT", None, said)) is breaks


@pytest.mark.parametrize(
    ("state", "kind"),
    [
        ("08006", Unreachable),  # the connection failed
        ("53300", Unreachable),  # too many connections
        ("53100", DiskFull),
        ("57P01", Unreachable),  # the administrator shut the server down
        ("57014", Unreachable),  # it took too long
        ("55P03", StoreInUse),
        ("40001", StoreInUse),
        ("40P01", StoreInUse),
        ("XX001", Damaged),
        ("XX002", Damaged),
        ("42501", CannotWrite),
        ("25006", CannotWrite),
        ("42601", StoreBug),  # our own syntax
    ],
)
def test_what_a_server_refuses_is_told_by_its_state(state: str, kind: type[Exception]) -> None:
    """By SQLSTATE: https://www.postgresql.org/docs/current/errcodes-appendix.html."""
    said = Exception("it failed")
    said.sqlstate = state  # type: ignore[attr-defined]
    with pytest.raises(kind), told(locate("postgresql://somewhere/shed")):
        raise DBAPIError("COMMIT", None, said)
