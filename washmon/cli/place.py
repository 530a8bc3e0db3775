"""Where the database lies, and how the program ends where it can't do what was asked."""

from pathlib import Path

UNUSABLE = 2
"""Exit status where the program can't do what was asked; one sentence on stderr says why."""


def default_database() -> str:
    """Return where the journal lies unless told otherwise."""
    from platformdirs import user_data_path  # noqa: PLC0415 - not needed with --database

    return str(user_data_path("washmon", appauthor=False) / "washmon.db")


def state_folder() -> Path:
    """Return where the program keeps what it remembers outside of the database."""
    from platformdirs import user_state_path  # noqa: PLC0415 - the window asks later

    return user_state_path("washmon", appauthor=False)


def settings_file(database: str) -> Path:
    """Return where the looks and habits lie that belong to a database."""
    if "://" in database:
        return Path(default_database()).with_suffix(".ini")
    return Path(database).with_suffix(".ini")
