"""Whatever is entered, in any order: the journal holds what was answered as saved, and no more.

The machine enters what people enter, rightly and wrongly, on a clock of its own; it closes the
program and fills the disk. After each act the journal, the state that is shown and a plain list of
what was answered as saved must say the same.
"""

import tempfile
from datetime import datetime, timedelta
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from tests.shed import START, a_setup, a_tank
from tests.store.shed import room_for
from washmon.line.event_base import RULES
from washmon.line.events import (
    BatchWashed,
    Corrected,
    DoseAdded,
    Event,
    HoldPlaced,
    Method,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
)
from washmon.line.flags import Amount
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.setup import Lot
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Answer, Doubtful, Failed, Recorder, Refused, Saved
from washmon.store.store import Store

LONG = 20.0
LEVELS = st.sampled_from([0.0, 18.0, 33.5, 52.0, 140.0, -1.0, float("nan"), 1e9])
TANKS = st.sampled_from([1, 2, 9])
BY = st.sampled_from(["RM", "XX", ""])


class Bench(RuleBasedStateMachine):
    """A recorder on a file, and beside it what was answered as saved."""

    def __init__(self) -> None:
        super().__init__()
        self._folder = tempfile.TemporaryDirectory()
        self._path = Path(self._folder.name) / "shed.db"
        self._now = START
        self._saved: dict[str, dict[int, Event]] = {}
        self._chain: str | None = None
        self._shown: Snapshot | None = None
        self._open()

    def _open(self) -> None:
        self._store = Store.open(self._path)
        self._recorder = Recorder(self._store, self._show, clock=self._clock, tick_s=3600)
        self._recorder.start()

    def _clock(self) -> datetime:
        return self._now

    def _show(self, snapshot: Snapshot) -> None:
        self._shown = snapshot

    @property
    def _running(self) -> bool:
        return self._chain is not None

    def _enter(self, event: Event, *, sure: bool = False) -> Answer:
        self._now += timedelta(seconds=30)
        answer = self._recorder.enter(event, sure=sure).result(LONG)
        match answer:
            case Saved(chain=chain, entry=entry):
                self._saved.setdefault(chain, {})[entry.seq] = entry.event
            case Refused(faults=said) | Doubtful(doubts=said):
                assert said
            case Failed():
                raise AssertionError(answer)
        return answer

    def _journal(self, chain: str) -> list[Entry]:
        return list(self._recorder.read(lambda store: store.entries(chain)).result(LONG))

    @initialize()
    def first(self) -> None:
        self._begin()

    @rule()
    def begin(self) -> None:
        self._begin()

    def _begin(self) -> None:
        setup = a_setup(a_tank(1, "First dunk"), a_tank(2, "Second dunk"))
        lots = (Lot(code="L-1", produce="chard"),)
        answer = self._enter(ShiftStarted(at=self._now, by="RM", setup=setup, lots=lots))
        assert isinstance(answer, Saved) is not self._running
        if isinstance(answer, Saved):
            self._chain = answer.chain
            for tank in (1, 2):
                self._enter(TankFilled(at=self._now, by="RM", tank=tank, volume_l=500))

    @precondition(lambda self: self._running)
    @rule(tank=TANKS, fac=LEVELS, by=BY, ph=st.sampled_from([None, 6.9, 15.0]), sure=st.booleans())
    def read(self, tank: int, fac: float, by: str, ph: float | None, sure: bool) -> None:  # noqa: FBT001
        method = Method.KIT
        event = ReadingTaken(at=self._now, by=by, tank=tank, fac_mg_l=fac, fac_method=method, ph=ph)
        self._enter(event, sure=sure)

    @precondition(lambda self: self._running)
    @rule(lot=st.sampled_from(["L-1", "L-2"]), kg=st.sampled_from([None, 14.0, 0.0, 1e6]))
    def wash(self, lot: str, kg: float | None) -> None:
        self._enter(BatchWashed(at=self._now, by="RM", tanks=(1, 2), lot=lot, weight_kg=kg))

    @precondition(lambda self: self._running)
    @rule(tank=TANKS, amount=st.sampled_from([0.0, 0.1, 90.0, 9000.0]), sure=st.booleans())
    def dose(self, tank: int, amount: float, sure: bool) -> None:  # noqa: FBT001
        event = DoseAdded(
            at=self._now, by="RM", tank=tank, product="bleach", amount=Amount(amount, "mL")
        )
        self._enter(event, sure=sure)

    @precondition(lambda self: self._running)
    @rule(back=st.integers(0, 8), text=st.text(max_size=30))
    def correct(self, back: int, text: str) -> None:
        seqs = [*self._saved[self._chain or ""]]
        self._enter(
            Corrected(at=self._now, by="RM", entry=seqs[-1 - back % len(seqs)], reason=text)
        )

    @precondition(lambda self: self._running)
    @rule(text=st.text(max_size=50), late_s=st.sampled_from([0, 600, -600]))
    def note(self, text: str, late_s: int) -> None:
        at = self._now - timedelta(seconds=late_s)
        self._enter(NoteWritten(at=at, by="RM", text=text), sure=True)

    @precondition(lambda self: self._running)
    @rule(batches=st.lists(st.integers(-1, 9), max_size=3))
    def hold(self, batches: list[int]) -> None:
        self._enter(
            HoldPlaced(at=self._now, by="RM", tank=1, batches=tuple(batches), reason="soft spots")
        )

    @precondition(lambda self: self._running)
    @rule()
    def end(self) -> None:
        if isinstance(self._enter(ShiftEnded(at=self._now, by="RM"), sure=True), Saved):
            self._chain = None

    @rule(minutes=st.integers(1, 90))
    def time_passes(self, minutes: int) -> None:
        self._now += timedelta(minutes=minutes)
        self._recorder.look_again().result(LONG)

    @rule()
    def close_and_open(self) -> None:
        self._recorder.close()
        self._open()

    @precondition(lambda self: self._running)
    @rule()
    def enter_on_a_full_disk(self) -> None:
        room_for(self._store, 4)
        text = "x" * 400_000
        event = NoteWritten(at=self._now, by="RM", text=text)
        assert isinstance(self._recorder.enter(event).result(LONG), Failed | Refused)
        room_for(self._store, None)

    @invariant()
    def journal_and_answers_agree(self) -> None:
        self._recorder.look_again().result(LONG)
        for chain, saved in self._saved.items():
            entries = self._journal(chain)
            people = {one.seq: one.event for one in entries if one.event.by != RULES}
            assert people == saved
            assert [one.seq for one in entries] == list(range(len(entries)))

    @invariant()
    def what_is_shown_is_what_is_journaled(self) -> None:
        self._recorder.look_again().result(LONG)
        shift = self._shown.shift if self._shown is not None else None
        if self._chain is not None:
            assert shift is not None
            assert shift.chain == self._chain
            assert shift == fold(self._chain, self._journal(self._chain))

    def teardown(self) -> None:
        self._recorder.close()
        with Store.open(self._path) as store:
            assert store.verify() == []
            assert store.compare_projections() == []
        self._folder.cleanup()


TestBench = Bench.TestCase
TestBench.settings = settings(max_examples=6, stateful_step_count=25, deadline=None)
