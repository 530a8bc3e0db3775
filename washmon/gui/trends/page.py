"""The Trends page: choose a line, a tank and a quantity, see what stands out, save the picture.

Saves the chart that is shown as a picture, and says what became of it.
"""

from datetime import datetime, timedelta
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, hbox, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.control_chart import ControlChart
from washmon.gui.kit.control_view import ControlView
from washmon.gui.kit.file_asking import FileSaver
from washmon.gui.kit.form_fields import ListField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.export_bar import trouble_words
from washmon.gui.logbook.table import ListedPage, Listing
from washmon.gui.settings import Settings
from washmon.gui.trends import gathering
from washmon.gui.trends.coaching import CoachingSwitch
from washmon.gui.trends.gathering import Gatherer
from washmon.gui.trends.trends_views import (
    CHECKS,
    COSTS,
    USED,
    WEEKS,
    Figures,
    Shown,
    checks_by_week,
    control,
    quantity_names,
    rule_names,
    unit,
    weighed_words,
)
from washmon.gui.trends.week_views import by_week, cost_by_week, used_by_week
from washmon.reports.control import RuleSet
from washmon.reports.csv_export import suggested_name
from washmon.reports.files import ExportError, written_aside
from washmon.reports.punctuality import Check, by_person
from washmon.reports.summary import TankSummary
from washmon.reports.trends import (
    LINE_QUANTITIES,
    TrendQuantity,
    line_points,
    points,
    weeks,
    weighed_shifts,
)
from washmon.units import UnitSystem


class PictureSaver(QObject):
    """Asks where, one dialog at a time.

    Signals:
        saved(str): a sentence that says where the picture is.
        failed(str): a sentence that says why there is none.
    """

    saved = Signal(str)
    failed = Signal(str)

    def __init__(self, chart: ControlChart, page: QWidget) -> None:
        super().__init__(page)
        self._chart = chart
        self._folder = QStandardPaths.writableLocation(
            QStandardPaths.StandardLocation.PicturesLocation
        )
        self.file = FileSaver(tr("Save the picture"), page)
        self.file.chosen.connect(self._chosen)

    def ask(self, name: str) -> None:
        """Ask where to save, with a name suggested that ends in .png or .svg."""
        suffix = Path(name).suffix
        self.file.ask(name, folder=self._folder, kinds=[f"{suffix[1:].upper()} (*{suffix})"])

    @Slot(str)
    def _chosen(self, path: str) -> None:
        self.save(Path(path))

    def save(self, target: Path) -> None:
        """Write the picture that is shown, as its name ends."""
        self._folder = str(target.parent)
        body = self._chart.svg() if target.suffix == ".svg" else self._chart.png()
        try:
            with written_aside(target) as file:
                file.write(body)
        except ExportError as trouble:
            self.failed.emit(trouble_words(trouble))
        else:
            self.saved.emit(tr("Written: {path}", path=str(target)))


_ALL = "all"
_TOGETHER = "0"
_NONE = Listing((), ())
_LIST_PX = 164
_WEEKLY = {WEEKS: by_week, USED: used_by_week, COSTS: cost_by_week}


