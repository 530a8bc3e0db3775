"""The shelf of practice: all scenarios with what they are, and what is done with them."""

import re
from collections.abc import Callable, Container, Mapping
from functools import partial
from pathlib import Path

from PySide6.QtCore import Signal, Slot
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import FlowLayout, hbox, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.file_asking import FileOpener, FileSaver
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.table import Cell, FactsModel, FactsTable, Row
from washmon.gui.practice.making import Trials
from washmon.sessions.making.trying import PASSES, solved
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario import Scenario
from washmon.sessions.practice.shelf import OnShelf, ScenarioShelf, Verdicts
from washmon.whole_file import whole_file

_LONGEST_TITLE, _LONGEST_GOAL = 90, 220


class ShelfPage(QWidget):
    """Lists the program's scenarios and the shed's own.

    Signals:
        start_asked(str): the scenario with this text is to be practised.
        edit_asked(object): this :class:`OnShelf` is to be changed, or a new one written (None).
        left(): back to practice.
    """

    start_asked = Signal(str)
    edit_asked = Signal(object)
    left = Signal()

    def __init__(
        self, shelf: ScenarioShelf, verdicts: Verdicts, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setObjectName("paper")
        self._shelf, self._verdicts = shelf, verdicts
        self.trials = Trials(self)
        self.found: list[OnShelf] = []
        self._best: Mapping[str, float] = {}
        self._unplayable: set[str] = set()
        self._gone: OnShelf | None = None
        heads = (
            tr("Scenario"),
            tr("Tanks"),
            tr("Length"),
            tr("It teaches"),
            tr("From"),
            tr("By the rules"),
            tr("Best so far"),
        )
        self.model = FactsModel(heads, self)
        self.table = FactsTable(self.model, stretched=3)
        self.table.setAccessibleName(tr("Scenarios"))
        self.message = MessageLine()
        self.start = PressButton(tr("Practise this"), Rank.PRIMARY, "F1", then=self._start)
        self.edit = PressButton(tr("Edit"), Rank.SECONDARY, "F2", then=self._edit)
        self.new = PressButton(tr("New"), then=self._write_new)
        self.copy = PressButton(tr("Copy"), then=self._copy)
        self.remove = PressButton(tr("Delete"), then=self._remove)
        self.bring = PressButton(tr("From a file"), then=self._ask_for_file)
        self.export = PressButton(tr("To a file"), then=self._ask_for_target)
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        self.opener = FileOpener(tr("Scenario from a file"), self)
        self.saver = FileSaver(tr("Scenario to a file"), self)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        self.doings = FlowLayout()
        for button in (self.edit, self.new, self.copy, self.remove, self.bring, self.export):
            self.doings.addWidget(button)
        vbox(
            Text(tr("Scenarios"), Size.LARGE, bold=True),
            Text(_lead(), Size.SMALL, tone=Tone.SOFT, wrapped=True),
            (self.table, 1),
            self.message,
            hbox(self.back, (self.doings, 1), self.start, gap_px=8),
            on=self,
            gap_px=8,
            margins_px=(16, 8, 16, 10),
        )

    def _connect(self) -> None:
        self.table.selectionModel().currentRowChanged.connect(self._allow)
        self.table.opened.connect(self._start)
        self.opener.chosen.connect(self.take_file)
        self.saver.chosen.connect(self.write_to)
        self.message.acted.connect(self._bring_back)
        self.trials.scored.connect(self._put_verdict)
        self.trials.failed.connect(self._put_failure)

    # -- what is shown --------------------------------------------------------------------------

    def open(self, best: Mapping[str, float]) -> None:
        """Read the shelf; ``best`` are the highest scores so far, by the scenario's text."""
        self._best = best
        self.message.clear()
        self.read()
        if self._shelf.unusable:
            self.message.warn(" ".join(self._shelf.unusable[:2]))
        self.try_unknown()

    def read(self, select: str = "") -> None:
        """Read the shelf anew and choose the scenario with this text, else as before."""
        chosen = self.chosen()
        wanted = select or (chosen.text if chosen is not None else "")
        try:
            self.found = self._shelf.read()
        except PracticeError as trouble:
            self.message.warn(str(trouble))
        self.model.show_rows([self._row(one) for one in self.found])
        places = [at for at, one in enumerate(self.found) if one.text == wanted]
        if self.found:
            self.table.selectRow(places[0] if places else 0)
        self._allow()

    def try_unknown(self) -> None:
        """Let the good strategy play what nobody has tried yet."""
        unknown = [one.text for one in self.found if self._verdicts.find(one.text) is None]
        self.trials.want([text for text in unknown if text not in self._unplayable])

    def _row(self, one: OnShelf) -> Row:
        scenario, best = one.scenario, self._best.get(one.text)
        return (
            Cell(shortened(scenario.title, _LONGEST_TITLE)),
            Cell(str(scenario.line.tanks), number=True),
            Cell(length_words(scenario)),
            Cell(shortened(scenario.goal, _LONGEST_GOAL), Tone.SOFT),
            Cell(tr("own") if one.is_own else tr("washmon"), Tone.SOFT),
            self._verdict_cell(one),
            Cell("–" if best is None else f"{best:.0f}", number=True),
        )

    def _verdict_cell(self, one: OnShelf) -> Cell:
        score = self._verdicts.find(one.text)
        if one.text in self._unplayable:
            return Cell(tr("cannot be played"), Tone.STOP, MarkState.STOP)
        if score is None:
            return Cell(tr("being tried …"), Tone.SOFT)
        if not solved(score):
            return Cell(
                tr("no solution ({score})", score=f"{score:.0f}"), Tone.ACT, MarkState.WATCH
            )
        return Cell(tr("solved ({score})", score=f"{score:.0f}"))

    @Slot(str, float)
    def _put_verdict(self, text: str, score: float) -> None:
        self._verdicts.put(text, score)
        self.read()

    @Slot(str, str)
    def _put_failure(self, text: str, _why: str) -> None:
        self._unplayable.add(text)
        self.read()

    def hideEvent(self, event: QHideEvent) -> None:
        """Stop trying: nobody looks."""
        super().hideEvent(event)
        self.trials.stop()

    # -- by hand --------------------------------------------------------------------------------

    def chosen(self) -> OnShelf | None:
        """Return the scenario that is chosen."""
        at = self.table.currentIndex().row()
        return self.found[at] if 0 <= at < len(self.found) else None

    @Slot()
    def _allow(self) -> None:
        chosen = self.chosen()
        for button in (self.start, self.edit, self.copy, self.export):
            button.setEnabled(chosen is not None)
        self.remove.setEnabled(chosen is not None and chosen.is_own)

    @Slot()
    def _start(self) -> None:
        if (chosen := self.chosen()) is not None:
            self.start_asked.emit(chosen.text)

    @Slot()
    def _edit(self) -> None:
        if (chosen := self.chosen()) is not None:
            self.edit_asked.emit(chosen)

    @Slot()
    def _write_new(self) -> None:
        self.edit_asked.emit(None)

    @Slot()
    def _copy(self) -> None:
        if (chosen := self.chosen()) is None:
            return
        title = copy_title(chosen.scenario.title, {one.scenario.title for one in self.found})
        self._put(partial(self._shelf.copy, chosen, title), tr("Copied: {title}"))

    def _tell_change(self, text: str, words: str, action: str = "") -> None:
        self.read(text)
        self.message.say(words, action)
        self.try_unknown()

    @Slot()
    def _remove(self) -> None:
        chosen = self.chosen()
        if chosen is None or not chosen.is_own:
            return
        try:
            self._shelf.remove(chosen)
        except PracticeError as trouble:
            self.message.warn(str(trouble))
            return
        self._gone = chosen
        title = shortened(chosen.scenario.title, _LONGEST_TITLE)
        self._tell_change("", tr("Deleted: {title}", title=title), tr("Undo"))

    @Slot()
    def _bring_back(self) -> None:
        if self._gone is None:
            return
        text, self._gone = self._gone.text, None
        self._put(partial(self._shelf.keep, text), tr("It is back."))

    def _put(self, put: Callable[[], OnShelf], words: str) -> None:
        """Put something on the shelf, and say so by its title, or why it can't be."""
        try:
            made = put()
        except PracticeError as trouble:
            self.message.warn(str(trouble))
        else:
            self._tell_change(made.text, words.format(title=made.scenario.title))

    @Slot()
    def _ask_for_file(self) -> None:
        self.opener.ask(kinds=[tr("Scenarios (*.toml)")])

    @Slot(str)
    def take_file(self, file: str) -> None:
        """Put the scenario in a file on the shelf, or say why it can't be used."""
        self._put(partial(self._shelf.bring_in, Path(file)), tr("On the shelf now: {title}"))

    @Slot()
    def _ask_for_target(self) -> None:
        if (chosen := self.chosen()) is not None:
            self.saver.ask(f"{file_name(chosen.scenario.title)}.toml")

    @Slot(str)
    def write_to(self, file: str) -> None:
        """Write the chosen scenario to a file, and say so."""
        if (chosen := self.chosen()) is None:
            return
        try:
            with whole_file(Path(file)) as written:
                written.write(chosen.text.encode())
        except OSError as error:
            reason = error.strerror or str(error)
            self.message.warn(tr("It could not be written ({reason}).", reason=reason))
        else:
            self.message.say(tr("Written to {file}.", file=file))


def _lead() -> str:
    return tr(
        "“By the rules” is what an obedient supervisor scores, out of 100: under {passes}, "
        "following the rules does not lead through it.",
        passes=f"{PASSES:.0f}",
    )


def copy_title(title: str, taken: Container[str]) -> str:
    """Return what a copy is called: by a number where that is taken."""
    name, number = tr("{title}, a copy", title=title), 2
    while name in taken:
        name, number = tr("{title}, copy {number}", title=title, number=number), number + 1
    return name


def shortened(text: str, most: int) -> str:
    """Return a text in one line, cut where it is too long for a list."""
    line = " ".join(text.split())
    return line if len(line) <= most else f"{line[:most].rstrip()}…"


def length_words(scenario: Scenario) -> str:
    """Return how long a scenario lasts."""
    hours, minutes = divmod(round(scenario.pace.minutes), 60)
    if not hours:
        return tr("{minutes} min", minutes=minutes)
    return tr("{hours} h {minutes} min", hours=hours, minutes=minutes) if minutes else f"{hours} h"


def file_name(title: str) -> str:
    """Return a name for a file that every disk takes."""
    return re.sub(r"[^a-z0-9]+", "-", title.casefold()).strip("-")[:60] or "scenario"
