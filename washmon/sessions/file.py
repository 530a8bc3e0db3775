"""Session files: one shift's journal in a file of its own, for replay and hand-over.

The file is JSON Lines. The first line tells what it is (:class:`SessionHeader`), each further line
is one journal entry with its body exactly as it was hashed, so the chain can be verified from the
file alone. Every line is in one fixed form: whatever is changed, cut or added is found.

A trainer's notes and questions (:class:`Lesson`) stand in the first line, outside of the chain:
they are about the shift, not of it. A file without them is still of version 1, one with them of 2,
and one in which a question has answers of its own of 3.
"""

import hashlib
from collections.abc import Iterator, Sequence
from datetime import datetime
from enum import StrEnum
from itertools import islice
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType
from msgspec.structs import replace

from washmon import __version__
from washmon.line.events import Event, ShiftStarted
from washmon.line.journal import GENESIS, Entry, link
from washmon.line.setup import LineSetup
from washmon.sessions.possible import YEARS, ImpossibleError, NoTimeError, possible_event
from washmon.units import PlainError
from washmon.whole_file import whole_file

SUFFIX = ".washshift"
FORMAT = "washmon session"
VERSION = 3
LESSONS_VERSION = 2
PLAIN_VERSION = 1
"""Of a file without lessons."""
MOST_BYTES = 32 * 1024 * 1024
"""No shift comes near this: it would be one of a hundred thousand entries. Read, it takes some ten
times as much memory."""
Row = tuple[int, datetime, bytes, str]
"""A journal entry as it is stored: place, time of writing, body, hash."""


class SessionFileError(PlainError):
    """A session file can't be opened or written; its text is one sentence that says what to do.

    ``readable`` counts the entries that are sound: where it is not 0, ``read(..., salvage=True)``
    opens that many.
    """

    def __init__(self, template: str, *, readable: int = 0, **values: str) -> None:
        super().__init__(template, **values)
        self.readable = readable


class _Kind(Struct, frozen=True):
    """As much of a first line as every version has."""

    format: str
    version: int


class LessonKind(StrEnum):
    """What a trainer left at a place of a shift."""

    NOTE = "note"
    QUESTION = "question"


LONGEST_ANSWER, MOST_ANSWERS = 200, (2, 6)
Answer = Annotated[str, Meta(min_length=1, max_length=LONGEST_ANSWER)]


