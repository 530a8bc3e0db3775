"""Making a scenario from a shift, and trying one with the good strategy, beside the window."""

import threading
from collections.abc import Callable
from contextlib import suppress

from PySide6.QtCore import QObject, Signal

from washmon.gui.client import RecorderClient
from washmon.line.fold import fold
from washmon.line.state import ShiftState
from washmon.sessions.making.from_shift import good_score, make_scenario
from washmon.sessions.practice.parameters import PracticeError
from washmon.store.store import Store


class ScenarioMaking(QObject):
    """Works on a thread of its own: the good strategy takes some seconds for a long shift.

    Signals:
        made(object): a scenario, :class:`washmon.sessions.making.from_shift.Made`, or why not.
        tried(str, float): the text of a scenario, and what the good strategy scores in it.
    """

    made = Signal(object)
    tried = Signal(str, float)

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

        def work() -> None:
            try:
                found: object = make_scenario(shift)
            except PracticeError as trouble:
                found = trouble
            with suppress(RuntimeError):  # the window was closed meanwhile
                self.made.emit(found)

        _aside(work)

    def try_out(self, text: str) -> None:
        """Let the good strategy play a scenario; :attr:`tried` follows where it can be played."""

        def work() -> None:
            with suppress(PracticeError, RuntimeError):
                self.tried.emit(text, good_score(text))

        _aside(work)


def _aside(work: Callable[[], None]) -> None:
    threading.Thread(target=work, name="scenario", daemon=True).start()
