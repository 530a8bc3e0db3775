"""A recorder on a real database, and a clock to move."""

from concurrent.futures import Future
from datetime import datetime
from pathlib import Path
from queue import SimpleQueue

from tests.shed import START, a_setup
from washmon.line.events import (
    Event,
    Method,
    ReadingTaken,
    ShiftStarted,
)
from washmon.line.setup import LineSetup, Lot
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Answer, Recorder, Saved
from washmon.store.store import Store

LONG = 10.0


class Bench:
    """A recorder on a database of its own, with a clock that only tests move."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.now = START
        self.snapshots: SimpleQueue[Snapshot] = SimpleQueue()
        self.store = Store.open(path)
        self.recorder = self._recorder()

    def _recorder(self) -> Recorder:
        recorder = Recorder(self.store, self.snapshots.put, clock=self.clock, tick_s=3600)
        recorder.start()
        return recorder

    def clock(self) -> datetime:
        return self.now

    def enter(
        self, event: Event, *, sure: bool = False, chain: str | None = None, pin: str = ""
    ) -> Answer:
        return self.recorder.enter(event, sure=sure, chain=chain, pin=pin).result(LONG)

    def latest(self) -> Snapshot:
        waiting: Future[None] = self.recorder.look_again()
        waiting.result(LONG)
        snapshot = self.snapshots.get(timeout=LONG)
        while not self.snapshots.empty():
            snapshot = self.snapshots.get()
        return snapshot

    def start_shift(self, setup: LineSetup | None = None) -> str:
        answer = self.enter(
            ShiftStarted(
                at=self.now,
                by="RM",
                setup=setup or a_setup(),
                lots=(Lot(code="L-1", produce="chard"),),
            )
        )
        assert isinstance(answer, Saved)
        return answer.chain

    def read(self, fac: float, *, tank: int = 1) -> Answer:
        return self.enter(
            ReadingTaken(
                at=self.now, by="RM", tank=tank, fac_mg_l=fac, fac_method=Method.KIT, ph=7.0
            )
        )

    def reopen(self) -> None:
        self.recorder.close()
        self.store = Store.open(self.path)
        self.recorder = self._recorder()
