"""The plot of the tank that an entry is about, with what is typed drawn before it is saved."""

from msgspec.structs import replace
from PySide6.QtCore import QObject, QTimer, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.board.board import Board
from washmon.gui.board.panel import TrendCard
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.trend_view import DrawnPoint
from washmon.line.judging import LimitKind, judge_level
from washmon.line.setup import Tank
from washmon.planning.snapshot import Snapshot
from washmon.units import Kind, UnitError

_BESIDE = 0.4
"""So many batches right of the last reading the value that is typed is drawn, as its bracket is."""


class SheetPlot(QObject):
    """Keeps a tank's plot in view beside its sheet, and says what a typed level would mean."""

    def __init__(self, sheet: EntrySheet, board: Board, parent: QWidget) -> None:
        super().__init__(parent)
        self._sheet = sheet
        self._board = board
        self._shown: tuple[Snapshot, UserContext] | None = None
        self.card = TrendCard(sheet)
        self._soon = QTimer(self, singleShot=True, interval=0)
        self._soon.timeout.connect(self._draw_if_open)
        sheet.lend_side(self.card)
        sheet.changed.connect(self._draw)

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Know how the tanks are; a sheet that this very snapshot shuts is not drawn anew."""
        self._shown = (snapshot, person)
        self._soon.start()

    @Slot()
    def _draw_if_open(self) -> None:
        if self._sheet.isVisible():
            self._draw()

    @Slot()
    def _draw(self) -> None:
        key = self._sheet.tank
        panel = self._board.panel(int(key)) if key.isdigit() else None
        shift = None if self._shown is None else self._shown[0].shift
        if panel is None or self._shown is None or shift is None:
            self._sheet.want_side(wanted=False)
            self._sheet.say_meaning("")
            return
        tank = shift.tank(panel.number)
        person = self._shown[1]
        level = self._typed(tank.spec, person)
        draft = None if level is None else DrawnPoint(tank.batches + _BESIDE, level)
        self.card.show_view(replace(panel, trend=replace(panel.trend, draft=draft)))
        self._sheet.want_side(wanted=True)
        self._sheet.say_meaning("" if level is None else self._meaning(tank.spec, level, person))

    def _typed(self, spec: Tank, person: UserContext) -> float | None:
        field = self._sheet.grid.fields.get(spec.level_field)
        if field is None or not field.text:
            return None
        try:
            return person.parse(field.text, Kind.CONCENTRATION)
        except UnitError:
            return None

    def _meaning(self, spec: Tank, level: float, person: UserContext) -> str:
        said = self._against_limits(spec, level, person)
        trend = None if self._shown is None else self._board.panel(int(self._sheet.tank))
        expected = None if trend is None else trend.trend.expected
        if expected is None:
            return said
        shown = person.show(level, Kind.CONCENTRATION)
        low, high = round(expected.low), round(expected.high)
        if round(expected.low, 1) <= level <= round(expected.high, 1):
            as_told = tr("{level} is as expected ({low}–{high}).", level=shown, low=low, high=high)
        else:
            as_told = tr(
                "{level} is not what was expected ({low}–{high}): read it once more if in doubt.",
                level=shown,
                low=low,
                high=high,
            )
        return f"{as_told} {said}".strip()

    @staticmethod
    def _against_limits(spec: Tank, level: float, person: UserContext) -> str:
        breach = judge_level(level, spec)
        if breach is None:
            return tr("It is in the operating band.")
        limit = person.show(breach.limit, Kind.CONCENTRATION)
        match breach.which:
            case LimitKind.CRITICAL_LOW:
                return tr(
                    "It is under the critical low of {critical}: washing must stop.",
                    critical=limit,
                )
            case LimitKind.LOW:
                return tr("It is under the operating low of {low}.", low=limit)
            case LimitKind.HIGH:
                return tr("It is over the operating high of {high}.", high=limit)
        return tr("It is over the {most} that is allowed: washing must stop.", most=limit)
