"""The Trends page: choose a line, a tank and a quantity, see what stands out, save the picture."""

from datetime import timedelta
from pathlib import Path

from PySide6.QtCore import QStandardPaths, Signal, Slot
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QVBoxLayout, QWidget

from washmon.gui.context import Person
from washmon.gui.desk import Desk
from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.control_chart import ControlChart
from washmon.gui.kit.control_view import ControlView
from washmon.gui.kit.form_fields import ListField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.exporting import trouble_words
from washmon.gui.logbook.table import ListedPage, Listing
from washmon.gui.trends.gathering import Gatherer
from washmon.gui.trends.views import (
    WEEKS,
    Shown,
    by_week,
    control,
    quantity_names,
    rule_names,
)
from washmon.reports.control import RuleSet
from washmon.reports.csv_export import suggested_name
from washmon.reports.files import ExportError, written_aside
from washmon.reports.summary import TankSummary
from washmon.reports.trends import Quantity, points, weeks
from washmon.units import Taste

_ALL = "all"
_TOGETHER = "0"
_NONE = Listing((), ())
_LIST_PX = 164


class TrendsPage(QWidget):
    """Signals: ``left()``, ``opened(str)``: read the shift with this chain, ``loaded()``."""

    left = Signal()
    opened = Signal(str)
    loaded = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._person = Person("", Taste.METRIC)
        self._summaries: tuple[TankSummary, ...] = ()
        self._chains: tuple[str, ...] = ()
        self._folder = QStandardPaths.writableLocation(
            QStandardPaths.StandardLocation.PicturesLocation
        )
        self.dialog: QFileDialog | None = None
        self.gatherer = Gatherer(desk, self)
        self.line = ListField("line", tr("Line"), ())
        self.tank = ListField("tank", tr("Tank"), ())
        self.quantity = ListField("quantity", tr("Show"), tuple(quantity_names().items()))
        self.days = ListField("days", tr("Days"), self._ranges(), value="90")
        self.rules = ListField("rules", tr("Run rules"), tuple(rule_names().items()))
        self.chart = ControlChart()
        self.remark = MessageLine()
        self.found = ListedPage(tr("No point stands out."))
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc")
        self.message = MessageLine()
        self.png = PressButton(tr("Save as PNG"))
        self.svg = PressButton(tr("Save as SVG"))
        self.quantity.put(Quantity.REDOSE_LOW)
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
        filters = QHBoxLayout()
        filters.setSpacing(12)
        for field, stretch in (
            (self.line, 3),
            (self.tank, 3),
            (self.quantity, 3),
            (self.days, 2),
            (self.rules, 3),
        ):
            filters.addWidget(field, stretch)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.back)
        buttons.addSpacing(8)
        buttons.addWidget(self.message, 1)
        buttons.addWidget(self.png)
        buttons.addWidget(self.svg)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(12, 8, 12, 10)
        outer.setSpacing(8)
        outer.addWidget(Text(tr("Trends over shifts"), Size.LARGE, bold=True))
        outer.addLayout(filters)
        outer.addWidget(self.chart, 1)
        outer.addWidget(self.remark)
        outer.addWidget(self.found)
        outer.addLayout(buttons)
        self.found.setFixedHeight(_LIST_PX)
        self.remark.hide()

    def _connect(self) -> None:
        self.line.changed.connect(self._offer_tanks)
        for field in (self.tank, self.quantity, self.rules):
            field.changed.connect(self.draw)
        self.days.changed.connect(self.load)
        self.gatherer.progressed.connect(self._progressed)
        self.gatherer.gathered.connect(self._gathered)
        self.found.table.opened.connect(self._open_row)
        self.back.clicked.connect(self.left)
        self.png.clicked.connect(self._save_png)
        self.svg.clicked.connect(self._save_svg)

    def open(self, person: Person) -> None:
        """Show the page to a person, read anew."""
        self._person = person
        self.message.clear()
        self.load()
        self.quantity.setFocus()

    @Slot()
    def load(self) -> None:
        """Read the shifts of the chosen days; :attr:`loaded` follows."""
        days = self.days.text
        since = None if days == _ALL else self._desk.clock() - timedelta(days=int(days))
        self.message.say(tr("Reading the shifts …"))
        self.gatherer.gather(since)

    @Slot(int, int)
    def _progressed(self, done: int, total: int) -> None:
        self.message.say(tr("{done} of {total} shifts are read …", done=done, total=total))

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
        self.rules.setEnabled(self.quantity.text != WEEKS)
        for button in (self.png, self.svg):
            button.setEnabled(bool(shown.view.panels))

    def _shown(self) -> Shown:
        line, tank = self.line.text, int(self.tank.text or 0)
        of = f"{line}, {self.tank.combo.currentText()}"
        if self.quantity.text == WEEKS:
            return by_week(weeks(self._summaries, line, tank or None), self._person, of)
        if self.tank.text == _TOGETHER:
            return Shown(ControlView(nothing=tr("Choose one tank: each has its own chart.")), _NONE)
        quantity = Quantity(self.quantity.text)
        found = points(quantity, self._summaries, line, tank)
        return control(quantity, found, RuleSet(self.rules.text), self._person, of)

    @Slot(int)
    def _open_row(self, at: int) -> None:
        if at < len(self._chains):
            self.opened.emit(self._chains[at])

    # -- saving -------------------------------------------------------------------------------

    @Slot()
    def _save_png(self) -> None:
        self._ask("png")

    @Slot()
    def _save_svg(self) -> None:
        self._ask("svg")

    def _ask(self, kind: str) -> None:
        if self.dialog is not None:
            return
        name = suggested_name("trend", self.line.text, self._desk.clock().date(), suffix=f".{kind}")
        self.dialog = QFileDialog(self, tr("Save the picture"), str(Path(self._folder, name)))
        self.dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        self.dialog.setNameFilter(f"{kind.upper()} (*.{kind})")
        self.dialog.setDefaultSuffix(kind)
        self.dialog.selectFile(name)
        self.dialog.fileSelected.connect(self._chosen)
        self.dialog.finished.connect(self._closed)
        self.dialog.open()

    @Slot(str)
    def _chosen(self, path: str) -> None:
        self.save(Path(path))

    @Slot(int)
    def _closed(self, _result: int) -> None:
        if self.dialog is not None:
            self.dialog.deleteLater()
            self.dialog = None

    def save(self, target: Path) -> None:
        """Write the picture that is shown, as its name ends; say what became of it."""
        self._folder = str(target.parent)
        body = self.chart.svg() if target.suffix == ".svg" else self.chart.png()
        try:
            with written_aside(target) as file:
                file.write(body)
        except ExportError as trouble:
            self.message.warn(trouble_words(trouble))
        else:
            self.message.say(tr("Written: {path}", path=str(target)))
