"""Where the programs of a PostgreSQL server are on this machine, if they are."""

import os
import shutil
from pathlib import Path

_PLACES = ("/usr/lib/postgresql/*/bin", "/usr/pgsql-*/bin", "/opt/homebrew/opt/postgresql*/bin")


def _find() -> Path | None:
    """Return the folder that holds initdb and pg_ctl: the one on the PATH, or the newest."""
    if os.name == "nt":  # the tests reach it by a socket in a folder
        return None
    if on_path := shutil.which("initdb"):
        return Path(on_path).resolve().parent
    folders = [folder for place in _PLACES for folder in Path("/").glob(place[1:])]
    whole = [folder for folder in folders if (folder / "initdb").is_file()]
    return max(whole, key=lambda folder: _number(folder.parent.name), default=None)


def _number(name: str) -> int:
    return int("".join(filter(str.isdigit, name.split(".", maxsplit=1)[0])) or 0)


PROGRAMS = _find()

MISSING = (
    "There is no PostgreSQL server on this machine, so the store was not tested against one: "
    "install Debian's package postgresql, or put initdb and pg_ctl on the PATH."
)
