"""The import: a file, what its columns hold, what each row comes to, and the shifts it becomes."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple

from PySide6.QtCore import QStandardPaths, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext, translated
from washmon.gui.i18n import tr
from washmon.gui.importing.columns_row import ColumnsRow
from washmon.gui.importing.layouts import Layouts
from washmon.gui.importing.log_questions import Open, Questions
from washmon.gui.importing.previewing import LogPreview, Mending, RowsList, counted, preview
from washmon.gui.importing.taking import Taking
from washmon.gui.kit.boxes import STRETCH, foot_row, hbox, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.file_asking import FileOpener
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.kit.working import ShownWorking, Step
from washmon.gui.logbook.export_bar import trouble_words
from washmon.gui.settings import Settings
from washmon.line.message import Message
from washmon.line.setup import LineSetup, Role
from washmon.sessions.imported.log import Log, LogError, read_log
from washmon.sessions.imported.log_columns import Holds, guess, tanks_named
from washmon.sessions.imported.log_rows import Changed, Found, Left
from washmon.sessions.imported.shifts import ImportedShift


class OpenedLog(NamedTuple):
    """A log, and what its columns seem to hold."""

    log: Log
    fields: dict[int, Holds]
    tanks: dict[int, int]


def _documents() -> str:
    return QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)


class ImportPage(QWidget):
    """Signals: ``left()``, ``logbook_asked()``: see what was imported, ``done()``: all is in."""

    left = Signal()
    logbook_asked = Signal()
    done = Signal()

    def __init__(
        self,
        client: RecorderClient,
        settings: Settings | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._client = client
        self._layouts = Layouts(settings)
        self._setup: LineSetup | None = None
        self._person: UserContext | None = None
        self._folder = _documents()
        self.log: Log | None = None
        self.found: Sequence[Found] = ()
        self.shifts: list[ImportedShift] = []
        self.opener = FileOpener(tr("Choose the log"), self)
        self.taking = Taking(client, self)
        self.working = ShownWorking(self)
        self.choose = PressButton(tr("Choose a file"), Rank.PRIMARY, "Ctrl+O", then=self._ask)
        self.file = Text("", tone=Tone.SOFT)
        self.columns = ColumnsRow()
        self.questions = Questions()
        self.count = MessageLine()
        self.rows = RowsList()
        self.mending = Mending(self)
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        self.message = MessageLine()
        self.take = PressButton(tr("Import"), Rank.PRIMARY, then=self._take)
        self._lay_out()
        self._connect()
        self._show_nothing()

    def _lay_out(self) -> None:
        head = hbox(
            Text(tr("Import a spreadsheet log"), Size.LARGE, bold=True),
            STRETCH,
            self.file,
            self.choose,
            gap_px=12,
        )
        page_column(
            self,
            head,
            self.columns,
            self.questions,
            self.count,
            (self.rows, 1),
            foot_row(self.back, self.message, *self.working.shown, self.take),
        )

    def _connect(self) -> None:
        self.opener.chosen.connect(self._chosen)
        self.columns.changed.connect(self._columns_changed)
        self.questions.changed.connect(self.preview)
        self.questions.head_changed.connect(self._head_changed)
        self.rows.table.opened.connect(self._mend)
        self.mending.mended.connect(self._mended)
        self.message.acted.connect(self.logbook_asked)
        self.working.cancel.clicked.connect(self._cancel)
        self.working.came.connect(self._came)
        self.taking.progressed.connect(self._progressed)
        self.taking.finished.connect(self._finished)

    def open(self, setup: LineSetup | None, person: UserContext) -> None:
        """Begin anew, with the tanks and people of the newest set-up."""
        self.working.drop()
        self._setup, self._person = setup, person
        self._show_nothing()
        self.message.clear()
        if setup is None:
            self.message.warn(tr("Set up the line first: a log needs its tanks and people."))
        else:
            self.questions.show_setup(setup)
        self.choose.setEnabled(setup is not None)
        self.choose.setFocus()

    @property
    def unsaved(self) -> bool:
        """Whether a log is being read that was not imported yet."""
        return self.log is not None

    def _show_nothing(self) -> None:
        self.log, self.found, self.shifts = None, (), []
        for part in (self.columns, self.questions, self.count):
            part.hide()
        self.file.setText("")
        self.rows.show_nothing(tr("Choose the log, saved as CSV from the spreadsheet."))
        self.take.set_label(tr("Import"))
        self.take.setEnabled(False)

    # -- the file -----------------------------------------------------------------------------

    @Slot()
    def _ask(self) -> None:
        kind = tr("Tables as text") + " (*.csv *.tsv *.txt)"
        self.opener.ask(folder=self._folder, kinds=[kind])

    @Slot(str)
    def _chosen(self, path: str) -> None:
        self.read(Path(path))

    def read(self, path: Path) -> None:
        """Read a file, guess what its columns hold, and show what its rows come to."""
        self._show_nothing()
        self._folder = str(path.parent)
        if self._setup is None:
            return
        self.rows.nothing.setText(tr("Reading {name} …", name=path.name))
        self.working.do(partial(_opened, path, self._setup))

    def _show_log(self, opened: OpenedLog) -> None:
        if self._setup is None:
            return
        self.log = log = opened.log
        self.message.clear()
        self.file.setText(log_words(log))
        kept = self._layouts.find(log)
        fields = opened.fields if kept is None else kept.fields
        self.columns.show_log(log, fields, opened.tanks)
        self.questions.show_log(log, fields, self._setup.taste)
        if kept is not None:
            self.questions.put_answers(kept.answers)
            self.message.say(tr("The columns are read as the last time: look them over."))
        for part in (self.columns, self.questions, self.count):
            part.show()
        self.preview()
        asked = (one.field for one in self._open_questions())
        if (first := next((field for field in asked if field is not None), None)) is not None:
            first.setFocus()

    @Slot()
    def _head_changed(self) -> None:
        if self.log is not None and self._setup is not None:
            log = self.log.with_head(self.questions.chosen_head)
            self._show_log(_guessed(log, self._setup))

    @Slot(int)
    def _mend(self, at: int) -> None:
        if self.log is not None and at < len(self.rows.shown):
            self.mending.open(self.rows.shown[at], self.log, self.columns.fields)

    @Slot(int, object)
    def _mended(self, number: int, cells: tuple[str, ...]) -> None:
        if self.log is not None:
            self.log = self.log.with_cells(number, cells)
            self.preview()
            self.rows.table.setFocus()

    @Slot()
    def _cancel(self) -> None:
        self.working.drop()
        self._show_nothing()
        self.message.say(tr("Cancelled: nothing was read."))

    @Slot(object)
    def _came(self, result: object) -> None:
        match result:
            case OpenedLog():
                self._show_log(result)
            case LogPreview():
                self.found, self.shifts = result
                self._show_found()
            case LogError():
                self._show_nothing()
                self.message.warn(translated(result.template).format(**result.values))
            case _:
                self._show_nothing()
                self.message.warn(trouble_words(result))

    @Slot()
    def _columns_changed(self) -> None:
        if self.log is not None and self._setup is not None:
            answers = self.questions.answers()
            self.questions.show_log(self.log, self.columns.fields, self._setup.taste)
            self.questions.put_answers(answers)
            self.preview()

    # -- the preview --------------------------------------------------------------------------

    @Slot()
    def preview(self) -> None:
        """Show what each row comes to, the rows that can't be taken first."""
        if self.log is None or self._setup is None:
            return
        self.take.setEnabled(False)
        self.working.drop()
        if questions := self._open_questions():
            self.found, self.shifts = (), []
            self.rows.show_nothing(tr("Nothing can be read before that is answered."))
            self.count.doubt(" ".join(one.words for one in questions))
            return
        words = tr("Reading {rows} rows …", rows=len(self.log.rows))
        self.count.say(words)
        self.rows.nothing.setText(words)
        choices = self.questions.choices(self.columns.fields, self.columns.tanks, self._setup)
        now, by = self._client.clock(), who_imports(self._setup, self._person)
        work = partial(preview, self._client.recorder, self.log, choices, now=now, importer=by)
        self.working.do(work)

    def _open_questions(self) -> list[Open]:
        return self.questions.open_questions(self.columns.fields, self.columns.tanks)

    def _show_found(self) -> None:
        if self._person is None or self._setup is None:
            return
        self.rows.show_found(self.found, self._person, self._setup)
        heed = any(isinstance(one, Left | Changed) for one in self.found)
        (self.count.doubt if heed else self.count.say)(counted(self.found))
        self.take.set_label(take_words(len(self.shifts)))
        self.take.setEnabled(bool(self.shifts))

    # -- taking them over ---------------------------------------------------------------------

    @Slot()
    def _take(self) -> None:
        if self.shifts and not self.taking.busy:
            self.take.setEnabled(False)
            self.choose.setEnabled(False)
            if self.log is not None:
                self._layouts.keep(self.log, self.columns.fields, self.questions.answers())
            self.taking.take(self.shifts)

    @Slot(int, int)
    def _progressed(self, done: int, total: int) -> None:
        self.message.say(tr("{done} of {total} shifts are in …", done=done, total=total))

    @Slot(int, int, object)
    def _finished(self, taken: int, known: int, trouble: object) -> None:
        self.choose.setEnabled(True)
        said = taken_words(taken, known)
        if isinstance(trouble, Message) and self._person is not None:
            self.message.warn(f"{said} {self._person.say(trouble)}")
            self.take.setEnabled(True)
        else:
            self._show_nothing()
            self.message.say(said, tr("Open the Logbook"))
        self.done.emit()


