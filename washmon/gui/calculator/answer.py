"""The result beside the form: the answer, what to beware of, the figures, and how it came about."""

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from washmon.gui.board.caution_line import CautionLine
from washmon.gui.board.cautions import full, sheets
from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.state_mark import Look, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.line.calculations.asking import Unready
from washmon.line.calculations.result import Result
from washmon.line.flags import Caution


class Answer(QScrollArea):
    """Shows a result, or why there is none. ``go_on`` asks to carry it to another calculation."""

    go_on = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unfolded = False
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.card = Card(margin_px=18)
        self.headline = Text("", Size.LARGE, bold=True, wrapped=True, tabular=True)
        self.then = Text("", wrapped=True)
        self.cautions = _Stack()
        self.figures = _Figures()
        self.notes = _Stack()
        self.how = _Stack()
        self.unfold = PressButton(tr("How?"), Rank.SECONDARY)
        self.next = PressButton("", Rank.PRIMARY)
        self.unfold.clicked.connect(self._turn)
        self.next.clicked.connect(self.go_on)
        self._lay_out()

    def _lay_out(self) -> None:
        card = self.card
        card.body.setSpacing(12)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.next)
        buttons.addWidget(self.unfold)
        buttons.addStretch(1)
        for widget in (self.headline, self.cautions, self.then, self.figures, self.notes):
            card.body.addWidget(widget)
        card.body.addLayout(buttons)
        card.body.addWidget(self.how)
        inside = QWidget()
        inside.setObjectName("scrolled")
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 6, 0)
        column.addWidget(card)
        column.addStretch(1)
        self.setWidget(inside)

    def show_result(self, result: Result, person: Person, next_title: str) -> None:
        """Show an answer; ``next_title`` names the calculation that can go on with it."""
        self._head(person.say(result.headline), Tone.PLAIN)
        self._after(person.say(result.then) if result.then is not None else "")
        self.cautions.fill(
            [CautionLine(sheets()[each].short.said(), self) for each in result.cautions]
        )
        self.figures.fill(
            [(tr(line.label), person.say(line.value), line.notable) for line in result.lines]
        )
        gas = Caution.GAS in result.cautions
        self.card.show_look(Look.STOP if gas else Look.IN_LIMITS)
        mark = Look.STOP if gas else Look.WATCH
        self.notes.fill([_Marked(person.say(note), mark) for note in result.notes])
        self.how.fill(_ways(result, person, self))
        self.next.set_label(tr("Go on: {title}", title=next_title))
        self.next.setVisible(bool(next_title and result.carry))
        self.unfold.setVisible(True)
        self.how.setVisible(self._unfolded)

    def show_unready(self, unready: Unready, person: Person) -> None:
        """Say what is still needed, or that something is to mend."""
        general = unready.faults.get("")
        if general is not None:
            self._head(person.say(general), Tone.STOP)
            self._after("")
        elif unready.faults:
            self._head(tr("No answer yet"), Tone.SOFT)
            self._after(tr("Mend what is marked in the form."))
        else:
            needed = ", ".join(tr(field.label) for field in unready.missing)
            self._head(tr("No answer yet"), Tone.SOFT)
            self._after(tr("Still needed: {fields}.", fields=needed))
        self.card.show_look(Look.IN_LIMITS)
        for part in (self.cautions, self.notes, self.how):
            part.fill([])
        self.figures.fill([])
        self.unfold.hide()
        self.next.hide()

    def _head(self, words: str, tone: Tone) -> None:
        self.headline.setText(words)
        self.headline.set_tone(tone)
        self.setAccessibleName(words)

    def _after(self, words: str) -> None:
        self.then.setText(words)
        self.then.setVisible(bool(words))

    @Slot()
    def _turn(self) -> None:
        self._unfolded = not self._unfolded
        self.unfold.set_label(tr("Hide how") if self._unfolded else tr("How?"))
        self.how.setVisible(self._unfolded)


def _ways(result: Result, person: Person, parent: QWidget) -> list[QWidget]:
    """Return the way to a result, its sources, and all there is to beware of."""
    parts: list[QWidget] = [Text(person.say(step), wrapped=True) for step in result.how]
    parts += [
        Text(tr("Source: {source}", source=source), Size.SMALL, tone=Tone.SOFT, wrapped=True)
        for source in result.sources
    ]
    if result.cautions:
        parts += [CautionLine(text, parent) for text in full(result.cautions)]
    return parts


class _Marked(QWidget):
    """Words with a mark before them."""

    def __init__(
        self, words: str, look: Look, *, bold: bool = False, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        shown = Text(words, bold=bold, wrapped=True, tabular=bold, parent=self)
        if bold:
            shown.set_tone(look.tone)
        row.addWidget(StateMark(look, 16, self), 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(shown, 1)


class _Stack(QWidget):
    """Widgets one under the other, hidden when there are none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(8)

    def fill(self, widgets: list[QWidget]) -> None:
        """Show these in place of what was shown."""
        _empty(self._column)
        for widget in widgets:
            self._column.addWidget(widget)
            widget.show()
        self.setVisible(bool(widgets))


class _Figures(QWidget):
    """Names at the left, values at the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(14)
        self._grid.setVerticalSpacing(6)
        self._grid.setColumnStretch(0, 2)
        self._grid.setColumnStretch(1, 3)

    def fill(self, figures: list[tuple[str, str, bool]]) -> None:
        """Show names and values; a notable one with a mark and in its colour."""
        _empty(self._grid)
        for row, (name, value, notable) in enumerate(figures):
            label = Text(name, tone=Tone.SOFT, wrapped=True)
            shown: QWidget = Text(value, bold=True, wrapped=True, tabular=True)
            if notable:
                shown = _Marked(value, Look.ACT, bold=True)
            self._grid.addWidget(label, row, 0, Qt.AlignmentFlag.AlignTop)
            self._grid.addWidget(shown, row, 1, Qt.AlignmentFlag.AlignTop)
            label.show()
            shown.show()
        self.setVisible(bool(figures))


def _empty(layout: QVBoxLayout | QGridLayout) -> None:
    while (item := layout.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
