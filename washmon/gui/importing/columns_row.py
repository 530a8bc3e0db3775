"""The columns of a log beside each other: what each says, and what it holds."""

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

from washmon.gui.i18n import begun, tr
from washmon.gui.kit.boxes import add, hbox, keep_width
from washmon.gui.kit.card import Card
from washmon.gui.kit.form_fields import ListField
from washmon.gui.kit.text import ShortText, Tone
from washmon.gui.kit.theme import Size
from washmon.sessions.imported.log import Log
from washmon.sessions.imported.log_columns import MEASURED, Holds, LogField, holds_of
from washmon.units import Kind

_SAMPLES = 3
_WIDTH_PX = 170
_LONGEST = 120
"""Letters of a cell that are shown: its column is a few words wide."""


class ColumnCard(Card):
    """One column: its heading, the first cells, and a list of what it may be."""

    def __init__(self, head: str, cells: list[str], field: Holds, parent: QWidget) -> None:
        super().__init__(parent, margin_px=10)
        keep_width(self, _WIDTH_PX)
        self.head = ShortText(head, bold=True, parent=self)
        self.field = ListField("field", "", field_names(), value=field)
        self.field.editor.setAccessibleName(tr("What {column} holds", column=head))
        add(self.body, self.head, self.field)
        for cell in cells[:_SAMPLES]:
            sample = ShortText("", Size.SMALL, tone=Tone.SOFT, parent=self)
            sample.setText(" ".join(cell[:_LONGEST].split()))
            self.body.addWidget(sample)
        self.body.addStretch(1)


class ColumnsRow(QScrollArea):
    """All columns of a log; ``changed`` tells that one of them holds something else now."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.cards: list[ColumnCard] = []
        self.tanks: dict[int, int] = {}
        """The tanks of those columns whose heading names one."""
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFixedHeight(188)

    def show_log(self, log: Log, fields: Mapping[int, Holds], tanks: Mapping[int, int]) -> None:
        """Show the columns of a log with a first guess of what they hold, and of which tank."""
        self.tanks = dict(tanks)
        inside = QWidget()
        inside.setObjectName("paper")
        row = hbox(on=inside, gap_px=8)
        self.cards = []
        for at in range(log.width):
            head = log.heads[at] if at < len(log.heads) else ""
            words = head or tr("Column {number}", number=at + 1)
            cells = log.column(at)
            if at in tanks:
                cells = [tr("of tank {number}", number=tanks[at]), *cells]
            card = ColumnCard(words, cells, fields[at], inside)
            card.field.changed.connect(self._tell)
            row.addWidget(card)
            self.cards.append(card)
        row.addStretch(1)
        self.setWidget(inside)

    @property
    def fields(self) -> dict[int, Holds]:
        """What each column holds."""
        return {
            at: holds_of(card.field.text or LogField.SKIP) for at, card in enumerate(self.cards)
        }

    @Slot()
    def _tell(self) -> None:
        self.changed.emit()


def field_names() -> tuple[tuple[str, str], ...]:
    """Return what a column may hold, in the order in which it is offered."""
    return (
        (LogField.SKIP.value, tr("Leave out")),
        (LogField.DATE.value, tr("Date")),
        (LogField.TIME.value, tr("Time")),
        (LogField.DATE_TIME.value, tr("Date and time")),
        (LogField.TANK.value, tr("Tank")),
        *((name, _measured(name)) for name in MEASURED),
        (LogField.BY.value, tr("Initials")),
        (LogField.LOT.value, tr("Lot")),
        (LogField.WEIGHT.value, tr("Weight of a batch")),
        (LogField.BATCHES.value, tr("Number of batches")),
        (LogField.DOSE.value, tr("Sanitizer added")),
        (LogField.NOTE.value, tr("Note")),
    )


def _measured(name: str) -> str:
    """Return what a quantity is called where there is little room."""
    one = MEASURED[name]
    if one.kind is Kind.TEMPERATURE:
        return tr("{what} temp.", what=tr(one.label))
    return begun(tr(name))