def _opened(path: Path, setup: LineSetup, tell: Step) -> OpenedLog:
    log = read_log(path)
    tell(0, len(log.rows))
    return _guessed(log, setup)


def _guessed(log: Log, setup: LineSetup) -> OpenedLog:
    return OpenedLog(log, guess(log, setup), tanks_named(log, setup))


def who_imports(setup: LineSetup, person: UserContext | None) -> str:
    """Return the initials of who imports: of the person in front, else of whoever leads."""
    initials = person.initials if person else ""
    if setup.person(initials) is not None:
        return initials
    leads = [one.initials for one in setup.people if one.role is not Role.LINE_WORKER]
    return next(iter(leads), initials)


def log_words(log: Log) -> str:
    """Return which log is read, and how."""
    rows, encoding = len(log.rows), log.encoding
    return tr("{name}: {rows} rows, {encoding}", name=log.name, rows=rows, encoding=encoding)


def take_words(many: int) -> str:
    """Return what stands on the button that takes so many shifts over."""
    return tr("Import 1 shift") if many == 1 else tr("Import {count} shifts", count=many)


def taken_words(taken: int, known: int) -> str:
    """Return how many shifts are in now, and how many had been before."""
    said = tr("1 shift is in the Logbook, marked as imported.")
    if taken != 1:
        said = tr("{count} shifts are in the Logbook, marked as imported.", count=taken)
    if not known:
        return said
    return f"{said} " + tr("{count} had been imported before.", count=known)
