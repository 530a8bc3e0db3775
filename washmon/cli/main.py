"""Where the program begins."""

import io
import sys
from typing import NamedTuple


class WindowWish(NamedTuple):
    """The window is all that was asked for."""

    database: str | None = None
    read_only: bool = False


def main() -> None:
    """Run the command line; the window's own start loads no command (start-up is measured)."""
    wish = window_wish(sys.argv[1:])
    if wish is None:
        from washmon.cli.commands import app  # noqa: PLC0415 - only where a command is asked for

        _write_any_text()
        app()
        return
    from washmon.cli.place import default_database  # noqa: PLC0415 - the same
    from washmon.cli.window import open_window  # noqa: PLC0415 - the same

    database = wish.database or default_database()
    sys.exit(open_window(database, read_only=wish.read_only))


def window_wish(words: list[str]) -> WindowWish | None:
    """Return what the words ask of the window, or nothing where they ask for something else."""
    wish = WindowWish()
    while words:
        match words:
            case ["--database", file, *words] if not file.startswith("-"):
                wish = wish._replace(database=file)
            case ["--read-only", *words]:
                wish = wish._replace(read_only=True)
            case _:
                return None
    return wish


def _write_any_text() -> None:
    """Write UTF-8 into files and pipes, as JSON must be (RFC 8259, 8.1); never stop at a sign."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            encoding = None if stream.isatty() else "utf-8"
            stream.reconfigure(encoding=encoding, errors="backslashreplace")
