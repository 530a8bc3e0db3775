"""What the commands share: exit status, where the database is, plain refusals."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

UNUSABLE = 2
"""Exit status where the program can't do what was asked; one sentence on stderr says why."""

DatabaseOption = Annotated[
    Path | None, typer.Option("--database", help="Another database file than your own.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Write JSON.")]


def refuse(sentence: object) -> typer.Exit:
    """Say why on stderr and return what ends the program."""
    typer.echo(f"washmon: {sentence}", err=True)
    return typer.Exit(UNUSABLE)


@contextmanager
def plainly(*expected: type[Exception]) -> Iterator[None]:
    """Turn what a person can mend into one sentence and exit status 2."""
    try:
        yield
    except expected as trouble:
        raise refuse(trouble) from None


def default_database() -> Path:
    """Return where the journal lies unless told otherwise."""
    from platformdirs import user_data_path  # noqa: PLC0415 - not needed with --database

    return user_data_path("washmon", appauthor=False) / "washmon.db"
