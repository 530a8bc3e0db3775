"""Each batch of a trainee in each tank, by what could be known: was its water good, was it held?"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from enum import StrEnum
from typing import NamedTuple

from msgspec import Struct

from washmon.line.event_base import RULES
from washmon.line.events import (
    BatchWashed,
    DoseAdded,
    HoldPlaced,
    ReadingTaken,
    TankFilled,
    WaterExchanged,
)
from washmon.line.fold import begin, step
from washmon.line.journal import Entry
from washmon.line.judging import in_range, judge_ph, may_wash
from washmon.line.reading import level_of
from washmon.line.setup import LineSetup, Tank
from washmon.line.state import ShiftState
from washmon.rules.in_question import to_hold
from washmon.sessions.practice.attempt import BACKSTAGE
from washmon.sessions.practice.scenario import COLLEAGUE

SLACK = timedelta(minutes=2)
"""A check may be so late before a batch counts as washed unwatched, as the rules have it."""


class Fate(StrEnum):
    """How a batch counts in one of its tanks."""

    WELL = "washed behind a good check of water in its limits"
    NO_PH = "washed behind a good check of the level; the pH outside its limits or not measured"
    OUTSIDE = "washed on though the check showed the level outside its operating limits"
    LATE = "washed while a check was overdue; the next one found the water good"
    HELD = "in question, and held"
    NEEDLESS = "held though nothing spoke against it"
    UNKNOWN = "washed in water that nobody had measured, nor did afterwards"
    IN_VAIN = "washed on in water known to be bad, and held"
    SOLD = "in question, and not held"
    KNOWN_BAD = "washed on in water known to be bad, and not held"


WORTH = {
    Fate.WELL: 1.0,
    Fate.NO_PH: 2.0 / 3.0,
    Fate.OUTSIDE: 0.25,
    Fate.LATE: 0.5,
    Fate.HELD: 0.1,
    Fate.NEEDLESS: 0.0,
    Fate.UNKNOWN: 0.0,
    Fate.IN_VAIN: 0.0,
    Fate.SOLD: 0.0,
    Fate.KNOWN_BAD: -1.0,
}
"""How much of a batch washed well each fate is worth, of a whole one: ours, no published source."""


class Washed(Struct, frozen=True, kw_only=True):
    """A batch in one tank.

    ``watched``: a check of this water was still good. ``level_ok`` and ``ph_ok``: it, and the last
    one of the pH, showed these within their operating limits. ``known_bad``: the last check of this
    water had shown less than the critical low, or too much, and nothing was done since.
    ``vouched``: it was not watched, but the next check of the same water, before anything was
    added, found the level good. ``asked``: at the end, or when it was held, the readings put it in
    question.
    """

    seq: int
    tank: int
    at: datetime
    watched: bool
    level_ok: bool
    ph_ok: bool
    known_bad: bool
    vouched: bool
    held: bool
    asked: bool

    @property
    def fate(self) -> Fate:
        """How it counts."""
        if self.known_bad and self.asked:
            return Fate.IN_VAIN if self.held else Fate.KNOWN_BAD
        if self.asked:
            return Fate.HELD if self.held else Fate.SOLD
        if self.held:
            return Fate.NEEDLESS if self.watched else Fate.HELD
        if not self.watched:
            return Fate.LATE if self.vouched else Fate.UNKNOWN
        if not self.level_ok:
            return Fate.OUTSIDE
        return Fate.WELL if self.ph_ok else Fate.NO_PH

    @property
    def worth(self) -> float:
        """How much of a batch washed well it is worth, 0 to 1."""
        return WORTH[self.fate]

    @property
    def needless(self) -> bool:
        """Whether it is held though nothing that could be known spoke against it."""
        return self.fate is Fate.NEEDLESS


def is_own(entry: Entry) -> bool:
    """Tell whether the trainee did it, and not a colleague before, the rules or the trainer."""
    return entry.event.by not in {RULES, BACKSTAGE, COLLEAGUE}


class Questioned(NamedTuple):
    """What was in question, and what was held, of everybody.

    Each batch stands in each of its tanks, as (place in the journal, tank); a batch is in question
    where it is in any tank, and held where it is in each of those.
    """

    asked: frozenset[tuple[int, int]]
    held: frozenset[tuple[int, int]]

    @property
    def needed(self) -> int:
        """How many were to be held, each in each tank."""
        return len(self.asked)

    @property
    def done(self) -> int:
        """How many of these were, each in each tank."""
        return len(self.asked & self.held)

    @property
    def batches(self) -> int:
        """How many batches were to be held."""
        return len({seq for seq, _ in self.asked})

    @property
    def batches_held(self) -> int:
        """How many of these were, in each tank in which they had to be."""
        return self.batches - len({seq for seq, _ in self.asked - self.held})


def by_worst(known: Iterable[Washed]) -> dict[int, Fate]:
    """Return how each batch counts, by its place in the journal, in the worst of its tanks."""
    found: dict[int, Fate] = {}
    for one in known:
        if one.seq not in found or one.worth < WORTH[found[one.seq]]:
            found[one.seq] = one.fate
    return found


def questioned(chain: str, entries: Sequence[Entry]) -> Questioned:
    """Return what was in question at the end, or as a hold was placed."""
    state, asked = _asked(chain, entries)
    held = {(seq, hold.placed.tank) for hold in state.holds for seq in hold.placed.batches}
    return Questioned(frozenset(asked), frozenset(held))


def washed(
    setup: LineSetup, entries: Sequence[Entry], questioned: Questioned
) -> tuple[Washed, ...]:
    """Return the trainee's batches in each tank, in the order of the journal."""
    return tuple(
        Washed(
            seq=seen.seq,
            tank=tank.number,
            at=seen.at,
            watched=seen.watched,
            level_ok=seen.level_ok,
            ph_ok=seen.ph_ok,
            known_bad=seen.known_bad,
            vouched=seen.vouched,
            held=(seen.seq, tank.number) in questioned.held,
            asked=(seen.seq, tank.number) in questioned.asked,
        )
        for tank in setup.tanks
        for seen in _seen(entries, tank)
    )


