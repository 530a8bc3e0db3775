"""The room of practice: choosing, the Board of an attempt, its debrief; all within the stripes."""

from collections.abc import Callable

from PySide6.QtCore import Signal, Slot
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QStackedWidget, QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.practice.choose_page import ChoosePage
from washmon.gui.practice.debrief_page import DebriefPage
from washmon.gui.practice.making import ScenarioMaking
from washmon.gui.practice.play_page import PlayPage
from washmon.gui.practice.practice_client import PracticeClient
from washmon.gui.practice.practice_frame import PracticeFrame
from washmon.gui.practice.shelf_page import ShelfPage
from washmon.gui.practice.side_by_side import SideBySide, same_water
from washmon.gui.scenarios.editor import ScenarioEditor
from washmon.line.practice_events import Attempt
from washmon.line.setup import LineSetup
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Recorder
from washmon.recorder.attempts import (
    Opened,
    attempts,
    begin_attempt,
    debrief_of,
    resume_attempt,
)
from washmon.sessions.debrief.score import Debrief
from washmon.sessions.making.from_shift import MadeScenario
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario_files import parse_scenario
from washmon.sessions.practice.shelf import OnShelf, ScenarioShelf, Verdicts
from washmon.sessions.practice.standing import Standings
from washmon.store.store import Store


