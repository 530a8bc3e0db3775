"""The roles of a server: what they may, and that the journal is guarded by privileges."""

from pathlib import Path
from typing import Any

import psycopg
import pytest
from typer.testing import CliRunner

from tests.store.programs import PROGRAMS
from tests.store.server import Server
from tests.store.shed import run_shift
from washmon.cli.commands import app
from washmon.line.events import ShiftStarted
from washmon.store import CannotWrite, OlderVersion, Store
from washmon.store.schema import VERSIONS

if PROGRAMS is not None:
    pytestmark = pytest.mark.xdist_group("postgresql")
PRIVILEGE = psycopg.errors.InsufficientPrivilege
"""SQLSTATE 42501; the trigger's own refusal is another, P0001."""


class Shared:
    """A database that its owner has made, and the addresses of who uses it."""

    def __init__(self, server: Server) -> None:
        self.server = server
        self.owner = server.new_url()
        self.name = self.owner.split("/")[3].split("?")[0]

    def of(self, role: str) -> str:
        """The address for a member of a role."""
        login = f"a_{role}"
        with self.server.connect("postgres") as db:
            if not db.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", (login,)).fetchone():
                db.execute(f"CREATE ROLE {login} LOGIN IN ROLE {role}")
        return self.owner.replace("washmon@", f"{login}@")

    def connect(self, role: str) -> "psycopg.Connection[Any]":
        """Connect by hand, past the program."""
        return psycopg.connect(self.of(role).replace("+psycopg", ""), autocommit=True)


@pytest.fixture(scope="module")
def shared(postgresql: Server) -> Shared:
    shared = Shared(postgresql)
    told = CliRunner().invoke(app, ["migrate", "--roles", "--database", shared.owner])
    assert told.exit_code == 0, told.output
    assert f"schema {VERSIONS[-1]}" in told.stdout
    with Store.open(shared.of("washmon_append")) as store:
        run_shift(store, "first")
    return shared


def test_who_may_only_append_keeps_whole_shifts_and_sums_them_up(shared: Shared) -> None:
    with Store.open(shared.of("washmon_append")) as store:
        run_shift(store, "second", 20)
        store.save_summaries("second", [(1, "{}")])
        store.rebuild_projections()
        assert [row.chain for row in store.shifts()] == ["second", "first"]
        assert store.verify() == []


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE journal SET body = ''",
        "DELETE FROM journal",
        "TRUNCATE journal",
        "DROP TRIGGER journal_never_changed ON journal",
        "ALTER TABLE journal DISABLE TRIGGER ALL",
        "DROP TABLE journal",
        "CREATE TABLE journal_2 (x int)",
        "CREATE OR REPLACE FUNCTION journal_refuse() RETURNS trigger LANGUAGE sql AS 'SELECT 1'",
    ],
)
@pytest.mark.parametrize("role", ["washmon_append", "washmon_read"])
def test_the_journal_is_kept_from_changes_by_privilege(shared: Shared, role: str, sql: str) -> None:
    with shared.connect(role) as db, pytest.raises(PRIVILEGE):
        db.execute(sql)


def test_who_may_only_read_reads_all_and_writes_nothing(shared: Shared) -> None:
    where = shared.of("washmon_read")
    with Store.open(where, read_only=True) as store:
        assert len(store.entries("first")) == 3
        assert store.verify() == []
    with pytest.raises(CannotWrite):
        Store.open(where)
    with shared.connect("washmon_read") as db, pytest.raises(PRIVILEGE):
        db.execute("INSERT INTO journal VALUES ('x', 0, 'now', '', '')")


def test_a_shed_moves_from_a_file_to_a_server_as_the_readme_tells(
    postgresql: Server, tmp_path: Path
) -> None:
    file, copy = tmp_path / "shed.db", tmp_path / "copy.db"
    with Store.open(file) as store:
        run_shift(store, "before")
    shared, run = Shared(postgresql), CliRunner()
    for words in (
        ["backup", str(copy), "--database", str(file)],
        ["restore", str(copy), "--database", shared.owner],
        ["migrate", "--roles", "--database", shared.owner],
    ):
        told = run.invoke(app, words)
        assert told.exit_code == 0, told.output
    with Store.open(shared.of("washmon_append")) as store:
        run_shift(store, "after", 20)
        first = store.entries("after")[0].event
        assert isinstance(first, ShiftStarted)
        assert first.after == ("before", store.head("before"))
        assert store.verify() == []
    with shared.connect("washmon_append") as db, pytest.raises(PRIVILEGE):
        db.execute("DELETE FROM journal")


def test_the_roles_can_be_made_again_and_a_file_has_none(shared: Shared, tmp_path: Path) -> None:
    run = CliRunner()
    assert run.invoke(app, ["migrate", "--roles", "--database", shared.owner]).exit_code == 0
    told = run.invoke(app, ["migrate", "--roles", "--database", str(tmp_path / "shed.db")])
    assert told.exit_code == 2
    assert "Roles are of a server" in told.stderr


@pytest.mark.usefixtures("shared")  # so that there are roles
def test_tables_of_another_version_are_left_to_their_owner(postgresql: Server) -> None:
    shared = Shared(postgresql)
    with pytest.raises(CannotWrite, match="only their owner may change them"):
        Store.open(shared.of("washmon_append"))  # there are none yet
    run = CliRunner()
    assert run.invoke(app, ["migrate", "--roles", "--database", shared.owner]).exit_code == 0
    with postgresql.connect(shared.name) as db:
        db.execute("UPDATE alembic_version SET version_num = %s", (VERSIONS[-2],))
    with pytest.raises(CannotWrite, match="washmon migrate --roles"):
        Store.open(shared.of("washmon_append"))
    with pytest.raises(OlderVersion):
        Store.open(shared.of("washmon_read"), read_only=True)
