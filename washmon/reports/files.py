"""Files that are written aside and renamed, so that there is a whole file or none."""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from washmon.units import PlainError
from washmon.whole_file import whole_file


class ExportError(PlainError):
    """A file that could not be written, with what to do about it; no part of it is left."""


@contextmanager
def written_aside(target: Path) -> Iterator[BinaryIO]:
    """Give a file to write bytes into; it gets its name when all of it is on the disk.

    Raises:
        ExportError: with a sentence; the target is as it was.
    """
    with told(target), whole_file(target) as file:
        yield file


@contextmanager
def told(target: Path) -> Iterator[None]:
    """Turn what the system says into one sentence.

    Raises:
        ExportError: instead of any OSError.
    """
    try:
        yield
    except OSError as error:
        raise _explained(target, error) from error


def _explained(target: Path, error: OSError) -> ExportError:
    name, folder = target.name, str(target.parent)
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return ExportError(
            "The disk is full, so {name} was not written: free some space or choose another disk.",
            name=name,
        )
    if error.errno in {errno.ENOENT, errno.ENOTDIR}:
        return ExportError(
            "There is no folder {folder}: choose another place for {name}.",
            name=name,
            folder=folder,
        )
    if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS, errno.EBUSY, errno.EISDIR}:
        return ExportError(
            "{name} can't be written in {folder}: close it if another program has it open, or "
            "choose another place.",
            name=name,
            folder=folder,
        )
    return ExportError(
        "{name} was not written ({why}): choose another place.",
        name=name,
        why=error.strerror or str(error),
    )
