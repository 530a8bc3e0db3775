"""Trying a draft: an obedient supervisor and a careless one play it, and both are drawn."""

from functools import partial

from PySide6.QtCore import Signal, Slot
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QProgressBar, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import add, hbox, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.kit.working import Working
from washmon.gui.practice.making import preview
from washmon.gui.scenarios.course_plot import CoursePlot, Plotted, course_of, plotted_row, view_of
from washmon.gui.setup_guide.layout import FormPage, Scroller
from washmon.sessions.making.trying import Tried
from washmon.sessions.practice.parameters import PracticeError


class PreviewPage(FormPage):
    """Nothing to fill in; what was tried stays drawn until it is tried anew.

    Signals:
        wanted(): the draft is to be tried.
        tried(str, float): the text of what was tried, and what the obedient supervisor scores.
    """

    wanted = Signal()
    tried = Signal(str, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Try it"),
            tr("Somebody who does what the Board says, and somebody careless, in the same water."),
            parent,
        )
        self.working = Working(self, PracticeError)
        self.go = PressButton(tr("Try it"), Rank.PRIMARY, then=self.wanted)
        self.stop = PressButton(tr("Stop"), then=self.halt)
        self.progress = QProgressBar(self)
        self.progress.setTextVisible(False)
        self.progress.setRange(0, 100)
        self.message = MessageLine(self)
        self.plotted = plotted_row()
        self.old = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True, parent=self)
        row = hbox(
            self.go, self.stop, (self.progress, 1), (self.message, 3), self.plotted, gap_px=12
        )
        scroller = Scroller(self, widest_px=4000)
        self._plots = vbox(gap_px=6)
        scroller.column.addLayout(self._plots, 1)
        add(self.outer, row, self.old, (scroller, 1))
        self.old.hide()
        self._text = ""
        self._shown = ""
        self._tried: Tried | None = None
        self.plotted.chosen.connect(self._draw)
        self.working.progressed.connect(self._go_on)
        self.working.came.connect(self._show)
        self._show_working(working=False)

    def owns(self, _path: str) -> bool:
        """Tell that nothing is mended here."""
        return False

    def clear(self) -> None:
        """Forget what was tried."""
        self.halt()
        self._shown = ""
        self._tried = None
        self.message.clear()
        self.old.hide()
        self._clear_plots()

    def begin(self, text: str) -> None:
        """Try a text."""
        self._text = text
        self.message.clear()
        self.old.hide()
        self.progress.setValue(0)
        self._show_working(working=True)
        self.working.do(partial(preview, text))

    @Slot()
    def halt(self) -> None:
        """Let go of what is being tried."""
        self.working.drop()
        self._show_working(working=False)

    def tell_draft(self, text: str) -> None:
        """Say when what is drawn was another draft; ``text`` is as it is written now."""
        other = bool(self._shown) and text != self._shown
        self.old.setText(tr("What is drawn was tried before the last changes: try it again."))
        self.old.setVisible(other)

    def refuse(self, sentence: str) -> None:
        """Say why the draft can't be tried."""
        self.message.warn(sentence)

    def hideEvent(self, event: QHideEvent) -> None:
        """Stop trying: nobody looks."""
        super().hideEvent(event)
        if not event.spontaneous():
            self.halt()

    def _show_working(self, *, working: bool) -> None:
        self.go.setVisible(not working)
        self.stop.setVisible(working)
        self.progress.setVisible(working)

    @Slot(int)
    def _go_on(self, percent: int) -> None:
        self.progress.setValue(percent)

    @Slot(object)
    def _show(self, result: object) -> None:
        self._show_working(working=False)
        if not isinstance(result, Tried):
            self.message.warn(str(result))
            return
        self._shown = self._text
        self._tried = result
        self._say(result)
        self._draw()
        self.tried.emit(self._text, result.good.score)

    def _say(self, tried: Tried) -> None:
        good, careless = f"{tried.good.score:.0f}", f"{tried.careless.score:.0f}"
        if not tried.has_solution:
            self.message.warn(
                tr(
                    "No solution: the obedient supervisor fails this one too, with {good} of 100 "
                    "points; the careless one has {careless}.",
                    good=good,
                    careless=careless,
                )
            )
        elif not tried.tells_apart:
            self.message.doubt(
                tr(
                    "Care makes little difference here: {good} points for the obedient "
                    "supervisor, {careless} for the careless one.",
                    good=good,
                    careless=careless,
                )
            )
        else:
            self.message.say(
                tr(
                    "The obedient supervisor scores {good} of 100, the careless one {careless}.",
                    good=good,
                    careless=careless,
                )
            )

    def _clear_plots(self) -> None:
        while (item := self._plots.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()

    @Slot()
    def _draw(self) -> None:
        """Draw what was tried last, chlorine or pH."""
        self._clear_plots()
        tried = self._tried
        if tried is None:
            return
        plotted = Plotted(self.plotted.selected)
        pairs = ((tr("obedient"), tried.good.facts), (tr("careless"), tried.careless.facts))
        for one in tried.good.facts.tanks:
            courses = tuple(
                course_of(name, facts, one.tank.number, plotted) for name, facts in pairs
            )
            view = view_of(one.tank, tried.scenario, courses, plotted)
            self._plots.addWidget(CoursePlot(view, self), 1)
