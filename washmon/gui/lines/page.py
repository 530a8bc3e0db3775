"""All running lines at once, read-only: which tank of which line needs somebody first."""

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.kit.working import Aside
from washmon.gui.lines.rows import TankRow, heads, tank_rows
from washmon.gui.logbook.export_bar import trouble_words
from washmon.gui.logbook.table import FactsModel, FactsTable
from washmon.recorder.line_watch import SILENCE_S, LinesSeen, LineWatch
from washmon.store.store import Store

_AGES_MS = 15_000
"""So often the ages of readings are said anew, whatever happens."""


class AllLinesPage(QWidget):
    """Follows the lines while it is in front, on a thread and connections of its own.

    Signals:
        left(): back to where it was opened from.
        shown(): the newest that is known is shown.
    """

    left = Signal()
    shown = Signal()

    def __init__(
        self,
        client: RecorderClient,
        parent: QWidget | None = None,
        *,
        silence_s: float = SILENCE_S,
    ) -> None:
        super().__init__(parent)
        self._client, self._silence_s = client, silence_s
        self._person: UserContext | None = None
        self._watch: LineWatch | None = None
        self._last: LinesSeen | None = None
        self.rows: list[TankRow] = []
        self.facts = Text("", tone=Tone.SOFT)
        self.trouble = MessageLine(self)
        self.model = FactsModel(heads(), self)
        self.table = FactsTable(self.model, wraps=False, stretched=6)
        self.table.setAccessibleName(tr("Tanks of all running lines"))
        self.nothing = Text(tr("No line is running."), tone=Tone.SOFT)
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        lead = tr("The worst first. Nothing can be entered here.")
        self.lead = Text(lead, tone=Tone.SOFT, wrapped=True)
        page_column(
            self,
            Text(tr("All lines"), Size.LARGE, bold=True),
            self.lead,
            self.trouble,
            (self.table, 1),
            (self.nothing, 1),
            foot_row(self.back, self.facts),
        )
        self._ages = QTimer(self, interval=_AGES_MS)
        self._ages.timeout.connect(self._draw)
        self.trouble.hide()
        self.nothing.hide()

    def open(self, person: UserContext) -> None:
        """Show the lines to a person, in their units."""
        self._person = person
        self.table.setFocus()

    def showEvent(self, event: QShowEvent) -> None:
        """Begin to follow."""
        super().showEvent(event)
        if self._watch is None:
            self._client.read(_reader, self._follow)

    def hideEvent(self, event: QHideEvent) -> None:
        """Follow nothing while another page is in front."""
        self._ages.stop()
        if self._watch is not None:
            self._watch.stop()  # a server that hangs keeps its thread waiting, not the window
            self._watch = None
        super().hideEvent(event)

    def _follow(self, reader: object) -> None:
        if not callable(reader):
            self._warn(trouble_words(reader))
        elif self._watch is None and self.isVisible():
            aside = Aside(self._take)
            self._watch = watch = LineWatch(
                reader, aside.told.emit, self._client.clock, silence_s=self._silence_s
            )
            aside.begin(lambda _tell: watch.run(), "all lines")
            self._ages.start()

    @Slot(object)
    def _take(self, seen: LinesSeen) -> None:
        self._last = seen
        self._draw()
        self.shown.emit()

    @Slot()
    def _draw(self) -> None:
        seen, person = self._last, self._person
        if seen is None or person is None:
            return
        self._warn(seen.trouble)
        rows = tank_rows(seen.shifts, self._client.clock(), person)
        if rows != self.rows or not self.model.rows:
            self.rows = rows
            down = self.table.verticalScrollBar().value()
            self.model.show_rows([row.cells for row in rows])
            self.table.verticalScrollBar().setValue(down)
        self.table.setVisible(bool(rows))
        self.nothing.setVisible(not rows)
        self.facts.setText(_facts(seen))

    def _warn(self, words: str) -> None:
        self.trouble.setVisible(bool(words))
        if words != self.trouble.words.text():
            self.trouble.warn(words)


def _reader(store: Store) -> Callable[[], Store]:
    """Return how the same database is opened once more; that is done on the thread of the watch."""
    return store.reader


def _facts(seen: LinesSeen) -> str:
    count = len(seen.shifts)
    lines = tr("1 line runs") if count == 1 else tr("{count} lines run", count=count)
    return tr("{lines} · as of {time}", lines=lines, time=f"{seen.at:%H:%M:%S}")
