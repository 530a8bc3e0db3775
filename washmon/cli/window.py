"""The start of the window, and what is said where there can be none."""

import ctypes
import gc
import os
import socket
import sys
from importlib.util import find_spec
from pathlib import Path

from washmon import faultlog
from washmon.cli.place import UNUSABLE, settings_file, state_folder

QT_LIBRARIES = (
    "libegl1 libgl1 libxkbcommon-x11-0 libfontconfig1 libdbus-1-3 libxcb-cursor0 libxcb-icccm4 "
    "libxcb-keysyms1 libxcb-shape0 libxcb-xkb1"
)
NO_DISPLAY = (
    "there is no display to open a window on: start it on a desktop, or see 'washmon --help' for "
    "what it does without one."
)


def open_window(database: str, *, read_only: bool = False, session_file: Path | None = None) -> int:
    """Open the window and return its exit status; 2 with a sentence where there can be none."""
    if (lack := _lacking()) is not None:
        sys.stderr.write(f"washmon: {lack}\n")
        return UNUSABLE
    load()
    faultlog.keep_in(state_folder())
    try:
        from washmon.gui.app import run  # noqa: PLC0415 - everything else runs without Qt
    except ImportError as missing:
        sys.stderr.write(f"washmon: {_libraries(str(missing))}\n")
        return UNUSABLE
    return run(
        database,
        settings_file(database),
        read_only=read_only,
        session_file=session_file,
        state_folder=state_folder(),
    )


def load() -> None:
    """Load what stands behind the window: before Qt, whose import hook reads what comes after it.

    What is loaded stays. To look through it for garbage would take a tenth of the start; once the
    window is there, it collects by itself (:mod:`washmon.gui.app`).
    """
    gc.disable()
    import washmon.recorder  # noqa: F401, PLC0415 - start-up is measured


def _libraries(missing: str) -> str:
    return f"Qt can't start ({missing}): on Debian or Ubuntu, install {QT_LIBRARIES}."


def _lacking() -> str | None:
    """Return why Qt would abort on this machine, where that can be told beforehand."""
    if sys.platform != "linux" or os.environ.get("QT_QPA_PLATFORM"):
        return None
    if os.environ.get("WAYLAND_DISPLAY"):
        return None
    if not _answers(os.environ.get("DISPLAY", "")):
        return NO_DISPLAY
    try:
        _load_display_plugin()
    except OSError as missing:
        return _libraries(str(missing))
    return None


def _load_display_plugin() -> None:
    """Load what Qt will load for X, because Qt itself aborts where a library is missing."""
    package = find_spec("PySide6")
    if package is not None and package.origin is not None:
        plugin = Path(package.origin).parent / "Qt" / "plugins" / "platforms" / "libqxcb.so"
        ctypes.CDLL(str(plugin))


def _answers(display: str) -> bool:
    """Tell whether an X server listens at a display such as ``:0`` or ``host:10.0``."""
    host, _, number = display.partition(":")
    screen = number.partition(".")[0]
    if not screen.isdigit():
        return False
    if host in {"", "unix"}:
        name = f"/tmp/.X11-unix/X{screen}"  # noqa: S108 - where X servers listen
        return any(_connects(socket.AF_UNIX, place) for place in (name, f"\0{name}"))
    return _connects(socket.AF_INET, (host, 6000 + int(screen)))


def _connects(family: socket.AddressFamily, place: str | tuple[str, int]) -> bool:
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.settimeout(2.0)
        try:
            probe.connect(place)
        except OSError:
            return False
    return True
