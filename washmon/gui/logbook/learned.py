"""What past shifts taught the forecast before a shift began, told where somebody asks for it."""

from collections.abc import Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Slot

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.working import Step, Working
from washmon.gui.logbook.shift_head import ShiftHeading
from washmon.line.message import Message
from washmon.line.state import ShiftState
from washmon.recorder.past import Past, past_shifts
from washmon.store.store import Store

if TYPE_CHECKING:
    from washmon.forecast.prior import Prior

Taught = Sequence[tuple[str, Sequence[Message]]]
"""By the name of a tank, a sentence for each thing."""


class Learned(QObject):
    """Reads the shifts before one, and works out aside what they taught."""

    def __init__(self, client: RecorderClient, head: ShiftHeading, parent: QObject) -> None:
        super().__init__(parent)
        self._client, self._head = client, head
        self._shift: ShiftState | None = None
        self._person: UserContext | None = None
        self.working = Working(self)
        self.working.came.connect(self._tell)
        head.ask_learned.clicked.connect(self._ask)

    def show_shift(self, shift: ShiftState, person: UserContext) -> None:
        """Offer to tell it of a shift; nothing is worked out before somebody asks."""
        self._shift, self._person = shift, person
        self.working.drop()
        started = shift.started
        alone = started.practice or started.imported
        chlorine = any(tank.spec.peracetic is None for tank in shift.tanks)
        self._head.ask_learned.setVisible(chlorine and not alone)
        self._head.learned.hide()

    @Slot()
    def _ask(self) -> None:
        if self._shift is None:
            return
        shift = self._shift
        if shift.learned:
            self.working.do(partial(_kept, shift))
            return
        self._say(tr("Reading past shifts …"))

        def before(store: Store) -> Past:
            return past_shifts(store, shift.chain, shift.started)

        self._client.read(before, partial(self._work_out, shift))

    def _work_out(self, shift: ShiftState, past: object) -> None:
        if shift is not self._shift:
            return
        if isinstance(past, list):
            self.working.do(partial(_taught, shift, past))
        else:
            self._say(str(past))

    @Slot(object)
    def _tell(self, taught: object) -> None:
        if self._shift is None or self._person is None:
            return
        if isinstance(taught, Exception):
            self._say(tr("Past shifts can't be followed: {what}", what=str(taught)))
            return
        lines = [
            tr("{tank}: {taught}", tank=name, taught=" ".join(map(self._person.say, said)))
            for name, said in (taught if isinstance(taught, list) else [])
            if said
        ]
        how = tr("A manager lets it be forgotten in the set-up, under Measures.")
        if lines:
            self._say("\n".join((tr("Learned from the shifts before this one."), *lines, how)))
        else:
            self._say(tr("No shift before this one taught anything: it began with what is usual."))

    def _say(self, text: str) -> None:
        self._head.learned.setText(text)
        self._head.learned.show()


def _taught(shift: ShiftState, past: Past, tell: Step) -> Taught:
    """Return what shifts before taught one of whose beginning its journal keeps nothing."""
    from washmon.forecast.learning import learned_from  # noqa: PLC0415 - start-up is measured

    del tell
    return _words(shift, learned_from(past))


def _kept(shift: ShiftState, tell: Step) -> Taught:
    """Return what the journal of a shift keeps of what it began with."""
    from washmon.forecast.learning import kept_in  # noqa: PLC0415 - start-up is measured

    del tell
    return _words(shift, kept_in(shift))


def _words(shift: ShiftState, priors: "Mapping[int, Prior]") -> Taught:
    from washmon.forecast.forecast_words import learned_words  # noqa: PLC0415 - start-up is measured

    return [
        (tank.spec.name, learned_words(priors[tank.number], tank.spec.volume_l))
        for tank in shift.tanks
        if tank.number in priors
    ]
