"""The shed's own words: short notes and sentences that were written before, to be taken again."""

import re
from collections import Counter
from collections.abc import Iterable

from msgspec import Struct

from washmon.line.events import HoldReleased, NoteWritten
from washmon.line.journal import Entry

_LONGEST_NOTE = 60
_KEPT = 12
_TAIL = re.compile(r"\s*\([^()]*\)$")
"""What ties a sentence to the shift in which it was written: it is not the shed's own."""


class OwnWords(Struct, frozen=True):
    """What is written often comes first."""

    notes: tuple[str, ...] = ()
    prevention: tuple[str, ...] = ()

    def with_entry(self, entry: Entry) -> "OwnWords":
        """Return these with what was just written before them."""
        new = own_words((entry,))
        return OwnWords(
            tuple(dict.fromkeys((*new.notes, *self.notes)))[:_KEPT],
            tuple(dict.fromkeys((*new.prevention, *self.prevention)))[:_KEPT],
        )


def own_words(entries: Iterable[Entry]) -> OwnWords:
    """Return the words of a shed from entries in their order; of equal use, the newest first."""
    notes: list[str] = []
    prevention: list[str] = []
    for entry in entries:
        match entry.event:
            case NoteWritten(text=text) if len(text.strip()) <= _LONGEST_NOTE:
                notes.append(text.strip())
            case HoldReleased(prevention=text) if text.strip():
                prevention.append(_TAIL.sub("", text.strip()))
    return OwnWords(_ranked(notes), _ranked(prevention))


def _ranked(texts: list[str]) -> tuple[str, ...]:
    newest = list(dict.fromkeys(reversed([text for text in texts if text])))
    uses = Counter(texts)
    return tuple(sorted(newest, key=lambda text: -uses[text])[:_KEPT])
