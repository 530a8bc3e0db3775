"""The content of papers: files in a folder beside the database, each under its SHA-256.

The journal holds name, kind, size and hash of a paper (:mod:`washmon.line.registers`); its content
is written here first, whole or not at all, and never changed. Only what the journal names is read.
"""

import hashlib
import os
import re
import stat
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from secrets import token_hex
from typing import BinaryIO, NamedTuple

from washmon.line.check_registers import ALL_PAPERS, LARGEST_PAPER
from washmon.line.registers import Paper, plain_name
from washmon.store.engine import make_folder
from washmon.store.errors import CannotWrite, Place, told
from washmon.whole_file import OWN, sync_folder, whole_file

DOCUMENTS = frozenset(
    {
        ".csv", ".doc", ".docx", ".jpeg", ".jpg", ".md", ".odt", ".ods", ".pdf", ".png", ".tif",
        ".tiff", ".txt", ".xls", ".xlsx",
    }
)  # fmt: skip
"""What a paper's name may end with: nothing that would run as a program when it is opened."""
_BLOCK = 1 << 18
_HASH = re.compile(r"[0-9a-f]{64}")
_READ = (
    os.O_RDONLY
    | getattr(os, "O_NOFOLLOW", 0)
    | getattr(os, "O_NONBLOCK", 0)
    | getattr(os, "O_BINARY", 0)
)
"""A pipe is not waited for, and a link not followed."""


class Taken(NamedTuple):
    """A content that was taken in: its SHA-256, its bytes, and its name without anything odd."""

    sha256: str
    size: int
    name: str
    is_new: bool


def papers_folder(place: Place, state_folder: Path | None) -> Path | None:
    """Return where the papers of a database lie: beside its file.

    Those of a server's database lie in the state folder of this computer, if there is one.
    """
    if isinstance(place, Path):
        return place.with_name(f"{place.stem}-papers")
    return None if state_folder is None else state_folder / "papers"


def take_in(source: Path, folder: Path) -> Taken:
    """Copy a file into the folder under its hash; it has reached the disk when this returns.

    Raises:
        CannotWrite: with a sentence on what it is: gone, no file, a link, too large, empty, or no
            document; or the folder is full or refuses. Nothing is left of it.
        DiskFull: there is no room on the disk.
    """
    name = plain_name(source.name)
    if Path(name).suffix.casefold() not in DOCUMENTS:
        raise CannotWrite(f"{name} is no document or picture: save it as a PDF, then choose that.")
    with told(folder):
        make_folder(folder)
        unnamed = folder / f".{token_hex(8)}"
        try:
            with _opened(source, name) as handle, whole_file(unnamed, OWN) as copy:
                digest, size = _copied(handle, copy, name)
            return _named(unnamed, folder, Taken(digest, size, name, is_new=True))
        finally:
            unnamed.unlink(missing_ok=True)


class _Handle:
    """A file descriptor that is closed in any case."""

    def __init__(self, number: int) -> None:
        self.number = number

    def __enter__(self) -> int:
        return self.number

    def __exit__(self, *_: object) -> None:
        os.close(self.number)


def _opened(source: Path, name: str) -> _Handle:
    """Open a plain file for reading.

    Raises:
        CannotWrite: it is something else, or can't be read.
    """
    try:
        if source.is_symlink():
            raise CannotWrite(f"{name} is only a link: choose the file that it leads to.")
        handle = _Handle(os.open(source, _READ))
    except FileNotFoundError:
        raise CannotWrite(f"{name} is not there any more: choose it again.") from None
    except OSError as error:
        why = error.strerror or str(error)
        raise CannotWrite(f"{name} can't be read ({why}): choose another file.") from error
    if not stat.S_ISREG(os.fstat(handle.number).st_mode):
        os.close(handle.number)
        raise CannotWrite(f"{name} is no file that could be kept: choose a document.")
    return handle


def _copied(handle: int, copy: BinaryIO, name: str) -> tuple[str, int]:
    """Copy what a handle reads; return its SHA-256 and its bytes."""
    digest, size = hashlib.sha256(), 0
    while block := os.read(handle, _BLOCK):
        size += len(block)
        if size > LARGEST_PAPER:
            raise CannotWrite(f"{name} is too large: a paper has 20 MB at the most.")
        digest.update(block)
        copy.write(block)
    if not size:
        raise CannotWrite(f"{name} is empty: choose another file.")
    return digest.hexdigest(), size


