"""Where practice begins: the scenarios with their briefing, who practises, and earlier attempts."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtWidgets import QScrollArea, QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, FlowLayout, add, hbox, keep_width, vbox
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.form_fields import TextField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.table import Cell, FactsModel, FactsTable, Row
from washmon.gui.practice.shelf_page import shortened
from washmon.gui.practice.side_by_side import same_water
from washmon.recorder.attempts import KeptAttempt
from washmon.sessions.making.from_shift import MadeScenario
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario_files import parse_scenario
from washmon.sessions.practice.shelf import OnShelf, ScenarioShelf
from washmon.sessions.practice.veil import Showing

_LONGEST_INITIALS = 8
_BRIEF_PX = 470


class ChoosePage(QWidget):
    """Asks what is to be practised.

    Signals:
        begin_asked(str, str, str): text of the scenario, trainee, when advice is shown.
        resume_asked(str): the attempt with this chain is to go on.
        debrief_asked(str): its debrief is to be shown.
        pair_asked(): the chosen attempt is to be held against another on the same water.
        edit_asked(): the chosen scenario is to be changed.
        shelf_asked(): scenarios are to be looked after.
        left(): nothing is to be practised.
    """

    begin_asked = Signal(str, str, str)
    resume_asked = Signal(str)
    debrief_asked = Signal(str)
    pair_asked = Signal()
    edit_asked = Signal()
    shelf_asked = Signal()
    left = Signal()

    def __init__(self, shelf: ScenarioShelf, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("paper")
        self._shelf = shelf
        self.found: list[OnShelf] = []
        self.kept: list[KeptAttempt] = []
        self._scores: dict[str, float] = {}
        self.model = FactsModel((tr("Level"), tr("Scenario"), tr("Goal")), self)
        self.table = FactsTable(self.model, wraps=False)
        self.table.setAccessibleName(tr("Scenarios"))
        heads = (tr("Trainee"), tr("Scenario"), tr("Begun"), tr("Advice"), tr("State"), tr("Score"))
        self.attempts_model = FactsModel(heads, self)
        self.attempts = FactsTable(self.attempts_model, wraps=False, stretched=1)
        self.attempts.setAccessibleName(tr("Attempts"))
        self.brief = QVBoxLayout()
        self.trainee = TextField("trainee", tr("Initials of the trainee"))
        self.showing = ChoiceRow(
            (
                (Showing.ON.value, tr("Advice on")),
                (Showing.DELAYED.value, tr("10 min late")),
                (Showing.OFF.value, tr("Off")),
            ),
            Showing.ON.value,
        )
        self.begin = PressButton(tr("Begin"), Rank.PRIMARY, "F1", then=self._begin)
        self.shelf = PressButton(
            tr("Look after scenarios"), Rank.QUIET, "F4", then=self.shelf_asked
        )
        self.resume = PressButton(tr("Resume"), Rank.SECONDARY, "F2", then=self._resume)
        self.debrief = PressButton(tr("Debrief"), Rank.SECONDARY, "F3", then=self._debrief)
        self.pair = PressButton(tr("Side by side"), Rank.SECONDARY, "F5", then=self.pair_asked)
        self.back = PressButton(tr("Leave practice"), Rank.SECONDARY, "Esc", then=self.left)
        self.message = MessageLine()
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        lists = vbox(
            Text(tr("Practice"), Size.LARGE, bold=True),
            (self.table, 5),
            Text(tr("Trainees and their attempts"), Size.LEAD, bold=True),
            (self.attempts, 4),
            self.message,
            gap_px=6,
        )
        row = hbox((self.back, 0, Qt.AlignmentFlag.AlignTop), gap_px=8)
        doings = FlowLayout()
        for button in (self.resume, self.debrief, self.pair):
            doings.addWidget(button)
        row.addLayout(doings, 1)
        lists.addLayout(row)
        card = Card(margin_px=16)
        keep_width(card, _BRIEF_PX)
        inside = QWidget()
        inside.setObjectName("scrolled")
        inside.setLayout(self.brief)
        self.brief.setContentsMargins(0, 0, 8, 0)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidget(inside)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        add(card.body, (area, 1), self.trainee, self.showing, self.begin, self.shelf)
        hbox((lists, 1), card, on=self, gap_px=12, margins_px=(16, 8, 16, 10))

    def _connect(self) -> None:
        self.table.selectionModel().currentRowChanged.connect(self._show_brief)
        self.attempts.selectionModel().currentRowChanged.connect(self._allow)
        self.attempts.opened.connect(self._open_attempt)
        self.trainee.editor.returnPressed.connect(self._begin)
        self.message.acted.connect(self.edit_asked)

    def load(self, select: str = "") -> None:
        """Read the scenarios, and choose the one with this text, else as before."""
        chosen = self.chosen()
        wanted = select or (chosen.text if chosen is not None else "")
        try:
            self.found = self._shelf.read()
        except PracticeError as trouble:
            self.message.warn(str(trouble))
        rows = [
            (Cell(str(one.level), number=True), Cell(shortened(one.title, 90)), Cell(one.goal))
            for one in (kept.scenario for kept in self.found)
        ]
        self.model.show_rows(rows)
        places = [at for at, one in enumerate(self.found) if one.text == wanted]
        if rows:
            self.table.selectRow(places[0] if places else 0)
            QTimer.singleShot(0, self, self._scroll_to_chosen)  # once its place is laid out

    @Slot()
    def _scroll_to_chosen(self) -> None:
        self.table.scrollTo(self.table.currentIndex())

    def show_attempts(self, kept: Sequence[KeptAttempt]) -> None:
        """List attempts, the newest first; their scores may come later."""
        self.kept = list(kept)
        self.attempts_model.show_rows(
            [attempt_row(one, self._scores.get(one.row.chain)) for one in self.kept]
        )
        if self.kept:
            self.attempts.selectRow(0)
        self._allow()

    def put_score(self, chain: str, score: float) -> None:
        """Fill in the score of an attempt."""
        self._scores[chain] = score
        at = self.attempts.currentIndex().row()
        self.attempts_model.show_rows(
            [attempt_row(one, self._scores.get(one.row.chain)) for one in self.kept]
        )
        self.attempts.selectRow(max(at, 0))

    def best_scores(self) -> dict[str, float]:
        """Return the highest score so far in each scenario, by its text."""
        best: dict[str, float] = {}
        for one in self.kept:
            score = self._scores.get(one.row.chain)
            if score is not None:
                text = one.attempt.scenario
                best[text] = max(score, best.get(text, 0.0))
        return best

    def missing_scores(self) -> list[str]:
        """Return finished attempts whose score is not known yet."""
        ended = [one.row for one in self.kept if one.row.ended_at is not None]
        return [row.chain for row in ended if row.chain not in self._scores]

    # -- by hand --------------------------------------------------------------------------------

    def chosen(self) -> OnShelf | None:
        """Return the scenario that is chosen."""
        at = self.table.currentIndex().row()
        return self.found[at] if 0 <= at < len(self.found) else None

    @Slot()
    def _show_brief(self) -> None:
        while (item := self.brief.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        chosen = self.chosen()
        if chosen is None:
            return
        scenario = chosen.scenario
        add(
            self.brief,
            Text(scenario.title, Size.TITLE, bold=True, wrapped=True),
            Text(scenario.goal, Size.BODY, bold=True, wrapped=True),
            Text(" ".join(scenario.briefing.split()), Size.BODY, wrapped=True),
            6,
            Text(tr("A good run"), Size.BODY, bold=True),
            *(
                Text(f"–  {sentence}", Size.BODY, tone=Tone.SOFT, wrapped=True)
                for sentence in scenario.good
            ),
            STRETCH,
        )

    @Slot()
    def _begin(self) -> None:
        chosen, who = self.chosen(), self.trainee.text.upper()
        if chosen is None:
            return
        if not who or len(who) > _LONGEST_INITIALS:
            short = tr("Write initials of {most} letters at most.", most=_LONGEST_INITIALS)
            self.trainee.show_fault(short if who else tr("Write the initials of who practises."))
            self.trainee.setFocus()
            return
        self.begin_asked.emit(chosen.text, who, self.showing.selected)

    def show_made(self, made: MadeScenario) -> None:
        """Offer a scenario that was made from a shift, and say whether it has a solution."""
        score = f"{made.good_score:.0f}"
        if made.has_solution:
            words = tr("Made from the shift and kept. The good strategy scores {score} in it.")
            self.message.say(words.format(score=score), tr("Edit it"))
        else:
            words = tr(
                "This scenario has no solution: the good strategy fails this one too, with {score} "
                "of 100 points."
            )
            self.message.warn(words.format(score=score), tr("Edit it"))

    def current(self) -> KeptAttempt | None:
        """Return the attempt that is chosen."""
        at = self.attempts.currentIndex().row()
        return self.kept[at] if 0 <= at < len(self.kept) else None

    @Slot()
    def _allow(self) -> None:
        kept = self.current()
        self.resume.setEnabled(kept is not None and kept.row.ended_at is None)
        self.debrief.setEnabled(kept is not None)
        self.pair.setEnabled(kept is not None and bool(same_water(kept, self.kept)))

    @Slot(int)
    def _open_attempt(self, at: int) -> None:
        kept = self.kept[at]
        asked = self.debrief_asked if kept.row.ended_at is not None else self.resume_asked
        asked.emit(kept.row.chain)

    @Slot()
    def _resume(self) -> None:
        if (kept := self.current()) is not None:
            self.resume_asked.emit(kept.row.chain)

    @Slot()
    def _debrief(self) -> None:
        if (kept := self.current()) is not None:
            self.debrief_asked.emit(kept.row.chain)


def attempt_row(kept: KeptAttempt, score: float | None) -> Row:
    """Return what the list says of an attempt."""
    try:
        title = parse_scenario(kept.attempt.scenario).title
    except PracticeError:
        title = tr("a scenario of another version")
    done = kept.row.ended_at is not None
    return (
        Cell(kept.attempt.trainee),
        Cell(title),
        Cell(f"{kept.attempt.begun_at:%Y-%m-%d %H:%M}"),
        Cell(showing_word(kept.attempt.advice)),
        Cell(tr("Finished") if done else tr("Interrupted"), Tone.PLAIN if done else Tone.HAND),
        Cell("–" if score is None else f"{score:.0f}", number=True),
    )


def showing_word(advice: str) -> str:
    """Return whether advice was shown in an attempt."""
    return {
        Showing.ON.value: tr("on"),
        Showing.DELAYED.value: tr("10 min late"),
        Showing.OFF.value: tr("off"),
    }.get(advice, advice)
