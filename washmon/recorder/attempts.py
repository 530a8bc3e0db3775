"""Attempts in the database: beginning one, finding them again, their debriefs."""

from typing import NamedTuple

from washmon.line.journal import Entry
from washmon.line.practice_events import Attempt, BehindTheScenes
from washmon.recorder.lent_store import LentStore
from washmon.recorder.recorder import Recorder
from washmon.sessions.debrief.score import Debrief, debrief
from washmon.sessions.practice.attempt import Run
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario_files import parse_scenario
from washmon.sessions.practice.stage import PracticeStage, beginning, relive
from washmon.store.shift import ShiftRow
from washmon.store.store import Store


class Opened(NamedTuple):
    """An attempt that can be worked on."""

    chain: str
    store: LentStore
    stage: PracticeStage
    attempt: Attempt


class KeptAttempt(NamedTuple):
    """An attempt in the list."""

    row: ShiftRow
    attempt: Attempt


def begin_attempt(store: Store, pen: Recorder, attempt: Attempt) -> Opened:
    """Journal the start of an attempt, with what a colleague did before, and open it.

    Raises:
        PracticeError: the scenario can't be played.
        StoreUnavailable: it can't be written.
    """
    begun = attempt.begun_at
    scenario = parse_scenario(attempt.scenario)
    chain = f"practice-{begun:%Y%m%dT%H%M%S%f}"
    while store.head(chain) is not None:
        chain += "+"
    zone = begun.tzinfo
    if zone is None:
        raise PracticeError("The time of an attempt needs a zone.")
    run = Run(attempt, beginning(scenario, begun.date(), zone), chain)
    lent = LentStore.lend(pen, store, chain)
    for entry in run.entries:
        store.append(chain, [entry.event], entry.recorded_at)
    return Opened(chain, lent, run.stage, attempt)


def resume_attempt(store: Store, pen: Recorder, chain: str) -> Opened:
    """Open an attempt that was interrupted, as it stood after its last entry.

    Raises:
        PracticeError: it is no attempt.
        StoreUnavailable: it can't be read or written.
    """
    entries = store.entries(chain)
    stage = relive(entries)
    return Opened(chain, LentStore.lend(pen, store, chain), stage, attempt_of(entries))


def attempt_of(entries: list[Entry]) -> Attempt:
    """Return what an attempt was begun with.

    Raises:
        PracticeError: it is no attempt.
    """
    for entry in entries:
        if isinstance(entry.event, BehindTheScenes) and entry.event.attempt is not None:
            return entry.event.attempt
    raise PracticeError("This shift is no practice: choose an attempt.")


def attempts(store: Store) -> list[KeptAttempt]:
    """Return all attempts, the newest first; a practice shift of another kind is left out."""
    found = []
    for row in store.shifts(practice=True):
        try:
            found.append(KeptAttempt(row, attempt_of(store.entries(row.chain))))
        except PracticeError:
            continue
    return sorted(found, key=lambda kept: kept.attempt.begun_at, reverse=True)


def debrief_of(store: Store, chain: str) -> Debrief:
    """Return the debrief of an attempt.

    Raises:
        PracticeError: it is no attempt.
    """
    return debrief(chain, store.entries(chain))
