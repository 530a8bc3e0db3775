"""What the Logbook's list says of a shift: a small fold of its entries.

It is kept apart from :mod:`washmon.line.fold` on purpose: an entry is saved before anything is
judged, so whatever stands in the way of saving must be as simple as this.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from msgspec import Struct, structs

from washmon.line.clock_changes import moved, within
from washmon.line.event_base import RULES, Signature
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    ClockChanged,
    Corrected,
    DoseAdded,
    Event,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    LotSent,
    ReadingTaken,
    ShiftEnded,
    ShiftReviewed,
    ShiftSigned,
    ShiftStarted,
)
from washmon.line.journal import Entry
from washmon.line.judging import LimitKind
from washmon.line.quantities import judge_reading
from washmon.line.setup import LineSetup
from washmon.line.signing import SigningStage, reopens

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
WHOLE_SHIFT = -1
"""Stands for the tank where a name is looked for in all of a shift."""
_KEY_LENGTH = 80
"""PostgreSQL's indexes refuse long texts: of longer names only this beginning is looked up."""


class NameKind(StrEnum):
    """The kinds of names that shifts are found by."""

    LINE = "line"
    PERSON = "person"
    LOT = "lot"
    PRODUCE = "produce"
    CHEMICAL = "chemical"
    RECIPIENT = "recipient"


class Mention(NamedTuple):
    """A name that came up in a shift: in one tank, or (``WHOLE_SHIFT``) anywhere."""

    what: NameKind
    tank: int
    key: str


class ShiftRow(Struct, frozen=True, kw_only=True, gc=False):
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
    signatures: int = 0
    """Given since the last entry that has the shift signed anew."""
    stage: SigningStage = SigningStage.UNSIGNED
    """How far its signing has come, as :func:`washmon.line.signing.signing` says."""
    outside: int = 0
    """Readings with the sanitizer or pH out of their operating limits, or turbidity over its own,
    as :mod:`washmon.line.judging` says; corrections applied."""
    critical: int = 0
    """Those of them with free chlorine under the critical low."""


def microseconds(at: datetime) -> int:
    """Return an aware time as microseconds since 1970 UTC."""
    return (at - _EPOCH) // timedelta(microseconds=1)


def storable(text: str) -> str:
    """Return a text that any database takes: PostgreSQL has no NUL in a text."""
    return text.replace("\0", "\N{REPLACEMENT CHARACTER}")


def _storable_link(after: tuple[str, str] | None) -> tuple[str, str] | None:
    return after and (storable(after[0]), storable(after[1]))


@lru_cache(maxsize=4096)
def key_of(name: str) -> str:
    """Return what a name is looked up by: without regard to case and spacing."""
    return " ".join(storable(name).split()).casefold()[:_KEY_LENGTH]


@lru_cache(maxsize=4096)
def _mention_of(what: NameKind, tank: int, name: str) -> Mention | None:
    """Return a name as it is looked up; made once, as each batch of a lot names it again."""
    key = key_of(name)
    return Mention(what, tank, key) if key else None


