"""The program without a command: it opens the window."""

from typing import Annotated

import typer

from washmon import __version__
from washmon.cli.common import DatabaseOption, default_database
from washmon.cli.window import open_window


def new_app() -> typer.Typer:
    """Return a command line that knows no command yet."""
    app = typer.Typer(
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        help="Wash-line monitor for packing sheds. Without a command it opens the window.",
    )
    app.callback(invoke_without_command=True)(window)
    return app


def window(
    context: typer.Context,
    database: DatabaseOption = None,
    *,
    read_only: Annotated[bool, typer.Option("--read-only", help="Look, write nothing.")] = False,
    version: Annotated[bool, typer.Option("--version", help="Say which version this is.")] = False,
) -> None:
    """Open the Board on the running shift, or on what can be begun."""
    if context.invoked_subcommand is not None:
        return
    if version:
        typer.echo(f"washmon {__version__}")
        return
    raise typer.Exit(open_window(database or default_database(), read_only=read_only))
