"""What the commands share: their options, and plain refusals."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Annotated

import typer

from washmon.cli.place import UNUSABLE, default_database

DatabaseOption = Annotated[
    str | None,
    typer.Option(
        "--database", help="Another database file than your own, or the URL of a PostgreSQL one."
    ),
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


__all__ = ["UNUSABLE", "DatabaseOption", "JsonOption", "default_database", "plainly", "refuse"]


def counted(count: int, one: str, many: str = "") -> str:
    """Return a number and what it counts, in the plural where it is not one."""
    return f"{count} {one if count == 1 else many or one + 's'}"


@contextmanager
def progress_bar(length: int) -> Iterator[Callable[[int], None]]:
    """Show on a terminal how far it is; Ctrl+C stops it, and no half file is left."""
    if not sys.stderr.isatty():
        yield _say_nothing
        return
    with typer.progressbar(length=length, label="Writing", file=sys.stderr) as bar:

        def move(done: int) -> None:
            bar.update(done - bar.pos)

        yield move


def _say_nothing(done: int) -> None:
    del done