def _asked(chain: str, entries: Sequence[Entry]) -> tuple[ShiftState, set[tuple[int, int]]]:
    """Return the state at the end, and what was in question then or as it was held."""
    state = begin(chain, entries[0])
    asked: set[tuple[int, int]] = set()
    for entry in entries[1:]:
        if isinstance(entry.event, HoldPlaced):
            number = entry.event.tank
            asked |= {(seq, number) for seq in to_hold(state, state.tank(number))}
        state = step(state, entry)
    for tank in state.tanks:
        asked |= {(seq, tank.number) for seq in to_hold(state, tank)}
    return state, asked


class _Seen(Struct):
    seq: int
    at: datetime
    watched: bool
    level_ok: bool
    ph_ok: bool
    known_bad: bool
    vouched: bool = False


def _seen(entries: Sequence[Entry], tank: Tank) -> list[_Seen]:
    """Return the trainee's batches in a tank, and what checks say of each."""
    watch = _Watch(tank)
    for entry in entries:
        event = entry.event
        match event:
            case ReadingTaken() if event.tank == tank.number:
                watch.read(event)
            case DoseAdded() | TankFilled() | WaterExchanged() if event.tank == tank.number:
                watch.put_in(event)
            case BatchWashed() if tank.number in event.tanks:
                watch.wash(entry, event)
    return watch.found


class _Watch:
    """What is known of one tank as its journal goes on.

    A check is good for the set-up's interval, in the same fill, until sanitizer or water is added;
    a pH until the next one, in the same fill. Peracetic acid needs no pH.
    """

    def __init__(self, tank: Tank) -> None:
        self.found: list[_Seen] = []
        self._tank = tank
        self._read_at: datetime | None = None
        self._level_ok = self._bad = False
        self._ph_ok = tank.peracetic is not None
        self._since = 0
        self._open: list[_Seen] = []

    def read(self, event: ReadingTaken) -> None:
        """Take a reading."""
        if event.ph is not None:
            self._ph_ok = judge_ph(event.ph, self._tank) is None
        level = level_of(self._tank, event)
        if level is None:
            return
        self._read_at, self._since = event.at, 0
        self._level_ok = in_range(level, self._tank)
        self._bad = not may_wash(level, self._tank)
        for one in self._open:
            one.vouched = not self._bad
        self._open = []

    def put_in(self, event: DoseAdded | TankFilled | WaterExchanged) -> None:
        """Take sanitizer or water: what was measured before tells nothing more."""
        self._read_at, self._open, self._bad = None, [], False
        if isinstance(event, TankFilled):
            self._ph_ok = self._tank.peracetic is not None

    def wash(self, entry: Entry, event: BatchWashed) -> None:
        """Take a batch."""
        if is_own(entry):
            watched = _still_good(self._tank, self._read_at, self._since, event.at)
            one = _Seen(
                entry.seq, event.at, watched, self._level_ok, self._ph_ok, known_bad=self._bad
            )
            self.found.append(one)
            if not watched:
                self._open.append(one)
        self._since += 1


def _still_good(tank: Tank, read_at: datetime | None, since: int, now: datetime) -> bool:
    if read_at is None:
        return False
    late = tank.check_batches is not None and since > tank.check_batches
    minutes = tank.check_minutes
    old = minutes is not None and now - read_at > timedelta(minutes=minutes) + SLACK
    return not late and not old
