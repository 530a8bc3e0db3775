"""Each batch of a trainee by what could be known: was its water known to be good, was it held?"""

from collections.abc import Sequence
from datetime import datetime, timedelta

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
from washmon.line.judging import in_range
from washmon.line.setup import Tank
from washmon.line.state import ShiftState
from washmon.rules.in_question import to_hold
from washmon.sessions.practice.attempt import BACKSTAGE
from washmon.sessions.practice.scenario import COLLEAGUE

SLACK = timedelta(minutes=2)
"""A check may be so late before a batch counts as washed unwatched, as the rules have it."""


class Washed(Struct, frozen=True, kw_only=True):
    """A batch in one tank.

    ``watched``: a check of this water was still good. ``known_good``: and it showed the level
    within its operating limits. ``asked``: at the end, or when it was held, the readings put it in
    question.
    """

    seq: int
    tank: int
    watched: bool
    known_good: bool
    held: bool
    asked: bool

    @property
    def needless(self) -> bool:
        """Whether it is held though nothing that could be known spoke against it."""
        return self.held and self.watched and not self.asked

    @property
    def well(self) -> bool:
        """Whether it was washed well, by what could be known, and is free to be sold."""
        return self.known_good and not self.held and not self.asked


def is_own(entry: Entry) -> bool:
    """Tell whether the trainee did it, and not a colleague before, the rules or the trainer."""
    return entry.event.by not in {RULES, BACKSTAGE, COLLEAGUE}


def washed(chain: str, entries: Sequence[Entry]) -> tuple[Washed, ...]:
    """Return the trainee's batches in each tank, in the order of the journal."""
    state, asked = _asked(chain, entries)
    held = {(seq, hold.placed.tank) for hold in state.holds for seq in hold.placed.batches}
    return tuple(
        Washed(
            seq=seq,
            tank=tank.number,
            watched=watched,
            known_good=good,
            held=(seq, tank.number) in held,
            asked=(seq, tank.number) in asked,
        )
        for tank in state.setup.tanks
        for seq, watched, good in _seen(entries, tank)
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


def _seen(entries: Sequence[Entry], tank: Tank) -> list[tuple[int, bool, bool]]:
    """Return the trainee's batches, whether a good check stood behind each, and of good water.

    A check is good for the set-up's interval, in the same fill, until chlorine or water is added.
    """
    read_at: datetime | None = None
    good = False
    since = 0
    found = []
    for entry in entries:
        event = entry.event
        match event:
            case ReadingTaken() if event.tank == tank.number and event.fac_mg_l is not None:
                read_at, since, good = event.at, 0, in_range(event.fac_mg_l, tank)
            case DoseAdded() | TankFilled() | WaterExchanged() if event.tank == tank.number:
                read_at = None
            case BatchWashed() if tank.number in event.tanks:
                if is_own(entry):
                    watched = _still_good(tank, read_at, since, event.at)
                    found.append((entry.seq, watched, watched and good))
                since += 1
    return found


def _still_good(tank: Tank, read_at: datetime | None, since: int, now: datetime) -> bool:
    if read_at is None:
        return False
    late = tank.check_batches is not None and since > tank.check_batches
    minutes = tank.check_minutes
    old = minutes is not None and now - read_at > timedelta(minutes=minutes) + SLACK
    return not late and not old
