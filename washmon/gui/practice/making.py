"""Making a scenario from a shift, and trying scenarios, beside the window."""

import threading
from collections import deque
from collections.abc import Sequence

from PySide6.QtCore import QObject, Signal, Slot

from washmon.gui.client import RecorderClient
from washmon.gui.kit.aside import Aside, Tell
from washmon.line.fold import fold
from washmon.line.state import ShiftState
from washmon.sessions.making.from_shift import make_scenario
from washmon.sessions.making.trying import good_score, try_out
from washmon.sessions.practice.parameters import PracticeError
from washmon.store.store import Store


class ScenarioMaking(QObject):
    """Works on a thread of its own: the good strategy takes some seconds for a long shift.

    Signals:
        made(object): a scenario, :class:`washmon.sessions.making.from_shift.Made`, or why not.
    """

    made = Signal(object)

    def __init__(self, client: RecorderClient, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._client = client

    def make_from(self, chain: str) -> None:
        """Make a scenario from a shift of the database; :attr:`made` follows."""

        def shift(store: Store) -> ShiftState:
            return fold(chain, store.entries(chain))

        self._client.read(shift, self._make)

    def _make(self, shift: object) -> None:
        if not isinstance(shift, ShiftState):
            self.made.emit(shift)
            return

        def work(tell: Tell) -> None:
            try:
                tell(make_scenario(shift))
            except PracticeError as trouble:
                tell(trouble)

        Aside(self._tell).begin(work, "scenario")

    @Slot(object)
    def _tell(self, found: object) -> None:
        self.made.emit(found)


class _StoppedError(Exception):
    """Nobody waits for it any longer."""


class Trials(QObject):
    """Lets the good strategy play scenarios, one after the other.

    Signals:
        scored(str, float): the text of a scenario, and what the good strategy scores in it.
        failed(str, str): the text of one that can't be played, and why.
    """

    scored = Signal(str, float)
    failed = Signal(str, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._wanted: deque[str] = deque()
        self._working = False
        self._stop = threading.Event()

    def want(self, texts: Sequence[str]) -> None:
        """Try these before any others that still wait."""
        self._wanted = deque([*texts, *(one for one in self._wanted if one not in texts)])
        self._begin()

    def stop(self) -> None:
        """Let go of what is being tried, and of what waits."""
        self._wanted.clear()
        self._stop.set()

    def _begin(self) -> None:
        if self._working or not self._wanted:
            return
        self._working = True
        self._stop = stop = threading.Event()
        text = self._wanted.popleft()

        def work(tell: Tell) -> None:
            try:
                tell((text, good_score(text, lambda _share: _raise_if(stop))))
            except PracticeError as trouble:
                tell((text, str(trouble)))
            except _StoppedError:
                tell(None)

        Aside(self._tell).begin(work, "scenario")

    @Slot(object)
    def _tell(self, found: object) -> None:
        match found:
            case (str(text), float(score)):
                self.scored.emit(text, score)
            case (str(text), str(why)):
                self.failed.emit(text, why)
        self._working = False
        self._begin()


class Preview(QObject):
    """Lets an obedient supervisor and a careless one play a scenario.

    Signals:
        went_on(float): which share is done, 0 to 1.
        done(object): a :class:`washmon.sessions.making.trying.Tried`, or why not.
    """

    went_on = Signal(float)
    done = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._stop = threading.Event()

    def run(self, text: str) -> None:
        """Begin; what ran before is let go of, and its end is not told."""
        self.stop()
        self._stop = stop = threading.Event()

        def work(tell: Tell) -> None:
            def watch(share: float) -> None:
                _raise_if(stop)
                tell((stop, share))

            try:
                tell((stop, try_out(text, watch)))
            except PracticeError as trouble:
                tell((stop, trouble))
            except _StoppedError:
                return

        Aside(self._tell).begin(work, "scenario")

    @Slot(object)
    def _tell(self, found: object) -> None:
        match found:
            case (threading.Event() as stop, _) if stop.is_set():
                return  # nobody waits for it any longer
            case (_, float(share)):
                self.went_on.emit(share)
            case (_, what):
                self.done.emit(what)

    def stop(self) -> None:
        """Let go of what is being tried."""
        self._stop.set()


def _raise_if(stop: threading.Event) -> None:
    if stop.is_set():
        raise _StoppedError
