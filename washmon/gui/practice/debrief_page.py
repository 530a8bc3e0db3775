"""The debrief on screen: score and parts at the left, pictures and what to talk about beside."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QWidget

from washmon.gui.context import UserContext, decimal_point, translated
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, hbox, keep_width, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.file_asking import FileSaver
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.practice.chart import AttemptChart
from washmon.gui.practice.chart_views import charts
from washmon.gui.practice.debrief_words import (
    DEBRIEF_TABLE,
    MOMENTS,
    beside_words,
    moment_words,
    next_words,
    score_lines,
    tank_sentences,
    teaching_sentences,
)
from washmon.gui.practice.printing import PrintError, print_debrief
from washmon.reports.csv_export import ExportError, export_rows, suggested_name
from washmon.sessions.debrief.next_one import Next, next_one
from washmon.sessions.debrief.score import Debrief, ScorePart
from washmon.sessions.practice.scenario import Scenario

_PARTS_PX = 420


class DebriefPage(QWidget):
    """Shows one debrief.

    Signals:
        left(): back to the list.
        replay_asked(str): the attempt with this chain is to be replayed.
        replay_at_asked(str, datetime): and from a moment of it.
        next_asked(str): the scenario with this title is to be practised next.
    """

    left = Signal()
    replay_asked = Signal(str)
    replay_at_asked = Signal(str, object)
    next_asked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("paper")
        self._found: Debrief | None = None
        self._person: UserContext | None = None
        self.title = Text("", Size.LARGE, bold=True)
        self.facts = Text("", Size.BODY, tone=Tone.SOFT)
        self.score = Text("", Size.HUGE, bold=True, tabular=True)
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        self.replay = PressButton(tr("Replay it"), Rank.SECONDARY, then=self._replay)
        self.export = PressButton(tr("Export as CSV"), Rank.SECONDARY, "Ctrl+E", then=self._ask_csv)
        self.print = PressButton(
            tr("Save a page as PDF"), Rank.SECONDARY, "Ctrl+P", then=self._ask_pdf
        )
        self.csv_file = FileSaver(tr("Save the debrief"), self)
        self.csv_file.chosen.connect(self._save_csv)
        self.pdf_file = FileSaver(tr("Save the debrief"), self)
        self.pdf_file.chosen.connect(self._save_pdf)
        self.moments: list[PressButton] = []
        self.next: PressButton | None = None
        self._body = QHBoxLayout()
        self._lay_out()

    def _lay_out(self) -> None:
        vbox(
            hbox((vbox(self.title, self.facts, gap_px=0), 1), self.score, gap_px=16),
            (self._body, 1),
            hbox(self.back, (self.message, 1), self.replay, self.export, self.print, gap_px=8),
            on=self,
            gap_px=8,
            margins_px=(16, 8, 16, 10),
        )

    def show_debrief(self, found: Debrief, shelf: Sequence[Scenario] = ()) -> None:
        """Show a debrief from its top; the next scenario is advised from a shelf."""
        facts = found.facts
        self._found = found
        self._person = UserContext(facts.attempt.trainee, facts.state.setup.taste, decimal_point())
        self.title.setText(tr("Debrief: {title}", title=facts.scenario.title))
        state = tr("finished") if facts.ended else tr("not finished")
        self.facts.setText(
            tr(
                "{who}  ·  begun {when}  ·  {state}  ·  batches washed: {count}",
                who=facts.attempt.trainee,
                when=f"{facts.attempt.begun_at:%Y-%m-%d %H:%M}",
                state=state,
                count=facts.washed,
            )
        )
        self.score.setText(tr("{score} of 100", score=round(found.score)))
        self.message.clear()
        while (item := self._body.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        add(
            self._body,
            self._parts(found, self._person),
            (self._talk(found, self._person, next_one(found, shelf)), 1),
        )

    def _parts(self, found: Debrief, person: UserContext) -> QWidget:
        inside = QWidget()
        inside.setObjectName("scrolled")
        counts = Text(person.say(found.why_counts), Size.BODY, wrapped=True)
        vbox(
            counts,
            *(_part_card(part, person) for part in found.parts),
            STRETCH,
            on=inside,
            gap_px=6,
            margins_px=(0, 0, 10, 0),
        )
        area = _scrolled(inside)
        keep_width(area, _PARTS_PX)
        return area

    def _talk(self, found: Debrief, person: UserContext, advised: Next | None) -> QWidget:
        inside = QWidget()
        inside.setObjectName("scrolled")
        column = vbox(on=inside, gap_px=8, margins_px=(0, 0, 10, 0))
        if found.slips:
            column.addWidget(self._moments(found, person))
        if advised is not None:
            column.addWidget(self._advice(advised))
        for view in charts(found.facts):
            card = Card(margin_px=8)
            card.body.addWidget(AttemptChart(view, person))
            column.addWidget(card)
        card = Card(margin_px=12)
        add(
            card.body,
            Text(tr("To talk about"), Size.LEAD, bold=True),
            *(
                Text(sentence, Size.BODY, wrapped=True)
                for sentence in (*tank_sentences(found, person), *teaching_sentences(found, person))
            ),
            Text(tr("What a good run looks like"), Size.LEAD, bold=True),
            *(
                Text(f"–  {sentence}", Size.BODY, tone=Tone.SOFT, wrapped=True)
                for sentence in found.facts.scenario.good
            ),
        )
        add(column, card, STRETCH)
        return _scrolled(inside)

    def _moments(self, found: Debrief, person: UserContext) -> QWidget:
        """Show what cost most, each one press from its replay."""
        card = Card(margin_px=12)
        card.body.addWidget(Text(tr("The moments that cost most"), Size.LEAD, bold=True))
        self.moments = []
        for slip in found.slips[:MOMENTS]:
            row = hbox(gap_px=8)
            words = vbox(Text(moment_words(slip), Size.BODY, wrapped=True), gap_px=0)
            beside = beside_words(found, slip, person)
            if beside:
                words.addWidget(Text(beside, Size.SMALL, tone=Tone.SOFT, wrapped=True))
            row.addLayout(words, 1)
            button = PressButton(tr("Replay {time}", time=f"{slip.at:%H:%M}"), Rank.QUIET)
            button.clicked.connect(partial(self.replay_at_asked.emit, found.chain, slip.at))
            self.moments.append(button)
            row.addWidget(button)
            card.body.addLayout(row)
        return card

    def _advice(self, advised: Next) -> QWidget:
        card = Card(margin_px=12)
        self.next = PressButton(tr("Choose it"), Rank.QUIET)
        self.next.clicked.connect(partial(self.next_asked.emit, advised.scenario.title))
        row = hbox(
            Text(tr("Next"), Size.LEAD, bold=True),
            (Text(next_words(advised), Size.BODY, wrapped=True), 1),
            self.next,
            gap_px=8,
        )
        card.body.addLayout(row)
        return card

    # -- files ----------------------------------------------------------------------------------

    @Slot()
    def _replay(self) -> None:
        if self._found is not None:
            self.replay_asked.emit(self._found.chain)

    @Slot()
    def _ask_csv(self) -> None:
        self._ask_file("csv", self.csv_file)

    @Slot()
    def _ask_pdf(self) -> None:
        self._ask_file("pdf", self.pdf_file)

    def _ask_file(self, suffix: str, saver: FileSaver) -> None:
        if self._found is None:
            return
        day = self._found.facts.attempt.begun_at.date()
        who = self._found.facts.attempt.trainee
        name = Path(suggested_name(DEBRIEF_TABLE, who, day, practice=True))
        saver.ask(str(name.with_suffix(f".{suffix}")))

    @Slot(str)
    def _save_csv(self, file: str) -> None:
        self.write_csv(Path(file))

    @Slot(str)
    def _save_pdf(self, file: str) -> None:
        self.write_pdf(Path(file))

    def write_csv(self, target: Path) -> None:
        """Write the score and its parts as CSV, and say so."""
        if self._found is None or self._person is None:
            return
        try:
            export_rows(target, DEBRIEF_TABLE, [list(score_lines(self._found, self._person))])
        except ExportError as trouble:
            self.message.warn(translated(trouble.template).format(**trouble.values))
        else:
            self.message.say(tr("Written: {path}", path=str(target)))

    def write_pdf(self, target: Path) -> None:
        """Write the debrief as a page to print, and say so."""
        if self._found is None or self._person is None:
            return
        try:
            print_debrief(self._found, self._person, target)
        except PrintError as trouble:
            self.message.warn(translated(trouble.template).format(**trouble.values))
        else:
            self.message.say(tr("Written: {path}", path=str(target)))


def _part_card(part: ScorePart, person: UserContext) -> QWidget:
    card = Card(margin_px=8)
    card.body.setSpacing(2)
    points = tr("{points} of {most}", points=f"{part.points:g}", most=f"{part.most:g}")
    row = hbox(
        (Text(person.say(part.title), Size.BODY, bold=True), 1),
        Text(points, Size.BODY, bold=True, tabular=True),
        gap_px=8,
    )
    add(card.body, row, Text(person.say(part.why), Size.SMALL, tone=Tone.SOFT, wrapped=True))
    return card


def _scrolled(inside: QWidget) -> QScrollArea:
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(inside)
    return area
