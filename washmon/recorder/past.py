"""The shifts of the Logbook that say what is usual when another one begins, live or in a replay."""

from datetime import datetime, time

from washmon.forecast.background import BackgroundForecasts
from washmon.line.events import ShiftStarted
from washmon.line.journal import Entry
from washmon.line.message import Message
from washmon.line.own_words import OwnWords, own_words
from washmon.line.state import ShiftState
from washmon.recorder.troubles import Troubles
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store

PAST_SHIFTS = 5
Past = list[tuple[str, list[Entry]]]
"""Chains of past shifts with their entries, oldest first."""


def past_shifts(store: Store, chain: str, started: ShiftStarted) -> Past:
    """Return the newest shifts of a line before one began, the oldest first, each with its chain.

    Left out is what its set-up lets be forgotten.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    day = started.setup.learned_since
    since = None if day is None else datetime.combine(day, time.min, started.at.tzinfo)
    found = store.shifts(
        limit=PAST_SHIFTS, line=started.setup.line, practice=False, since=since, until=started.at
    )
    chains = [row.chain for row in reversed(found) if row.chain != chain]
    return [(one, store.entries(one)) for one in chains]


def learn(
    ahead: BackgroundForecasts, shift: ShiftState, store: Store, troubles: Troubles, now: datetime
) -> None:
    """Let past shifts say what is usual; where they can't be read, go on without."""
    past: Past = []
    try:
        past = [] if shift.learned else past_shifts(store, shift.chain, shift.started)
    except StoreUnavailable as fault:
        troubles.remark(now, not_learned(fault))
    ahead.learn(shift, past)


def not_learned(fault: Exception) -> Message:
    """Say that past shifts tell nothing."""
    return Message(
        "Past shifts could not be read ({fault}): the forecast begins with what is usual for the "
        "produce. Entries are saved as ever.",
        {"fault": f"{type(fault).__name__}: {fault}"},
    )


def words_of_the_shed(store: Store, chain: str, started: ShiftStarted) -> OwnWords:
    """Return what people of a line wrote in its newest shifts, this one included.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    before = [entry for _, entries in past_shifts(store, chain, started) for entry in entries]
    return own_words([*before, *store.entries(chain)])
