"""What no log says by itself: the order of days, the decimal sign, units, tank, initials."""

from collections.abc import Mapping
from typing import NamedTuple

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.form_fields import ListField
from washmon.line.events import Method
from washmon.line.setup import LineSetup
from washmon.sessions.imported.columns import Field, decimal_signs, guess_taste
from washmon.sessions.imported.log import Log
from washmon.sessions.imported.rows import Choices
from washmon.sessions.imported.when import DateOrder, orders_of, split_day_and_time
from washmon.units import UnitSystem


class Open(NamedTuple):
    """A question that nobody has answered yet, and the list that answers it."""

    words: str
    field: ListField


class Questions(QWidget):
    """A row of lists; those that the file answers are filled in, those it leaves open are not."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        orders = (
            (DateOrder.DAY_FIRST.value, tr("day, month: 13/04")),
            (DateOrder.MONTH_FIRST.value, tr("month, day: 04/13")),
            (DateOrder.YEAR_FIRST.value, tr("year first: 2026-04-13")),
        )
        signs = ((".", tr("point: 7.1")), (",", tr("comma: 7,1")))
        units = (
            (UnitSystem.METRIC.value, tr("°C, kg, mL")),
            (UnitSystem.US.value, tr("°F, lb, fl oz")),
        )
        methods = (
            (Method.STRIP.value, tr("strip")),
            (Method.KIT.value, tr("kit")),
            (Method.METER.value, tr("meter")),
        )
        self.order = ListField("order", tr("Dates"), orders)
        self.sign = ListField("sign", tr("Decimals"), signs)
        self.units = ListField("units", tr("Units"), units)
        self.method = ListField("method", tr("Measured by"), methods, value=Method.STRIP.value)
        self.tank = ListField("tank", tr("Tank, if none is named"), ())
        self.by = ListField("by", tr("Initials, if none"), ())
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        for field in (self.order, self.sign, self.units, self.method, self.tank, self.by):
            row.addWidget(field, 1)
            field.changed.connect(self._tell)

    def show_setup(self, setup: LineSetup) -> None:
        """Offer the tanks and people of a line; a single tank is the one that is meant."""
        tanks = tuple((str(tank.number), f"{tank.number}  {tank.name}") for tank in setup.tanks)
        alone = tanks[0][0] if len(tanks) == 1 else "0"
        self.tank.offer((("0", tr("leave such rows out")), *tanks), alone)
        people = tuple((one.initials, f"{one.initials}  {one.name}") for one in setup.people)
        self.by.offer((("-", tr("leave such rows out")), *people), "-")

    def show_log(self, log: Log, columns: Mapping[int, Field], usual: UnitSystem) -> None:
        """Fill in what the file answers; where several answers fit, none is chosen."""
        orders = orders_of(_days(log, columns))
        self.order.put(orders[0].value if len(orders) == 1 else "")
        signs = decimal_signs(log, columns)
        self.sign.put(signs[0] if len(signs) == 1 else "")
        self.units.put(guess_taste(log, columns, usual).value)

    def open_questions(self) -> list[Open]:
        """Return what must be answered before anything can be read."""
        found = []
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
        return found

    def choices(
        self, columns: Mapping[int, Field], tanks: Mapping[int, int], setup: LineSetup
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
        )

    @Slot()
    def _tell(self) -> None:
        self.changed.emit()


def _days(log: Log, columns: Mapping[int, Field]) -> list[str]:
    days: list[str] = []
    for at, field in columns.items():
        if field is Field.DATE:
            days += log.column(at)
        elif field is Field.DATE_TIME:
            days += [split_day_and_time(text)[0] for text in log.column(at)]
    return days
