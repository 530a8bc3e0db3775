"""People and their way through the course, with what can be done for the one who is chosen."""

from collections.abc import Sequence
from datetime import date

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, hbox, keep_width, page_column, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.table import ListedPage
from washmon.gui.training.views import Trainees, attempts_listing, people_listing, way_listing
from washmon.line.training import Course, stages

_PEOPLE_PX = 330


class TraineeList(QWidget):
    """People at the left; at the right their scenarios, and attempts to sign off.

    Signals:
        left(): back.
        course_asked(): the course is to be changed.
        sign_asked(object): an attempt, :class:`KeptAttempt`, is to be signed off.
        file_asked(str): ``csv``, ``register`` or ``certificate`` is to be written.
    """

    left = Signal()
    course_asked = Signal()
    sign_asked = Signal(object)
    file_asked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._found = Trainees()
        self._course = Course(scenarios=())
        self._names: tuple[str, ...] = ()
        self._today = date.min
        self._may = True
        self.about = Text("", Size.BODY, tone=Tone.SOFT, wrapped=True)
        self.people = ListedPage(tr("Nobody is in the set-up, and nobody has practised."))
        self.way = ListedPage(tr("No scenario is in the course."))
        self.attempts = ListedPage(tr("No finished attempt is left to sign off."))
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        self.change = PressButton(tr("Change the course"), Rank.SECONDARY, then=self.course_asked)
        self.csv = PressButton(tr("Register as CSV"))
        self.register = PressButton(tr("Register as PDF"))
        self.certificate = PressButton(tr("Certificate"), Rank.SECONDARY, "Ctrl+P")
        self.sign = PressButton(
            tr("Sign off"), Rank.PRIMARY, tr("Enter"), bound=False, then=self._sign
        )
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        head = hbox(
            Text(tr("Training"), Size.LARGE, bold=True), (self.about, 1), self.change, gap_px=16
        )
        keep_width(self.people, _PEOPLE_PX)
        right = vbox(
            (self.way, 3),
            Text(tr("Attempts to sign off"), Size.LEAD, bold=True),
            (self.attempts, 2),
            gap_px=6,
        )
        buttons = (self.csv, self.register, self.certificate, self.sign)
        page_column(
            self,
            head,
            (hbox(self.people, (right, 1), gap_px=12), 1),
            foot_row(self.back, self.message, *buttons),
        )

    def _connect(self) -> None:
        self.csv.clicked.connect(lambda: self.file_asked.emit("csv"))
        self.register.clicked.connect(lambda: self.file_asked.emit("register"))
        self.certificate.clicked.connect(lambda: self.file_asked.emit("certificate"))
        self.attempts.table.opened.connect(self._sign)
        self.people.table.selectionModel().currentRowChanged.connect(self._follow)

    def show_trainees(
        self,
        found: Trainees,
        course: Course,
        people: Sequence[str],
        today: date,
        *,
        may: bool,
        is_set: bool,
    ) -> None:
        """Show the register; the person that was chosen stays so."""
        before = self.person
        self._found, self._course, self._today, self._may = found, course, today, may
        self._names = tuple(people)
        self.about.setText(_about(course, is_set=is_set))
        self.people.show_listing(people_listing(found, course, people, today))
        if self._names:
            self.people.table.selectRow(self._names.index(before) if before in self._names else 0)
        self._follow()

    @property
    def person(self) -> str:
        """The initials of who is chosen; empty of nobody."""
        at = self.people.table.currentIndex().row()
        return self._names[at] if 0 <= at < len(self._names) else ""

    @Slot()
    def _follow(self) -> None:
        who = self.person
        self.way.show_listing(
            way_listing(stages(self._found.register, self._course, who, self._today), self._course)
        )
        unsigned = self._found.unsigned(who)
        self.attempts.show_listing(attempts_listing(unsigned))
        if unsigned:
            self.attempts.table.selectRow(0)
        self.sign.setEnabled(self._may and bool(unsigned))
        self.change.setEnabled(self._may)
        self.certificate.setEnabled(bool(who))

    @Slot()
    def _sign(self) -> None:
        unsigned = self._found.unsigned(self.person)
        at = self.attempts.table.currentIndex().row()
        if self._may and 0 <= at < len(unsigned):
            self.sign_asked.emit(unsigned[at])


def _about(course: Course, *, is_set: bool) -> str:
    words = tr(
        "{count} scenarios, pass mark {mark} of 100, due again after {months} months.",
        count=len(course.scenarios),
        mark=f"{course.pass_mark:g}",
        months=course.months,
    )
    return words if is_set else tr("No course was set; offered: {course}", course=words)
