"""What no log says by itself: where its headings are, how days, times and numbers are written."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QGridLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.importing.columns_row import field_names
from washmon.gui.kit.form_fields import ListField
from washmon.line.events import Method
from washmon.line.setup import LineSetup
from washmon.sessions.imported.choices import Choices
from washmon.sessions.imported.log import SEARCHED_ROWS, HeadRow, Log
from washmon.sessions.imported.log_columns import (
    UNITS_OF_DOSES,
    Holds,
    LogField,
    decimal_signs,
    dose_unit,
    guess_taste,
    held_twice,
    lacks_unit,
)
from washmon.sessions.imported.when import DateOrder, goes_back, orders_of, split_day_and_time
from washmon.units import UnitSystem

_IN_A_ROW = 5
_LONGEST = 40
_YES, _NO = "yes", "no"


class Open(NamedTuple):
    """A question that nobody has answered yet, and the list that answers it, if one does."""

    words: str
    field: ListField | None


class Questions(QWidget):
    """Rows of lists; those that the file answers are filled in, those it leaves open are not.

    Signals:
        changed(): an answer was given.
        head_changed(): the headings are said to be elsewhere.
    """

    changed = Signal()
    head_changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.order = ListField("order", tr("Dates"), _orders())
        self.sign = ListField("sign", tr("Decimals"), _signs())
        self.units = ListField("units", tr("Units"), _units())
        self.method = ListField("method", tr("Measured by"), _methods(), value=Method.STRIP.value)
        self.tank = ListField("tank", tr("Tank, if none is named"), ())
        self.by = ListField("by", tr("Initials, if none"), ())
        self.head = ListField("head", tr("Headings"), ())
        self.down = ListField(
            "down",
            tr("Rows without a day"),
            ((_YES, tr("of the day above")), (_NO, tr("leave such rows out"))),
            value=_YES,
        )
        self.noon = ListField(
            "noon",
            tr("After noon, 1:15 is"),
            ((_YES, tr("13:15")), (_NO, tr("01:15, as written"))),
        )
        self.dose = ListField(
            "dose",
            tr("Amounts without a unit"),
            tuple((unit, unit) for unit in UNITS_OF_DOSES.values()),
        )
        rows = QGridLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setHorizontalSpacing(12)
        rows.setVerticalSpacing(4)
        for at, field in enumerate(self._fields()):
            rows.addWidget(field, at // _IN_A_ROW, at % _IN_A_ROW)
            field.changed.connect(self.head_changed if field is self.head else self._tell)

    def _fields(self) -> tuple[ListField, ...]:
        often = (self.head, self.order, self.sign, self.units, self.method)
        return (*often, self.tank, self.by, self.down, self.noon, self.dose)

    def show_setup(self, setup: LineSetup) -> None:
        """Offer the tanks and people of a line; a single tank is the one that is meant."""
        tanks = tuple((str(tank.number), f"{tank.number}  {tank.name}") for tank in setup.tanks)
        alone = tanks[0][0] if len(tanks) == 1 else "0"
        self.tank.offer((("0", tr("leave such rows out")), *tanks), alone)
        people = tuple((one.initials, f"{one.initials}  {one.name}") for one in setup.people)
        self.by.offer((("-", tr("leave such rows out")), *people), "-")

    def show_log(self, log: Log, columns: Mapping[int, Holds], usual: UnitSystem) -> None:
        """Fill in what the file answers; where several answers fit, none is chosen."""
        orders = orders_of(_days(log, columns))
        self.order.put(orders[0].value if len(orders) == 1 else "")
        signs = decimal_signs(log, columns)
        self.sign.put(signs[0] if len(signs) == 1 else "")
        self.units.put(guess_taste(log, columns, usual).value)
        self._offer_heads(log)
        self.noon.put("" if goes_back(_moments(log, columns)) else _NO)
        self.noon.setEnabled(not self.noon.text)
        self.dose.put(dose_unit(log, columns))
        self.dose.setEnabled(lacks_unit(log, columns))

    def _offer_heads(self, log: Log) -> None:
        """Offer the first rows, each alone and with the one below, as merged headings need it."""
        choices = [("0 1", tr("none"))]
        for row in log.lines[:SEARCHED_ROWS]:
            number, words = row.number, _short(row.cells)
            alone = tr("row {number}: {words}", number=number, words=words)
            both = tr("row {number} with the one below: {words}", number=number, words=words)
            choices += [(f"{number} 1", alone), (f"{number} 2", both)]
        self.head.offer(tuple(choices), f"{log.head.row} {log.head.rows}")

    @property
    def chosen_head(self) -> HeadRow:
        """Where the headings are said to be."""
        row, rows = self.head.text.split()
        return HeadRow(int(row), int(rows))

    def answers(self) -> dict[str, str]:
        """Return what is chosen, by list, to be remembered with a layout."""
        return {field.key: field.text for field in self._fields() if field is not self.head}

    def put_answers(self, answers: Mapping[str, str]) -> None:
        """Choose what was chosen before of the same layout, where the file itself leaves it open.

        What is open in this file may not have been in the last one, and the other way round.
        """
        for field in self._fields():
            answer = answers.get(field.key, "")
            unsure = field.isEnabled() and (field not in {self.order, self.sign} or not field.text)
            if answer and unsure:
                field.put(answer)

    def open_questions(self, columns: Mapping[int, Holds], tanks: Mapping[int, int]) -> list[Open]:
        """Return what must be answered before anything can be read."""
        found = []
        if (twice := held_twice(columns, tanks)) is not None:
            words = tr("Two columns are said to hold the same ({field}): leave one of them out.",
                       field=dict(field_names())[twice])  # fmt: skip
            found.append(Open(words, None))
        if not self.order.text:
            found.append(
                Open(
                    tr("Are the dates written day first or month first? Choose under Dates."),
                    self.order,
                )
            )
        if not self.sign.text:
            found.append(
                Open(
                    tr("Is a comma a decimal sign in this file? Choose under Decimals."), self.sign
                )
            )
        if not self.noon.text:
            words = tr("Is 1:15 after noon meant as 13:15? Choose under After noon.")
            found.append(Open(words, self.noon))
        if self.dose.isEnabled() and not self.dose.text:
            words = tr("In which unit was sanitizer added where none is written? Choose it.")
            found.append(Open(words, self.dose))
        return found

    def choices(
        self, columns: Mapping[int, Holds], tanks: Mapping[int, int], setup: LineSetup
    ) -> Choices:
        """Return all answers; there must be no open question."""
        by = self.by.text
        return Choices(
            columns=columns,
            tanks=tanks,
            setup=setup,
            order=DateOrder(self.order.text),
            decimal_sign=self.sign.text,
            taste=UnitSystem(self.units.text),
            tank=int(self.tank.text or 0) or None,
            by="" if by == "-" else by,
            method=Method(self.method.text),
            dose_unit=self.dose.text,
            twelve_hours=self.noon.text == _YES,
            days_down=self.down.text == _YES,
        )

    @Slot()
    def _tell(self) -> None:
        self.changed.emit()


def _days(log: Log, columns: Mapping[int, Holds]) -> list[str]:
    days: list[str] = []
    for at, field in columns.items():
        if field is LogField.DATE:
            days += log.column(at)
        elif field is LogField.DATE_TIME:
            days += [split_day_and_time(text)[0] for text in log.column(at)]
    return days


def _moments(log: Log, columns: Mapping[int, Holds]) -> Iterator[tuple[str, str]]:
    """Yield what stands for the day and the time in each row."""
    of = {field: at for at, field in columns.items()}
    both, day, clock = of.get(LogField.DATE_TIME), of.get(LogField.DATE), of.get(LogField.TIME)
    for row in log.rows:
        if both is not None:
            yield split_day_and_time(_cell(row.cells, both))
        elif clock is not None:
            yield "" if day is None else _cell(row.cells, day), _cell(row.cells, clock)


def _cell(cells: tuple[str, ...], at: int) -> str:
    return cells[at].strip() if at < len(cells) else ""


def _short(cells: tuple[str, ...]) -> str:
    said = " | ".join(" ".join(cell.split()) for cell in cells if cell.strip())
    return said if len(said) <= _LONGEST else f"{said[:_LONGEST]}…"


_Choices = tuple[tuple[str, str], ...]


def _orders() -> _Choices:
    return (
        (DateOrder.DAY_FIRST.value, tr("day, month: 13/04")),
        (DateOrder.MONTH_FIRST.value, tr("month, day: 04/13")),
        (DateOrder.YEAR_FIRST.value, tr("year first: 2026-04-13")),
    )


def _signs() -> _Choices:
    return ((".", tr("point: 7.1")), (",", tr("comma: 7,1")))


def _units() -> _Choices:
    return (
        (UnitSystem.METRIC.value, tr("°C, kg, mL")),
        (UnitSystem.US.value, tr("°F, lb, fl oz")),
    )


def _methods() -> _Choices:
    return (
        (Method.STRIP.value, tr("strip")),
        (Method.KIT.value, tr("kit")),
        (Method.METER.value, tr("meter")),
    )
