"""Which line this computer is for, asked once where several run on one server."""

from collections.abc import Callable, Sequence
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.settings import Settings
from washmon.store.shift import ShiftRow
from washmon.store.store import Store


def lines_to_choose(store: Store) -> list[ShiftRow]:
    """Return the newest running shift of each line, by name; nothing where there is no choice."""
    newest = {row.line: row for row in store.running()}
    return [newest[line] for line in sorted(newest)] if len(newest) > 1 else []


def begin_on_a_line(
    store: Store, settings: Settings, begin: Callable[[str | None], None]
) -> "list[LineChooser]":
    """Begin on the line of this computer; where none is known and several run, ask which.

    The window that asks is shown and returned.
    """
    running = [] if settings.line else lines_to_choose(store)
    if not running:
        begin(settings.line or None)
        return []

    def choose(line: str) -> None:
        settings.line = line
        begin(line)

    asking = LineChooser(running, choose)
    asking.show()
    return [asking]


class LineChooser(QWidget):
    """A window of its own; ``choose`` is called with the name of the line that was pressed."""

    def __init__(self, running: Sequence[ShiftRow], choose: Callable[[str], None]) -> None:
        super().__init__()
        self.setObjectName("paper")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setWindowTitle("washmon")
        self.resize(760, 420)
        self._choose = choose
        self.buttons = [PressButton(_words(row), Rank.SECONDARY) for row in running]
        card = Card(self, margin_px=24)
        card.body.setSpacing(12)
        card.body.addWidget(Text(tr("Which line is this?"), Size.LARGE, bold=True))
        said = tr(
            "Several lines run on this server. This computer remembers the one you choose; All "
            "lines in the menu shows them together."
        )
        card.body.addWidget(Text(said, tone=Tone.SOFT, wrapped=True))
        column = QVBoxLayout()
        for row, button in zip(running, self.buttons, strict=True):
            button.clicked.connect(partial(self._chosen, row.line))
            column.addWidget(button)
        column.addStretch(1)
        inner = QWidget()
        inner.setObjectName("scrolled")
        inner.setLayout(column)
        scroller = QScrollArea()
        scroller.setFrameShape(QFrame.Shape.NoFrame)
        scroller.setWidgetResizable(True)
        scroller.setWidget(inner)
        card.body.addWidget(scroller, 1)
        QVBoxLayout(self).addWidget(card)

    def _chosen(self, line: str, _checked: object = None) -> None:
        self._choose(line)
        self.close()


def _words(row: ShiftRow) -> str:
    return tr(
        "{line}, since {time}, begun by {who}",
        line=row.line,
        time=f"{row.started_at:%H:%M}",
        who=row.supervisor,
    )
