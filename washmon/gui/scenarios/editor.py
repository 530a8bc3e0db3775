"""The editor of scenarios: pages over one draft, tried before it is kept on the shelf.

What a new scenario begins with.

What stands around each page of the editor: its pages, title, units, and the buttons below.
"""

from datetime import time

from msgspec.structs import replace
from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.scenarios.events_page import EventsPage
from washmon.gui.scenarios.line_page import LinePage
from washmon.gui.scenarios.pages import PacePage, bench_page, water_page, words_page
from washmon.gui.scenarios.preview_page import PreviewPage
from washmon.gui.setup_guide.guide_judging import Judge
from washmon.gui.setup_guide.layout import FormPage
from washmon.gui.setup_guide.line_pages import same
from washmon.gui.setup_guide.pages_frame import PagesFrame
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import LineSetup
from washmon.sessions.practice.checking import scenario_faults
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario import BatchPace, LineChoice, Scenario, minute_of
from washmon.sessions.practice.scenario_files import FORMAT, VERSION, scenario_text
from washmon.sessions.practice.shelf import OnShelf, ScenarioShelf
from washmon.units import UnitSystem


def new_draft() -> Scenario:
    """Return a calm shift of two hours on the first practice line; its words are to be written."""
    return Scenario(
        format=FORMAT,
        version=VERSION,
        title="",
        level=1,
        goal="",
        briefing="",
        good=(
            tr("A check before the first batch, and then as often as the set-up asks"),
            tr("No batch washed under the critical low"),
        ),
        line=LineChoice(commodity="leafy_greens", tanks=2),
        pace=BatchPace(
            begins=time(6, 0), minutes=120.0, first_batch=30.0, batch_minutes=4.0, seed=1
        ),
    )


