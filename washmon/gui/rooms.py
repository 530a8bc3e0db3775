"""The pages of the window, each declared once: how it is made, opened and reached.

A page is imported when it is first entered: start-up is measured.
"""

from functools import partial
from typing import TYPE_CHECKING, Any

from washmon.gui.action_bar import Action
from washmon.gui.i18n import tr
from washmon.gui.page import (
    MenuSection,
    Page,
    PageHead,
    Window,
    unless_reading_only,
    while_running,
)
from washmon.gui.training.opening import open_training, training_page

if TYPE_CHECKING:
    from washmon.gui.board_page import BoardPage
    from washmon.gui.calculator.page import Calculator
    from washmon.gui.help_page import HelpPage
    from washmon.gui.importing.page import ImportPage
    from washmon.gui.lines.page import AllLinesPage
    from washmon.gui.logbook.logbook import Logbook
    from washmon.gui.logbook.setup_changes_page import SetupChanges
    from washmon.gui.logbook.shift_page import ShiftSummaryPage
    from washmon.gui.pins_page import PinsPage
    from washmon.gui.practice.room import PracticeRoom
    from washmon.gui.ready_page import FirstPage, ReadyPage
    from washmon.gui.registers.page import RegistersPage
    from washmon.gui.replay_room import ReplayRoom
    from washmon.gui.review.page import ReviewPage
    from washmon.gui.setup_guide.guide import SetupGuide
    from washmon.gui.shift.end import ShiftEnd
    from washmon.gui.shift.filling_page import FillingRoom
    from washmon.gui.shift.start import ShiftStart
    from washmon.gui.trends.page import TrendsPage
    from washmon.line.setup import LineSetup


# -- through a shift --------------------------------------------------------------------------


def _first(window: Window) -> "FirstPage":
    from washmon.gui.ready_page import FirstPage

    page = FirstPage()
    page.demo_asked.connect(window.sessions.open_demo)
    page.practice_asked.connect(partial(window.go, Room.PRACTICE))
    page.setup_asked.connect(partial(window.go, Room.GUIDE))
    return page


def _ready(window: Window) -> "ReadyPage":
    from washmon.gui.ready_page import ReadyPage

    page = ReadyPage()
    page.start_asked.connect(partial(window.go, Room.START))
    page.replay_asked.connect(window.sessions.ask_to_open)
    page.practice_asked.connect(partial(window.go, Room.PRACTICE))
    page.setup_asked.connect(partial(window.go, Room.GUIDE))
    page.logbook_asked.connect(partial(window.go, Room.LOGBOOK))
    return page


def _start(window: Window) -> "ShiftStart":
    from washmon.gui.shift.start import ShiftStart

    page = ShiftStart(window.client)
    page.started.connect(lambda _chain: window.enter(Room.FILLING))
    page.left.connect(window.go_home)
    return page


def _open_start(page: "ShiftStart", window: Window) -> None:
    setup = _newest_setup(window)
    if setup is not None:
        page.open(setup, window.person.decimal_point)


def _start_why_not(window: Window) -> str:
    undescribed = "" if _newest_setup(window) else tr("No line is described yet.")
    return unless_reading_only(window) or undescribed


def _filling(window: Window) -> "FillingRoom":
    from washmon.gui.shift.filling_page import FillingRoom

    page = FillingRoom(window.client)
    page.left.connect(window.go_home)
    return page


def _board(window: Window) -> "BoardPage":
    from washmon.gui.board_page import BoardPage

    page = BoardPage(window.client)
    page.action_asked.connect(partial(_act, window))
    page.more_asked.connect(window.open_menu)
    return page


def _act(window: Window, action: str) -> None:
    """Go where a button of the Board leads that is no entry."""
    window.go(Room.LOGBOOK if Action(action) is Action.LOGBOOK else Room.END)


def _end(window: Window) -> "ShiftEnd":
    from washmon.gui.shift.end import ShiftEnd

    page = ShiftEnd(window.client)
    page.ended.connect(partial(_open_summary, window))
    page.left.connect(window.go_home)
    return page


