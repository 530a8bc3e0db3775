"""Where a trainer writes a question, counts the answers of a class, and reveals what is right."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QGridLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, FrontStack, add, hbox, vbox
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.form_fields import TextField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.practice.question_cover import LETTERS
from washmon.gui.practice.trainer_desk import MOST_ANSWERS, TrainerDesk
from washmon.line.practice_events import Asked

TRAINEE, CLASS = "trainee", "class"
NONE = "none"
_LEAST_ANSWERS = 2


class AskingPanel(QWidget):
    """Writes while nothing is asked; counts while something is.

    Signals:
        offer_asked(): a question about how things stand is wanted.
    """

    offer_asked = Signal()

    def __init__(self, desk: TrainerDesk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.question = TextField("question", tr("Question"))
        self.answers = [
            TextField(letter, "", example=tr("Answer {letter}", letter=letter))
            for letter in LETTERS[:MOST_ANSWERS]
        ]
        for field in self.answers:
            field.editor.setAccessibleName(field.editor.placeholderText())
        choices = [(str(at), LETTERS[at]) for at in range(MOST_ANSWERS)]
        self.right = ChoiceRow((*choices, (NONE, tr("None"))), "0")
        self.to = ChoiceRow(
            ((TRAINEE, tr("The trainee answers")), (CLASS, tr("A class answers"))), TRAINEE
        )
        self.offer = PressButton(tr("Offer one"), Rank.QUIET, then=self.offer_asked)
        self.ask = PressButton(tr("Pause and ask"), Rank.PRIMARY, then=self._ask)
        self.reveal = PressButton(tr("Reveal"), Rank.PRIMARY)
        self.go_on = PressButton(tr("Go on"))
        self.message = MessageLine()
        self.asked = Text("", Size.LEAD, bold=True, wrapped=True)
        self.counts: list[Text] = []
        self.more: list[PressButton] = []
        self.fewer: list[PressButton] = []
        self._words: list[Text] = []
        self.stack = FrontStack(parent=self)
        self._writing, self._counting = QWidget(), QWidget()
        self._lay_out_writing()
        self._lay_out_counting()
        for page in (self._writing, self._counting):
            self.stack.addWidget(page)
        vbox((self.stack, 1), on=self)
        self._connect()
        self.show_asked()

    def _lay_out_writing(self) -> None:
        vbox(
            self.question,
            *self.answers,
            hbox(Text(tr("Right is"), Size.SMALL, tone=Tone.SOFT), (self.right, 1)),
            self.to,
            hbox(self.ask, self.offer, STRETCH),
            self.message,
            STRETCH,
            on=self._writing,
            gap_px=6,
        )

    def _lay_out_counting(self) -> None:
        column = vbox(self.asked, on=self._counting, gap_px=10)
        grid = QGridLayout()
        grid.setColumnStretch(1, 1)
        for at in range(MOST_ANSWERS):
            words = Text("", Size.BODY, wrapped=True)
            count = Text("0", Size.TITLE, bold=True, tabular=True)
            fewer, more = PressButton("\N{MINUS SIGN}"), PressButton("+")
            for button, said in ((fewer, tr("One fewer")), (more, tr("One more"))):
                button.setAccessibleName(f"{LETTERS[at]}: {said}")
                button.setProperty("place", at)
            fewer.clicked.connect(self._count_down)
            more.clicked.connect(self._count_up)
            for place, widget in enumerate(
                (Text(LETTERS[at], bold=True), words, fewer, count, more)
            ):
                grid.addWidget(widget, at, place)
            self._words.append(words)
            self.counts.append(count)
            self.fewer.append(fewer)
            self.more.append(more)
        self._grid = grid
        column.addLayout(grid)
        add(column, hbox(self.reveal, self.go_on, STRETCH), STRETCH)

    def _connect(self) -> None:
        self._desk.asked_changed.connect(self.show_asked)
        self.reveal.clicked.connect(self._desk.reveal)
        self.go_on.clicked.connect(self._desk.go_on)

    def put(self, offered: Asked) -> None:
        """Write a question into the fields, to be changed or asked as it is."""
        self.question.put(offered.question)
        for at, field in enumerate(self.answers):
            field.put(offered.answers[at] if at < len(offered.answers) else "")
        self.right.choose(str(offered.right) if offered.right >= 0 else NONE)
        self.message.clear()

    @Slot()
    def _ask(self) -> None:
        written = [field.text for field in self.answers]
        answers = tuple(text for text in written if text)
        right = -1 if self.right.selected == NONE else int(self.right.selected)
        if not self.question.text:
            self.question.show_fault(tr("Write what is asked."))
            return
        if len(answers) < _LEAST_ANSWERS:
            self.message.warn(tr("Write two answers at least."))
            return
        if len(set(answers)) < len(answers):
            self.message.warn(tr("Two answers are the same: nobody could tell which is right."))
            return
        if right >= 0 and not written[right]:
            self.message.warn(tr("The right answer is empty: write it, or choose another."))
            return
        place = len([text for text in written[: max(right, 0)] if text]) if right >= 0 else -1
        self.message.clear()
        question = Asked(question=self.question.text, answers=answers, right=place)
        self._desk.ask(question, by_class=self.to.selected == CLASS)

    @Slot()
    def show_asked(self) -> None:
        """Show the question as it stands, or the fields for the next."""
        asked = self._desk.asked
        self.stack.setCurrentWidget(self._writing if asked is None else self._counting)
        if asked is None:
            return
        self.asked.setText(asked.question)
        counting = self._desk.by_class and not self._desk.revealed
        for at in range(MOST_ANSWERS):
            there = at < len(asked.answers)
            for column in range(5):
                item = self._grid.itemAtPosition(at, column)
                widget = item.widget() if item is not None else None
                if widget is not None:
                    widget.setVisible(there)
            if there:
                right = at == asked.right
                words = tr("{answer} (right)", answer=asked.answers[at])
                self._words[at].setText(words if right else asked.answers[at])
                self.counts[at].setText(str(asked.counts[at]))
            self.more[at].setVisible(there and counting)
            self.fewer[at].setVisible(there and counting)
        self.reveal.setEnabled(not self._desk.revealed)

    @Slot()
    def _count_up(self) -> None:
        self._count(1)

    @Slot()
    def _count_down(self) -> None:
        self._count(-1)

    def _count(self, by: int) -> None:
        button = self.sender()
        if isinstance(button, PressButton):
            self._desk.count(int(button.property("place")), by)
