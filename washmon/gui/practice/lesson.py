"""A lesson: the trainer's window beside an attempt, and the trainer's questions over it."""

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.confirm import ask
from washmon.gui.practice.practice_client import PracticeClient
from washmon.gui.practice.question_cover import QuestionCover
from washmon.gui.practice.trainer_window import TrainerWindow, other_screen
from washmon.sessions.practice.veil import Showing


class LiveLesson(QObject):
    """What is true stands in the trainer's window alone, never on the page.

    Signals:
        showing_chosen(str): when the trainee sees flags; see :class:`Showing`.
    """

    showing_chosen = Signal(str)

    def __init__(
        self, client: PracticeClient, person: UserContext, showing: Showing, page: QWidget
    ) -> None:
        super().__init__(page)
        self._page = page
        self._behind: tuple[QWidget, ...] = ()
        self.window = TrainerWindow(client, person, showing, page)
        self.desk = self.window.desk
        self.cover = QuestionCover(page)
        self.window.showing_chosen.connect(self.showing_chosen)
        self.desk.asked_changed.connect(self._show_asked)
        self.cover.chosen.connect(self.desk.choose)

    def stand_over(self, *widgets: QWidget) -> None:
        """Say what can't be worked on while a question stands."""
        self._behind = widgets

    @Slot()
    def open(self) -> None:
        """Open the trainer's window; ask first where the trainee would see it, too."""
        if self.window.isVisible() or other_screen(self._page) is not None:
            self.window.open()
            return
        question = ask(
            self._page,
            tr("There is one screen: open the trainer's window here?"),
            tr("Open"),
            tr("Back"),
            tr("It shows what is true in the tanks: the trainee should not see it."),
        )
        question.answered.connect(self._answer)

    @Slot(bool)
    def _answer(self, yes: bool) -> None:  # noqa: FBT001 - Qt's signal
        if yes:
            self.window.open()

    def close(self) -> None:
        """End the lesson with the attempt."""
        self.window.close()

    @Slot()
    def _show_asked(self) -> None:
        desk = self.desk
        for widget in self._behind:
            widget.setEnabled(desk.asked is None)
        self.cover.show_asked(desk.asked, by_class=desk.by_class, revealed=desk.revealed)
        if desk.asked is None:
            self._page.setFocus()