def _open_end(page: "ShiftEnd", window: Window) -> None:
    if window.snapshot is not None:
        page.open(window.snapshot, window.person)


# -- what was recorded --------------------------------------------------------------------------


def _summary(window: Window) -> "ShiftSummaryPage":
    from washmon.gui.logbook.shift_page import ShiftSummaryPage

    page = ShiftSummaryPage(window.client)
    page.left.connect(window.go_home)
    page.session_file_asked.connect(window.sessions.ask_to_save)
    return page


def _open_summary(window: Window, chain: str) -> None:
    window.enter(Room.SUMMARY).open(chain, window.person)


def _logbook(window: Window) -> "Logbook":
    from washmon.gui.logbook.logbook import Logbook

    page = Logbook(window.client)
    page.left.connect(window.go_home)
    page.session_file_asked.connect(window.sessions.ask_to_save)
    page.replay_asked.connect(window.sessions.open_shift)
    page.scenario_asked.connect(partial(_make_scenario, window))
    page.review_asked.connect(partial(window.go, Room.REVIEW))
    window.care.whole.connect(page.list.say_checked)
    return page


def _open_logbook(page: "Logbook", window: Window) -> None:
    page.list.say_checked(window.care.checked)
    page.open(window.person)


def _review(window: Window) -> "ReviewPage":
    from washmon.gui.review.page import ReviewPage

    page = ReviewPage(window.client)
    page.left.connect(window.go_back)
    page.record_asked.connect(partial(open_record, window))
    return page


def _lines(window: Window) -> "AllLinesPage":
    from washmon.gui.lines.page import AllLinesPage

    page = AllLinesPage(window.client)
    page.left.connect(window.go_back)
    return page


def _trends(window: Window) -> "TrendsPage":
    from washmon.gui.trends.page import TrendsPage

    page = TrendsPage(window.client, window.settings)
    page.left.connect(window.go_home)
    page.opened.connect(partial(open_record, window))
    return page


def open_record(window: Window, chain: str) -> None:
    """Look at one past shift in the Logbook."""
    window.enter(Room.LOGBOOK).open_shift(chain)


def _import(window: Window) -> "ImportPage":
    from washmon.gui.importing.page import ImportPage

    page = ImportPage(window.client, window.settings)
    page.left.connect(window.go_home)
    page.logbook_asked.connect(partial(window.go, Room.LOGBOOK))
    return page


# -- what is not the shed's own shift -----------------------------------------------------------


def _replay(window: Window) -> "ReplayRoom":
    from washmon.gui.replay_room import ReplayRoom

    page = ReplayRoom()
    page.left.connect(window.go_back)
    page.snapshot_shown.connect(window.header.show_snapshot)
    return page


def _practice(window: Window) -> "PracticeRoom":
    from washmon.gui.practice.room import PracticeRoom
    from washmon.sessions.practice.standing import Standings

    standings = Standings(window.settings.folder)
    page = PracticeRoom(window.client, standings=standings)
    page.left.connect(window.go_home)
    page.replay_at_asked.connect(window.sessions.open_shift)
    return page


def _make_scenario(window: Window, chain: str) -> None:
    """Open practice with a scenario made from a shift, or say why it can't be opened now."""
    why_not = Room.PRACTICE.why_not(window)
    if why_not:
        window.warn(why_not)
    else:
        window.enter(Room.PRACTICE).make_from(chain)


def _practice_why_not(window: Window) -> str:
    if window.is_running:
        return tr("A shift is running: practise when it has ended.")
    return unless_reading_only(window)


# -- beside the work ----------------------------------------------------------------------------


def _guide(window: Window) -> "SetupGuide":
    from washmon.gui.setup_guide.guide import SetupGuide
    from washmon.gui.setup_guide.saver import SetupSaving

    guide = SetupGuide()
    saving = SetupSaving(guide.saver, window)
    guide.finished.connect(saving.save)
    saving.saved.connect(guide.settle)
    guide.left.connect(window.go_home)
    return guide


def _calculator(window: Window) -> "Calculator":
    from washmon.gui.calculator.page import Calculator

    page = Calculator()
    page.left.connect(window.go_back)
    return page


