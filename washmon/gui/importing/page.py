"""The import: a file, what its columns hold, what each row comes to, and the shifts it becomes."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QStandardPaths, Signal, Slot
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QVBoxLayout, QWidget

from washmon.gui.context import Person, translated
from washmon.gui.desk import Desk
from washmon.gui.i18n import tr
from washmon.gui.importing.columns_row import ColumnsRow
from washmon.gui.importing.questions import Questions
from washmon.gui.importing.taking import Taking
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import Look
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.table import Cell, ListedPage, Listing, Row
from washmon.line.message import Message
from washmon.line.setup import LineSetup, Role
from washmon.line.words import describe
from washmon.sessions.imported.columns import guess, tanks_named
from washmon.sessions.imported.log import Log, LogError, read_log
from washmon.sessions.imported.rows import Left, Taken, take
from washmon.sessions.imported.shifts import ImportedShift, shifts

_SHOWN = 300
"""Rows that can be taken are shown up to so many; all that can't are."""
_LONGEST = 300


class ImportPage(QWidget):
    """Signals: ``left()``, ``logbook_asked()``: see what was imported, ``done()``: all is in."""

    left = Signal()
    logbook_asked = Signal()
    done = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._setup: LineSetup | None = None
        self._person: Person | None = None
        self._folder = QStandardPaths.writableLocation(
            QStandardPaths.StandardLocation.DocumentsLocation
        )
        self.log: Log | None = None
        self.found: Sequence[Taken | Left] = ()
        self.shifts: list[ImportedShift] = []
        self.dialog: QFileDialog | None = None
        self.taking = Taking(desk, self)
        self.choose = PressButton(tr("Choose a file"), Rank.PRIMARY, "Ctrl+O")
        self.file = Text("", tone=Tone.SOFT)
        self.columns = ColumnsRow()
        self.questions = Questions()
        self.count = MessageLine()
        self.rows = ListedPage(tr("Choose the log, saved as CSV from the spreadsheet."))
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc")
        self.message = MessageLine()
        self.take = PressButton(tr("Import"), Rank.PRIMARY)
        self._lay_out()
        self._connect()
        self._show_nothing()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.setSpacing(12)
        head.addWidget(Text(tr("Import a spreadsheet log"), Size.LARGE, bold=True))
        head.addStretch(1)
        head.addWidget(self.file)
        head.addWidget(self.choose)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.back)
        buttons.addSpacing(8)
        buttons.addWidget(self.message, 1)
        buttons.addWidget(self.take)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(12, 8, 12, 10)
        outer.setSpacing(8)
        outer.addLayout(head)
        outer.addWidget(self.columns)
        outer.addWidget(self.questions)
        outer.addWidget(self.count)
        outer.addWidget(self.rows, 1)
        outer.addLayout(buttons)

    def _connect(self) -> None:
        self.choose.clicked.connect(self._ask)
        self.columns.changed.connect(self._columns_changed)
        self.questions.changed.connect(self.preview)
        self.back.clicked.connect(self.left)
        self.take.clicked.connect(self._take)
        self.message.acted.connect(self.logbook_asked)
        self.taking.progressed.connect(self._progressed)
        self.taking.finished.connect(self._finished)

    def open(self, setup: LineSetup | None, person: Person) -> None:
        """Begin anew, with the tanks and people of the newest set-up."""
        self._setup, self._person = setup, person
        self._show_nothing()
        self.message.clear()
        if setup is None:
            self.message.warn(tr("Set up the line first: a log needs its tanks and people."))
        else:
            self.questions.show_setup(setup)
        self.choose.setEnabled(setup is not None)
        self.choose.setFocus()

    def _show_nothing(self) -> None:
        self.log, self.found, self.shifts = None, (), []
        for part in (self.columns, self.questions, self.count):
            part.hide()
        self.file.setText("")
        self.rows.nothing.setText(tr("Choose the log, saved as CSV from the spreadsheet."))
        self.rows.show_listing(Listing((), ()))
        self.take.set_label(tr("Import"))
        self.take.setEnabled(False)

    # -- the file -----------------------------------------------------------------------------

    @Slot()
    def _ask(self) -> None:
        if self.dialog is not None:
            return
        self.dialog = QFileDialog(self, tr("Choose the log"), self._folder)
        self.dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        self.dialog.setNameFilter(tr("Tables as text") + " (*.csv *.tsv *.txt)")
        self.dialog.fileSelected.connect(self._chosen)
        self.dialog.finished.connect(self._closed)
        self.dialog.open()

    @Slot(int)
    def _closed(self, _result: int) -> None:
        if self.dialog is not None:
            self.dialog.deleteLater()
            self.dialog = None

    @Slot(str)
    def _chosen(self, path: str) -> None:
        self.read(Path(path))

    def read(self, path: Path) -> None:
        """Read a file, guess what its columns hold, and show what its rows come to."""
        self._show_nothing()
        self._folder = str(path.parent)
        if self._setup is None:
            return
        try:
            self.log = read_log(path)
        except LogError as trouble:
            self.message.warn(translated(trouble.template).format(**trouble.values))
            return
        self.message.clear()
        self.file.setText(
            tr("{name}: {rows} rows, {encoding}", name=path.name, rows=len(self.log.rows),
               encoding=self.log.encoding)
        )  # fmt: skip
        fields = guess(self.log, self._setup)
        self.columns.show_log(self.log, fields, tanks_named(self.log, self._setup))
        self.questions.show_log(self.log, fields, self._setup.taste)
        for part in (self.columns, self.questions, self.count):
            part.show()
        self.preview()

    @Slot()
    def _columns_changed(self) -> None:
        if self.log is not None and self._setup is not None:
            self.questions.show_log(self.log, self.columns.fields, self._setup.taste)
            self.preview()

    # -- the preview --------------------------------------------------------------------------

    @Slot()
    def preview(self) -> None:
        """Show what each row comes to, the rows that can't be taken first."""
        if self.log is None or self._setup is None:
            return
        self.take.setEnabled(False)
        if questions := self.questions.open_questions():
            self.found, self.shifts = (), []
            self.rows.show_listing(Listing((), ()))
            self.rows.nothing.setText(tr("Nothing can be read before that is answered."))
            self.count.doubt(" ".join(one.words for one in questions))
            return
        choices = self.questions.choices(self.columns.fields, self.columns.tanks, self._setup)
        self.found = take(self.log, choices, self._desk.clock())
        self.shifts = shifts(self.log, self.found, choices, self._importer())
        self._show_found()

    def _importer(self) -> str:
        """Return the initials of who imports: of the person in front, else of whoever leads."""
        setup = self._setup
        initials = self._person.initials if self._person else ""
        if setup is None or setup.person(initials) is not None:
            return initials
        leads = [one.initials for one in setup.people if one.role is not Role.LINE_WORKER]
        return next(iter(leads), initials)

    def _show_found(self) -> None:
        refused = [one for one in self.found if isinstance(one, Left)]
        good = [one for one in self.found if isinstance(one, Taken)]
        shown: list[Taken | Left] = [*refused, *good[:_SHOWN]]
        rows = [self._row(one) for one in shown]
        self.rows.show_listing(
            Listing((tr("Row"), tr("When"), tr("State"), tr("What it comes to")), tuple(rows))
        )
        words = tr("{good} of {all} rows can be taken.", good=len(good), all=len(self.found))
        if refused:
            words += " " + tr("Those that can't stand first, each with its reason.")
        (self.count.doubt if refused else self.count.say)(words)
        many = len(self.shifts)
        self.take.set_label(
            tr("Import 1 shift") if many == 1 else tr("Import {count} shifts", count=many)
        )
        self.take.setEnabled(bool(self.shifts))

    def _row(self, one: Taken | Left) -> Row:
        assert self._person is not None  # noqa: S101 - the page was opened to somebody
        assert self._setup is not None  # noqa: S101 - or there is no preview
        number = Cell(str(one.row.number), number=True)
        if isinstance(one, Left):
            why = self._person.say(one.why)
            cells = " | ".join(" ".join(cell.split()) for cell in one.row.cells if cell.strip())
            told = Cell(f"{why}  ({cells[:_LONGEST]})")
            return (number, Cell(""), Cell(tr("can't be taken"), Tone.ACT, Look.ACT), told)
        when = f"{one.events[0].at:%Y-%m-%d %H:%M}"
        said = "; ".join(self._person.say(describe(event, self._setup)) for event in one.events[:4])
        return (number, Cell(when), Cell(tr("taken")), Cell(said[:_LONGEST]))

    # -- taking them over ---------------------------------------------------------------------

    @Slot()
    def _take(self) -> None:
        if self.shifts and not self.taking.busy:
            self.take.setEnabled(False)
            self.choose.setEnabled(False)
            self.taking.take(self.shifts)

    @Slot(int, int)
    def _progressed(self, done: int, total: int) -> None:
        self.message.say(tr("{done} of {total} shifts are in …", done=done, total=total))

    @Slot(int, int, object)
    def _finished(self, taken: int, known: int, trouble: object) -> None:
        self.choose.setEnabled(True)
        said = [
            tr("{count} shifts are in the Logbook, marked as imported.", count=taken)
            if taken != 1
            else tr("1 shift is in the Logbook, marked as imported.")
        ]
        if known:
            said.append(tr("{count} had been imported before.", count=known))
        if isinstance(trouble, Message) and self._person is not None:
            said.append(self._person.say(trouble))
            self.message.warn(" ".join(said))
            self.take.setEnabled(True)
        else:
            self._show_nothing()
            self.message.say(" ".join(said), tr("Open the Logbook"))
        self.done.emit()
