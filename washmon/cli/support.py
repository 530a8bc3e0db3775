"""``washmon report``: what whoever mends the program needs, and nothing of the shed's own."""

import json
import platform
import sqlite3
import sys
from collections import Counter
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Annotated, Any

import typer

from washmon import __version__, faultlog
from washmon.cli.common import DatabaseOption, default_database, plainly
from washmon.cli.place import state_folder
from washmon.line.setup import LineSetup
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store
from washmon.whole_file import whole_file

_PACKAGES = (
    "PySide6-Essentials",
    "SQLAlchemy",
    "msgspec",
    "numpy",
    "scipy",
    "pyqtgraph",
    "psycopg",
)
_MOST_LINES = 500


def report(
    file: Annotated[Path, typer.Argument(help="The file to write.")],
    database: DatabaseOption = None,
    *,
    yes: Annotated[bool, typer.Option("--yes", help="Write it without asking.")] = False,
) -> None:
    """Show a report for support, and write it: log, versions, set-up without names, check."""
    text = json.dumps(report_of(database or default_database()), indent=1)
    typer.echo(text)
    if not yes and not typer.confirm(f"Write this to {file}?"):
        raise typer.Exit(0)
    with plainly(OSError), whole_file(file) as written:
        written.write(f"{text}\n".encode())
    typer.echo(f"Written: {file}")


def report_of(database: str) -> dict[str, Any]:
    """Return the report on a database and its machine: no names, notes, lots, paths or PINs."""
    return {
        "washmon": __version__,
        "python": platform.python_version(),
        "system": f"{platform.system()} {platform.release()} {platform.machine()}",
        "sqlite": sqlite3.sqlite_version,
        "packages": {name: _version(name) for name in _PACKAGES},
        "encoding": sys.getfilesystemencoding(),
        "records": _records(database),
        "log": faultlog.read(state_folder())[-_MOST_LINES:],
    }


def _version(package: str) -> str | None:
    try:
        return version(package)
    except PackageNotFoundError:
        return None


def _records(database: str) -> dict[str, Any]:
    """Return how the records are, counted rather than named."""
    try:
        with Store.open(database, read_only=True) as store:
            shifts = store.shifts()
            looked = store.look()
            return {
                "on_a_server": "://" in database and not database.startswith("sqlite"),
                "shifts": len(shifts),
                "entries": sum(one.entries for one in shifts),
                "running": store.running_shift() is not None,
                "whole": not looked.faults,
                "faults_at": [one.seq for one in looked.faults],
                "anchored": looked.anchored_from is not None,
                "setups": [_anonymous(one.setup) for one in store.setups()],
            }
    except StoreUnavailable as trouble:
        return {"unavailable": type(trouble).__name__}


def _anonymous(setup: LineSetup) -> dict[str, Any]:
    return {
        "taste": setup.taste,
        "people": Counter(person.role.value for person in setup.people),
        "sanitizers": [one.kind.value for one in setup.sanitizers],
        "acids": len(setup.acids),
        "rules_off": [one.rule for one in setup.rules_off],
        "tanks": [
            {
                "number": tank.number,
                "stage": tank.stage.value,
                "volume_l": tank.volume_l,
                "peracetic": tank.peracetic is not None,
            }
            for tank in setup.tanks
        ],
    }
