"""Starts the program as a shell does, with an environment of its own."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
NO_SCREEN = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")


def environment(home: Path, **more: str) -> dict[str, str]:
    """Return an environment without a screen and with an empty home."""
    kept = {name: value for name, value in os.environ.items() if name not in NO_SCREEN}
    paths = [str(ROOT), *filter(None, [kept.get("PYTHONPATH")])]
    return kept | {"HOME": str(home), "PYTHONPATH": os.pathsep.join(paths)} | more


def start(home: Path, *words: str, **more: str) -> "subprocess.Popen[str]":
    """Start the program and return at once."""
    return subprocess.Popen(
        [sys.executable, "-m", "washmon", *words],
        env=environment(home, **more),
        cwd=home,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )


def run(home: Path, *words: str, **more: str) -> "subprocess.CompletedProcess[str]":
    """Run the program to its end."""
    with start(home, *words, **more) as program:
        out, err = program.communicate(timeout=60)
    return subprocess.CompletedProcess(words, program.returncode, out, err)
