"""Two attempts on the same water, side by side: their true courses and what each part brought."""

from collections.abc import Sequence

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.context import translated
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, keep_width, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.form_fields import ListField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.table import Cell, FactsModel, FactsTable, Row
from washmon.gui.practice.debrief_words import change_words
from washmon.gui.scenarios.course_plot import CoursePlot, Plotted, course_of, plotted_row, view_of
from washmon.gui.setup_guide.layout import Scroller
from washmon.recorder.attempts import KeptAttempt
from washmon.sessions.debrief.score import Debrief

_SIDE_PX = 460


def same_water(kept: KeptAttempt, others: Sequence[KeptAttempt]) -> list[KeptAttempt]:
    """Return the other attempts at the same scenario with the same luck, the newest first."""
    mine = kept.attempt
    return [
        one
        for one in others
        if one.row.chain != kept.row.chain
        and one.attempt.scenario == mine.scenario
        and one.attempt.seed == mine.seed
    ]


class SideBySide(QWidget):
    """Compares two attempts.

    Signals:
        pair_asked(str, str): the debriefs of the attempts with these chains are wanted.
        left(): back to practice.
    """

    pair_asked = Signal(str, str)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("paper")
        self._first: KeptAttempt | None = None
        self._pair: tuple[Debrief, Debrief] | None = None
        self.plotted = plotted_row()
        self.title = Text("", Size.LARGE, bold=True)
        self.other = ListField("other", tr("Beside"), ())
        self.model = FactsModel((tr("Part of the score"), "", ""), self)
        self.table = FactsTable(self.model, stretched=0)
        self.table.setAccessibleName(tr("Part of the score"))
        self.lead = Text("", tone=Tone.SOFT, wrapped=True)
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        self._plots = vbox(gap_px=6)
        self._lay_out()
        self.other.changed.connect(self._ask)
        self.plotted.chosen.connect(self._draw)

    def _lay_out(self) -> None:
        plots = Scroller(self, widest_px=4000)
        plots.column.addLayout(self._plots, 1)
        side = QWidget()
        keep_width(side, _SIDE_PX)
        vbox(self.other, (self.table, 1), self.plotted, on=side)
        vbox(
            self.title,
            self.lead,
            (hbox((plots, 1), side, gap_px=12), 1),
            hbox(self.back, (self.message, 1)),
            on=self,
            gap_px=8,
            margins_px=(16, 8, 16, 10),
        )

    def open(self, first: KeptAttempt, others: Sequence[KeptAttempt], title: str) -> None:
        """Begin with an attempt and those that it may be held against."""
        self._first = first
        self.title.setText(title)
        self.lead.setText(tr("The same water, the same loads, two pairs of hands."))
        self.other.offer(
            tuple((one.row.chain, name_of(one)) for one in others), others[0].row.chain
        )
        self._ask()

    @Slot()
    def _ask(self) -> None:
        if self._first is not None and self.other.text:
            self.message.say(tr("Working it out …"))
            self.pair_asked.emit(self._first.row.chain, self.other.text)

    def show_pair(self, first: Debrief, second: Debrief) -> None:
        """Show two attempts."""
        self.message.clear()
        names = _names(first, second)
        rows: list[Row] = [
            (
                Cell(
                    tr("{part}, of {most}", part=translated(one.title.text), most=f"{one.most:g}")
                ),
                Cell(f"{one.points:g}", number=True),
                Cell(f"{other.points:g}", number=True),
            )
            for one, other in zip(first.parts, second.parts, strict=True)
        ]
        count = [Cell(f"{100 * one.counts:.0f} %", number=True) for one in (first, second)]
        total = [Cell(f"{one.score:.0f}", number=True) for one in (first, second)]
        rows.append((Cell(tr("Share that counts")), *count))
        rows.append((Cell(tr("Score")), *total))
        self.model.show_rows(rows, (tr("Part of the score"), *names))
        self._pair = (first, second)
        self._draw()
        self._tell_changes(first, second, names)

    def _tell_changes(self, first: Debrief, second: Debrief, names: tuple[str, ...]) -> None:
        """Say where a trainer made the water of one another than that of the other."""
        said = [
            tr("In {name} the trainer made it so: {what}.", name=name, what=what)
            for name, one in zip(names, (first, second), strict=True)
            if (what := "; ".join(change_words(change) for _, _, change in one.facts.meddled))
        ]
        if first.facts.meddled != second.facts.meddled:
            self.message.doubt(" ".join(said))

    @Slot()
    def _draw(self) -> None:
        """Draw both attempts, their chlorine or their pH."""
        while (item := self._plots.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        if self._pair is None:
            return
        plotted = Plotted(self.plotted.selected)
        names = _names(*self._pair)
        facts = self._pair[0].facts
        for one in facts.tanks:
            courses = tuple(
                course_of(name, found.facts, one.tank.number, plotted)
                for name, found in zip(names, self._pair, strict=True)
            )
            view = view_of(one.tank, facts.scenario, courses, plotted)
            self._plots.addWidget(CoursePlot(view, self), 1)


def name_of(kept: KeptAttempt) -> str:
    """Return what tells an attempt from others at the same scenario."""
    return tr(
        "{who}, begun {at}", who=kept.attempt.trainee, at=f"{kept.attempt.begun_at:%Y-%m-%d %H:%M}"
    )


def _names(first: Debrief, second: Debrief) -> tuple[str, str]:
    """Return what tells two attempts apart: the person, and the day or the time."""

    def named(one: Debrief, form: str) -> str:
        attempt = one.facts.attempt
        return f"{attempt.trainee}, {attempt.begun_at.strftime(form)}"

    for form in ("%d %b", "%d %b %H:%M", "%d %b %H:%M:%S"):
        names = named(first, form), named(second, form)
        if names[0] != names[1]:
            break
    return names
