"""What becomes of an entry that was sent to the recorder."""

from msgspec import Struct

from washmon.line.check import Fault
from washmon.line.journal import Entry
from washmon.line.message import Message


class Saved(Struct, frozen=True):
    """The entry is on the disk; ``kept_here`` on this computer's, not yet on the server's."""

    chain: str
    entry: Entry
    kept_here: bool = False


class Refused(Struct, frozen=True):
    """The entry can't be true; nothing was written."""

    faults: tuple[Fault, ...]


class Doubtful(Struct, frozen=True):
    """The entry is unlikely; it is taken if it is sent again as sure. Nothing was written."""

    doubts: tuple[Message, ...]


class Failed(Struct, frozen=True):
    """The disk or the database stands in the way; the sentence says what became of the entry."""

    sentence: Message


Answer = Saved | Refused | Doubtful | Failed


def refused(sentence: str, field: str = "") -> Refused:
    """Return a refusal for one plain reason."""
    return Refused((Fault(field, Message(sentence)),))
