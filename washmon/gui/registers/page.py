"""Registers: what is measured with and poured from, how it stands, and what is to be done."""

from pathlib import Path

from msgspec.structs import replace
from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import FrontStack, vbox
from washmon.gui.kit.file_asking import FileSaver
from washmon.gui.logbook.export_bar import trouble_words
from washmon.gui.registers.checks_page import ChecksPage
from washmon.gui.registers.filing import Filing, open_outside
from washmon.gui.registers.forms import About
from washmon.gui.registers.lacking_page import LackingPage
from washmon.gui.registers.register_list import RegisterList
from washmon.gui.registers.thing_page import ThingPage
from washmon.line.register_state import Stock, worst_first
from washmon.line.registers import Device, Pack, Paper, Registers, Thing, full_name, retired
from washmon.line.registry import drawn_in, registers_of
from washmon.line.setup import LineSetup
from washmon.line.site_events import ThingRegistered
from washmon.line.state import ShiftState
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Saved
from washmon.reports.files import ExportError
from washmon.reports.register_table import write_registers
from washmon.store.papers import Taken, seems_whole
from washmon.store.store import Store


class RegistersPage(QWidget):
    """A list, a form over it, and the checks of an instrument.

    Signals:
        left(): back to where it was opened from.
        loaded(): what is registered, or the reason why nothing can be shown, is shown.
    """

    left = Signal()
    loaded = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._person: UserContext | None = None
        self._setup: LineSetup | None = None
        self._shift: ShiftState | None = None
        self._may = True
        self._stock = Stock(registers=Registers())
        self._sending = Sending(client, self)
        self.list = RegisterList()
        self.thing = ThingPage()
        self.checks = ChecksPage(client)
        self.lacking = LackingPage()
        self.filing = Filing(client, self)
        self.saver = FileSaver(tr("Save the registers"), self)
        self._filed: tuple[Taken, Paper] | None = None
        """A content that was taken in, until the journal has its paper."""
        self.pages = FrontStack(self.list, self.thing, self.checks, self.lacking)
        vbox(self.pages, on=self)
        self._connect()

    def _connect(self) -> None:
        self.list.left.connect(self.left)
        self.list.add_asked.connect(self._add)
        self.list.change_asked.connect(self._change)
        self.list.retire_asked.connect(self._retire)
        self.list.checks_asked.connect(self._show_checks)
        self.thing.left.connect(self._show_list)
        self.thing.written.connect(self._send)
        self.checks.left.connect(self._show_list)
        self.lacking.left.connect(self._show_list)
        self.list.open_asked.connect(self.filing.lay_out)
        self.list.lacking_asked.connect(self._show_lacking)
        self.list.csv_asked.connect(self._ask_where)
        self.saver.chosen.connect(self._save_csv)
        self.filing.taken.connect(self._take)
        self.filing.laid_out.connect(self._open_outside)
        self._sending.saved.connect(self._saved)
        self._sending.refused.connect(self._refused)

    def open(
        self, setup: LineSetup | None, person: UserContext, shift: ShiftState | None, *, may: bool
    ) -> None:
        """Show what is registered, a running shift's doses counted in; :attr:`loaded` follows.

        Without ``may`` it is only read.
        """
        self._setup, self._person, self._may = setup, person, may
        self._shift = shift
        self.list.message.clear()
        self._show_list()
        self._read()

    @property
    def unsaved(self) -> bool:
        """Whether something is written in the form that is not in the journal."""
        return self.thing.unsaved

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Count in what the running shift has poured by now."""
        self._person = person
        before, self._shift = self._shift, snapshot.shift
        drawn = [{} if one is None else drawn_in(one) for one in (before, self._shift)]
        if drawn[0] != drawn[1] and self.pages.currentWidget() is self.list:
            self._read()

    def _read(self) -> None:
        self._client.read(_registers, self._show)

    def _show(self, result: object) -> None:
        if not isinstance(result, tuple):
            self.list.message.warn(trouble_words(result))
        elif self._person is not None:
            registers, gone = result
            running = self._shift is not None and self._shift.ended is None
            drawn = drawn_in(self._shift) if self._shift is not None and running else {}
            self._stock = Stock(registers=registers, drawn=drawn, setup=self._setup, missing=gone)
            things = worst_first(self._stock, self._client.clock().date())
            self.list.show_things(things, self._stock, self._person, may=self._may)
        self.loaded.emit()

    @Slot()
    def _show_list(self) -> None:
        self.pages.setCurrentWidget(self.list)
        self.list.list.table.setFocus()

    @Slot(str)
    def _add(self, kind: str) -> None:
        self._open_form(None, kind)

    @Slot(object)
    def _change(self, thing: Thing) -> None:
        self._open_form(thing)

    def _open_form(self, thing: Thing | None, kind: str = "") -> None:
        if self._person is not None:
            today = self._client.clock().date()
            self.pages.setCurrentWidget(self.thing)
            self.thing.open(About(self._person, self._stock, today, thing), kind)

    @Slot(object)
    def _retire(self, thing: Thing) -> None:
        today = self._client.clock().date()
        self._send(retired(thing, None if thing.retired_on is not None else today))

    @Slot(object)
    def _show_checks(self, thing: Thing) -> None:
        if self._person is not None and isinstance(thing, Device | Pack):
            self.pages.setCurrentWidget(self.checks)
            self.checks.open(thing, self._person)

    @Slot()
    def _show_lacking(self) -> None:
        self.lacking.show_answers(self._stock, self._client.clock().date())
        self.pages.setCurrentWidget(self.lacking)

    @Slot()
    def _ask_where(self) -> None:
        self.saver.ask("registers.csv", kinds=(tr("Tables (*.csv)"),))

    @Slot(str)
    def _save_csv(self, path: str) -> None:
        try:
            write_registers(Path(path), self._stock, self._client.clock().date())
        except ExportError as trouble:
            self.list.message.warn(trouble_words(trouble))
        else:
            self.list.message.say(tr("Saved: {file}", file=path))

    @Slot(object)
    def _open_outside(self, result: object) -> None:
        if not isinstance(result, Path):
            self.list.message.warn(trouble_words(result))
        elif not open_outside(result):
            self.list.message.warn(tr("Nothing on this computer opens {file}.", file=result.name))

    @Slot(object)
    def _take(self, result: object) -> None:
        """Send a paper whose content lies where it belongs, or say why it does not."""
        if not isinstance(result, Taken):
            self._filed = None
            self.thing.show_faults({"file": trouble_words(result)})
        elif self._filed is not None:
            paper = self._filed[1]
            size, name = result.size, result.name
            self._filed = (result, replace(paper, sha256=result.sha256, size=size, file=name))
            self._send(self._filed[1])

    @Slot(object)
    def _send(self, thing: Thing) -> None:
        if isinstance(thing, Paper) and not thing.sha256:
            if not self.filing.busy:
                self._filed = (Taken("", 0, "", is_new=False), thing)
                self.thing.message.say(tr("Copying …"))
                self.filing.take_in(Path(thing.file))
            return
        if self._person is not None:
            now = self._client.clock()
            event = ThingRegistered(at=now, by=self._person.initials, what=thing)
            self._sending.send(event, self._person)

    @Slot(object)
    def _saved(self, answer: Saved) -> None:
        event, self._filed = answer.entry.event, None
        self._show_list()
        if isinstance(event, ThingRegistered):
            words = tr("Retired: {name}") if event.what.retired_on else tr("Saved: {name}")
            self.list.message.say(words.format(name=full_name(event.what)))
        self._read()

    @Slot(object)
    def _refused(self, faults: dict[str, str]) -> None:
        if self._filed is not None:
            self.filing.let_go(self._filed[0])
            self._filed = None
        if self.pages.currentWidget() is self.thing:
            self.thing.show_faults(faults)
        else:
            self.list.message.warn(" ".join(faults.values()))


def _registers(store: Store) -> tuple[Registers, frozenset[str]]:
    """Return what is registered, and the hashes of papers that are not as they were filed.

    Their sizes tell that at a glance; their hashes are looked at before one is opened or bound.
    """
    found, folder = registers_of(store.site()), store.papers_folder
    papers = found.of(Paper)
    return found, frozenset(one.sha256 for one in papers if not seems_whole(folder, one))
