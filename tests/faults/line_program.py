"""A child that is the program of one line: a recorder on a server, one batch after the other."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from multiprocessing.connection import Connection
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.shed import a_setup, a_tank
from washmon.line.events import BatchWashed, Event, ReadingTaken, ShiftStarted, TankFilled
from washmon.line.journal import encode
from washmon.line.setup import Lot, Person, Role
from washmon.recorder import Recorder, Saved, wall_clock
from washmon.store import Store, gap, postgres
from washmon.store.errors import StoreUnavailable

SAVED, NOT_SAVED = b"+", b"-"
_LONG_S = 60.0
_TICK_S = 0.05
_READ_EVERY = 10
_PAUSE_S = 0.01
"""Between two batches: three programs and a server share the cores of one machine."""


@contextmanager
def impatience() -> Iterator[None]:
    """Let nobody wait meanwhile as long as a shed would for a server that is away."""
    with pytest.MonkeyPatch.context() as patch:
        for name, seconds in (("ANSWER_S", 2.0), ("READ_S", 2.0), ("PROBE_S", 2)):
            patch.setattr(postgres, name, seconds)
        patch.setattr(gap, "PROBE_EVERY_S", 0.02)
        yield


def wash_a_line(where: str, folder: Path, line: str, mouth: Connection) -> None:
    """Take up or begin the shift of a line and wash until killed.

    Each entry is told on ``mouth``, as it was encoded, once it was answered: as saved, or not.
    """
    with impatience():
        _wash(where, folder, line, mouth)


def _wash(where: str, folder: Path, line: str, mouth: Connection) -> None:
    recorder = Recorder(_opened(where, folder), lambda _: None, tick_s=_TICK_S, line=line)
    recorder.start()
    by = initials(line)
    if recorder.read(lambda store: store.running_shift(line)).result(_LONG_S) is None:
        people = (Person(initials=by, name=line, role=Role.SUPERVISOR),)
        setup = replace(a_setup(a_tank(1, "First dunk")), line=line, people=people)
        lots = (Lot(code=line, produce="chard"),)
        _enter(recorder, ShiftStarted(at=wall_clock(), by=by, setup=setup, lots=lots), mouth)
        _enter(recorder, TankFilled(at=wall_clock(), by=by, tank=1, volume_l=500.0), mouth)
    for turn in count():
        if turn % _READ_EVERY == 0:
            _enter(recorder, ReadingTaken(at=wall_clock(), by=by, tank=1, fac_mg_l=50, ph=7), mouth)
        _enter(recorder, BatchWashed(at=wall_clock(), by=by, tanks=(1,), lot=line), mouth)
        time.sleep(_PAUSE_S)


def initials(line: str) -> str:
    """Return who alone enters anything on a line."""
    return line[:2].upper()


def _opened(where: str, folder: Path) -> Store:
    """Open the database, again and again while the server is away, as somebody in a shed would."""
    while True:
        try:
            return Store.open(where, state_folder=folder)
        except StoreUnavailable:
            time.sleep(_TICK_S)


def _enter(recorder: Recorder, event: Event, mouth: Connection) -> None:
    answer = recorder.enter(event, sure=True).result(_LONG_S)
    if isinstance(answer, Saved):
        mouth.send_bytes(SAVED + encode(answer.entry.event))
    else:
        mouth.send_bytes(NOT_SAVED + encode(event))
