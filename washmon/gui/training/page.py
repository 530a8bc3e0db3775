"""Training: who passed what of the course, sign-offs, certificate and register."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext, translated
from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import FrontStack, vbox
from washmon.gui.kit.confirm import ConfirmQuestion, ask
from washmon.gui.kit.file_asking import FileSaver
from washmon.gui.logbook.export_bar import trouble_words
from washmon.gui.training.course_page import CoursePage
from washmon.gui.training.trainee_list import TraineeList
from washmon.gui.training.views import Trainees, title_of
from washmon.line.journal import SITE
from washmon.line.registry import training_of
from washmon.line.setup import LineSetup
from washmon.line.site_events import CourseSet, TrainingSigned
from washmon.line.training import Course, Trained, score_words
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Saved
from washmon.recorder.attempts import KeptAttempt, attempts, debrief_of
from washmon.reports.csv_export import export_rows
from washmon.reports.files import ExportError, written_aside
from washmon.reports.training import (
    TRAINING,
    Printing,
    printed_certificate,
    printed_register,
    training_lines,
)
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario import Scenario
from washmon.sessions.practice.shelf import ScenarioShelf
from washmon.store.store import Store

CSV, REGISTER, CERTIFICATE = "csv", "register", "certificate"


class TrainingPage(QWidget):
    """The list of trainees, and the course behind it.

    Signals:
        left(): back to where it was opened from.
        loaded(): the register, or the reason why it can't be shown, is shown.
    """

    left = Signal()
    loaded = Signal()

    def __init__(
        self, client: RecorderClient, shelf: ScenarioShelf, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._client, self._shelf = client, shelf
        self._person: UserContext | None = None
        self._setup: LineSetup | None = None
        self._may = True
        self._found = Trainees()
        self._wanted = CSV
        self._sending = Sending(client, self)
        self.list = TraineeList()
        self.course = CoursePage()
        self.saver = FileSaver(tr("Save the register of training"), self)
        self.pages = FrontStack(self.list, self.course)
        vbox(self.pages, on=self)
        self._connect()

    def _connect(self) -> None:
        self.list.left.connect(self.left)
        self.list.course_asked.connect(self._open_course)
        self.list.sign_asked.connect(self._score)
        self.list.file_asked.connect(self._ask_file)
        self.course.left.connect(self._leave_course)
        self.course.written.connect(self._set_course)
        self.saver.chosen.connect(self._save_named)
        self._sending.saved.connect(self._saved)
        self._sending.refused.connect(self._refused)

    def open(self, setup: LineSetup | None, person: UserContext, *, may: bool) -> None:
        """Show who is trained; :attr:`loaded` follows. Without ``may`` it is only read."""
        self._setup, self._person, self._may = setup, person, may
        self.list.message.clear()
        self._show_list()
        self._read()

    def show_snapshot(self, _snapshot: Snapshot, person: UserContext) -> None:
        """Let whoever stands here now be who enters."""
        self._person = person

    @property
    def unsaved(self) -> bool:
        """Whether a course was changed that is not in the journal."""
        return self.pages.currentWidget() is self.course and self.course.unsaved

    def _read(self) -> None:
        self._client.read(_trainees, self._show)

    def _show(self, result: object) -> None:
        if isinstance(result, Trainees):
            self._found = result
            today = self._client.clock().date()
            people = result.people(self._setup)
            is_set = result.register.course is not None
            self.list.show_trainees(
                result, self._course(), people, today, may=self._may, is_set=is_set
            )
        else:
            self.list.message.warn(trouble_words(result))
        self.loaded.emit()

    def _course(self) -> Course:
        """Return the course that holds; the program's own scenarios where none was set."""
        return self._found.register.course or Course(scenarios=self._titles(own=False))

    def _titles(self, *, own: bool) -> tuple[str, ...]:
        try:
            kept = self._shelf.read()
        except PracticeError:
            return ()
        usual = (one for one in kept if not one.is_own and self._suits(one.scenario))
        return tuple(dict.fromkeys(one.scenario.title for one in (kept if own else usual)))

    def _suits(self, scenario: Scenario) -> bool:
        """Tell whether the shed keeps a tank with what a scenario is about."""
        tanks = self._setup.tanks if self._setup is not None else ()
        return scenario.line.peracetic in ({one.peracetic is not None for one in tanks} or {False})

    @Slot()
    def _show_list(self) -> None:
        self.pages.setCurrentWidget(self.list)
        self.list.people.table.setFocus()

    @Slot()
    def _open_course(self) -> None:
        self.pages.setCurrentWidget(self.course)
        self.course.open(self._course(), self._titles(own=True))

    @Slot()
    def _leave_course(self) -> None:
        if not self.course.unsaved:
            self._show_list()
            return
        words = tr("Leave and forget what you wrote here?")
        ask(self, words, tr("Leave"), tr("Stay here")).answered.connect(self._left_course)

    @Slot(bool)
    def _left_course(self, yes: bool) -> None:  # noqa: FBT001 - Qt's signal
        if yes:
            self._show_list()

    # -- entries --------------------------------------------------------------------------------

    @Slot(object)
    def _set_course(self, course: Course) -> None:
        if self._person is not None:
            event = CourseSet(at=self._client.clock(), by=self._person.initials, course=course)
            self._sending.send(event, self._person)

    @Slot(object)
    def _score(self, kept: KeptAttempt) -> None:
        """Work out the score of an attempt as it stands in the journal, and sign it off."""
        self.list.message.say(tr("Working out the score …"))

        def query(store: Store) -> tuple[KeptAttempt, float]:
            return kept, debrief_of(store, kept.row.chain).score

        self._client.read(query, self._sign)

    def _sign(self, result: object) -> None:
        """Ask before it is signed, now that its score is known: it stands in the register then."""
        self.list.message.clear()
        if self.findChild(ConfirmQuestion) is not None:
            return  # it was pressed twice
        if not isinstance(result, tuple):
            self.list.message.warn(trouble_words(result))
            self.loaded.emit()
            return
        kept, score = result
        course = self._course()
        what = Trained(
            person=kept.attempt.trainee,
            scenario=title_of(kept),
            attempt=kept.row.chain,
            head=kept.row.head,
            on=kept.attempt.begun_at.date(),
            advice=kept.attempt.advice,
            score=score,
        )
        words = tr("{who}, {scenario}: {score} of 100.", **_told(what, course))
        mark = f"{course.pass_mark:g}"
        detail = (
            tr("The pass mark is {mark}: it is passed.", mark=mark)
            if score >= course.pass_mark
            else tr("The pass mark is {mark}: it is not passed.", mark=mark)
        )
        question = ask(self, words, tr("Sign off"), tr("Back"), detail)
        question.answered.connect(partial(self._send_signed, what))

    def _send_signed(self, what: Trained, yes: bool) -> None:  # noqa: FBT001 - Qt's signal
        if yes and self._person is not None:
            now, by = self._client.clock(), self._person.initials
            self._sending.send(TrainingSigned(at=now, by=by, what=what), self._person)

    @Slot(object)
    def _saved(self, answer: Saved) -> None:
        match answer.entry.event:
            case TrainingSigned(what=what):
                told = _told(what, self._course())
                said = tr("Signed off: {who}, {scenario}, {score} of 100.", **told)
                self.list.message.say(said)
            case CourseSet():
                self._show_list()
                self.list.message.say(tr("The course is saved."))
        self._read()

    @Slot(object)
    def _refused(self, faults: dict[str, str]) -> None:
        said = " ".join(faults.values())
        is_course = self.pages.currentWidget() is self.course
        (self.course.message if is_course else self.list.message).warn(said)

    # -- files ----------------------------------------------------------------------------------

    @Slot(str)
    def _ask_file(self, wanted: str) -> None:
        self._wanted = wanted
        who = self.list.person
        name = {
            CSV: "training.csv",
            REGISTER: "training.pdf",
            CERTIFICATE: f"certificate-{who}.pdf",
        }[wanted]
        self.saver.ask(name)

    @Slot(str)
    def _save_named(self, file: str) -> None:
        self.write(Path(file), self._wanted)

    def write(self, target: Path, wanted: str) -> None:
        """Write the register (``csv`` or ``register``) or a certificate, and say so."""
        works: dict[str, Callable[[Path], None]] = {
            CSV: self._write_csv,
            REGISTER: self._write_register,
            CERTIFICATE: self._write_certificate,
        }
        try:
            works[wanted](target)
        except ExportError as trouble:
            self.list.message.warn(translated(trouble.template).format(**trouble.values))
        else:
            self.list.message.say(tr("Written: {path}", path=str(target)))

    def _write_csv(self, target: Path) -> None:
        export_rows(target, TRAINING, [training_lines(self._found.register)])

    def _write_register(self, target: Path) -> None:
        with written_aside(target) as file:
            file.write(printed_register(self._found.register, self._printing()))

    def _write_certificate(self, target: Path) -> None:
        course, who = self._course(), self.list.person
        known = self._setup.person(who) if self._setup is not None else None
        name = known.name if known is not None else ""
        body = printed_certificate(self._found.register, course, who, self._printing(), name=name)
        with written_aside(target) as file:
            file.write(body)

    def _printing(self) -> Printing:
        return Printing(
            site=self._setup.place if self._setup is not None else "",
            maker=self._person.initials if self._person is not None else "",
            made_at=self._client.clock(),
            head=self._found.head,
        )


def _told(what: Trained, course: Course) -> dict[str, str]:
    score = score_words(what.score, course)
    return {"who": what.person, "scenario": what.scenario, "score": score}


def _trainees(store: Store) -> Trainees:
    finished = tuple(one for one in attempts(store) if one.row.ended_at is not None)
    register = training_of(store.entries(SITE))
    return Trainees(register=register, attempts=finished, head=store.head(SITE) or "")
