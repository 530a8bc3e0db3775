"""The course: which scenarios, in which order, what passes, and when it is due again."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, foot_row, hbox, keep_width, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.form_fields import TextField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.table import Cell, ListedPage, Listing
from washmon.line.training import Course

_FIELD_PX = 260


class CoursePage(QWidget):
    """Scenarios of the course first, in order; then those that are left out.

    Signals:
        left(): back without saving.
        written(object): a :class:`Course` is to be saved.
    """

    left = Signal()
    written = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._before = Course(scenarios=())
        self.taken: list[str] = []
        self._others: list[str] = []
        self.list = ListedPage(tr("There is no scenario."))
        self.pass_mark = TextField("pass_mark", tr("Pass mark"), unit=tr("of 100"))
        self.months = TextField("months", tr("Due again after"), unit=tr("months"))
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        self.up = PressButton(tr("Up"), Rank.SECONDARY, "Alt+Up")
        self.down = PressButton(tr("Down"), Rank.SECONDARY, "Alt+Down")
        self.turn = PressButton(tr("In or out"), Rank.SECONDARY, "Ins", then=self._turn)
        self.save = PressButton(tr("Save the course"), Rank.PRIMARY, "Ctrl+S", then=self._save)
        column = page_column(self, Text(tr("The course"), Size.LARGE, bold=True), (self.list, 1))
        fields = hbox(gap_px=12)
        for field in (self.pass_mark, self.months):
            keep_width(field, _FIELD_PX)
            fields.addWidget(field)
        add(fields, STRETCH, self.up, self.down, self.turn)
        add(column, fields, foot_row(self.back, self.message, self.save))
        self.list.table.opened.connect(self._turn)
        self.up.clicked.connect(lambda: self._move(-1))
        self.down.clicked.connect(lambda: self._move(1))

    def open(self, course: Course, titles: tuple[str, ...]) -> None:
        """Show a course, and beside it all scenarios that there are."""
        self._before = course
        self.taken = list(course.scenarios)
        self._others = [one for one in titles if one not in self.taken]
        self.pass_mark.put(f"{course.pass_mark:g}")
        self.months.put(str(course.months))
        self.message.clear()
        self._show(0)
        self.list.table.setFocus()

    @property
    def unsaved(self) -> bool:
        """Whether something is other than it was."""
        marks = (f"{self._before.pass_mark:g}", str(self._before.months))
        typed = (self.pass_mark.text, self.months.text)
        return tuple(self.taken) != self._before.scenarios or typed != marks

    def _show(self, select: int) -> None:
        rows = [(Cell(str(place), number=True), Cell(one)) for place, one in self._numbered()]
        self.list.show_listing(Listing((tr("Place"), tr("Scenario")), tuple(rows)))
        if rows:
            self.list.table.selectRow(min(select, len(rows) - 1))

    def _numbered(self) -> list[tuple[str, str]]:
        inside = [(str(place), one) for place, one in enumerate(self.taken, 1)]
        return inside + [("–", one) for one in self._others]

    @Slot()
    def _turn(self) -> None:
        """Take the chosen scenario into the course, or out of it."""
        at = self.list.table.currentIndex().row()
        if 0 <= at < len(self.taken):
            self._others.insert(0, self.taken.pop(at))
            self._show(at)
        elif 0 <= at - len(self.taken) < len(self._others):
            self.taken.append(self._others.pop(at - len(self.taken)))
            self._show(len(self.taken) - 1)

    def _move(self, by: int) -> None:
        at = self.list.table.currentIndex().row()
        if 0 <= at < len(self.taken) and 0 <= at + by < len(self.taken):
            self.taken[at], self.taken[at + by] = self.taken[at + by], self.taken[at]
            self._show(at + by)

    @Slot()
    def _save(self) -> None:
        numbers = {}
        for field in (self.pass_mark, self.months):
            field.show_fault("")
            try:
                numbers[field.key] = float(field.text.replace(",", "."))
            except ValueError:
                field.show_fault(tr("Write a number."))
        if not self.months.text.isdigit() and "months" in numbers:
            self.months.show_fault(tr("Write whole months."))
        elif len(numbers) == len((self.pass_mark, self.months)):
            self.written.emit(
                Course(
                    scenarios=tuple(self.taken),
                    pass_mark=numbers["pass_mark"],
                    months=int(numbers["months"]),
                )
            )
