"""The filters over the list of past shifts: its days, its line, what is so, and words."""

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta

from PySide6.QtCore import QDate, Qt, Signal, Slot
from PySide6.QtGui import QIcon, QTextCharFormat
from PySide6.QtWidgets import QCalendarWidget, QDateEdit, QToolButton, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, FlowLayout, keep_width, vbox
from washmon.gui.kit.buttons import TOUCH_PX, PressButton, Rank
from washmon.gui.kit.form_fields import ListField, TextField
from washmon.gui.kit.text import Text
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.shift_rows import Only

_DAYS = 90
_WORDS_PX = 170


class ShiftFilters(QWidget):
    """Asks which shifts are wanted.

    Signals:
        days_changed(): other days.
        choice_changed(): another line, or shifts of which something else is so.
        words_changed(): another lot or other initials.
        lot_asked(str): all that touched the lot with this number is to be shown.
    """

    days_changed = Signal()
    choice_changed = Signal()
    words_changed = Signal()
    lot_asked = Signal(str)

    def __init__(self, today: date, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.since = _day_field(today - timedelta(days=_DAYS), tr("From"))
        self.until = _day_field(today, tr("To"))
        self.line = ListField("line", tr("Line"), (("", tr("All lines")),))
        self.only = ListField(
            "only",
            tr("Show"),
            (
                (Only.ALL, tr("All shifts")),
                (Only.UNSIGNED, tr("Unsigned")),
                (Only.UNREVIEWED, tr("Waits for review")),
                (Only.OPEN_HOLDS, tr("With open holds")),
                (Only.OUTSIDE, tr("Out of limits")),
            ),
            value=Only.ALL,
        )
        self.words = TextField(
            "words", tr("Lot, initials, customer"), example=tr("such as 0507 or RM")
        )
        self.trace = PressButton(tr("Trace the lot"), Rank.SECONDARY, "Ctrl+L", then=self._trace)
        self.all = PressButton(tr("All days"), Rank.QUIET, then=self._show_all_days)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        self.trace.setEnabled(False)
        self.words.editor.setClearButtonEnabled(True)
        keep_width(self.line, 190)
        keep_width(self.only, 190)
        filters = FlowLayout(self, gap_px=12)
        filters.addWidget(_labelled(self.since, tr("From")))
        filters.addWidget(_labelled(self.until, tr("To")))
        filters.addWidget(_labelled(self.all, ""))
        filters.addWidget(self.line)
        filters.addWidget(self.only)
        self.words.setMinimumWidth(_WORDS_PX)
        filters.addWidget(self.words)
        filters.addWidget(_labelled(self.trace, ""))

    def _connect(self) -> None:
        for day in (self.since, self.until):
            day.dateChanged.connect(self.days_changed)
        for choice in (self.line, self.only):
            choice.changed.connect(self.choice_changed)
        self.words.editor.textChanged.connect(self._find)  # the clear button edits nothing

    def days(self) -> tuple[datetime, datetime]:
        """Return when the first chosen day begins and the last one is over, by this place."""
        return _begin(self.since), _begin(self.until, days_later=1)

    def offer_lines(self, names: Iterable[str]) -> None:
        """Offer these lines, and keep the one that is chosen if it is among them."""
        chosen = self.line.text
        self.line.offer((("", tr("All lines")), *((name, name) for name in sorted(names))))
        self.line.editor.setCurrentIndex(max(self.line.editor.findData(chosen), 0))

    @Slot()
    def _find(self) -> None:
        self.trace.setEnabled(bool(self.words.text))
        self.words_changed.emit()

    @Slot()
    def _trace(self) -> None:
        if code := self.words.text:
            self.lot_asked.emit(code)

    @Slot()
    def _show_all_days(self) -> None:
        for field, day in ((self.since, QDate(2000, 1, 1)), (self.until, QDate.currentDate())):
            field.blockSignals(True)
            field.setDate(day)
            field.blockSignals(False)
        self.days_changed.emit()


def _day_field(day: date, name: str) -> QDateEdit:
    field = QDateEdit(QDate(day.year, day.month, day.day))
    field.setDisplayFormat("yyyy-MM-dd")
    field.setCalendarPopup(True)
    field.setFont(theme.font(Size.BODY, tabular=True))
    keep_width(field, 150)
    field.setFixedHeight(TOUCH_PX)
    field.setAccessibleName(name)
    _calm(field.calendarWidget())
    return field


def _calm(calendar: QCalendarWidget) -> None:
    """Give a calendar the program's colours: Qt's own has red weekends and black arrows."""
    calendar.setMinimumSize(380, 320)
    calendar.setVerticalHeaderFormat(QCalendarWidget.VerticalHeaderFormat.NoVerticalHeader)
    for day in Qt.DayOfWeek:
        calendar.setWeekdayTextFormat(day, QTextCharFormat())
    for name, arrow in (("prev", "\N{LEFTWARDS ARROW}"), ("next", "\N{RIGHTWARDS ARROW}")):
        button = calendar.findChild(QToolButton, f"qt_calendar_{name}month")
        if isinstance(button, QToolButton):
            button.setIcon(QIcon())
            button.setText(arrow)


def _labelled(field: QWidget, words: str) -> QWidget:
    box = QWidget()
    vbox(Text(words, Size.SMALL, bold=True), field, STRETCH, on=box, gap_px=3)
    return box


def _begin(field: QDateEdit, *, days_later: int = 0) -> datetime:
    """Return when the day of a field begins, by the clock of this machine's place."""
    chosen = field.date().addDays(days_later)
    day = date(chosen.year(), chosen.month(), chosen.day())
    return datetime.combine(day, time()).astimezone()
