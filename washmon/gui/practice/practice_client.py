"""The client of a practice shift: the recorder's answers, and the hidden water behind them."""

import math
from collections.abc import Callable
from concurrent.futures import Future
from datetime import datetime, timedelta
from functools import partial

from PySide6.QtCore import QObject, Qt, Signal, Slot

from washmon.gui.client import RecorderClient, deliver
from washmon.gui.i18n import tr
from washmon.gui.practice.play_clock import SPEEDS, PlayClock
from washmon.line.events import BatchWashed, Event, Method
from washmon.line.practice_events import BehindTheScenes, WorldChange
from washmon.line.state import ShiftState
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Answer, Saved
from washmon.recorder.attempts import Opened
from washmon.sessions.practice.attempt import BACKSTAGE
from washmon.sessions.practice.jumping import (
    PATIENCE_MIN,
    STRIDE_MIN,
    Stop,
    all_filled,
    next_stop,
    pass_until,
)
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.stage import PracticeStage, Tested, cost_min
from washmon.sessions.practice.standing import AttemptStanding

LOOK_EVERY_S = 15.0
"""Seconds of practice after which the rules look again."""


class PracticeClient(RecorderClient):
    """A client whose clock is the practice clock and whose entries also change the hidden water.

    Signals:
        ticked(): the practice clock moved, or a batch came or went.
        said(str): somebody said something aloud.
        line_stopped(bool): feeding was stopped, or goes on.
        jumped(Stop): a jump ended.
    """

    ticked = Signal()
    said = Signal(str)
    line_stopped = Signal(bool)
    jumped = Signal(object)
    _flag_found = Signal(object)

    def __init__(self, opened: Opened, parent: QObject | None = None) -> None:
        self.stage: PracticeStage = opened.stage
        self._shown_at: datetime = opened.stage.now
        super().__init__(opened.store, parent, clock=self._now)
        self.attempt, self.chain = opened.attempt, opened.chain
        self.play_clock = PlayClock(self)
        self.play_clock.passed.connect(self._frame)
        self._looked_min = self.stage.minutes
        self._spoken = len(self.stage.spoken)
        self._entering = 0
        self._shift: ShiftState | None = None
        self.stops_at_flags = True
        self._stopped = False
        self._jumping: tuple[float, Stop] | None = None
        self._flag_found.connect(self._jump_on, Qt.ConnectionType.QueuedConnection)
        self.snapshot_changed.connect(self._see)

    def _now(self) -> datetime:
        return self._shown_at

    # -- the clock ------------------------------------------------------------------------------

    @property
    def busy(self) -> bool:
        """Whether an entry is on its way to the disk, or a jump sought: time stands meanwhile."""
        return self._entering > 0 or self._jumping is not None

    @Slot(float)
    def _frame(self, minutes: float) -> None:
        if not self.busy:
            self.pass_minutes(minutes)
        if self.stage.over:
            self.play_clock.pause()

    def pass_minutes(self, minutes: float) -> None:
        """Let practice time pass at once; it stops where the scenario's time is over."""
        left = self.stage.scenario.pace.minutes - self.stage.minutes
        self.stage.advance(min(minutes, max(left, 0.0)))
        self._moved()

    def go_on_from(self, standing: AttemptStanding) -> None:
        """Let the time pass that had passed since the last entry, and set the switches again."""
        self.play_clock.speed = standing.speed if standing.speed in SPEEDS else SPEEDS[0]
        self._stopped = standing.stopped
        behind = standing.minutes - self.stage.minutes
        left = self.stage.scenario.pace.minutes - self.stage.minutes
        self.stage.advance(min(max(behind, 0.0), max(left, 0.0)))
        self._shown_at = self.stage.now
        self._spoken = len(self.stage.spoken)

    def _moved(self) -> None:
        self._shown_at = self.stage.now
        for spoken in self.stage.spoken[self._spoken :]:
            self.said.emit(spoken.text)
        self._spoken = len(self.stage.spoken)
        if (self.stage.minutes - self._looked_min) * 60.0 >= LOOK_EVERY_S:
            self._looked_min = self.stage.minutes
            self.recorder.look_again()
        self._tip_in()
        self.ticked.emit()

    def _tip_in(self) -> None:
        """Send on what nobody sent on or stopped: produce does not wait of its own accord."""
        waiting = self.stage.waiting
        if waiting is None or self._stopped or self.busy or self.stage.over:
            return
        patient = self.stage.minutes - waiting.due_min < PATIENCE_MIN - 1e-6
        if all_filled(self._shift) and not patient:
            self.send_on(self.attempt.trainee)
            self.said.emit(tr("Nobody stopped the line: {lot} was tipped in.", lot=waiting.lot))

    @property
    def stopped(self) -> bool:
        """Whether feeding is stopped."""
        return self._stopped

    @Slot(bool)
    def stop_line(self, stopped: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Stop feeding, or go on."""
        if stopped is not self._stopped:
            self._stopped = stopped
            self.line_stopped.emit(stopped)
            self.ticked.emit()

    @Slot()
    def jump(self) -> None:
        """Go to the next thing to do, half an hour at most; :attr:`jumped` says what it is."""
        if self.busy:
            return
        self.play_clock.pause()
        stage = self.stage
        until, stop = next_stop(stage, self._shift, fed=not self._stopped)
        if not self.stops_at_flags or self._shift is None:
            self._jump_to(until, stop)
            return
        strides = max(1, math.ceil((until - stage.minutes) / STRIDE_MIN - 1e-6))
        step = timedelta(minutes=(until - stage.minutes) / strides)
        moments = [stage.now + number * step for number in range(strides + 1)]
        self._jumping = until, stop
        # The rules and the forecast take their time, on the recorder's thread.
        self.recorder.first_flag(moments).add_done_callback(self._tell_flag)

    def _tell_flag(self, future: "Future[datetime | None]") -> None:
        self._flag_found.emit(None if future.exception() else future.result())

    @Slot(object)
    def _jump_on(self, flag_at: datetime | None) -> None:
        """Jump, now that the next flag is known."""
        if self._jumping is None:
            return
        (until, stop), self._jumping = self._jumping, None
        if flag_at is not None:
            flag_min = (flag_at - self.stage.begins).total_seconds() / 60.0
            until, stop = min(until, flag_min), Stop.FLAG
        self._jump_to(until, stop)

    def _jump_to(self, until_min: float, stop: Stop) -> None:
        why = pass_until(self.stage, until_min, stop)
        self._moved()
        self.recorder.look_again()
        self.jumped.emit(why)

    # -- entries --------------------------------------------------------------------------------

    def enter(
        self,
        event: Event,
        then: Callable[[Answer], None] | None = None,
        *,
        chain: str | None = None,
        sure: bool = False,
        pin: str = "",
    ) -> None:
        """Send an entry to the journal; once saved it is done to the water, too."""
        self._entering += 1
        super().enter(event, partial(self._do, event, then), chain=chain, sure=sure, pin=pin)

    def _do(self, event: Event, then: Callable[[Answer], None] | None, answer: Answer) -> None:
        self._entering -= 1
        if isinstance(answer, Saved):
            self._act(event, answer)
        deliver(then, answer)

    def _act(self, event: Event, answer: Saved) -> None:
        try:
            self.stage.act(event, answer.entry.seq)
        except PracticeError as trouble:
            self.said.emit(str(trouble))
        self.play_clock.leave_out()  # what saving took
        self.pass_minutes(cost_min(event))

    def send_on(self, by: str, then: Callable[[Answer], None] | None = None) -> None:
        """Wash the batch that waits in all tanks; nothing where none waits."""
        waiting = self.stage.waiting
        if waiting is None or self.busy:
            return
        washed = BatchWashed(
            at=self.clock(),
            by=by,
            tanks=tuple(tank.number for tank in self.stage.setup.tanks),
            lot=waiting.lot,
            weight_kg=waiting.weight_kg,
        )
        self.enter(washed, then, sure=True)

    def change_world(self, change: WorldChange) -> None:
        """Do what a trainer does behind the scenes."""
        event = BehindTheScenes(at=self.clock(), by=BACKSTAGE, change=change)
        self.enter(event)

    def test(self, tank: int, field: str, method: Method) -> Tested:
        """Measure something, passing the time that it takes.

        Raises:
            PracticeError: it can't be measured.
        """
        tested = self.stage.test(tank, field, method)
        self.pass_minutes(tested.minutes)
        return tested

    @Slot(object)
    def _see(self, snapshot: Snapshot) -> None:
        self._shift = snapshot.shift