class TrendsPage(QWidget):
    """Signals: ``left()``, ``opened(str)``: read the shift with this chain, ``loaded()``."""

    left = Signal()
    opened = Signal(str)
    loaded = Signal()

    def __init__(
        self, client: RecorderClient, settings: Settings, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._client = client
        self._person = UserContext("", UnitSystem.METRIC)
        self._summaries: tuple[TankSummary, ...] = ()
        self._chains: tuple[str, ...] = ()
        self._checks: tuple[Check, ...] | None = None
        self.gatherer = Gatherer(client, gathering.SUMMARIES, self)
        self.check_gatherer = Gatherer(client, gathering.CHECKS, self)
        self.coaching = CoachingSwitch(client, settings)
        self.line = ListField("line", tr("Line"), ())
        self.tank = ListField("tank", tr("Tank"), ())
        self.quantity = ListField("quantity", tr("Show"), tuple(quantity_names().items()))
        self.days = ListField("days", tr("Days"), self._ranges(), value="90")
        self.rules = ListField("rules", tr("Run rules"), tuple(rule_names().items()))
        self.chart = ControlChart()
        self.picture = PictureSaver(self.chart, self)
        self.remark = MessageLine()
        self.found = ListedPage("")
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self._leave)
        self.message = MessageLine()
        self.png = PressButton(tr("Save as PNG"), then=self._save_png)
        self.svg = PressButton(tr("Save as SVG"), then=self._save_svg)
        self.quantity.put(TrendQuantity.REDOSE_LOW)
        self.rules.put(RuleSet.WESTERN_ELECTRIC)
        self._lay_out()
        self._connect()

    @staticmethod
    def _ranges() -> tuple[tuple[str, str], ...]:
        return (
            ("30", tr("Last 30 days")),
            ("90", tr("Last 90 days")),
            ("365", tr("Last 12 months")),
            (_ALL, tr("All days")),
        )

    def _lay_out(self) -> None:
        filters = hbox(
            *(
                (field, stretch)
                for field, stretch in (
                    (self.line, 3),
                    (self.tank, 3),
                    (self.quantity, 3),
                    (self.days, 2),
                    (self.rules, 3),
                )
            ),
            gap_px=12,
        )
        page_column(
            self,
            Text(tr("Trends over shifts"), Size.LARGE, bold=True),
            filters,
            self.coaching,
            (self.chart, 1),
            self.remark,
            self.found,
            foot_row(self.back, self.message, self.png, self.svg),
        )
        self.found.setFixedHeight(_LIST_PX)
        self.remark.hide()
        self.coaching.hide()

    def _connect(self) -> None:
        self.line.changed.connect(self._offer_tanks)
        for field in (self.tank, self.quantity, self.rules):
            field.changed.connect(self.draw)
        self.days.changed.connect(self.load)
        self.gatherer.progressed.connect(self._progressed)
        self.gatherer.gathered.connect(self._gathered)
        self.check_gatherer.progressed.connect(self._progressed)
        self.check_gatherer.gathered.connect(self._checks_gathered)
        self.coaching.switched.connect(self.draw)
        self.message.acted.connect(self._stop)
        self.picture.saved.connect(self.message.say)
        self.picture.failed.connect(self.message.warn)
        self.found.table.opened.connect(self._open_row)

    def open(self, person: UserContext) -> None:
        """Show the page to a person, read anew."""
        self._person = person
        self.message.clear()
        self.coaching.open(person)
        self.load()
        self.quantity.setFocus()

    @Slot()
    def _leave(self) -> None:
        self._stop()
        self.left.emit()

    @Slot()
    def load(self) -> None:
        """Read the shifts of the chosen days; :attr:`loaded` follows."""
        self._forget_checks()
        self.message.say(tr("Reading the shifts …"), tr("Stop"))
        self.gatherer.gather(self._since())

    def _since(self) -> datetime | None:
        days = self.days.text
        return None if days == _ALL else self._client.clock() - timedelta(days=int(days))

    def _forget_checks(self) -> None:
        self.check_gatherer.stop()
        self._checks = None

    @Slot()
    def _stop(self) -> None:
        """Read no further; what is shown stays."""
        self.gatherer.stop()
        self.check_gatherer.stop()
        self.message.clear()
        if self.quantity.text == CHECKS and self.coaching.on and self._checks is None:
            again = tr("Reading was stopped. Choose other days to read again.")
            self.chart.show_view(ControlView(nothing=again))

    @Slot(int, int)
    def _progressed(self, done: int, total: int) -> None:
        said = tr("{done} of {total} shifts are read …", done=done, total=total)
        self.message.say(said, tr("Stop"))

    @Slot(object)
    def _gathered(self, result: object) -> None:
        if isinstance(result, tuple):
            self._summaries = result
            self.message.clear()
        else:
            self._summaries = ()
            self.message.warn(trouble_words(result))
        self._offer_lines()
        self.loaded.emit()

    @Slot(object)
    def _checks_gathered(self, result: object) -> None:
        if isinstance(result, tuple):
            self._checks = result
            self.message.clear()
        else:
            self.message.warn(trouble_words(result))
        self.draw()
        self.loaded.emit()

    def _offer_lines(self) -> None:
        chosen = self.line.text
        names = list(dict.fromkeys(one.shift.line for one in reversed(self._summaries)))
        self.line.offer(tuple((name, name) for name in names))
        self.line.put(chosen if chosen in names else next(iter(names), ""))
        self._offer_tanks()

    @Slot()
    def _offer_tanks(self) -> None:
        chosen = self.tank.text
        newest = {
            one.tank: one.tank_name for one in self._summaries if one.shift.line == self.line.text
        }
        keys = [str(number) for number in sorted(newest)]
        named = [(key, f"{key}  {newest[int(key)]}") for key in keys]
        together = [(_TOGETHER, tr("All tanks together"))] if len(keys) > 1 else []
        self.tank.offer((*named, *together))
        keys += [key for key, _ in together]
        self.tank.put(chosen if chosen in keys else next(iter(keys), ""))
        self.draw()

    @Slot()
    def draw(self) -> None:
        """Draw what is chosen."""
        shown = self._shown()
        self.chart.show_view(shown.view)
        self.found.show_listing(shown.listing)
        self._chains = shown.chains
        self.remark.setVisible(bool(shown.remark))
        self.remark.doubt(shown.remark)
        charted = self.quantity.text in list(TrendQuantity)
        self.found.nothing.setText(tr("No point stands out.") if charted else "")
        self.rules.setEnabled(charted)
        self.coaching.setVisible(self.quantity.text == CHECKS)
        for button in (self.png, self.svg):
            button.setEnabled(bool(shown.view.panels))

    def _shown(self) -> Shown:
        line, tank = self.line.text, int(self.tank.text or 0)
        of = f"{line}, {self.tank.editor.currentText()}"
        if self.quantity.text == CHECKS:
            return self._shown_checks(line, tank, of)
        if (weekly := _WEEKLY.get(self.quantity.text)) is not None:
            return weekly(weeks(self._summaries, line, tank or None), self._person, of)
        quantity, whole_line = TrendQuantity(self.quantity.text), self.tank.text == _TOGETHER
        if whole_line and quantity not in LINE_QUANTITIES:
            return Shown(ControlView(nothing=tr("Choose one tank: each has its own chart.")), _NONE)
        found = (
            line_points(quantity, self._summaries, line)
            if whole_line
            else points(quantity, self._summaries, line, tank)
        )
        figures = Figures(quantity, unit(quantity, line=whole_line), self._person)
        shown = control(figures, found, RuleSet(self.rules.text), of)
        if quantity is TrendQuantity.LOST_PER_KG and not whole_line:
            weighed = weighed_words(*weighed_shifts(self._summaries, line, tank))
            shown = shown._replace(remark=" ".join(filter(None, (shown.remark, weighed))))
        return shown

    def _shown_checks(self, line: str, tank: int, of: str) -> Shown:
        """Return the checks in time where people may be named; they are read when first asked."""
        if not self.coaching.on:
            self._forget_checks()
            return Shown(
                ControlView(nothing=tr("Who checks in time is not looked at here.")), _NONE
            )
        if self._checks is None:
            self.message.say(tr("Reading the shifts …"), tr("Stop"))
            self.check_gatherer.gather(self._since())
            return Shown(ControlView(nothing=tr("The journals are being read.")), _NONE)
        mine = [one for one in self._checks if tank in {0, one.tank}]
        return checks_by_week(by_person(mine, line), self._person, of)

    @Slot(int)
    def _open_row(self, at: int) -> None:
        if at < len(self._chains):
            self.opened.emit(self._chains[at])

    # -- saving -------------------------------------------------------------------------------

    @Slot()
    def _save_png(self) -> None:
        self._save_as("png")

    @Slot()
    def _save_svg(self) -> None:
        self._save_as("svg")

    def _save_as(self, kind: str) -> None:
        day = self._client.clock().date()
        self.picture.ask(suggested_name("trend", self.line.text, day, suffix=f".{kind}"))
