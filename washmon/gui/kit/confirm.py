"""One question with two answers, laid over the window: nothing waits for it.

A PIN asked for over the window, where an entry turns out to need one.
"""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, hbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.form_fields import TextField
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size

_WIDTH_PX = 480


class ConfirmQuestion(QWidget):
    """Covers its parent until answered. Esc is the no; Enter is the answer that has the focus."""

    answered = Signal(bool)

    def __init__(self, parent: QWidget, question: str, yes: str, no: str, detail: str = "") -> None:
        super().__init__(parent)
        self._before = parent.window().focusWidget()
        self.words = Text(question, Size.TITLE, bold=True, wrapped=True)
        self.yes = PressButton(yes, Rank.PRIMARY, then=self._say_yes)
        self.no = PressButton(no, Rank.SECONDARY, "Esc", bound=False, then=self._say_no)
        self.card = card = Card(self, margin_px=20)
        card.setFixedWidth(min(_WIDTH_PX, max(parent.width() - 24, 240)))
        card.body.setSpacing(12)
        card.body.addWidget(self.words)
        if detail:
            card.body.addWidget(Text(detail, tone=Tone.SOFT, wrapped=True))
        answers = hbox(self.yes, self.no, STRETCH, gap_px=8)
        card.body.addLayout(answers)
        outer = QVBoxLayout(self)
        outer.addWidget(card, 0, Qt.AlignmentFlag.AlignCenter)
        self.setAccessibleName(question)
        parent.installEventFilter(self)
        self.setGeometry(parent.rect())
        self.show()
        self.raise_()
        self.no.setFocus()

    @Slot()
    def _say_yes(self) -> None:
        self._finish(answer=True)

    @Slot()
    def _say_no(self) -> None:
        self._finish(answer=False)

    def _finish(self, *, answer: bool) -> None:
        if self.isHidden():
            return
        self.hide()
        if self._before is not None and self._before.isVisible():
            self._before.setFocus()
        self.answered.emit(answer)
        self.deleteLater()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take Esc as no, Enter as the focused answer, arrows as a move between the two."""
        key = event.key()
        if key == Qt.Key.Key_Escape:
            self._say_no()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._finish(answer=self.yes.hasFocus())
        else:
            super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        """Keep the window's shortcuts from acting behind the question."""
        if event.type() is QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return super().event(event)

    def focusNextPrevChild(self, _forward: bool) -> bool:  # noqa: FBT001 (Qt's signature)
        """Keep the focus between the two answers."""
        (self.no if self.yes.hasFocus() else self.yes).setFocus(Qt.FocusReason.TabFocusReason)
        return True

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Follow the parent's size."""
        if event.type() is QEvent.Type.Resize and isinstance(watched, QWidget):
            self.setGeometry(watched.rect())
        return False

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Dim what lies behind."""
        QPainter(self).fillRect(self.rect(), theme.with_alpha(theme.current().paper, 0.72))


def ask(parent: QWidget, question: str, yes: str, no: str, detail: str = "") -> ConfirmQuestion:
    """Lay ``question`` over ``parent`` and return at once; connect to its ``answered``.

    The safe answer, no, has the focus.
    """
    return ConfirmQuestion(parent, question, yes, no, detail)


def leave_or_ask(parent: QWidget, leave: Callable[[], object], *, unsaved: bool) -> None:
    """Leave at once where nothing is lost; else ask, and leave after a yes."""

    def answer(yes: bool) -> None:  # noqa: FBT001 - a slot
        if yes:
            leave()

    if not unsaved:
        leave()
        return
    question = tr("What is written here is not saved. Leave it?")
    ask(parent, question, tr("Leave it"), tr("Go on writing")).answered.connect(answer)


class SecretQuestion(ConfirmQuestion):
    """Asks for a PIN; Enter goes on with it, Esc gives it up. ``fault`` says what the last was."""

    def __init__(self, parent: QWidget, question: str, fault: str = "") -> None:
        super().__init__(parent, question, tr("Go on"), tr("Not now"))
        self.secret = TextField("pin", tr("PIN"), secret=True, parent=self)
        self.secret.show_fault(fault)
        self.card.body.insertWidget(1, self.secret)
        self.secret.editor.returnPressed.connect(self.yes.click)
        self.secret.setFocus()

    def focusNextPrevChild(self, forward: bool) -> bool:  # noqa: FBT001 (Qt's signature)
        """Keep the focus in the question: the PIN, then its two answers."""
        ring = [self.secret.editor, self.yes, self.no]
        at = next((at for at, one in enumerate(ring) if one.hasFocus()), -1)
        ring[(at + (1 if forward else -1)) % len(ring)].setFocus(Qt.FocusReason.TabFocusReason)
        return True
