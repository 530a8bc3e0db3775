import re
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory

from tests.store.shed import minutes, note, run_shift
from washmon.store import OlderVersion, Store, StoreBug, migrate, schema
from washmon.store.engine import writing_engine

RELEASED = sorted((Path(__file__).parent / "released").glob("*.sql"))

NEXT = '''
"""A schema of the future, for the tests: one more column."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade():
    with op.batch_alter_table("shift") as shift:
        shift.add_column(sa.Column("weather", sa.Text))
    {then}
'''


def tables(path: Path) -> set[tuple[str, str]]:
    db = sqlite3.connect(path)
    found = db.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    db.close()
    return {(name, re.sub(r"\s+", " ", sql).strip()) for name, sql in found}


def load(dump: Path, path: Path) -> None:
    db = sqlite3.connect(path)
    db.executescript(dump.read_text(encoding="utf-8"))
    db.close()


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """A database of this version, with a shift in it."""
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        run_shift(store, "a")
    return path


@pytest.fixture
def future(old: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the migrations that knows one more schema than this program."""
    assert old.exists()  # made before the future begins
    folder = tmp_path / "migrations"
    (folder / "versions").mkdir(parents=True)
    for file in migrate.SCRIPTS.rglob("*.py"):
        (folder / file.relative_to(migrate.SCRIPTS)).write_bytes(file.read_bytes())
    (folder / "versions" / "0004_next.py").write_text(NEXT.format(then=""))
    monkeypatch.setattr(migrate, "SCRIPTS", folder)
    monkeypatch.setattr(schema, "VERSIONS", (*schema.VERSIONS, "0004"))
    return folder


def test_every_schema_has_its_migration_in_order() -> None:
    config = Config()
    config.set_main_option("script_location", str(migrate.SCRIPTS))
    config.set_main_option("path_separator", "os")
    scripts = ScriptDirectory.from_config(config)
    assert tuple(one.revision for one in scripts.walk_revisions())[::-1] == schema.VERSIONS


def test_a_new_database_equals_one_that_went_through_all_migrations(tmp_path: Path) -> None:
    Store.open(tmp_path / "new.db").close()
    engine = writing_engine(tmp_path / "migrated.db")
    with engine.begin() as connection:
        migrate.upgrade(connection)
    engine.dispose()
    assert tables(tmp_path / "new.db") == tables(tmp_path / "migrated.db")
    Store.open(tmp_path / "migrated.db").close()


def test_there_is_a_sample_of_every_released_schema() -> None:
    assert tuple(dump.stem for dump in RELEASED) == schema.VERSIONS


@pytest.mark.parametrize("dump", RELEASED, ids=lambda dump: dump.stem)
def test_a_database_of_every_released_schema_opens(tmp_path: Path, dump: Path) -> None:
    path = tmp_path / "shed.db"
    load(dump, path)
    with Store.open(path) as store:
        assert store.verify() == []
        kept = store.shifts()
        assert [row.chain for row in kept] == ["wed", "tue", "mon"]
        assert [len(store.entries(row.chain)) for row in kept] == [row.entries for row in kept]
        setup = store.latest_setup()
        assert setup is not None
        assert setup.site == "Quiet Hollow"
        kinds = {type(entry.event) for row in kept for entry in store.entries(row.chain)}
        kinds |= {type(entry.event) for entry in store.entries("site")}
        assert len(kinds) >= 16  # every kind of event that the first schema knew
        store.append("wed", [note(999)], minutes(999))
        store.rebuild_projections()
        assert store.verify() == []


def test_opening_does_not_import_alembic(tmp_path: Path) -> None:
    script = (
        "import sys; from washmon.store import Store\n"
        "for _ in range(2): Store.open(sys.argv[1]).close()\n"
        "sys.exit('alembic' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "shed.db")],
        check=False,
        cwd=Path(__file__).parents[2],
    )
    assert done.returncode == 0


@pytest.mark.usefixtures("future")
def test_an_older_database_is_brought_up_to_date_and_a_copy_kept(old: Path) -> None:
    before = tables(old)
    with Store.open(old) as store:
        assert "weather" in str(tables(old))
        store.append("a", [note(20)], minutes(20))
        assert store.verify() == []
        assert len(store.entries("a")) == 4
    copy = old.with_name("shed-before-0004.db")
    assert tables(copy) == before
    db = sqlite3.connect(copy)
    assert db.execute("SELECT version_num FROM alembic_version").fetchall() == [("0003",)]
    assert db.execute("SELECT count(*) FROM journal").fetchall() == [(3,)]
    db.close()


def test_a_file_loads_nothing_of_a_server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Naming its dialect loads it, and start-up is measured."""
    called: list[bool] = []
    monkeypatch.setattr(schema, "suit_server", lambda: called.append(True))
    Store.open(tmp_path / "shed.db").close()
    assert called == []


@pytest.mark.usefixtures("future")
def test_an_older_database_is_not_read_before_it_is_brought_up_to_date(old: Path) -> None:
    with pytest.raises(OlderVersion, match="open it once for writing"):
        Store.open(old, read_only=True)


def test_a_migration_that_fails_leaves_the_database_as_it_was(old: Path, future: Path) -> None:
    broken = NEXT.format(then='op.execute("SELECT 1 +")')
    (future / "versions" / "0004_next.py").write_text(broken)
    before = tables(old)
    with pytest.raises(StoreBug, match="incomplete input"):
        Store.open(old)
    assert tables(old) == before
    (future / "versions" / "0004_next.py").write_text(NEXT.format(then=""))
    with Store.open(old) as store:  # and the lock is free
        assert store.verify() == []
