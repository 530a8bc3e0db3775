"""The result beside the form: the answer, what to beware of, the figures, and how it came about."""

from collections.abc import Sequence
from itertools import zip_longest

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QFrame, QGridLayout, QScrollArea, QWidget

from washmon.gui.board.caution_line import CautionLine
from washmon.gui.board.cautions import CautionText, full, sheets
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, add, hbox, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text, Tone, Weight
from washmon.gui.kit.theme import Size
from washmon.line.calculations.asking import Unready
from washmon.line.calculations.result import Result
from washmon.line.flags import Caution


class AnswerPanel(QScrollArea):
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
        self.cautions = _Cautions()
        self.figures = _Figures()
        self.notes = _Lines()
        self.how = QWidget()
        self.steps = _Lines()
        self.sources = _Lines(Size.SMALL, Tone.SOFT)
        self.beware = _Cautions()
        self.unfold = PressButton(tr("How?"), Rank.SECONDARY, then=self._turn)
        self.next = PressButton("", Rank.PRIMARY, then=self.go_on)
        self._lay_out()

    def _lay_out(self) -> None:
        card = self.card
        card.body.setSpacing(12)
        for widget in (self.headline, self.cautions, self.then, self.figures, self.notes):
            card.body.addWidget(widget)
        add(card.body, hbox(self.next, self.unfold, STRETCH, gap_px=8), self.how)
        vbox(self.steps, self.sources, self.beware, on=self.how, gap_px=10)
        inside = QWidget()
        inside.setObjectName("scrolled")
        vbox(card, STRETCH, on=inside, margins_px=(0, 0, 6, 0))
        self.setWidget(inside)

    def show_result(self, result: Result, person: UserContext, next_title: str) -> None:
        """Show an answer; ``next_title`` names the calculation that can go on with it."""
        self._head(person.say(result.headline), Tone.PLAIN)
        self._after(person.say(result.then) if result.then is not None else "")
        gas = Caution.GAS in result.cautions
        self.card.show_look(MarkState.STOP if gas else MarkState.IN_LIMITS)
        self.cautions.show_cautions(tuple(sheets()[each].short.said() for each in result.cautions))
        self.figures.show_figures(
            [(tr(line.label), person.say(line.value), line.notable) for line in result.lines]
        )
        self.notes.say(
            [person.say(note) for note in result.notes], MarkState.STOP if gas else MarkState.WATCH
        )
        self.steps.say([person.say(step) for step in result.how])
        self.sources.say([tr("Source: {source}", source=source) for source in result.sources])
        self.beware.show_cautions(full(result.cautions) if result.cautions else ())
        self.next.set_label(tr("Go on: {title}", title=next_title))
        self.next.setVisible(bool(next_title and result.carry))
        self.unfold.setVisible(True)
        self.how.setVisible(self._unfolded)

    def show_unready(self, unready: Unready, person: UserContext) -> None:
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
        self.card.show_look(MarkState.IN_LIMITS)
        self.cautions.show_cautions(())
        self.figures.show_figures(())
        self.notes.say(())
        for widget in (self.how, self.unfold, self.next):
            widget.hide()

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


class _Marked(QWidget):
    """Words, with a mark before them where they ask for a second look."""

    def __init__(self, size: Size = Size.BODY, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark = StateMark(MarkState.WATCH, 16, self)
        self.words = Text("", size, wrapped=True, parent=self)
        hbox((self.mark, 0, Qt.AlignmentFlag.AlignTop), (self.words, 1), on=self, gap_px=8)

    def say(self, words: str, look: MarkState | None = None) -> None:
        """Show words and a mark, or none."""
        self.words.setText(words)
        self.mark.setVisible(look is not None)
        if look is not None:
            self.mark.show_look(look)


class _Lines(QWidget):
    """Sentences one under the other. Labels are kept: making one at each key takes too long."""

    def __init__(self, size: Size = Size.BODY, tone: Tone = Tone.PLAIN) -> None:
        super().__init__()
        self._size, self._tone = size, tone
        self._lines: list[_Marked] = []
        self._column = vbox(on=self, gap_px=8)

    def say(self, sentences: Sequence[str], look: MarkState | None = None) -> None:
        """Show these sentences, each with the same mark or none."""
        while len(self._lines) < len(sentences):
            line = _Marked(self._size, self)
            line.words.set_tone(self._tone)
            self._column.addWidget(line)
            self._lines.append(line)
        for line, words in zip_longest(self._lines, sentences):
            line.setVisible(words is not None)
            if words is not None:
                line.say(words, look)
        self.setVisible(bool(sentences))


class _Cautions(QWidget):
    """Cautions one under the other, made anew only when they are others."""

    def __init__(self) -> None:
        super().__init__()
        self._shown: tuple[CautionText, ...] = ()
        self._column = vbox(on=self, gap_px=8)

    def show_cautions(self, cautions: tuple[CautionText, ...]) -> None:
        """Show these in place of what was shown."""
        if cautions != self._shown:
            self._shown = cautions
            while (item := self._column.takeAt(0)) is not None:
                widget = item.widget()
                if widget is not None:
                    widget.hide()
                    widget.deleteLater()
            for caution in cautions:
                self._column.addWidget(CautionLine(caution, self))
        self.setVisible(bool(cautions))


class _Figures(QWidget):
    """Names at the left, values at the right."""

    def __init__(self) -> None:
        super().__init__()
        self._rows: list[tuple[Text, _Marked]] = []
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(14)
        self._grid.setVerticalSpacing(6)
        self._grid.setColumnStretch(0, 2)
        self._grid.setColumnStretch(1, 3)

    def show_figures(self, figures: Sequence[tuple[str, str, bool]]) -> None:
        """Show names and values; a notable one with a mark and in its colour."""
        while len(self._rows) < len(figures):
            self._add_row()
        for (name, value), figure in zip_longest(self._rows, figures):
            for widget in (name, value):
                widget.setVisible(figure is not None)
            if figure is not None:
                name.setText(figure[0])
                value.say(figure[1], MarkState.ACT if figure[2] else None)
                value.words.set_tone(Tone.ACT if figure[2] else Tone.PLAIN)
        self.setVisible(bool(figures))

    def _add_row(self) -> None:
        name, value = Text("", tone=Tone.SOFT, wrapped=True, parent=self), _Marked(parent=self)
        value.words.setFont(theme.font(Size.BODY, Weight.DemiBold, tabular=True))
        self._grid.addWidget(name, len(self._rows), 0, Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(value, len(self._rows), 1, Qt.AlignmentFlag.AlignTop)
        self._rows.append((name, value))
