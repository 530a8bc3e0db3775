"""Where practice begins: the scenarios with their briefing, who practises, and earlier attempts."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.file_asking import FileOpener
from washmon.gui.kit.form_fields import TextField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.kit.width import keep_width
from washmon.gui.logbook.table import Cell, FactsModel, FactsTable, Row
from washmon.gui.practice.veil import Showing
from washmon.recorder.attempts import Kept
from washmon.sessions.making.from_shift import Made
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario import Scenario
from washmon.sessions.practice.scenario_files import (
    keep_scenario,
    kept_scenarios,
    parse_scenario,
    read_scenario,
    scenarios,
)

_LONGEST_INITIALS = 8
_BRIEF_PX = 470


class ChoosePage(QWidget):
    """Asks what is to be practised.

    Signals:
        begin_asked(str, str, str): text of the scenario, trainee, when advice is shown.
        resume_asked(str): the attempt with this chain is to go on.
        debrief_asked(str): its debrief is to be shown.
        taken(str): a scenario from a file was put on the list, with this text.
        left(): nothing is to be practised.
    """

    begin_asked = Signal(str, str, str)
    resume_asked = Signal(str)
    debrief_asked = Signal(str)
    taken = Signal(str)
    left = Signal()

    def __init__(self, parent: QWidget | None = None, shelf: Path | None = None) -> None:
        """``shelf`` is the folder in which scenarios from files are kept for the next time."""
        super().__init__(parent)
        self.setObjectName("paper")
        self._shelf = shelf
        self.found: list[tuple[Scenario, str]] = []
        self.kept: list[Kept] = []
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
        self.begin = PressButton(tr("Begin"), Rank.PRIMARY, "F1")
        self.file = PressButton(tr("Scenario from a file"), Rank.QUIET)
        self.opener = FileOpener(tr("Scenario from a file"), self)
        self.resume = PressButton(tr("Resume"), Rank.SECONDARY, "F2")
        self.debrief = PressButton(tr("Debrief"), Rank.SECONDARY, "F3")
        self.back = PressButton(tr("Leave practice"), Rank.SECONDARY, "Esc")
        self.message = MessageLine()
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        lists = QVBoxLayout()
        lists.setSpacing(6)
        lists.addWidget(Text(tr("Practice"), Size.LARGE, bold=True))
        lists.addWidget(self.table, 5)
        lists.addWidget(Text(tr("Trainees and their attempts"), Size.LEAD, bold=True))
        lists.addWidget(self.attempts, 4)
        lists.addWidget(self.message)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.back)
        row.addStretch(1)
        row.addWidget(self.resume)
        row.addWidget(self.debrief)
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
        card.body.addWidget(area, 1)
        card.body.addWidget(self.trainee)
        card.body.addWidget(self.showing)
        card.body.addWidget(self.begin)
        card.body.addWidget(self.file)
        whole = QHBoxLayout(self)
        whole.setContentsMargins(16, 8, 16, 10)
        whole.setSpacing(12)
        whole.addLayout(lists, 1)
        whole.addWidget(card)

    def _connect(self) -> None:
        self.table.selectionModel().currentRowChanged.connect(self._show_brief)
        self.attempts.selectionModel().currentRowChanged.connect(self._allow)
        self.attempts.opened.connect(self._open_attempt)
        self.begin.clicked.connect(self._begin)
        self.trainee.line.returnPressed.connect(self._begin)
        self.file.clicked.connect(self._choose_file)
        self.opener.chosen.connect(self.take_file)
        self.resume.clicked.connect(self._resume)
        self.debrief.clicked.connect(self._debrief)
        self.back.clicked.connect(self.left)

    def load(self) -> None:
        """Read the scenarios that come with the program, once."""
        if self.found:
            return
        try:
            self.found = scenarios()
        except PracticeError as trouble:
            self.message.warn(str(trouble))
        if self._shelf is not None:
            self.found += kept_scenarios(self._shelf)
        self._show_scenarios()

    def _show_scenarios(self, select: int = 0) -> None:
        rows = [
            (Cell(str(one.level), number=True), Cell(one.title), Cell(one.goal))
            for one, _ in self.found
        ]
        self.model.show_rows(rows)
        if rows:
            self.table.selectRow(select)
            QTimer.singleShot(0, self, self._scroll_to_chosen)  # once its place is laid out

    @Slot()
    def _scroll_to_chosen(self) -> None:
        self.table.scrollTo(self.table.currentIndex())

    def show_attempts(self, kept: Sequence[Kept]) -> None:
        """List attempts, the newest first; their scores may come later."""
        self.kept = list(kept)
        self.attempts_model.show_rows([self._row(one) for one in self.kept])
        if self.kept:
            self.attempts.selectRow(0)
        self._allow()

    def put_score(self, chain: str, score: float) -> None:
        """Fill in the score of an attempt."""
        self._scores[chain] = score
        at = self.attempts.currentIndex().row()
        self.attempts_model.show_rows([self._row(one) for one in self.kept])
        self.attempts.selectRow(max(at, 0))

    def missing_scores(self) -> list[str]:
        """Return finished attempts whose score is not known yet."""
        ended = [one.row for one in self.kept if one.row.ended_at is not None]
        return [row.chain for row in ended if row.chain not in self._scores]

    def _row(self, kept: Kept) -> Row:
        score = self._scores.get(kept.row.chain)
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

    # -- by hand --------------------------------------------------------------------------------

    def chosen(self) -> tuple[Scenario, str] | None:
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
        scenario = chosen[0]
        self.brief.addWidget(Text(scenario.title, Size.TITLE, bold=True, wrapped=True))
        self.brief.addWidget(Text(scenario.goal, Size.BODY, bold=True, wrapped=True))
        self.brief.addWidget(Text(" ".join(scenario.briefing.split()), Size.BODY, wrapped=True))
        self.brief.addSpacing(6)
        self.brief.addWidget(Text(tr("A good run"), Size.BODY, bold=True))
        for sentence in scenario.good:
            self.brief.addWidget(Text(f"–  {sentence}", Size.BODY, tone=Tone.SOFT, wrapped=True))
        self.brief.addStretch(1)

    @Slot()
    def _begin(self) -> None:
        chosen, who = self.chosen(), self.trainee.text.upper()
        if chosen is None:
            return
        if not who or len(who) > _LONGEST_INITIALS:
            self.trainee.show_fault(tr("Write the initials of who practises."))
            self.trainee.setFocus()
            return
        self.begin_asked.emit(chosen[1], who, self.showing.selected)

    @Slot()
    def _choose_file(self) -> None:
        self.opener.ask(kinds=[tr("Scenarios (*.toml)")])

    @Slot(str)
    def take_file(self, file: str) -> None:
        """Offer the scenario in a file, or say why it can't be used."""
        try:
            taken = read_scenario(Path(file))
        except PracticeError as trouble:
            self.message.warn(str(trouble))
            return
        self.message.clear()
        self._add(taken)
        self.taken.emit(taken[1])

    def _add(self, taken: tuple[Scenario, str]) -> None:
        """Put a scenario on the list and on the shelf, and choose it."""
        if taken not in self.found:
            self.found.append(taken)
            if self._shelf is not None and not keep_scenario(self._shelf, taken[1]):
                self.message.warn(tr("It can be played now, and could not be kept for later."))
        self._show_scenarios(self.found.index(taken))

    def show_made(self, made: Made) -> None:
        """Offer a scenario that was made from a shift, and say whether it has a solution."""
        self.message.say(
            tr(
                "Made from the shift and kept. The good strategy scores {score} in it.",
                score=f"{made.good_score:.0f}",
            )
        )
        self._add((parse_scenario(made.text), made.text))
        if not made.has_solution:
            self.say_no_solution(made.good_score)

    def say_no_solution(self, score: float) -> None:
        """Say that following the rules does not lead through a scenario."""
        self.message.warn(
            tr(
                "This scenario has no solution: the good strategy fails this one too, with {score} "
                "of 100 points.",
                score=f"{score:.0f}",
            )
        )

    def current(self) -> Kept | None:
        """Return the attempt that is chosen."""
        at = self.attempts.currentIndex().row()
        return self.kept[at] if 0 <= at < len(self.kept) else None

    @Slot()
    def _allow(self) -> None:
        kept = self.current()
        self.resume.setEnabled(kept is not None and kept.row.ended_at is None)
        self.debrief.setEnabled(kept is not None)

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


def showing_word(advice: str) -> str:
    """Return whether advice was shown in an attempt."""
    return {
        Showing.ON.value: tr("on"),
        Showing.DELAYED.value: tr("10 min late"),
        Showing.OFF.value: tr("off"),
    }.get(advice, advice)
