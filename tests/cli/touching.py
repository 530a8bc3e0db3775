"""Commands of the program in this process, and hands that touch a database from behind."""

import sqlite3
from pathlib import Path

from typer.testing import CliRunner, Result

from washmon.cli.commands import app
from washmon.store.schema import GUARDS


def run(*words: object) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words])


def touch(database: Path, *sql: str) -> None:
    """Change something without the guards, and leave no trace of that."""
    db = sqlite3.connect(database)
    for guard in GUARDS["sqlite"]:
        db.execute(f"DROP TRIGGER {guard.split()[2]}")
    for statement in sql:
        db.execute(statement)
    for guard in GUARDS["sqlite"]:
        db.execute(guard)
    db.commit()
    db.close()


def touch_a_reading(database: Path) -> None:
    fac = "body = CAST(replace(CAST(body AS TEXT), '\"fac_mg_l\":', '\"fac_mg_l\":1') AS BLOB)"
    touch(database, f"UPDATE journal SET {fac} WHERE CAST(body AS TEXT) LIKE '%fac_mg_l%'")  # noqa: S608 - ours
