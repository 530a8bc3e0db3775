"""The replay's side of the window: wishes go to the worker's thread, snapshots come back."""

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from PySide6.QtCore import QCoreApplication, QObject, QThread, QTimer, Signal, Slot

from washmon.forecast.learning import Past
from washmon.gui.i18n import tr
from washmon.gui.replay.replay_timeline import Timeline
from washmon.gui.replay.replay_worker import Go, Move, ReplayShown, ReplayWorker
from washmon.sessions.file import Session

SPEEDS = (1, 10, 60, 300)
FRAME_MS = 100


class ReplayClient(QObject):
    """Plays one session at a time; draws nothing.

    Signals:
        snapshot_changed(Snapshot): draw it, as those of :class:`washmon.gui.client.RecorderClient`.
        opened(Timeline): a session can be played.
        rejudged(Timeline): it shows the word of then, or of today, from now on.
        moved(Shown): where the replay is.
        playing_changed(bool): it plays, or stands.
        failed(str): the session can't be played, in one sentence.
        told(str): it is played, but something is to be known, in one sentence.
    """

    snapshot_changed = Signal(object)
    opened = Signal(object)
    rejudged = Signal(object)
    moved = Signal(object)
    playing_changed = Signal(bool)
    failed = Signal(str)
    told = Signal(str)
    _to_open = Signal(int, object, object)
    _to_move = Signal(object)

    def __init__(
        self, parent: QObject | None = None, *, clock: Callable[[], float] = time.monotonic
    ) -> None:
        """``clock`` counts the seconds that pass in front of the window."""
        super().__init__(parent)
        self._clock = clock
        self._last_tick = 0.0
        self._speed = SPEEDS[1]
        self._at_end = False
        self._number = 0  # of the session in play; words on earlier ones are passed over
        self._busy = False
        self._asking = False
        self._waiting: list[Move] = []
        self._thread: QThread | None = None
        self._worker: ReplayWorker | None = None
        self._timer = QTimer(self)
        self._timer.setInterval(FRAME_MS)
        self._timer.timeout.connect(self._play_on)
        app = QCoreApplication.instance()
        if app is not None:
            app.aboutToQuit.connect(self.close)

    @property
    def playing(self) -> bool:
        """Whether time passes."""
        return self._timer.isActive()

    @property
    def speed(self) -> int:
        """Seconds of the shift that pass in one second."""
        return self._speed

    def open(self, session: Session, past: Past = ()) -> None:
        """Take up a session; :attr:`opened` and a first snapshot follow.

        ``past`` are the shifts before it, for what is usual of its produce.
        """
        self.pause()
        if self._worker is None:
            self._start()
        self._waiting.clear()
        self._busy = True
        self._number += 1
        self._to_open.emit(self._number, session, past)

    def _start(self) -> None:
        """Start the thread; it runs only while there is a replay."""
        thread = QThread(self)
        thread.setObjectName("replay")
        worker = ReplayWorker()
        worker.moveToThread(thread)
        self._to_open.connect(worker.open)
        self._to_move.connect(worker.move)
        worker.opened.connect(self._opened)
        worker.rejudged.connect(self._rejudged)
        worker.shown.connect(self._shown)
        worker.failed.connect(self._failed)
        worker.untaught.connect(self._untaught)
        thread.finished.connect(worker.deleteLater)
        self._thread, self._worker = thread, worker
        thread.start()

    @Slot()
    def close(self) -> None:
        """Stop playing and end the thread; another session can be opened later."""
        self.pause()
        if self._thread is None or self._worker is None:
            return
        for mine, slot in ((self._to_open, self._worker.open), (self._to_move, self._worker.move)):
            mine.disconnect(slot)
        self._thread.quit()
        self._thread.wait()
        self._thread.deleteLater()
        self._thread = self._worker = None
        self._number += 1
        self._waiting.clear()
        self._busy = False

    # -- wishes ---------------------------------------------------------------------------------

    @Slot()
    def toggle(self) -> None:
        """Play, or pause; at the end, play again from the start."""
        if self.playing:
            self.pause()
            return
        if self._at_end:
            self._wish(Move(Go.TO, 0.0))
        self.play()

    @Slot()
    def play(self) -> None:
        """Let time pass."""
        if not self.playing and self._worker is not None:
            self._last_tick = self._clock()
            self._timer.start()
            self.playing_changed.emit(True)

    @Slot()
    def pause(self) -> None:
        """Stop time."""
        if self.playing:
            self._timer.stop()
            self.playing_changed.emit(False)

    @Slot(int)
    def set_speed(self, speed: int) -> None:
        """Choose how many seconds of the shift pass in one."""
        self._speed = speed

    @Slot(bool)
    def set_asking(self, asking: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Stop at questions from now on, or play through."""
        self._asking = asking

    @Slot(float)
    def seek(self, fraction: float) -> None:
        """Go to a place between 0, the start, and 1, the end; it goes on playing from there."""
        self._waiting.clear()
        self._wish(Move(Go.TO, fraction))

    def seek_time(self, at: datetime) -> None:
        """Go to a moment of the shift."""
        self._waiting.clear()
        self._wish(Move(Go.AT, at=at))

    @Slot()
    def next_entry(self) -> None:
        """Stop, and go to right after the next entry."""
        self._hop(Go.NEXT_ENTRY)

    @Slot()
    def last_entry(self) -> None:
        """Stop, and go back to right after an entry."""
        self._hop(Go.LAST_ENTRY)

    @Slot()
    def next_flag(self) -> None:
        """Stop, and go to where the next flag comes up."""
        self._hop(Go.NEXT_FLAG)

    @Slot()
    def last_flag(self) -> None:
        """Stop, and go back to where a flag came up."""
        self._hop(Go.LAST_FLAG)

    @Slot(bool)
    def judge_today(self, today: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Stop, and show what is judged today, or what was told then, at the same place."""
        self._hop(Go.TODAY if today else Go.THEN)

    def _hop(self, go: Go) -> None:
        self.pause()
        self._wish(Move(go))

    @Slot()
    def _play_on(self) -> None:
        now = self._clock()
        passed, self._last_tick = now - self._last_tick, now
        self._wish(Move(Go.ON, passed * self._speed))

    def _wish(self, move: Move) -> None:
        """Send a wish, or keep it while the worker is busy; passing time adds up."""
        if self._worker is None:
            return
        last = self._waiting[-1] if self._waiting else None
        if last is not None and last.go is move.go is Go.ON:
            self._waiting[-1] = Move(Go.ON, last.amount + move.amount)
        else:
            self._waiting.append(move)
        self._send()

    def _send(self) -> None:
        if self._waiting and not self._busy:
            wishes = tuple(replace(wish, asking=self._asking) for wish in self._waiting)
            self._waiting = []
            self._busy = True
            self._to_move.emit(wishes)

    # -- answers --------------------------------------------------------------------------------

    @Slot(int, object)
    def _opened(self, number: int, timeline: Timeline) -> None:
        if number == self._number:
            self.opened.emit(timeline)

    @Slot(int, object)
    def _rejudged(self, number: int, timeline: Timeline) -> None:
        if number == self._number:
            self.rejudged.emit(timeline)

    @Slot(int, object)
    def _shown(self, number: int, shown: ReplayShown) -> None:
        if number != self._number:
            return
        self._busy = False
        self._at_end = shown.at_end
        if shown.at_end or shown.asked is not None:
            self.pause()
            self._waiting.clear()
        self.moved.emit(shown)
        self.snapshot_changed.emit(shown.snapshot)
        self._send()

    @Slot(int, str)
    def _untaught(self, number: int, why: str) -> None:
        if number == self._number:
            self.told.emit(
                tr(
                    "Past shifts could not be read ({why}): the forecast begins with what is usual "
                    "for the produce.",
                    why=why,
                )
            )

    @Slot(int, str)
    def _failed(self, number: int, why: str) -> None:
        if number != self._number:
            return
        self._busy = False
        self._waiting.clear()
        self.failed.emit(
            tr("This session can't be played ({why}): choose another session file.", why=why)
        )
