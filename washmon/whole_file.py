"""Files that are written aside and renamed, so that there is a whole file or the one before it."""

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

OWN = 0o600
"""Rights of a file that is nobody else's."""
ANYONE = 0o666
"""Rights as the system usually gives them, less what the person's mask takes away."""
_ANEW = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0)


@contextmanager
def whole_file(target: Path, rights: int = ANYONE) -> Iterator[BinaryIO]:
    """Give a file to write bytes into; it gets its name when all of it is on the disk.

    Raises:
        OSError: the target is what it was, or whole if its folder alone refuses; nothing else is
            left of it.
    """
    part = target.with_name(target.name + ".part")
    try:
        with os.fdopen(os.open(part, _ANEW, rights), "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(target)
        sync_folder(target.parent)
    finally:
        part.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Make sure that the names of new files in a folder survive a power cut, where that can be.

    Raises:
        OSError: the disk refuses; a share that knows no such thing is let be.
    """
    if os.name == "nt":  # Windows keeps names in its own journal and can't open a folder
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in {errno.EINVAL, errno.ENOTSUP}:
            raise
    finally:
        os.close(handle)
