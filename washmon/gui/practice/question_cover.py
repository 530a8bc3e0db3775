"""A trainer's question on the trainee's screen, large enough for a class; then the reveal."""

from PySide6.QtCore import QEvent, QObject, Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QSizePolicy, QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, hbox, keep_width, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.spoken import announce
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.line.practice_events import Asked

LETTERS = "ABCDEFGH"
_WIDEST_PX = 1100
_MARK_PX = 30


class _Answer(QWidget):
    """One answer: its letter, its words, and after the reveal whether it is right and how often."""

    def __init__(self, at: int, words: str, *, pressed: bool, parent: QWidget) -> None:
        super().__init__(parent)
        letter = LETTERS[at]
        self.mark = StateMark(MarkState.IN_LIMITS, _MARK_PX, self)
        self.button = PressButton(letter, Rank.TOGGLE, parent=self)
        self.button.setCheckable(True)
        self.button.setEnabled(pressed)
        self.button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.words = Text(words, Size.LARGE, wrapped=True, parent=self)
        self.button.setAccessibleName(f"{letter}: {words}")
        self.bar = QProgressBar(self)
        self.bar.setTextVisible(False)
        keep_width(self.bar, 180)
        self.count = Text("", Size.LARGE, bold=True, tabular=True, parent=self)
        keep_width(self.count, 44)
        hbox(self.button, (self.words, 1), self.mark, self.bar, self.count, on=self, gap_px=14)
        for one in (self.mark, self.bar, self.count):
            one.hide()

    def show_chosen(self, *, chosen: bool) -> None:
        """Show that it is the trainee's answer."""
        self.button.setChecked(chosen)

    def reveal(self, count: int, of: int, *, right: bool) -> None:
        """Show how many gave it, and whether it is right."""
        self.bar.setRange(0, max(of, 1))
        self.bar.setValue(count)
        self.count.setText(str(count))
        self.mark.setVisible(right)
        self.bar.setVisible(True)
        self.count.setVisible(True)
        self.words.setFont(Text("", Size.LARGE, bold=right).font())
        self.words.set_tone(Tone.PLAIN if right else Tone.SOFT)
        self.button.setEnabled(False)


class QuestionCover(QWidget):
    """Covers its parent while a question stands; nothing behind it can be seen or done.

    Signals:
        chosen(int): the trainee gave this answer.
    """

    chosen = Signal(int)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("paper")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.answers: list[_Answer] = []
        self._asked: Asked | None = None
        self.head = Text("", Size.LEAD, tone=Tone.SOFT)
        self.question = Text("", Size.HUGE, bold=True, wrapped=True)
        self.foot = Text("", Size.LEAD, tone=Tone.SOFT, wrapped=True)
        self._rows = vbox(gap_px=14)
        inside = QWidget(self)
        keep_width(inside, _WIDEST_PX, most=True)
        column = QVBoxLayout(inside)
        column.setSpacing(18)
        add(column, self.head, self.question, 6, self._rows, 6, self.foot)
        outer = QHBoxLayout(self)
        add(outer, STRETCH, (inside, 20, Qt.AlignmentFlag.AlignVCenter), STRETCH)
        parent.installEventFilter(self)
        self.hide()

    def show_asked(self, asked: Asked | None, *, by_class: bool, revealed: bool) -> None:
        """Show a question as it stands, or none."""
        if asked is None:
            self._asked = None
            self.hide()
            return
        before = self._asked
        if before is None or (before.question, before.answers) != (asked.question, asked.answers):
            self._build(asked, by_class=by_class)
        self._asked = asked
        for at, answer in enumerate(self.answers):
            answer.show_chosen(chosen=not by_class and asked.counts[at] > 0)
            if revealed:
                answer.reveal(asked.counts[at], sum(asked.counts), right=at == asked.right)
        self.foot.setText(_foot(asked, by_class=by_class, revealed=revealed))
        announce(self, self.foot.text())

    def _build(self, asked: Asked, *, by_class: bool) -> None:
        for old in self.answers:
            self._rows.removeWidget(old)
            old.hide()
            old.deleteLater()
        self.head.setText(tr("The shift stands. A question:"))
        self.question.setText(asked.question)
        self.answers = [
            _Answer(at, words, pressed=not by_class, parent=self)
            for at, words in enumerate(asked.answers)
        ]
        for at, answer in enumerate(self.answers):
            answer.button.clicked.connect(self._choose)
            answer.button.setProperty("place", at)
            self._rows.addWidget(answer)
        parent = self.parentWidget()
        if parent is not None:
            self.setGeometry(parent.rect())
        self.show()
        self.raise_()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFocus()

    @Slot()
    def _choose(self) -> None:
        button = self.sender()
        if isinstance(button, PressButton):
            self.chosen.emit(int(button.property("place")))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take a letter or a digit as an answer; nothing else goes through."""
        typed = event.text().upper()
        at = LETTERS.find(typed) if typed and typed in LETTERS else -1
        if typed.isdigit():
            at = int(typed) - 1
        if 0 <= at < len(self.answers) and self.answers[at].button.isEnabled():
            self.chosen.emit(at)

    def event(self, event: QEvent) -> bool:
        """Keep the window's shortcuts from acting behind the question."""
        if event.type() is QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return super().event(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Follow the parent's size."""
        if event.type() is QEvent.Type.Resize and isinstance(watched, QWidget):
            self.setGeometry(watched.rect())
        return False


def _foot(asked: Asked, *, by_class: bool, revealed: bool) -> str:
    if not revealed:
        if by_class:
            return tr("Think first. Then raise your hand for one answer.")
        return tr("Press your answer; it may be changed until the trainer shows what is right.")
    if not 0 <= asked.right < len(asked.answers):
        return tr("There is no one right answer: say why you chose yours.")
    return tr(
        "Right is {letter}: {right} of {all}.",
        letter=LETTERS[asked.right],
        right=asked.counts[asked.right],
        all=sum(asked.counts),
    )
