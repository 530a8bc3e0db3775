"""``washmon replay``: a session file on the Board, or as text."""

from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import JsonOption, default_database, plainly
from washmon.sessions.file import SessionFileError, read
from washmon.sessions.headless import lines
from washmon.sessions.player import Judged


def replay(
    file: Annotated[Path, typer.Argument(help="A session file (.washshift).")],
    *,
    headless: Annotated[bool, typer.Option("--headless", help="Print, open no window.")] = False,
    salvage: Annotated[
        bool, typer.Option("--salvage", help="Of a damaged file, tell the entries that are sound.")
    ] = False,
    today: Annotated[
        bool,
        typer.Option("--today", help="Printed: as judged today, not as it was told then."),
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Replay a session file: each event, and the flags after it."""
    with plainly(SessionFileError):
        session = read(file, salvage=salvage)
    if not (headless or as_json):
        from washmon.cli.window import open_window  # noqa: PLC0415 - start-up

        raise typer.Exit(open_window(default_database(), session_file=file))
    judged = Judged.TODAY if today else Judged.THEN
    for line in lines(session, as_json=as_json, judged=judged):
        typer.echo(line)
