"""What is true in the tanks, for the trainer's eyes alone."""

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import QGridLayout, QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.scenarios.course_plot import (
    CoursePlot,
    CourseView,
    Plotted,
    WaterCourse,
    plotted_row,
    view_of,
)
from washmon.gui.setup_guide.layout import Scroller
from washmon.line.reading import level_of
from washmon.line.setup import Tank
from washmon.line.state import ShiftState
from washmon.sessions.practice.line import Truth
from washmon.sessions.practice.stage import PracticeStage
from washmon.units import Kind

_ACROSS = 3
"""No more tanks than these stand beside each other."""


class TruthPanel(QWidget):
    """A column of values for each tank, and under them what was true so far."""

    def __init__(
        self, stage: PracticeStage, person: UserContext, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._stage, self._person = stage, person
        self.values: dict[tuple[int, int], Text] = {}
        self.plotted = plotted_row()
        self.plotted.chosen.connect(self._draw)
        self._shift: ShiftState | None = None
        self.world = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self._names = self._row_names()
        tanks = stage.setup.tanks
        whole = vbox(self._grid(), self.world, self.plotted, on=self, gap_px=6)
        self.plots = {tank.number: CoursePlot(self._view(tank, None), self) for tank in tanks}
        scroller = Scroller(self, widest_px=4000)
        for plot in self.plots.values():
            scroller.column.addWidget(plot, 1)
        whole.addWidget(scroller, 1)

    def _grid(self) -> QGridLayout:
        """Return a column for each tank, or where there are many a row for each."""
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(2)
        tanks = self._stage.setup.tanks
        across = len(tanks) <= _ACROSS

        def put(widget: QWidget, value: int, tank: int) -> None:
            row, column = (value, tank) if across else (tank, value)
            grid.addWidget(widget, row, column, Qt.AlignmentFlag.AlignLeft)
            grid.setColumnStretch(column, 1 if column else 0)

        for at, name in enumerate(self._names, start=1):
            put(Text(name, Size.SMALL, tone=Tone.SOFT), at, 0)
        for place, tank in enumerate(tanks, start=1):
            put(Text(f"{tank.number}  {tank.name}", Size.SMALL, bold=True), 0, place)
            for at in range(len(self._names)):
                value = Text("–", Size.BODY, bold=at == 0, tabular=True)
                self.values[tank.number, at] = value
                put(value, at + 1, place)
        return grid

    def show_now(self, shift: ShiftState | None) -> None:
        """Show what is true now, and beside it what was read last."""
        stage = self._stage
        for tank in stage.setup.tanks:
            truths = [one for one in stage.truth if one.tank == tank.number]
            words = self._words(stage.line.truth(tank.number)) if truths else ()
            said = (*words, self._last_read(shift, tank)) if words else ("–",) * len(self._names)
            for row, text in enumerate(said):
                self.values[tank.number, row].setText(text)
        self._shift = shift
        self._draw()
        self.world.setText(self._world_words())

    @Slot()
    def _draw(self) -> None:
        for tank in self._stage.setup.tanks:
            self.plots[tank.number].show_view(self._view(tank, self._shift))

    def _row_names(self) -> tuple[str, ...]:
        peracetic = self._stage.line.peracetic
        return (
            tr("Peracetic acid") if peracetic else tr("Free chlorine"),
            tr("pH"),
            tr("Peroxide") if peracetic else tr("Working (HOCl)"),
            tr("Cloudiness"),
            tr("Water"),
            tr("Read last"),
        )

    def _words(self, truth: Truth) -> tuple[str, ...]:
        show = self._person.show
        return (
            show(truth.level_mg_l, Kind.CONCENTRATION),
            show(truth.ph, Kind.PH),
            show(truth.peroxide_mg_l, Kind.CONCENTRATION)
            if self._stage.line.peracetic
            else show(round(100 * truth.hocl_share), Kind.PERCENT),
            show(truth.turbidity_ntu, Kind.TURBIDITY),
            show(truth.water_c, Kind.TEMPERATURE),
        )

    def _last_read(self, shift: ShiftState | None, tank: Tank) -> str:
        fill = None if shift is None else shift.tank(tank.number).fill
        seen = None if fill is None else fill.latest(tank.level_field)
        level = None if seen is None else level_of(tank, seen.event)
        if seen is None or level is None:
            return tr("nothing yet")
        ago = (self._stage.now - seen.event.at).total_seconds() / 60.0
        return tr(
            "{level}, {ago} ago",
            level=self._person.show(level, Kind.CONCENTRATION),
            ago=self._person.show(max(0.0, round(ago)), Kind.TIME),
        )

    def _world_words(self) -> str:
        line = self._stage.line

        def percent(share: float) -> str:
            return self._person.show(round(100 * share), Kind.PERCENT)

        return tr(
            "Load: {load}. Product at {strength} of its label, strips show {strips}, loss to light "
            "and air {loss} of the usual.",
            load=tr(line.world.dirtiness.value),
            strength=percent(line.strength_share),
            strips=percent(line.world.strip_share),
            loss=percent(line.world.decay_share),
        )

    def _view(self, tank: Tank, shift: ShiftState | None) -> CourseView:
        stage, plotted = self._stage, Plotted(self.plotted.selected)
        fills = shift.tank(tank.number).fills if shift is not None else ()
        read = (placed.event for fill in fills for placed in fill.readings)
        measured = tuple(
            ((event.at - stage.begins).total_seconds() / 60.0, level)
            for event in read
            if (level := event.ph if plotted is Plotted.PH else level_of(tank, event)) is not None
        )
        true = tuple(
            (one.minutes, plotted.of(one)) for one in stage.truth if one.tank == tank.number
        )
        courses = (WaterCourse(tr("true"), true, measured),)
        return view_of(tank, stage.scenario, courses, plotted)
