"""Where the program begins."""

import sys

import typer

PLAIN_OPTIONS = frozenset({"--read-only", "--version"})


def main() -> None:
    """Run the command line; the window's own start loads no command (start-up is measured)."""
    chosen_app()()


def chosen_app() -> typer.Typer:
    """Return the small command line where only the window is asked for, else the whole one."""
    if _only_the_window(sys.argv[1:]):
        from washmon.cli.starter import new_app  # noqa: PLC0415 - the reason for this function

        return new_app()
    from washmon.cli.commands import app  # noqa: PLC0415 - the same

    return app


def _only_the_window(words: list[str]) -> bool:
    match words:
        case []:
            return True
        case ["--database", _, *rest]:
            return _only_the_window(rest)
        case [first, *rest]:
            return first in PLAIN_OPTIONS and _only_the_window(rest)
    return False
