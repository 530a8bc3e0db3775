"""Where a trainer leaves notes and questions in a recorded shift, and saves them with its file."""

from pathlib import Path

from msgspec import UNSET
from PySide6.QtCore import QEvent, QObject, Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, vbox
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.file_asking import FileSaver
from washmon.gui.kit.form_fields import TextField
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.sessions.file import (
    LONGEST_ANSWER,
    MOST_ANSWERS,
    SUFFIX,
    Lesson,
    LessonKind,
    Session,
    SessionFileError,
    write_lessons,
)


class LessonPanel(QFrame):
    """Collects lessons of one session.

    Signals:
        said(str): something was done, in a sentence.
        failed(str): something was not, and why.
        closed(): Esc was pressed in an empty field.
    """

    said = Signal(str)
    failed = Signal(str)
    closed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("hint")
        self._session: Session | None = None
        self._after = 0
        self.lessons: list[Lesson] = []
        self._saved: list[Lesson] = []
        self.file = FileSaver(tr("Save the session with its lessons"), self)
        self.file.chosen.connect(self._save_named)
        self.where = Text("", Size.SMALL, tone=Tone.SOFT)
        self.text = TextField("text", "", example=tr("What is to be seen here, or asked"))
        self.text.editor.setAccessibleName(tr("Note or question"))
        self.kind = ChoiceRow(
            ((LessonKind.NOTE.value, tr("Note")), (LessonKind.QUESTION.value, tr("Question"))),
            LessonKind.NOTE.value,
        )
        self.answers = TextField("answers", "", example=tr("Right answer; wrong one; wrong one"))
        self.answers.editor.setAccessibleName(tr("Answers of its own, the right one first"))
        self.answers.hide()
        self.add = PressButton(tr("Leave it here"), Rank.PRIMARY, then=self._add)
        self.take_back = PressButton(tr("Take the last back"), Rank.QUIET, then=self._take_back)
        self.save = PressButton(tr("Save with the session"), Rank.SECONDARY, then=self._choose_file)
        self._lay_out()
        self.text.editor.returnPressed.connect(self._add)
        self.answers.editor.returnPressed.connect(self._add)
        self.kind.chosen.connect(self._offer_answers)
        self.text.editor.installEventFilter(self)
        self.hide()

    def _lay_out(self) -> None:
        vbox(
            self.where,
            hbox(self.kind, (self.text, 1), self.add, self.take_back, self.save, gap_px=8),
            self.answers,
            on=self,
            gap_px=2,
            margins_px=(14, 6, 14, 6),
        )

    @property
    def unsaved(self) -> bool:
        """Whether something was left, or typed, that no file has."""
        return self.lessons != self._saved or bool(self.text.text or self.answers.text)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let Esc clear what is typed, or close the panel, and never leave the replay."""
        is_key = event.type() in {QEvent.Type.ShortcutOverride, QEvent.Type.KeyPress}
        if not (is_key and isinstance(event, QKeyEvent) and event.key() == Qt.Key.Key_Escape):
            return super().eventFilter(watched, event)
        event.accept()
        if event.type() is QEvent.Type.KeyPress:
            if self.text.text:
                self.text.put("")
            else:
                self.closed.emit()
        return True

    def take(self, session: Session) -> None:
        """Take up a session with the lessons it has."""
        self._session = session
        self.lessons = list(session.lessons)
        self._saved = list(session.lessons)
        self.save.setEnabled(session.complete)
        self._tell()

    def stand_at(self, after: int) -> None:
        """Say after which entry a lesson would be left now."""
        self._after = after
        self._tell()

    def notes_at(self, after: int) -> tuple[str, ...]:
        """Return the notes that were left after an entry."""
        return tuple(
            one.text for one in self.lessons if one.after == after and one.kind is LessonKind.NOTE
        )

    def _tell(self) -> None:
        self.where.setText(
            tr(
                "After entry {seq}. Notes and questions in this session: {count}.",
                seq=self._after,
                count=len(self.lessons),
            )
        )
        self.take_back.setEnabled(bool(self.lessons))

    @Slot()
    def _add(self) -> None:
        if not self.text.text:
            self.text.show_fault(tr("Write a few words here."))
            return
        kind = LessonKind(self.kind.selected)
        answers = self._own_answers() if kind is LessonKind.QUESTION else ()
        if answers is None:
            return
        self.lessons.append(
            Lesson(after=self._after, kind=kind, text=self.text.text, answers=answers or UNSET)
        )
        self.text.put("")
        self.answers.put("")
        self._tell()

    def _own_answers(self) -> tuple[str, ...] | None:
        """Return the answers as typed, none where the usual ones are to be offered."""
        parts = [part.strip() for part in self.answers.text.split(";")]
        found = tuple(dict.fromkeys(part[:LONGEST_ANSWER] for part in parts if part))
        if found and not MOST_ANSWERS[0] <= len(found) <= MOST_ANSWERS[1]:
            self.answers.show_fault(
                tr("Write two to six different answers, with semicolons between, or none.")
            )
            return None
        self.answers.show_fault("")
        return found

    @Slot(str)
    def _offer_answers(self, kind: str) -> None:
        self.answers.setVisible(kind == LessonKind.QUESTION.value)

    @Slot()
    def _take_back(self) -> None:
        if self.lessons:
            self.lessons.pop()
            self._tell()

    @Slot()
    def _choose_file(self) -> None:
        if self._session is not None:
            self.file.ask(f"{self._session.header.chain}{SUFFIX}".replace("+", "_"))

    @Slot(str)
    def _save_named(self, file: str) -> None:
        self.write(Path(file))

    def write(self, target: Path) -> None:
        """Write the session with its lessons, and say so."""
        if self._session is None:
            return
        try:
            write_lessons(target, self._session, sorted(self.lessons, key=lambda one: one.after))
        except SessionFileError as trouble:
            self.failed.emit(str(trouble))
        else:
            self._saved = list(self.lessons)
            self.said.emit(tr("Saved the session in {file}.", file=str(target)))