class EditorFrame(PagesFrame):
    """Works its buttons by keys; what they do is said elsewhere."""

    def __init__(self, pages: tuple[FormPage, ...], parent: QWidget | None = None) -> None:
        self.back = PressButton(tr("Back"))
        self.next = PressButton(tr("Next"))
        self.save = PressButton(tr("Save"), Rank.PRIMARY, "Ctrl+S")
        leave = PressButton(tr("Leave"), Rank.SECONDARY, "Esc", bound=False)
        super().__init__(pages, leave, (self.back, self.next, self.save), parent=parent)
        self.setObjectName("paper")
        self.lay_out(edge_px=10)

    def show_page(self, at: int) -> None:
        """Show a page and put the keyboard on its first field."""
        self.back.setEnabled(at > 0)
        self.next.setEnabled(at < self.last)
        self.bring(at)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc leaves, Enter goes on to the next field, and then to the next page."""
        if event.key() == Qt.Key.Key_Escape:
            self.leave.click()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if not self.page.enter_on(self.window().focusWidget()):
                self.next.click()
        else:
            super().keyPressEvent(event)


class ScenarioEditor(EditorFrame):
    """Nothing that was typed is lost by turning pages or by a fault; leaving asks.

    Signals:
        saved(str): the scenario with this text is on the shelf now.
        tried(str, float): the text of a draft, and what the obedient supervisor scores in it.
        left(): back to the shelf.
    """

    saved = Signal(str)
    tried = Signal(str, float)

    def __init__(self, shelf: ScenarioShelf, parent: QWidget | None = None) -> None:
        self._shelf = shelf
        self.writing = WritingStyle()
        self.words = words_page(self.writing)
        self.line = LinePage(self.writing)
        self.water = water_page(self.writing)
        self.bench = bench_page(self.writing)
        self.pace = PacePage(self.writing)
        self.events = EventsPage(self.writing)
        self.preview = PreviewPage()
        super().__init__(
            (
                self.words,
                self.line,
                self.water,
                self.bench,
                self.pace,
                self.events,
                self.preview,
            ),
            parent,
        )
        self.writing.setParent(self)
        self._edited: OnShelf | None = None
        self._start: Scenario = new_draft()
        self._clean = self._start
        self._judging = Judge(self.pages, self.writing, scenario_faults)
        self._connect()

    def _connect(self) -> None:
        for page in self.pages:
            page.left.connect(self._judge)
            page.changed.connect(self._follow_change)
        self.pace.left.connect(self._follow_pace)
        self.rail.chosen.connect(self.go_to)
        self.back.clicked.connect(self._go_back)
        self.next.clicked.connect(self._go_on)
        self.save.clicked.connect(self.keep)
        self.leave.clicked.connect(self.ask_to_leave)
        self.units.changed.connect(self._set_taste)
        self.writing.changed.connect(self._follow_taste)
        self.preview.wanted.connect(self.try_out)
        self.preview.tried.connect(self.tried)

    # -- the draft ------------------------------------------------------------------------------

    def open(self, one: OnShelf | None, shed: LineSetup | None) -> None:
        """Begin with a scenario, or with none for a new one; ``shed`` is the shed's own line.

        One of the program's is not changed: what is written becomes one of the shed's own.
        """
        self._edited = one if one is not None and one.is_own else None
        self._start = new_draft() if one is None else one.scenario
        taste = self._start.line.own()
        if taste is not None:
            self.writing.set_taste(taste.taste)
        elif shed is not None:
            self.writing.set_taste(shed.taste)
        self.units.put(self.writing.taste)
        for page in (self.words, self.water, self.bench):
            page.show_parts(self._start)
        self.line.show_scenario(self._start, shed)
        self.pace.show_scenario(self._start)
        self.events.show_scenario(self._start)
        self.preview.clear()
        self._clean = self.draft()
        self._judging.forget()
        self.message.clear()
        if one is not None and not one.is_own:
            self.message.say(tr("This comes with the program: saving makes a copy of your own."))
        self._judge()
        self.go_to(0)

    def draft(self) -> Scenario:
        """Return the scenario as it is written; NaN stands for a number that cannot be read."""
        draft = self._start
        for page in (self.words, self.water, self.bench, self.pace):
            draft = page.onto(draft)
        draft = self.pace.with_colleague(self.line.onto_line(draft))
        return replace(draft, happens=self.events.written())

    @property
    def unsaved(self) -> bool:
        """Whether something is written here that the shelf does not have."""
        return not same(self.draft(), self._clean)

    def settle(self) -> None:
        """Take what is written as kept, or as given up."""
        self._clean = self.draft()

    # -- faults ---------------------------------------------------------------------------------

    @Slot()
    def _judge(self) -> None:
        self.rail.show_counts(self._judging.show(self.draft()))

    @Slot()
    def _follow_change(self) -> None:
        """Take a fault away while it is being mended."""
        self.message.clear()
        if self._judging.any_shown():
            self._judge()

    @Slot()
    def _follow_pace(self) -> None:
        """Let events keep their place in a shift that begins at another time."""
        if not self.pace.problem_at("pace.begins") and self.events.bring_pace(self.draft()):
            self.message.say(tr("The events moved along with the beginning."))

    def text(self) -> str:
        """Return the draft as the text of a file, or show what is to mend and return nothing."""
        self._follow_pace()
        draft = self.draft()
        self._judging.reveal()
        found = self._judging.findings(self._judging.faults(draft))
        self._judge()
        if found:
            place, sentence = found[0].place, found[0].sentence
            self._show_path(found[0].path)
            self.message.warn(
                tr("{place}: {fault}", place=place, fault=sentence)
                if len(found) == 1
                else tr("{count} things are to mend.", count=len(found))
            )
            return ""
        try:
            return _as_file(draft)
        except PracticeError as trouble:
            self.message.warn(str(trouble))
            return ""

    def _show_path(self, path: str) -> None:
        at = self._judging.page_of(path)
        self.go_to(at)
        if self.pages[at] is self.events:
            self.events.show_field(path)
        if home := self._judging.home(path):
            self._judging.fields()[home].focus()

    # -- moving ---------------------------------------------------------------------------------

    @Slot(int)
    def go_to(self, at: int) -> None:
        """Show a page; what was left behind is judged."""
        if at != self.at and self.isVisible():
            self._judging.reveal(self.page)
        self._judge()
        page = self.pages[at]
        self.show_page(at)
        if page is self.preview:
            self.preview.tell_draft(self._quiet_text())

    def _quiet_text(self) -> str:
        draft = self.draft()
        if self._judging.faults(draft):
            return ""
        try:
            return _as_file(draft)
        except PracticeError:
            return ""

    @Slot()
    def _go_back(self) -> None:
        self.go_to(max(0, self.at - 1))

    @Slot()
    def _go_on(self) -> None:
        self.go_to(min(self.last, self.at + 1))

    # -- doing ----------------------------------------------------------------------------------

    @Slot()
    def try_out(self) -> None:
        """Let both supervisors play the draft."""
        if text := self.text():
            self.preview.begin(text)

    @Slot()
    def keep(self) -> None:
        """Put the scenario on the shelf, or show what is to mend."""
        text = self.text()
        if not text:
            return
        try:
            self._edited = self._shelf.keep(text, self._edited)
        except PracticeError as trouble:
            self.message.warn(str(trouble))
            return
        self.settle()
        self.saved.emit(text)

    @Slot()
    def _set_taste(self) -> None:
        self.writing.set_taste(UnitSystem(self.units.text))

    @Slot()
    def _follow_taste(self) -> None:
        self.units.put(self.writing.taste)
        self._judge()


def _as_file(draft: Scenario) -> str:
    """Return a draft as text, its events in the order of their times."""
    order = sorted(draft.happens, key=lambda event: minute_of(draft, event.at))
    return scenario_text(replace(draft, version=VERSION, happens=tuple(order)))
