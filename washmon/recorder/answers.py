"""What becomes of an entry that was sent to the recorder."""

from dataclasses import dataclass

from washmon.line.check import Fault
from washmon.line.journal import Entry
from washmon.line.message import Message


@dataclass(frozen=True, slots=True)
class Saved:
    """The entry is on the disk."""

    chain: str
    entry: Entry


@dataclass(frozen=True, slots=True)
class Refused:
    """The entry can't be true; nothing was written."""

    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Doubtful:
    """The entry is unlikely; it is taken if it is sent again as sure. Nothing was written."""

    doubts: tuple[Message, ...]


@dataclass(frozen=True, slots=True)
class Failed:
    """The disk or the database stands in the way; nothing was written, try again."""

    sentence: Message


Answer = Saved | Refused | Doubtful | Failed


def refused(sentence: str, field: str = "") -> Refused:
    """Return a refusal for one plain reason."""
    return Refused((Fault(field, Message(sentence)),))
