"""The command line: opens the window, and does the same jobs without one."""

from washmon.cli.main import main

__all__ = ["main"]