def _open_calculator(page: "Calculator", window: Window) -> None:
    shift = window.snapshot.shift if window.snapshot else None
    if shift is not None and window.is_running:
        page.open(shift.setup, window.person, shift)
    else:
        page.open(_newest_setup(window), window.person)


def _pins(window: Window) -> "PinsPage":
    from washmon.gui.pins_page import PinsPage

    page = PinsPage(window.client)
    page.left.connect(window.go_back)
    return page


def _changes(window: Window) -> "SetupChanges":
    from washmon.gui.logbook.setup_changes_page import SetupChanges

    page = SetupChanges(window.client)
    page.left.connect(window.go_back)
    return page


def _registers(window: Window) -> "RegistersPage":
    from washmon.gui.registers.page import RegistersPage

    page = RegistersPage(window.client)
    page.left.connect(window.go_back)
    return page


def _open_registers(page: "RegistersPage", window: Window) -> None:
    shift = window.snapshot.shift if window.snapshot else None
    may = not unless_reading_only(window)
    page.open(_newest_setup(window), window.person, shift, may=may)


def _help(window: Window) -> "HelpPage":
    from washmon.gui.help_page import HelpPage

    page = HelpPage()
    page.left.connect(window.go_back)
    return page


def _newest_setup(window: Window) -> "LineSetup | None":
    return window.snapshot.setup if window.snapshot else None


class Room:
    """The table of pages; in this order they stand in the menu."""

    FIRST = Page("first", _first)
    READY = Page("ready", _ready)
    START = Page("start", _start, _open_start, why_not=_start_why_not)
    FILLING = Page(
        "filling",
        _filling,
        words="Make up the tanks",
        section=MenuSection.SHIFT,
        why_not=while_running,
    )
    BOARD = Page("board", _board)
    END = Page("end", _end, _open_end, why_not=while_running)
    SUMMARY = Page("summary", _summary)
    LOGBOOK = Page("logbook", _logbook, _open_logbook)
    LINES = Page(
        "all lines",
        _lines,
        lambda page, window: page.open(window.person),
        words="All lines",
        section=MenuSection.RECORDS,
        aside=True,
    )
    REVIEW = Page(
        "review",
        _review,
        lambda page, window: page.open(window.person),
        words="Review of shifts",
        section=MenuSection.RECORDS,
        aside=True,
    )
    TRENDS = Page(
        "trends",
        _trends,
        lambda page, window: page.open(window.person),
        words="Trends over shifts",
        section=MenuSection.RECORDS,
    )
    IMPORT = Page(
        "import",
        _import,
        lambda page, window: page.open(_newest_setup(window), window.person),
        words="Import a spreadsheet log",
        section=MenuSection.RECORDS,
        why_not=unless_reading_only,
    )
    REPLAY = Page("replay", _replay, aside=True, head=PageHead.SHOWN)
    PRACTICE = Page(
        "practice",
        _practice,
        lambda page, _window: page.open(),
        words="Practice",
        why_not=_practice_why_not,
        head=PageHead.NONE,
    )
    GUIDE = Page(
        "guide",
        _guide,
        lambda page, window: page.start(_newest_setup(window)),
        words="Set-up of the line",
        why_not=unless_reading_only,
    )
    REGISTERS = Page("registers", _registers, _open_registers, words="Registers", aside=True)
    TRAINING = Page("training", training_page, open_training, words="Training", aside=True)
    CHANGES = Page(
        "changes of the set-up",
        _changes,
        lambda page, window: page.open(window.person),
        words="Changes of the set-up",
        aside=True,
    )
    PINS = Page(
        "PINs",
        _pins,
        lambda page, window: page.open(window.person),
        words="PINs",
        why_not=unless_reading_only,
        aside=True,
    )
    CALCULATOR = Page(
        "calculator", _calculator, _open_calculator, words="Calculator", key=("F11",), aside=True
    )
    HELP = Page(
        "help", _help, words="Help", section=MenuSection.HELP, key=("Shift+F1", "Help"), aside=True
    )


PAGES: tuple[Page[Any], ...] = tuple(one for one in vars(Room).values() if isinstance(one, Page))
