"""Values as they are written into a field: exact enough to be read back, without their unit."""

from datetime import date

from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.line.calculations.asking import Field
from washmon.units import Kind, show, symbol

_DECIMALS = 2


def written(value: float | str | date | None, kind: Kind | None, person: Person) -> str:
    """Return a value as somebody would type it."""
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str) or kind is None:
        return str(value)
    point = person.decimal_point
    text = show(value, kind, person.taste, point, decimals=_DECIMALS, with_unit=False)
    head, _, tail = text.partition(point)
    tail = tail.rstrip("0")
    return f"{head}{point}{tail}" if tail else head


def unit_of(asked: Field, kind: Kind | None, person: Person) -> str:
    """Return the unit that a bare number in a field has."""
    if asked.unit:
        return tr(asked.unit)
    return symbol(kind, person.taste) if kind is not None else ""