class Lesson(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A trainer's note or question, to be shown once the entry ``after`` has been played."""

    after: Annotated[int, Meta(ge=0)]
    kind: LessonKind
    text: Annotated[str, Meta(min_length=1, max_length=2000)]
    tank: int | None = None
    answers: (
        Annotated[tuple[Answer, ...], Meta(min_length=MOST_ANSWERS[0], max_length=MOST_ANSWERS[1])]
        | UnsetType
    ) = UNSET
    """A question's own answers, the right one first; left out where the usual ones are offered."""


class SessionHeader(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The first line. ``seal`` is the SHA-256 of the line as it is without its seal."""

    format: str
    version: int
    program: str
    chain: str
    title: str
    teaching_note: str
    entries: Annotated[int, Meta(ge=0)]
    head: str
    seal: str = ""
    lessons: tuple[Lesson, ...] | UnsetType = UNSET
    """Left out where there are none, so that older programs read the file."""

    def sealed(self) -> "SessionHeader":
        """Return the header with the seal that fits it."""
        bare = msgspec.json.encode(replace(self, seal=""))
        return replace(self, seal=hashlib.sha256(bare).hexdigest())


class _Line(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    seq: int
    recorded_at: str
    event: msgspec.Raw
    hash: str


class Session(Struct, frozen=True, kw_only=True):
    """A shift as it was read from a file; ``complete`` is False where only a part was left."""

    header: SessionHeader
    entries: tuple[Entry, ...]
    complete: bool = True
    lines: bytes = b""
    """All lines after the first as they stand in the file; of a whole session only."""

    @property
    def lessons(self) -> tuple[Lesson, ...]:
        """The trainer's notes and questions."""
        return () if self.header.lessons is UNSET else self.header.lessons

    @property
    def is_practice(self) -> bool:
        """Whether the shift was simulated."""
        started = self.entries[0].event
        return isinstance(started, ShiftStarted) and started.practice

    @property
    def setup(self) -> LineSetup:
        """The set-up that the shift ran on."""
        started = self.entries[0].event
        assert isinstance(started, ShiftStarted)  # noqa: S101 - reading made sure of it
        return started.setup


def write(path: Path, chain: str, rows: Sequence[Row], title: str, note: str = "") -> None:
    """Write a shift to a file, aside first, so that a file of this name is never half written.

    Raises:
        SessionFileError: the place can't be written.
    """
    _save(path, compose(chain, rows, title, note))


def write_lessons(path: Path, session: Session, lessons: Sequence[Lesson]) -> None:
    """Write a whole session to a file with other lessons; its entries stay as they are.

    Raises:
        SessionFileError: the place can't be written, or only a part of the session is there.
    """
    if not session.complete or not session.lines:
        raise SessionFileError(
            "Only a part of this shift was read: lessons can be saved with a whole one.",
        )
    header = replace(
        session.header,
        version=_version(lessons),
        lessons=tuple(lessons) or UNSET,
    )
    _save(path, msgspec.json.encode(header.sealed()) + b"\n" + session.lines)


def _version(lessons: Sequence[Lesson]) -> int:
    """Return the lowest version that holds these lessons, so that older programs read the file."""
    if any(one.answers is not UNSET for one in lessons):
        return VERSION
    return LESSONS_VERSION if lessons else PLAIN_VERSION


def _save(path: Path, body: bytes) -> None:
    try:
        with whole_file(path) as file:
            file.write(body)
    except OSError as error:
        raise SessionFileError(
            "{file} can't be written ({reason}): choose another place, or make room there.",
            file=path.name,
            reason=error.strerror or str(error),
        ) from error


def compose(
    chain: str,
    rows: Sequence[Row],
    title: str,
    note: str = "",
    *,
    program: str = f"washmon {__version__}",
) -> bytes:
    """Return the bytes of a session file."""
    header = SessionHeader(
        format=FORMAT,
        version=PLAIN_VERSION,
        program=program,
        chain=chain,
        title=title,
        teaching_note=note,
        entries=len(rows),
        head=rows[-1][3] if rows else GENESIS,
    )
    lines = (
        _Line(seq=seq, recorded_at=at.isoformat(), event=msgspec.Raw(body), hash=digest)
        for seq, at, body, digest in rows
    )
    return msgspec.json.Encoder().encode_lines([header.sealed(), *lines])


def read(path: Path, *, salvage: bool = False) -> Session:
    """Read a session file; ``salvage`` takes the sound entries before the first defect.

    Raises:
        SessionFileError: with a sentence for a person.
    """
    try:
        if path.exists() and not (path.is_file() or path.is_dir()):  # a pipe is waited for
            raise ValueError("it is no file")  # noqa: TRY301 - told as what stands in the way
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise SessionFileError(
            "{file} can't be read ({reason}): check that it is there and that you may open it.",
            file=path.name,
            reason=getattr(error, "strerror", None) or str(error),
        ) from error
    return parse(data, path.name, salvage=salvage)


def parse(data: bytes, name: str, *, salvage: bool = False) -> Session:
    """Return the session in the bytes of a file called ``name``; see :func:`read`."""
    if len(data) > MOST_BYTES:
        raise SessionFileError(
            "{file} is larger than {most} MB, which no shift is: choose a session file.",
            file=name,
            most=str(MOST_BYTES // 1024**2),
        )
    if not data:
        raise SessionFileError("{file} is empty: get the session file again.", file=name)
    first, *lines = data.split(b"\n")
    header = _header(first, name)
    entries: list[Entry] = []
    try:
        for entry in _entries(header, lines, name):
            entries.append(entry)  # noqa: PERF402 - one by one: those before a defect are kept
    except SessionFileError as defect:
        if not salvage or not defect.readable:
            raise
        _check_one_shift(entries, name)
        return Session(header=header, entries=tuple(entries), complete=False)
    _check_one_shift(entries, name)
    return Session(header=header, entries=tuple(entries), lines=data[len(first) + 1 :])


def _header(line: bytes, name: str) -> SessionHeader:
    try:
        kind = msgspec.json.decode(line, type=_Kind)
    except (ValueError, RecursionError):
        kind = None
    if kind is None or kind.format != FORMAT or kind.version < 1:
        raise SessionFileError(
            "{file} is not a session file of washmon: choose one that ends in {suffix}.",
            file=name,
            suffix=SUFFIX,
        )
    if kind.version > VERSION:
        raise SessionFileError(
            "{file} was made by a later version of washmon: update this one to open it.", file=name
        )
    try:
        header = msgspec.json.decode(line, type=SessionHeader)
        sound = msgspec.json.encode(header.sealed()) == line
    except (ValueError, RecursionError):
        sound = False
    if not sound:
        raise SessionFileError(
            "The first line of {file} was changed after it was written: get the file again.",
            file=name,
        )
    return header


def _entries(header: SessionHeader, lines: Sequence[bytes], name: str) -> Iterator[Entry]:
    """Yield the entries as long as they are sound; a line counts when its end is there too."""
    previous = GENESIS
    whole = lines[:-1]
    for seq, line in enumerate(islice(whole, header.entries)):
        entry = _entry(header.chain, seq, previous, line)
        if entry is None:
            raise _changed(seq, name)
        event = _event(seq, bytes(entry.event), name)
        previous = entry.hash
        yield Entry(seq, datetime.fromisoformat(entry.recorded_at), event, entry.hash)
    if len(whole) < header.entries:
        raise SessionFileError(
            "{file} is cut off after {sound} of its {entries} entries: get the whole file "
            "again, or open the part that is left.",
            readable=len(whole),
            file=name,
            sound=str(len(whole)),
            entries=str(header.entries),
        )
    if previous != header.head or len(whole) > header.entries or lines[-1]:
        raise _changed(header.entries, name)


def _entry(chain: str, seq: int, previous: str, line: bytes) -> _Line | None:
    """Return a line that follows the hash before it, in its one fixed form."""
    try:
        entry = msgspec.json.decode(line, type=_Line)
        if entry.seq != seq or msgspec.json.encode(entry) != line:
            return None
        at = datetime.fromisoformat(entry.recorded_at)
    except (ValueError, RecursionError):
        return None
    if at.utcoffset() is None or at.isoformat() != entry.recorded_at or at.year not in YEARS:
        return None
    body = bytes(entry.event)
    return entry if link(previous, chain, seq, at, body) == entry.hash else None


def _changed(seq: int, name: str) -> SessionFileError:
    return SessionFileError(
        "{file} was changed after it was written, from entry {seq} on: get the file again, or open "
        "the part before it.",
        readable=seq,
        file=name,
        seq=str(seq),
    )


def _event(seq: int, body: bytes, name: str) -> Event:
    """Return the event of a body that the chain vouches for.

    Raises:
        SessionFileError: it is of a later version, or its time can't be.
    """
    try:
        return possible_event(body)
    except NoTimeError as error:
        raise SessionFileError(
            "Entry {seq} of {file} has no time that can be placed: get the file again.",
            readable=seq,
            seq=str(seq),
            file=name,
        ) from error
    except ImpossibleError as error:
        raise SessionFileError(
            "Entry {seq} of {file} holds {reason}, which can't be: get the file again.",
            readable=seq,
            seq=str(seq),
            file=name,
            reason=str(error),
        ) from error
    except (ValueError, RecursionError) as error:
        raise SessionFileError(
            "Entry {seq} of {file} holds what this version does not know ({reason}): update "
            "washmon to open it.",
            readable=seq,
            seq=str(seq),
            file=name,
            reason=str(error),
        ) from error


def _check_one_shift(entries: Sequence[Entry], name: str) -> None:
    if [entry.seq for entry in entries if isinstance(entry.event, ShiftStarted)] != [0]:
        raise SessionFileError(
            "{file} does not hold one shift from its start: choose another session file.",
            file=name,
        )
