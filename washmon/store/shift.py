"""What the Logbook's list says of a shift: a small fold of its entries.

It is kept apart from :mod:`washmon.line.fold` on purpose: an entry is saved before anything is
judged, so whatever stands in the way of saving must be as simple as this.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

from washmon.line.events import (
    BatchWashed,
    Corrected,
    Event,
    HoldPlaced,
    HoldReleased,
    ShiftEnded,
    ShiftStarted,
)
from washmon.line.journal import Entry

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, kw_only=True, slots=True)
class ShiftRow:
    """A shift in one line; ``lots`` are codes, ``supervisor`` the initials of who began it."""

    chain: str
    site: str
    line: str
    commodity: str
    started_at: datetime
    ended_at: datetime | None
    supervisor: str
    lots: str
    practice: bool
    open_holds: int
    entries: int
    head: str
    after: tuple[str, str] | None
    """The chain, and its hash, that this shift says it follows."""


def microseconds(at: datetime) -> int:
    """Return an aware time as microseconds since 1970 UTC."""
    return (at - _EPOCH) // timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class ShiftFold:
    """The entries of one chain, folded; ``then`` makes the next state from this one."""

    chain: str
    head: Entry | None = None
    started: ShiftStarted | None = None
    ended_at: datetime | None = None
    holds: Mapping[int, int | None] = field(default_factory=dict)
    """By place: which hold an entry releases, or None where it places one."""
    lots: Mapping[int, str] = field(default_factory=dict)
    """By place: which lot a batch was of."""

    def then(self, entries: Iterable[Entry]) -> "ShiftFold":
        """Return the state after more entries."""
        fold = self
        for entry in entries:
            fold = replace(_folded(fold, entry.seq, entry.event), head=entry)
        return fold

    def row(self) -> ShiftRow | None:
        """Return the line of the list, or None while no shift has begun in this chain."""
        started, head = self.started, self.head
        if started is None or head is None:
            return None
        codes = dict.fromkeys([*(lot.code for lot in started.lots), *self.lots.values()])
        return ShiftRow(
            chain=self.chain,
            site=started.setup.site,
            line=started.setup.line,
            commodity=started.setup.commodity,
            started_at=started.at,
            ended_at=self.ended_at,
            supervisor=started.by,
            lots=", ".join(code for code in codes if code),
            practice=started.practice,
            open_holds=self._open_holds(),
            entries=head.seq + 1,
            head=head.hash,
            after=started.after,
        )

    def _open_holds(self) -> int:
        still_open = set()
        for place, released in sorted(self.holds.items()):
            if released is None:
                still_open.add(place)
            else:
                still_open.discard(released)
        return len(still_open)


def _folded(fold: ShiftFold, seq: int, event: Event) -> ShiftFold:
    match event:
        case ShiftStarted():
            fold = replace(fold, started=fold.started or event)
        case ShiftEnded():
            fold = replace(fold, ended_at=event.at)
        case HoldPlaced():
            fold = replace(fold, holds={**fold.holds, seq: None})
        case HoldReleased():
            fold = replace(fold, holds={**fold.holds, seq: event.hold})
        case BatchWashed():
            fold = replace(fold, lots={**fold.lots, seq: event.lot})
        case Corrected(entry=place, instead=instead):
            fold = replace(
                fold,
                holds={key: hold for key, hold in fold.holds.items() if key != place},
                lots={key: lot for key, lot in fold.lots.items() if key != place},
            )
            fold = _folded(fold, place, instead) if instead else fold
    return fold