class PracticeRoom(PracticeFrame):
    """Attempts live in the shed's database, written by the shed's recorder, apart from its shifts.

    Signals:
        left(): back to where work goes on.
        replay_asked(str): an attempt is to be replayed.
        replay_at_asked(str, datetime | None): the same, from a moment of it, or from its start.
    """

    left = Signal()
    replay_asked = Signal(str)
    replay_at_asked = Signal(str, object)
    loaded = Signal()

    def __init__(
        self,
        client: RecorderClient,
        parent: QWidget | None = None,
        standings: Standings | None = None,
    ) -> None:
        super().__init__(parent)
        self._client = client
        self._standings = standings or Standings(None)
        self.play: PlayPage | None = None
        self.pages = QStackedWidget(self)
        self._shelf = ScenarioShelf(self._standings.shelf)
        self._verdicts = Verdicts(self._standings.verdicts)
        self.choose = ChoosePage(self._shelf, self)
        self.shelf = ShelfPage(self._shelf, self._verdicts, self)
        self.editor = ScenarioEditor(self._shelf, self)
        self._shed: LineSetup | None = None
        self._opening = False
        self.debrief = DebriefPage(self)
        self.pair = SideBySide(self)
        for page in (self.choose, self.shelf, self.editor, self.debrief, self.pair):
            self.pages.addWidget(page)
        self.inside.addWidget(self.pages)
        self.making = ScenarioMaking(client, self)
        self._connect()

    def _connect(self) -> None:
        self.choose.begin_asked.connect(self._begin)
        self.choose.resume_asked.connect(self._resume)
        self.choose.debrief_asked.connect(self.open_debrief)
        self.choose.left.connect(self.left)
        self.making.made.connect(self._show_made)
        self.choose.edit_asked.connect(lambda: self._edit(self.choose.chosen()))
        self.choose.pair_asked.connect(self._open_pair)
        self.pair.pair_asked.connect(self._compare)
        self.choose.shelf_asked.connect(self.open_shelf)
        self.shelf.start_asked.connect(self._choose_from_shelf)
        self.shelf.edit_asked.connect(self._edit)
        self.editor.saved.connect(self._show_on_shelf)
        self.editor.tried.connect(self._verdicts.put)
        self.editor.left.connect(self.open_shelf)
        for page in (self.shelf, self.debrief, self.pair):
            page.left.connect(self.open)
        self.debrief.replay_asked.connect(self.replay_asked)
        self.replay_asked.connect(lambda chain: self.replay_at_asked.emit(chain, None))
        self.debrief.replay_at_asked.connect(self.replay_at_asked)
        self.debrief.next_asked.connect(self._choose_next)

    # -- choosing -------------------------------------------------------------------------------

    @Slot()
    def open(self) -> None:
        """Offer scenarios and attempts; an attempt that was being worked on is interrupted."""
        self.interrupt()
        self.choose.load()
        self.choose.message.clear()
        self.pages.setCurrentWidget(self.choose)
        self.choose.trainee.setFocus()
        self._client.read(attempts, self._show_attempts)

    def _show_attempts(self, result: object) -> None:
        if isinstance(result, list):
            self.choose.show_attempts(result)
            self._score_next()
        else:
            self.choose.message.warn(str(result))
        self.loaded.emit()

    def _score_next(self) -> None:
        """Work out one score at a time: entries of others get in between."""
        missing = self.choose.missing_scores()
        if missing:
            self._client.read(_scored(missing[0]), self._put_score)

    def _put_score(self, result: object) -> None:
        if isinstance(result, tuple):
            self.choose.put_score(*result)
            self._score_next()

    def make_from(self, chain: str) -> None:
        """Make a scenario from a recorded shift and offer it."""
        self.choose.message.say(tr("Making a scenario from the shift …"))
        self.making.make_from(chain)

    @Slot(object)
    def _show_made(self, result: object) -> None:
        if not isinstance(result, MadeScenario):
            self.choose.message.warn(str(result))
            return
        self._verdicts.put(result.text, result.good_score)
        self.choose.show_made(result)
        try:
            self._shelf.keep(result.text)
        except PracticeError as trouble:
            self.choose.message.warn(str(trouble))
        self.choose.load(result.text)

    @Slot()
    def open_shelf(self) -> None:
        """Offer what can be done with scenarios."""
        self.shelf.open(self.choose.best_scores())
        self.pages.setCurrentWidget(self.shelf)
        self.shelf.table.setFocus()

    def show_snapshot(self, snapshot: Snapshot, _person: UserContext) -> None:
        """Know the shed's own line, as its newest set-up has it."""
        self._shed = snapshot.setup

    @property
    def unsaved(self) -> bool:
        """Whether a scenario is being written that the shelf does not have."""
        return self.pages.currentWidget() is self.editor and bool(self.editor.unsaved)

    @Slot(object)
    def _edit(self, one: OnShelf | None) -> None:
        self.pages.setCurrentWidget(self.editor)
        self.editor.open(one, self._shed)

    @Slot(str)
    def _show_on_shelf(self, text: str) -> None:
        self.open_shelf()
        self.shelf.read(text)
        self.shelf.message.say(tr("Saved and on the shelf."))

    @Slot(str)
    def _choose_from_shelf(self, text: str) -> None:
        self.open()
        self.choose.load(text)

    @Slot(str, str, str)
    def _begin(self, scenario: str, trainee: str, showing: str) -> None:
        attempt = Attempt(
            trainee=_as_written(self._shed, trainee),
            scenario=scenario,
            seed=_seed(scenario),
            advice=showing,
            begun_at=self._client.clock(),
        )
        self._open(_begun(self._client.recorder, attempt))

    @Slot(str)
    def _resume(self, chain: str) -> None:
        self._open(_resumed(self._client.recorder, chain))

    def _open(self, query: Callable[[Store], Opened]) -> None:
        if not self._opening:  # a second press comes before the first has opened anything
            self._opening = True
            self._client.read(query, self._play)

    # -- playing --------------------------------------------------------------------------------

    def _play(self, result: object) -> None:
        self._opening = False
        if not isinstance(result, Opened):
            self.choose.message.warn(str(result))
            return
        self.interrupt()
        page = PlayPage(PracticeClient(result), self, self._standings)
        page.left.connect(self.open)
        page.ended.connect(self._ended)
        self.play = page
        self.pages.addWidget(page)
        self.pages.setCurrentWidget(page)
        page.setFocus()
        page.client.start()

    def interrupt(self) -> None:
        """Let go of the attempt that is being worked on; it is kept and can be resumed."""
        page, self.play = self.play, None
        if page is not None:
            page.lesson.close()  # with a question that stands: time would go on after it
            page.client.play_clock.pause()
            page.keep_standing()
            page.client.close()
            self.pages.removeWidget(page)
            page.hide()
            page.deleteLater()

    def hideEvent(self, event: QHideEvent) -> None:
        """Interrupt an attempt that nobody sees; a window that is only minimised goes on."""
        super().hideEvent(event)
        if not event.spontaneous():
            self.interrupt()

    @Slot(str)
    def _ended(self, chain: str) -> None:
        self.interrupt()
        self.open_debrief(chain)

    # -- afterwards -----------------------------------------------------------------------------

    @Slot(str)
    def open_debrief(self, chain: str) -> None:
        """Work out the debrief of an attempt and show it, unless somebody goes on meanwhile."""
        self.pages.setCurrentWidget(self.choose)
        self.choose.message.say(tr("Working out the debrief …"))
        self._client.read(_debriefed(chain), self._show_debrief)

    @Slot(str)
    def _choose_next(self, title: str) -> None:
        """Go back to the list with the advised scenario chosen."""
        texts = [one.text for one in self.choose.found if one.scenario.title == title]
        self.open()
        self.choose.load(*texts[:1])

    def _show_debrief(self, result: object) -> None:
        if self.pages.currentWidget() is not self.choose:
            pass  # something else was begun meanwhile
        elif isinstance(result, Debrief):
            self.choose.load()
            self.debrief.show_debrief(result, [one.scenario for one in self.choose.found])
            self.pages.setCurrentWidget(self.debrief)
            self.debrief.back.setFocus()
        else:
            self.choose.message.warn(str(result))
        self.loaded.emit()

    @Slot()
    def _open_pair(self) -> None:
        first = self.choose.current()
        others = same_water(first, self.choose.kept) if first is not None else []
        if first is not None and others:
            self.pages.setCurrentWidget(self.pair)
            self.pair.open(first, others, parse_scenario(first.attempt.scenario).title)

    @Slot(str, str)
    def _compare(self, first: str, second: str) -> None:
        self._client.read(_both(first, second), self._show_pair)

    def _show_pair(self, result: object) -> None:
        if isinstance(result, tuple):
            first, second = result
            self.pair.show_pair(first, second)
        else:
            self.pair.message.warn(str(result))
        self.loaded.emit()


