"""The record of one shift, to read from top to bottom or tab by tab.

What is shown when a shift has ended: its record, the summary first.
"""

from typing import Any

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QSizePolicy, QStackedWidget, QTabBar, QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext, decimal_point
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import Stretch, foot_row, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.confirm import leave_or_ask
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.logbook.decision import DecisionCard
from washmon.gui.logbook.export_bar import ExportBar, trouble_words
from washmon.gui.logbook.learned import Learned
from washmon.gui.logbook.record_parts import ReadShift, read_record
from washmon.gui.logbook.shift_head import ShiftHeading
from washmon.gui.logbook.shift_tables import listing
from washmon.gui.logbook.signing_bar import SigningBar
from washmon.gui.logbook.summary_table import SummaryTable
from washmon.gui.logbook.table import ListedPage
from washmon.line.state import ShiftState
from washmon.recorder.exporting import PrintOn
from washmon.reports.csv_export import suggested_name
from washmon.reports.record_lists import LISTS
from washmon.reports.summing import summarize
from washmon.reports.tables import ACTIONS, BATCHES, HOLDS, READINGS, SUMMARIES, Table

_LOWEST_PX = 150
"""Each tab scrolls by itself down to this height, so that the foot stays in sight."""


class ShiftPage(QWidget):
    """Reads a shift from the journal and shows it.

    Signals:
        left(): back to the list.
        session_file_asked(str), replay_asked(str), scenario_asked(str): of the shift with this
            chain.
        loaded(): a shift, or the reason why there is none, is shown.
    """

    left = Signal()
    session_file_asked = Signal(str)
    replay_asked = Signal(str)
    scenario_asked = Signal(str)
    loaded = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._chain = ""
        self._person: UserContext | None = None
        self.shift: ShiftState | None = None
        self.head = ShiftHeading(self)
        self.learned = Learned(client, self.head, self)
        self.alarm = MessageLine(self)
        self.signing = SigningBar(client, self)
        self.tabs = QTabBar(self)
        self.tabs.setDrawBase(False)
        self.tabs.setExpanding(False)
        self.pages = QStackedWidget(self)
        self.pages.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Ignored)
        self.pages.setMinimumHeight(_LOWEST_PX)
        self.summary = SummaryTable()
        self.lists: dict[str, ListedPage] = {}
        self.cards: list[DecisionCard] = []
        self.bar = ExportBar(client, self)
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self._leave)
        self.export_summary = PressButton(
            tr("Summary CSV"), Rank.PRIMARY, "Ctrl+E", then=self._export_summary
        )
        self.export_listed = PressButton("", then=self._export_listed)
        self.print_record = PressButton(tr("Print record"), then=self._print)
        self.session_file = PressButton(tr("Session file"), then=self._ask_session_file)
        self.replay = PressButton(tr("Replay"), then=self._ask_replay)
        self._ways_out = (
            self.export_summary,
            self.export_listed,
            self.print_record,
            self.session_file,
            self.replay,
        )
        self._add_pages()
        self._lay_out()
        self._connect()
        self._offer_listed()

    def _add_pages(self) -> None:
        self.tabs.addTab(tr("Summary"))
        self.pages.addWidget(self.summary)
        for key, listed in LISTS.items():
            self.lists[key] = ListedPage(tr(listed.nothing))
            self.tabs.addTab(tr(listed.title))
            self.pages.addWidget(self.lists[key])

    def _lay_out(self) -> None:
        page_column(
            self,
            self.head,
            self.alarm,
            self.signing,
            self.tabs,
            (self.pages, 1),
            Stretch(0),
            foot_row(self.back, self.bar, *self._ways_out),
        )

    def _connect(self) -> None:
        self.tabs.currentChanged.connect(self.pages.setCurrentIndex)
        self.tabs.currentChanged.connect(self._offer_listed)
        self.head.decide_asked.connect(self.show_holds)
        self.signing.signed.connect(self._signed)
        self.head.scenario.clicked.connect(self._ask_scenario)

    def open(self, chain: str, person: UserContext | None, *, tab: int = 0) -> None:
        """Read a shift and show it; :attr:`loaded` follows."""
        self._chain, self._person = chain, person
        self.shift = None
        self.head.say(tr("Reading the shift …"))
        self.alarm.hide()
        self.signing.clear()
        self.bar.message.clear()
        self._allow(allowed=False)
        self.pages.hide()  # what is there belongs to another shift
        self.tabs.setCurrentIndex(tab)
        self._read()

    @Slot()
    def show_holds(self) -> None:
        """Turn to the holds."""
        self.tabs.setCurrentIndex(1 + list(self.lists).index("holds"))

    def _read(self) -> None:
        self._client.read(read_record(self._chain), self._show)

    def _show(self, result: object) -> None:
        if not isinstance(result, ReadShift):
            self.head.say(tr("This shift can't be shown"))
            self.bar.message.warn(trouble_words(result))
        elif result.shift.chain == self._chain:
            self._show_record(result)
        else:
            return  # another one has been asked for since
        self.loaded.emit()

    def _show_record(self, record: ReadShift) -> None:
        self.shift = shift = record.shift
        person = self._person or UserContext("", shift.setup.taste, decimal_point())
        self.head.show_shift(shift, person)
        self.learned.show_shift(shift, person)
        alarm = record.alarm()
        self.alarm.setVisible(bool(alarm))
        self.alarm.warn(alarm)
        self.signing.show_record(record, person)
        self.summary.show_summaries(summarize(shift), person)
        for at, (key, listed) in enumerate(LISTS.items(), 1):
            rows = listing(listed, shift, person)
            self.lists[key].show_listing(rows)
            self.tabs.setTabText(at, f"{tr(listed.title)}  {len(rows.rows)}")
        self._show_cards(shift, person)
        self.pages.show()
        self._allow(allowed=True)

    @property
    def unsaved(self) -> bool:
        """Whether a decision or a note on a review is written here and not in the journal."""
        noted = not self.signing.form.isHidden() and bool(self.signing.note.text)
        return noted or any(one.unsaved for one in self.cards)

    @Slot()
    def _leave(self) -> None:
        leave_or_ask(self, self.left.emit, unsaved=self.unsaved)

    def _show_cards(self, shift: ShiftState, person: UserContext) -> None:
        above = self.lists["holds"].above
        for card in self.cards:
            above.removeWidget(card)
            card.hide()
            card.deleteLater()
        self.cards = [DecisionCard(self._client, shift, hold, person) for hold in shift.open_holds]
        for card in self.cards:
            card.decided.connect(self._decided)
            above.addWidget(card)

    @Slot()
    def _decided(self) -> None:
        self.bar.message.say(tr("The decision is in the journal."))
        self._read()

    @Slot()
    def _signed(self) -> None:
        self.bar.message.say(tr("The signature is in the journal."))
        self._read()

    def _allow(self, *, allowed: bool) -> None:
        for button in self._ways_out:
            button.setEnabled(allowed)

    @Slot()
    def _export_summary(self) -> None:
        self._export(SUMMARIES)

    @Slot()
    def _export_listed(self) -> None:
        if (listed := self._listed_table()) is not None:
            self._export(listed[1])

    @Slot()
    def _offer_listed(self) -> None:
        """Offer as CSV what the tab in front lists."""
        listed = self._listed_table()
        self.export_listed.setVisible(listed is not None)
        self.export_listed.set_label(listed[0] if listed else "")

    def _listed_table(self) -> tuple[str, Table[Any]] | None:
        """Return the table of the tab in front, with its words; the summary has its own button."""
        keys = ("summary", *self.lists)
        tables: dict[str, tuple[str, Table[Any]]] = {
            "readings": (tr("Readings CSV"), READINGS),
            "actions": (tr("Actions CSV"), ACTIONS),
            "batches": (tr("Batches CSV"), BATCHES),
            "holds": (tr("Holds CSV"), HOLDS),
            "corrections": (tr("Actions CSV"), ACTIONS),
        }
        return tables.get(keys[self.tabs.currentIndex()])

    def _export(self, table: Table[Any]) -> None:
        if self.shift is not None:
            line, day = self.shift.setup.line, self.shift.started.at.date()
            practice = self.shift.started.practice
            name = suggested_name(table, line, day, practice=practice)
            self.bar.ask(table, [self._chain], name)

    @Slot()
    def _print(self) -> None:
        if self.shift is None:
            return
        started = self.shift.started
        line, day = self.shift.setup.line, started.at.date()
        name = suggested_name(
            "record", line, day, practice=started.practice, suffix=f"-{started.at:%H%M%S}.pdf"
        )
        self.bar.ask(PrintOn("a4"), [self._chain], name)

    @Slot()
    def _ask_session_file(self) -> None:
        self.session_file_asked.emit(self._chain)

    @Slot()
    def _ask_replay(self) -> None:
        self.replay_asked.emit(self._chain)

    @Slot()
    def _ask_scenario(self) -> None:
        self.scenario_asked.emit(self._chain)


class ShiftSummaryPage(ShiftPage):
    """The record of the shift that just ended, with its ways out; its open holds can be decided."""

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(client, parent)
        self.back.set_label(tr("Done"))
        self.replay.hide()
