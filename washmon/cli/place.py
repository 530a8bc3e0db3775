"""Where the database lies, and how the program ends where it can't do what was asked."""

from pathlib import Path

UNUSABLE = 2
"""Exit status where the program can't do what was asked; one sentence on stderr says why."""


def default_database() -> Path:
    """Return where the journal lies unless told otherwise."""
    from platformdirs import user_data_path  # noqa: PLC0415 - not needed with --database

    return user_data_path("washmon", appauthor=False) / "washmon.db"