def _both(first: str, second: str) -> Callable[[Store], tuple[Debrief, Debrief]]:
    def query(store: Store) -> tuple[Debrief, Debrief]:
        return debrief_of(store, first), debrief_of(store, second)

    return query


def _as_written(shed: LineSetup | None, trainee: str) -> str:
    """Return initials as the set-up writes them, so that nobody is two people in training."""
    people = shed.people if shed is not None else ()
    known = (one.initials for one in people if one.initials.upper() == trainee)
    return next(known, trainee)


def _seed(scenario: str) -> int:
    return parse_scenario(scenario).pace.seed


def _begun(pen: Recorder, attempt: Attempt) -> Callable[[Store], Opened]:
    def query(store: Store) -> Opened:
        return begin_attempt(store, pen, attempt)

    return query


def _resumed(pen: Recorder, chain: str) -> Callable[[Store], Opened]:
    def query(store: Store) -> Opened:
        return resume_attempt(store, pen, chain)

    return query


def _debriefed(chain: str) -> Callable[[Store], Debrief]:
    def query(store: Store) -> Debrief:
        return debrief_of(store, chain)

    return query


def _scored(chain: str) -> Callable[[Store], tuple[str, float]]:
    def query(store: Store) -> tuple[str, float]:
        return chain, debrief_of(store, chain).score

    return query
