"""The checks of one instrument or pack over the past year: a chart, and the list under it."""

from collections.abc import Sequence
from datetime import timedelta

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.control_chart import ControlChart
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.export_bar import trouble_words
from washmon.gui.logbook.table import Cell, ListedPage, Listing
from washmon.gui.registers.views import checks_chart
from washmon.gui.trends.gathering import Gathered, Gatherer
from washmon.line.events import InstrumentChecked
from washmon.line.fold import NotAShift, fold
from washmon.line.instruments import MEASURES
from washmon.line.registers import Device, Pack, full_name
from washmon.store.store import Store

_BACK = timedelta(days=400)


class ChecksPage(QWidget):
    """Reads the checks from the journals of the shifts, while entries get in between.

    Signals:
        left(): back to the list.
        loaded(): what was found is shown, or why nothing can be.
    """

    left = Signal()
    loaded = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._thing: Device | Pack | None = None
        self._person: UserContext | None = None
        self.title = Text("", Size.LARGE, bold=True)
        self.state = Text("", tone=Tone.SOFT)
        self.chart = ControlChart()
        self.list = ListedPage("")
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self._leave)
        page_column(
            self,
            self.title,
            self.state,
            (self.chart, 3),
            (self.list, 2),
            foot_row(self.back, self.message),
        )
        self._gatherer = Gatherer(client, Gathered(instrument_checks), self)
        self._gatherer.progressed.connect(self._tell)
        self._gatherer.gathered.connect(self._show)

    def open(self, thing: Device | Pack, person: UserContext) -> None:
        """Show the checks of something; :attr:`loaded` follows."""
        self._thing, self._person = thing, person
        self.title.setText(tr("Checks of {name}", name=full_name(thing)))
        self.message.clear()
        self._tell_state(tr("Looking through the journal …"))
        self._gatherer.gather(self._client.clock() - _BACK)

    @Slot()
    def _leave(self) -> None:
        self._gatherer.stop()
        self.left.emit()

    @Slot(int, int)
    def _tell(self, done: int, total: int) -> None:
        self._tell_state(tr("{done} of {total} shifts are read.", done=done, total=total))

    def _tell_state(self, text: str) -> None:
        self.state.setText(text)
        self.state.setVisible(bool(text))

    @Slot(object)
    def _show(self, result: object) -> None:
        self._tell_state("")
        if not isinstance(result, tuple):
            self.message.warn(trouble_words(result))
        elif self._thing is not None and self._person is not None:
            mine = [one for one in result if one.which == self._thing.key]
            self.chart.show_view(checks_chart(self._thing, mine, self._person))
            self.list.show_listing(_listed(mine, self._person))
        self.loaded.emit()


def instrument_checks(store: Store, chain: str) -> list[InstrumentChecked]:
    """Return the checks of registered instruments in a shift, corrections applied."""
    entries = store.entries(chain)
    if not any(isinstance(one.event, InstrumentChecked) for one in entries):
        return []
    try:
        checks = [one for _, one in fold(chain, entries).verified if one.which]
    except NotAShift:
        return []
    return sorted(checks, key=lambda one: one.at)


def _listed(checks: Sequence[InstrumentChecked], person: UserContext) -> Listing:
    heads = (
        tr("Checked"),
        tr("By"),
        tr("Standard"),
        tr("It showed"),
        tr("Set right"),
        tr("Fit"),
        tr("Against"),
    )
    return Listing(heads, tuple(_row(one, person) for one in reversed(checks)))


def _row(one: InstrumentChecked, person: UserContext) -> tuple[Cell, ...]:
    kind = MEASURES[one.instrument].kind
    shown = (
        "" if value is None else person.show(value, kind) for value in (one.standard, one.found)
    )
    return (
        Cell(f"{one.at:%Y-%m-%d %H:%M}"),
        Cell(one.by),
        *(Cell(text, number=True) for text in shown),
        Cell(tr("Yes") if one.adjusted else tr("No")),
        Cell(tr("Yes")) if one.fit else Cell(tr("No"), Tone.STOP),
        Cell(one.against),
    )