@dataclass(frozen=True, slots=True)
class ShiftFold:
    """The entries of one chain, folded; ``then`` makes the next state from this one."""

    chain: str
    head: Entry | None = None
    started: ShiftStarted | None = None
    ended_at: datetime | None = None
    signatures: int = 0
    signed: bool = False
    """Whether who led it ever signed."""
    reviewed: bool = False
    """Whether a review came after that signature."""
    covered: bool = False
    """Whether nothing was entered since the last signature that has the shift read anew."""
    holds: Mapping[int, int | None] = field(default_factory=dict)
    """By place: which hold an entry releases, or None where it places one."""
    lots: Mapping[int, str] = field(default_factory=dict)
    """By place: which lot a batch was of."""
    outside: Mapping[int, bool] = field(default_factory=dict)
    """By place: readings out of limits, and whether free chlorine was under the critical low."""
    said: Mapping[int, tuple[Mention, ...]] = field(default_factory=dict)
    """By place: the names that a correction would take back."""
    mentions: Mapping[Mention, int] = field(default_factory=dict)
    """How often each name came up; 0 once all of them were taken back."""
    names: Mapping[Mention, str] = field(default_factory=dict)
    """How each name was first spelled."""

    def then(self, entries: Iterable[Entry]) -> "ShiftFold":
        """Return the state after more entries."""
        step = _Step(self)
        for entry in entries:
            step.take(entry)
        return step.done()

    def row(self) -> ShiftRow | None:
        """Return the line of the list, or None while no shift has begun in this chain."""
        started, head = self.started, self.head
        if started is None or head is None:
            return None
        codes = dict.fromkeys([*(lot.code for lot in started.lots), *self.lots.values()])
        return ShiftRow(
            chain=self.chain,
            site=storable(started.setup.site),
            line=storable(started.setup.line),
            commodity=storable(started.setup.commodity),
            started_at=started.at,
            ended_at=self.ended_at,
            supervisor=storable(started.by),
            lots=storable(", ".join(code for code in codes if code)),
            practice=started.practice,
            open_holds=self._open_holds(),
            entries=head.seq + 1,
            head=head.hash,
            after=_storable_link(started.after),
            signatures=self.signatures,
            stage=self._stage(),
            outside=len(self.outside),
            critical=sum(self.outside.values()),
        )

    def mentioned(self) -> frozenset[Mention]:
        """Return the names in this shift; none while no shift has begun in this chain."""
        if self.started is None:
            return frozenset()
        return frozenset(mention for mention, count in self.mentions.items() if count > 0)

    def _stage(self) -> SigningStage:
        if self.ended_at is None:
            return SigningStage.RUNNING
        if not self.signed:
            return SigningStage.UNSIGNED
        if not self.covered:
            return SigningStage.CHANGED
        return SigningStage.REVIEWED if self.reviewed else SigningStage.SIGNED

    def _open_holds(self) -> int:
        still_open = set()
        for place, released in sorted(self.holds.items()):
            if released is None:
                still_open.add(place)
            else:
                still_open.discard(released)
        return len(still_open)


