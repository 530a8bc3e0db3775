"""Commands on session files: a replay, and a practice scenario made of one."""

import errno
import os
from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import JsonOption, default_database, plainly
from washmon.line.fold import NotAShift, fold
from washmon.sessions.file import SessionFileError, read
from washmon.sessions.headless import lines
from washmon.sessions.player import Judged
from washmon.sessions.practice.parameters import PracticeError
from washmon.whole_file import whole_file


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


def scenario(
    file: Annotated[Path, typer.Argument(help="A session file (.washshift).")],
    target: Annotated[Path, typer.Argument(help="The scenario file to write (.toml).")],
) -> None:
    """Make a practice scenario from a recorded shift, and try it with the good strategy."""
    from washmon.sessions.making.from_shift import make_scenario  # noqa: PLC0415 - start-up

    with plainly(SessionFileError, NotAShift, PracticeError, OSError):
        session = read(file)
        made = make_scenario(fold(session.header.chain, session.entries))
        if target.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target))
        with whole_file(target) as out:
            out.write(made.text.encode())
    score = f"{made.good_score:.0f} of 100 points"
    if made.has_solution:
        typer.echo(f"{target}: the good strategy reaches {score}.")
    else:
        typer.echo(f"{target} has no solution: the good strategy fails this one too, with {score}.")
