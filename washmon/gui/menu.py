"""The menu: what is seldom needed, out of the way but never far."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import TypeVar

from msgspec import Struct
from PySide6.QtCore import QPoint
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.theme import THEMES
from washmon.gui.page import MenuSection, Window, always, while_running
from washmon.gui.rooms import PAGES
from washmon.gui.settings import Settings
from washmon.gui.sound.alarm import Volume
from washmon.line.kinds import EntryKind, menu_words

T = TypeVar("T")
VOLUMES = {Volume.SOFT: "Soft", Volume.MEDIUM: "Medium", Volume.LOUD: "Loud"}


class Doings(Struct, frozen=True):
    """What those lines of the menu do that open no page."""

    enter: Callable[[EntryKind], None]
    pause: Callable[[], None]
    save_session: Callable[[], None]
    replay: Callable[[], None]
    back_up: Callable[[], None]
    backup_folder: Callable[[], None]
    far: Callable[[], None]
    theme: Callable[[str], None]
    still: Callable[[bool], None]
    letters: Callable[[bool], None]
    sound: Callable[[bool], None]
    volume: Callable[[Volume], None]
    leave: Callable[[], object]


def _unless_held(window: Window) -> str:
    """Return why no hold can be decided about, or an empty text."""
    shift = window.snapshot.shift if window.snapshot else None
    held = shift is not None and bool(shift.open_holds)
    return while_running(window) or ("" if held else tr("Nothing is on hold."))


def _unless_shift(window: Window) -> str:
    """Return why no shift can be saved as a file, or an empty text."""
    shift = window.snapshot.shift if window.snapshot else None
    return "" if shift is not None else tr("There is no shift yet.")


class Menu(QMenu):
    """Its pages come from the table of pages. What can't be done now is off."""

    def __init__(self, parent: QWidget, window: Window, doings: Doings, settings: Settings) -> None:
        super().__init__(parent)
        self._window = window
        self._first: list[QAction] = []
        self._why_not: dict[QAction, Callable[[Window], str]] = {}
        self.pages: dict[str, QAction] = {}
        """The line of each page that has one, by the page's name."""
        self.entries: dict[EntryKind, QAction] = {}
        """The line of each kind of entry that has no button in the row."""
        self._add_shift(doings)
        self.addSeparator()
        self.replay = self._add(tr("Replay a recorded shift"), doings.replay)
        self._add_pages(MenuSection.BESIDE)
        self.far = self._add(tr("Far view"), doings.far, "Shift+F11")
        self.addSeparator()
        self.back_up = self._add(tr("Back up now"), doings.back_up)
        self.backup_folder = self._add(tr("Folder for backups"), doings.backup_folder)
        self.addSeparator()
        self._add_looks(doings, settings)
        self.addSeparator()
        self._add_pages(MenuSection.HELP)
        self.leave = self._add(tr("Close"), doings.leave, "Ctrl+Q")
        parent.addActions([one for one in self.actions() if one.shortcuts()])

    def _add_shift(self, doings: Doings) -> None:
        self._add_pages(MenuSection.SHIFT)
        for kind in EntryKind:
            if words := menu_words(kind):
                self.entries[kind] = self._add_entry(doings, kind, tr(words))
        self.save_session = self._add(
            tr("Save the shift as a session file"), doings.save_session, why_not=_unless_shift
        )
        self._add_pages(MenuSection.RECORDS)

    def _add_entry(self, doings: Doings, kind: EntryKind, words: str) -> QAction:
        if kind is EntryKind.PAUSE:
            return self._add(words, doings.pause, "Alt+P", why_not=while_running)
        if kind is EntryKind.RELEASE:  # only named here: the row of keys takes it
            words, why_not = f"{words}\tShift+F6", _unless_held
            return self._add(words, partial(doings.enter, kind), why_not=why_not)
        return self._add(words, partial(doings.enter, kind), why_not=while_running)

    def _add_looks(self, doings: Doings, settings: Settings) -> None:
        self.themes = self._choices(
            tr("Theme"),
            {"": tr("like the system"), **{name: tr(name) for name in THEMES}},
            settings.theme.name if settings.theme is not None else "",
            doings.theme,
        )
        self.volumes = self._choices(
            tr("Volume"),
            {volume: tr(words) for volume, words in VOLUMES.items()},
            settings.volume,
            doings.volume,
        )
        self.letters = self._switch(
            tr("Keyboard on the screen for every field"), doings.letters, on=settings.letters
        )
        self.still = self._switch(tr("Without animation"), doings.still, on=settings.still)
        self.sound = self._switch(tr("Sound"), doings.sound, on=settings.sound)
        self.sound.setShortcut(QKeySequence("Alt+S"))

    def pop_up(
        self, button: QWidget, *, above: bool = False, first: Sequence[QAction] = ()
    ) -> None:
        """Open under a button, or ``above`` it, with lines ``first`` that are not its own."""
        own = {line.text().partition("\t")[0] for line in self.entries.values()}
        self._begin_with([line for line in first if line.text() not in own])
        corner = button.rect().topRight() if above else button.rect().bottomLeft()
        size = self.sizeHint()
        shift = QPoint(-size.width(), -size.height() - 4) if above else QPoint(0, 4)
        self.popup(button.mapToGlobal(corner) + shift)

    def _begin_with(self, actions: list[QAction]) -> None:
        for old in self._first:
            self.removeAction(old)
        self._first = []
        if actions:
            top = self.actions()[0]
            self.insertActions(top, actions)
            self._first = [*actions, self.insertSeparator(top)]

    def refresh(self) -> None:
        """Switch the lines by what can be done now."""
        shift = self._window.snapshot.shift if self._window.snapshot else None
        paused = shift is not None and shift.paused is not None
        words = tr("Go on after the pause") if paused else tr(menu_words(EntryKind.PAUSE))
        self.entries[EntryKind.PAUSE].setText(words)
        for action, why_not in self._why_not.items():
            action.setEnabled(not why_not(self._window))

    def _add_pages(self, section: MenuSection) -> None:
        for page in PAGES:
            if page.words and page.section is section:
                self.pages[page.name] = self._add(
                    tr(page.words),
                    partial(self._window.go, page),
                    *page.key,
                    why_not=page.why_not,
                )

    def _add(
        self,
        words: str,
        do: Callable[[], object],
        *keys: str,
        why_not: Callable[[Window], str] = always,
    ) -> QAction:
        action = self.addAction(words)
        action.triggered.connect(do)
        action.setShortcuts([QKeySequence(key) for key in keys])
        self._why_not[action] = why_not
        return action

    def _switch(self, words: str, choose: Callable[[bool], None], *, on: bool) -> QAction:
        line = self.addAction(words)
        line.setCheckable(True)
        line.setChecked(on)
        line.toggled.connect(choose)
        return line

    def _choices(
        self, words: str, offered: dict[T, str], chosen: T, choose: Callable[[T], None]
    ) -> QMenu:
        """Add a menu of which one line is chosen."""
        menu = self.addMenu(words)
        group = QActionGroup(menu)
        for value, each in offered.items():
            line = menu.addAction(each)
            line.setData(value)
            line.setCheckable(True)
            line.setChecked(value == chosen)
            group.addAction(line)
        lines = dict(zip(group.actions(), offered, strict=True))
        group.triggered.connect(lambda line: choose(lines[line]))
        return menu