class _Step:
    """Takes entries into copies of what a fold holds, so that the fold itself stays as it was."""

    def __init__(self, fold: ShiftFold) -> None:
        self._fold = fold
        self._head, self._started, self._ended_at = fold.head, fold.started, fold.ended_at
        self._signatures, self._covered = fold.signatures, fold.covered
        self._signed, self._reviewed = fold.signed, fold.reviewed
        self._holds, self._lots = dict(fold.holds), dict(fold.lots)
        self._outside, self._said = dict(fold.outside), dict(fold.said)
        self._mentions, self._names = Counter(fold.mentions), dict(fold.names)
        self._people_known = {RULES}

    def done(self) -> ShiftFold:
        return replace(
            self._fold,
            head=self._head,
            started=self._started,
            ended_at=self._ended_at,
            signatures=self._signatures,
            signed=self._signed,
            reviewed=self._reviewed,
            covered=self._covered,
            holds=self._holds,
            lots=self._lots,
            outside=self._outside,
            said=self._said,
            mentions=self._mentions,
            names=self._names,
        )

    def take(self, entry: Entry) -> None:
        event = entry.event
        self._sign(event)
        if isinstance(event, ClockChanged):
            self._move(within(event.by_s))
        self._event(entry.seq, event)
        self._people(event)
        self._head = entry

    def _sign(self, event: Event) -> None:
        if isinstance(event, Signature):
            before = self._head.hash if self._head else ""
            self._covered = event.covers == before
            self._signatures += self._covered
            self._signed = self._signed or isinstance(event, ShiftSigned)
            self._reviewed = isinstance(event, ShiftReviewed)
        elif reopens(event):
            self._signatures = 0
            self._covered = False

    def _people(self, event: Event) -> None:
        if event.by not in self._people_known:
            self._person(event.by)
        if isinstance(event, HandedOver):
            self._person(event.to)

    def _person(self, initials: str) -> None:
        """Mention somebody once: no correction takes back that somebody entered something."""
        self._people_known.add(initials)
        self._mention([(NameKind.PERSON, WHOLE_SHIFT, initials)])

    def _event(self, seq: int, event: Event) -> None:
        match event:  # what comes most stands first
            case BatchWashed():
                self._lots[seq] = event.lot
                tanks = (WHOLE_SHIFT, *event.tanks)
                self._say(seq, [(NameKind.LOT, tank, event.lot) for tank in tanks])
            case ReadingTaken():
                self._judge(seq, event)
            case ShiftStarted():
                self._started = self._started or event
                self._mention(_names_of(event))
            case ShiftEnded():
                self._ended_at = event.at
            case HoldPlaced():
                self._holds[seq] = None
            case HoldReleased():
                self._holds[seq] = event.hold
            case DoseAdded() | AcidAdded() | LotSent():
                self._say(seq, [_party(self._started, event)])
            case Corrected(entry=place, instead=instead):
                self._take_back(place)
                if instead is not None:
                    self._event(place, instead)

    def _move(self, by_s: int) -> None:
        """Show the shift at the time that a clock as it is now would have shown."""
        if self._started is not None:
            self._started = structs.replace(self._started, at=moved(self._started.at, by_s))
        if self._ended_at is not None:
            self._ended_at = moved(self._ended_at, by_s)

    def _judge(self, seq: int, event: ReadingTaken) -> None:
        if self._started is None or event.second:
            return
        judged = _out_of_limits(self._started.setup, event)
        if judged is not None:
            self._outside[seq] = judged

    def _take_back(self, place: int) -> None:
        self._holds.pop(place, None)
        self._lots.pop(place, None)
        self._outside.pop(place, None)
        self._mentions.subtract(self._said.pop(place, ()))

    def _say(self, seq: int, named: list[tuple[NameKind, int, str]]) -> None:
        self._said[seq] = self._mention(named)

    def _mention(self, named: Iterable[tuple[NameKind, int, str]]) -> tuple[Mention, ...]:
        said = []
        for what, tank, name in named:
            if (mention := _mention_of(what, tank, name)) is not None:
                self._names.setdefault(mention, storable(name))
                self._mentions[mention] += 1
                said.append(mention)
        return tuple(said)


def _names_of(event: ShiftStarted) -> Iterator[tuple[NameKind, int, str]]:
    yield NameKind.LINE, WHOLE_SHIFT, event.setup.line
    yield NameKind.PRODUCE, WHOLE_SHIFT, event.setup.commodity
    for lot in event.lots:
        yield NameKind.LOT, WHOLE_SHIFT, lot.code
        yield NameKind.PRODUCE, WHOLE_SHIFT, lot.produce


def _party(
    started: ShiftStarted | None, event: DoseAdded | AcidAdded | LotSent
) -> tuple[NameKind, int, str]:
    """Return the name of what came in, or of who got what went out."""
    if isinstance(event, LotSent):
        return NameKind.RECIPIENT, WHOLE_SHIFT, event.to
    return NameKind.CHEMICAL, WHOLE_SHIFT, _product_name(started, event)


def _product_name(started: ShiftStarted | None, event: DoseAdded | AcidAdded) -> str:
    if started is None:
        return event.product
    setup = started.setup
    find = setup.sanitizer if isinstance(event, DoseAdded) else setup.acid
    found = find(event.product)
    return found.name if found else event.product


def _out_of_limits(setup: LineSetup, event: ReadingTaken) -> bool | None:
    """Return None where all is within limits, else whether the sanitizer is critically low."""
    tank = next((tank for tank in setup.tanks if tank.number == event.tank), None)
    if tank is None:
        return None
    found = judge_reading(event, tank)
    level = found.get(tank.level_field)
    if level is not None and level.which is LimitKind.CRITICAL_LOW:
        return True
    return False if found.keys() & {tank.level_field, "ph", "turbidity_ntu"} else None
