"""What went wrong, kept for whoever mends it: kinds and places of faults, and nobody's words.

A fault's own sentence may hold a name, a note or a path, so it is never written down: only what
kind of fault it was, and through which lines of the program it came.
"""

import faulthandler
import logging
import os
import sys
import threading
import traceback
from collections.abc import Callable, Iterator
from io import TextIOWrapper
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import TracebackType

LOG, CRASH = "washmon.log", "crash.log"
_MOST_BYTES, _OLDER = 200_000, 2
_PACKAGE = "washmon"
_log = logging.getLogger(_PACKAGE)
_listeners: list[Callable[[], None]] = []


def keep_in(folder: Path) -> None:
    """Keep a log in a folder of the user's, and note there what nobody catches.

    Where the folder refuses, the program goes on without.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        handler = _Own(folder / LOG, maxBytes=_MOST_BYTES, backupCount=_OLDER, encoding="utf-8")
        crash = os.open(folder / CRASH, os.O_CREAT | os.O_WRONLY | os.O_APPEND, 0o600)
    except OSError:
        return
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    _log.addHandler(handler)
    _log.setLevel(logging.INFO)
    _log.propagate = False
    faulthandler.enable(crash)
    sys.excepthook = _heard(sys.excepthook)
    before = threading.excepthook

    def in_thread(told: threading.ExceptHookArgs) -> None:
        if told.exc_value is not None:
            note(told.exc_value)
        before(told)

    threading.excepthook = in_thread


def note(fault: BaseException) -> None:
    """Note a fault, and let those know who listen."""
    _log.error("%s", "; ".join(places(fault)))
    for listener in (*_listeners,):
        try:
            listener()
        except RuntimeError:  # a window that is gone listens no more, and its fault is none of ours
            _listeners.remove(listener)


def listen(listener: Callable[[], None]) -> None:
    """Have something done after each fault, on whichever thread it was met."""
    _listeners.append(listener)


def places(fault: BaseException) -> Iterator[str]:
    """Yield the kind of a fault and of what caused it, each with the lines it came through."""
    seen: set[int] = set()
    one: BaseException | None = fault
    while one is not None and id(one) not in seen:
        seen.add(id(one))
        frames = traceback.extract_tb(one.__traceback__)
        lines = [f"{_module(frame.filename)}:{frame.lineno}" for frame in frames]
        yield f"{type(one).__module__}.{type(one).__qualname__} at {' > '.join(lines) or '?'}"
        one = one.__cause__ or one.__context__


def read(folder: Path) -> list[str]:
    """Return the lines of the log, the oldest first."""
    found: list[str] = []
    for number in range(_OLDER, -1, -1):
        path = folder / (LOG + (f".{number}" if number else ""))
        if path.is_file():
            found += path.read_text("utf-8", "replace").splitlines()
    return found


class _Own(RotatingFileHandler):
    """Makes files that nobody else reads."""

    def _open(self) -> TextIOWrapper:
        handle = os.open(self.baseFilename, os.O_CREAT | os.O_WRONLY | os.O_APPEND, 0o600)
        return TextIOWrapper(os.fdopen(handle, "ab"), encoding=self.encoding)


Hook = Callable[[type[BaseException], BaseException, TracebackType | None], object]


def _heard(before: Hook) -> Hook:
    def hook(kind: type[BaseException], fault: BaseException, where: TracebackType | None) -> None:
        if not issubclass(kind, KeyboardInterrupt):
            note(fault)
        before(kind, fault, where)

    return hook


def _module(file: str) -> str:
    """Return a file from its package on: what stands before is the user's own."""
    parts = Path(file).parts
    for mark in (_PACKAGE, "site-packages"):
        if mark in parts:
            at = len(parts) - 1 - parts[::-1].index(mark)
            return "/".join(parts[at if mark == _PACKAGE else at + 1 :])
    return parts[-1]
