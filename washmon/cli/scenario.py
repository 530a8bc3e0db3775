"""``washmon scenario``: a practice scenario from a session file."""

import errno
import os
from pathlib import Path
from typing import Annotated

import typer

from washmon.cli.common import plainly
from washmon.line.fold import NotAShift, fold
from washmon.sessions.file import SessionFileError, read
from washmon.sessions.practice.parameters import PracticeError
from washmon.whole_file import whole_file


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
