"""The menu: what is seldom needed, out of the way but never far."""

from collections.abc import Callable

from msgspec import Struct
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.theme import THEMES
from washmon.gui.settings import Settings


class Doings(Struct, frozen=True):
    """What the menu's lines do."""

    fill: Callable[[], None]
    instrument: Callable[[], None]
    pause: Callable[[], None]
    hand_over: Callable[[], None]
    decide: Callable[[], None]
    save_session: Callable[[], None]
    trends: Callable[[], None]
    take_in: Callable[[], None]
    replay: Callable[[], None]
    practice: Callable[[], None]
    setup: Callable[[], None]
    changes: Callable[[], None]
    pins: Callable[[], None]
    back_up: Callable[[], None]
    backup_folder: Callable[[], None]
    calculator: Callable[[], None]
    far: Callable[[], None]
    help: Callable[[], None]
    theme: Callable[[str], None]
    sound: Callable[[bool], None]
    leave: Callable[[], object]


class Menu(QMenu):
    """Lines that need a running shift are off while none runs."""

    def __init__(self, parent: QWidget, doings: Doings, settings: Settings) -> None:
        super().__init__(parent)
        self._doings = doings
        self._first: list[QAction] = []
        self.fill = self._add(tr("Make up the tanks"), doings.fill)
        self.instrument = self._add(tr("Check of an instrument"), doings.instrument)
        self.pause = self._add(tr("Pause the line"), doings.pause, "Alt+P")
        self.hand_over = self._add(tr("Hand over the shift"), doings.hand_over)
        self.decide = self._add(tr("Decide about held product"), doings.decide)
        self.save_session = self._add(tr("Save the shift as a session file"), doings.save_session)
        self.trends = self._add(tr("Trends over shifts"), doings.trends)
        self.take_in = self._add(tr("Import a spreadsheet log"), doings.take_in)
        self.addSeparator()
        self.replay = self._add(tr("Replay a recorded shift"), doings.replay)
        self.practice = self._add(tr("Practice"), doings.practice)
        self.setup = self._add(tr("Set-up of the line"), doings.setup)
        self.changes = self._add(tr("Changes of the set-up"), doings.changes)
        self.pins = self._add(tr("PINs"), doings.pins)
        self.calculator = self._add(tr("Calculator"), doings.calculator, "F11")
        self.far = self._add(tr("Far view"), doings.far, "Shift+F11")
        self.addSeparator()
        self.back_up = self._add(tr("Back up now"), doings.back_up)
        self.backup_folder = self._add(tr("Folder for backups"), doings.backup_folder)
        self.addSeparator()
        self.themes = self.addMenu(tr("Theme"))
        group = QActionGroup(self)
        for name in THEMES:
            choice = self.themes.addAction(tr(name))
            choice.setData(name)
            choice.setCheckable(True)
            choice.setChecked(name == settings.theme.name)
            group.addAction(choice)
        group.triggered.connect(self._choose_theme)
        self.sound = self.addAction(tr("Sound for stop and overdue"))
        self.sound.setCheckable(True)
        self.sound.setChecked(settings.sound)
        self.sound.setShortcut(QKeySequence("Alt+S"))
        self.sound.toggled.connect(doings.sound)
        self.addSeparator()
        self.help = self._add(tr("Help"), doings.help)
        self.help.setShortcuts([QKeySequence("Shift+F1"), QKeySequence("Help")])
        self.leave = self._add(tr("Close"), doings.leave, "Ctrl+Q")
        parent.addActions([self.sound, self.pause, self.calculator, self.help, self.leave])

    def begin_with(self, actions: list[QAction]) -> None:
        """Let the menu begin with these lines."""
        for old in self._first:
            self.removeAction(old)
        self._first = []
        if actions:
            top = self.actions()[0]
            self.insertActions(top, actions)
            self._first = [*actions, self.insertSeparator(top)]

    def allow(
        self, *, running: bool, holds: bool, shift: bool, writes: bool, paused: bool = False
    ) -> None:
        """Switch the lines by what there is: a running shift, open holds, any shift, the pen.

        A line that is ``paused`` can go on.
        """
        self.pause.setEnabled(running and writes)
        self.pause.setText(tr("Go on after the pause") if paused else tr("Pause the line"))
        self.fill.setEnabled(running and writes)
        self.instrument.setEnabled(running and writes)
        self.hand_over.setEnabled(running and writes)
        self.decide.setEnabled(holds and writes)
        self.save_session.setEnabled(shift)
        self.setup.setEnabled(writes)
        self.take_in.setEnabled(writes)
        self.pins.setEnabled(writes)
        self.practice.setEnabled(writes and not running)

    def _add(self, words: str, do: Callable[[], object], key: str = "") -> QAction:
        action = self.addAction(words)
        action.triggered.connect(do)
        if key:
            action.setShortcut(QKeySequence(key))
        return action

    def _choose_theme(self, action: QAction) -> None:
        self._doings.theme(str(action.data()))
