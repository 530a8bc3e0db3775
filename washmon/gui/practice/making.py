"""Making a scenario from a shift, and trying scenarios, beside the window."""

from collections import deque
from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QObject, Signal, Slot

from washmon.gui.client import RecorderClient
from washmon.gui.kit.working import Aside, Step, Working
from washmon.line.fold import fold
from washmon.line.state import ShiftState
from washmon.sessions.making.from_shift import make_scenario
from washmon.sessions.making.trying import Tried, Watch, good_score, try_out
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

        Aside(self._tell).answer(partial(make_scenario, shift), "scenario", PracticeError)

    @Slot(object)
    def _tell(self, found: object) -> None:
        self.made.emit(found)


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
        self._text = ""
        self._working = Working(self, PracticeError)
        self._working.came.connect(self._tell)

    @property
    def busy(self) -> bool:
        """Whether one is being tried, or waits to be."""
        return self._working.busy or bool(self._wanted)

    def want(self, texts: Sequence[str]) -> None:
        """Try these before any others that still wait."""
        self._wanted = deque([*texts, *(one for one in self._wanted if one not in texts)])
        self._begin()

    def stop(self) -> None:
        """Let go of what is being tried, and of what waits."""
        self._wanted.clear()
        self._working.drop()

    def _begin(self) -> None:
        if self._wanted and not self._working.busy:
            self._text = self._wanted.popleft()
            self._working.do(partial(_good_score, self._text))

    @Slot(object)
    def _tell(self, found: object) -> None:
        if isinstance(found, float):
            self.scored.emit(self._text, found)
        else:
            self.failed.emit(self._text, str(found))
        self._begin()


def preview(text: str, step: Step) -> Tried:
    """Let an obedient supervisor and a careless one play a scenario.

    Raises:
        PracticeError: the scenario can't be played.
    """
    return try_out(text, _percent(step))


def _good_score(text: str, step: Step) -> float:
    return good_score(text, _percent(step))


def _percent(step: Step) -> Watch:
    return lambda share: step(round(100 * share), 100)