def _named(part: Path, folder: Path, taken: Taken) -> Taken:
    """Give a copy its name, unless the same content is there already."""
    target = folder / taken.sha256
    if fault_of(folder, taken.sha256) is None:
        return taken._replace(is_new=False)
    if _held(folder) + taken.size > ALL_PAPERS:
        raise CannotWrite("There is no room for more papers: all together have 1 GB at the most.")
    part.replace(target)
    sync_folder(folder)
    return taken


def _held(folder: Path) -> int:
    return sum(one.stat().st_size for one in folder.iterdir() if _HASH.fullmatch(one.name))


def let_go(folder: Path, taken: Taken) -> None:
    """Take a content out again that the journal did not take."""
    if taken.is_new:
        with suppress(OSError):
            (folder / taken.sha256).unlink()


def fault_of(folder: Path, sha256: str) -> str | None:
    """Return what is wrong with a content: ``missing`` or ``changed``; None: it is whole."""
    try:
        handle = os.open(folder / sha256, _READ)
    except OSError:
        return "missing"
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            return "changed"
        digest, size = hashlib.sha256(), 0
        while (block := os.read(handle, _BLOCK)) and size <= LARGEST_PAPER:
            size += len(block)
            digest.update(block)
    except OSError:
        return "changed"
    finally:
        os.close(handle)
    return None if digest.hexdigest() == sha256 else "changed"


def seems_whole(folder: Path | None, paper: Paper) -> bool:
    """Tell at a glance whether a content lies where it should, a file of the size it had."""
    try:
        found = (folder / paper.sha256).lstat() if folder is not None else None
    except OSError:
        return False
    return found is not None and stat.S_ISREG(found.st_mode) and found.st_size == paper.size


def amiss(papers: Iterable[Paper], folder: Path | None) -> Iterator[tuple[Paper, str]]:
    """Yield the papers whose content is ``missing`` or was ``changed``."""
    seen: dict[str, str | None] = {}
    for paper in papers:
        if paper.sha256 not in seen:
            known = folder is not None and _HASH.fullmatch(paper.sha256)
            seen[paper.sha256] = fault_of(folder, paper.sha256) if folder and known else "missing"
        if (what := seen[paper.sha256]) is not None:
            yield paper, what


def said(paper: Paper, what: str) -> str:
    """Return in a sentence that the content of a paper is missing or was changed."""
    where = f"{paper.name} (SHA-256 {paper.sha256[:12]}…)"
    if what == "missing":
        return f"The file of the paper {where} is missing."
    return f"The file of the paper {where} was changed."


def copy_missing(papers: Iterable[Paper], source: Path | None, target: Path) -> list[str]:
    """Copy what is not in another folder yet; return in sentences what could not be.

    A content that is not as the journal says is not copied.

    Raises:
        CannotWrite, DiskFull: the other folder refuses.
    """
    left: list[str] = []
    for paper in papers:
        if not _HASH.fullmatch(paper.sha256) or fault_of(target, paper.sha256) is None:
            continue
        what = "missing" if source is None else fault_of(source, paper.sha256)
        if source is None or what is not None:
            left.append(said(paper, what or "missing"))
            continue
        with told(target):
            make_folder(target)
            with (
                _Handle(os.open(source / paper.sha256, _READ)) as handle,
                whole_file(target / paper.sha256, OWN) as copy,
            ):
                _copied(handle, copy, paper.name)
    return left


def lay_out(folder: Path, paper: Paper, into: Path) -> Path:
    """Copy a paper under its own name into a folder, to be opened by another program.

    Raises:
        CannotWrite: its content is missing or was changed, or its name is of no document.
    """
    name = plain_name(paper.file)
    if Path(name).suffix.casefold() not in DOCUMENTS:
        raise CannotWrite(f"{name} is no document: it is not opened.")
    if (what := fault_of(folder, paper.sha256)) is not None:
        raise CannotWrite(said(paper, what))
    with told(into):
        place = into / paper.sha256[:12]
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        target = place / name
        with (
            _Handle(os.open(folder / paper.sha256, _READ)) as handle,
            whole_file(target, OWN) as copy,
        ):
            _copied(handle, copy, name)
        target.chmod(0o400)
    return target
