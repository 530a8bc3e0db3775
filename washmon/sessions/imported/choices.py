"""How a log is to be read: what no file says by itself, and what a layout is remembered by."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import tzinfo

from washmon.line.events import Method
from washmon.line.setup import LineSetup
from washmon.sessions.imported.log_columns import Holds
from washmon.sessions.imported.when import DateOrder
from washmon.units import UnitSystem


@dataclass(frozen=True, slots=True)
class Choices:
    """How a log is to be read: what no file says by itself."""

    columns: Mapping[int, Holds]
    setup: LineSetup
    order: DateOrder
    tanks: Mapping[int, int] = field(default_factory=dict)
    """By column: the tank that its heading names, where there is a column for each tank."""
    decimal_sign: str = "."
    taste: UnitSystem = UnitSystem.METRIC
    tank: int | None = None
    """The tank where no column names one."""
    by: str = ""
    """The initials where a row has none."""
    method: Method = Method.STRIP
    zone: tzinfo | None = None
    """The shed's time zone; None is that of this machine."""
    dose_unit: str = ""
    """The unit of amounts that are written without one; empty: such a row is not taken."""
    twelve_hours: bool = False
    """Whether 1:15 after 12:40 of the same day is 13:15."""
    days_down: bool = True
    """Whether a row without a day is of the day above it, as under a merged cell."""
