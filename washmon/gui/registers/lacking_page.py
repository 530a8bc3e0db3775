"""What the rules on records ask for, where it is, and what this shed still lacks of it."""

from datetime import date

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.table import Cell, ListedPage, Listing, Row
from washmon.line.papers_asked import Answer, answers
from washmon.line.register_state import Stock


class LackingPage(QWidget):
    """A list to read; what is lacking stands first.

    Signals:
        left(): back to the registers.
    """

    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.list = ListedPage("")
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        lead = tr(
            "What 21 CFR 112.50 and 117.190 ask to be kept, as far as wash water goes. Which of it "
            "applies to this farm, its own food safety plan says."
        )
        page_column(
            self,
            Text(tr("Records that are asked for"), Size.LARGE, bold=True),
            Text(lead, tone=Tone.SOFT, wrapped=True),
            (self.list, 1),
            foot_row(self.back, self.message),
        )

    def show_answers(self, stock: Stock, today: date) -> None:
        """Show how each of them stands."""
        every = answers(stock.registers, today, stock.missing)
        found = sorted(every, key=_place)
        heads = (tr("State"), tr("Asked for"), tr("Where it is"), tr("21 CFR"))
        self.list.show_listing(Listing(heads, tuple(_row(one) for one in found)))


def _place(one: Answer) -> tuple[bool, bool]:
    """What is to be done stands first, then what may not apply."""
    to_do = one.late or (one.lacks and not one.asked.only_if)
    return not to_do, not one.lacks


def _row(one: Answer) -> Row:
    asks = tr(one.asked.asks)
    if one.asked.only_if:
        asks = f"{asks}, {tr(one.asked.only_if)}"
    where = [paper.name for paper in one.papers]
    where += [tr(one.asked.here)] if one.asked.here else []
    return (
        _state(one),
        Cell(asks),
        Cell(", ".join(where) if where else _missing(one)),
        Cell(one.asked.clause, Tone.SOFT),
    )


def _state(one: Answer) -> Cell:
    if one.late:
        return Cell(tr("review overdue"), Tone.ACT, MarkState.ACT)
    if not one.lacks:
        return Cell(tr("there"), look=MarkState.IN_LIMITS)
    if one.asked.only_if:
        return Cell(tr("not here"), look=MarkState.UNKNOWN)
    return Cell(tr("lacking"), Tone.ACT, MarkState.ACT)


def _missing(one: Answer) -> str:
    kinds = ", ".join(tr(kind.value) for kind in one.asked.kinds)
    return tr("File it under Papers, as: {kinds}", kinds=kinds)
