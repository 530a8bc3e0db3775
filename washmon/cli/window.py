"""The start of the window, and what is said where there can be none."""

import os
import sys
from pathlib import Path

import typer

from washmon.cli.common import UNUSABLE

QT_LIBRARIES = "libegl1 libgl1 libxkbcommon0 libfontconfig1 libdbus-1-3 libxcb-cursor0"


def open_window(
    database: Path, *, read_only: bool = False, session_file: Path | None = None
) -> int:
    """Open the window and return its exit status; 2 with a sentence where there can be none."""
    if _display_is_missing():
        typer.echo(
            "washmon: there is no display to open a window on: start it on a desktop, or see "
            "'washmon --help' for what it does without one.",
            err=True,
        )
        return UNUSABLE
    try:
        from washmon.gui.app import run  # noqa: PLC0415 - everything else runs without Qt
    except ImportError as missing:
        typer.echo(
            f"washmon: Qt can't start ({missing}): on Debian or Ubuntu, install {QT_LIBRARIES}.",
            err=True,
        )
        return UNUSABLE
    return run(database, read_only=read_only, session_file=session_file)


def _display_is_missing() -> bool:
    """Tell whether Qt would abort for want of a display."""
    chosen = ("QT_QPA_PLATFORM", "DISPLAY", "WAYLAND_DISPLAY")
    return sys.platform == "linux" and not any(os.environ.get(name) for name in chosen)
