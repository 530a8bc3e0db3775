"""The table of limits: what was wanted of each tank's water, so that others can judge, too."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from washmon.line.setup import Tank
from washmon.line.state import ShiftState
from washmon.reports.cells import Cell, Column
from washmon.reports.shared_columns import ABOUT_SHIFT


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A tank as the set-up of a shift has it."""

    shift: ShiftState
    tank: Tank


def limit_lines(shift: ShiftState) -> Iterator[LimitLine]:
    """Yield a line for each tank, in line order; a set-up holds for a whole shift."""
    return (LimitLine(shift, tank) for tank in shift.setup.tanks)


def _own(name: str) -> Callable[[LimitLine], Cell]:
    def read(row: LimitLine) -> Cell:
        value: Cell = getattr(row.tank, name)
        return value

    return read


def _level(name: str) -> Callable[[LimitLine], Cell]:
    def read(row: LimitLine) -> Cell:
        return float(getattr(row.tank.limits, name))

    return read


def _ph(name: str) -> Callable[[LimitLine], Cell]:
    def read(row: LimitLine) -> Cell:
        return None if row.tank.peracetic else float(getattr(row.tank.ph, name))

    return read


def _rule(row: LimitLine) -> Cell:
    return row.tank.temperature_rule.kind.value if row.tank.temperature_rule else None


def _by_c(row: LimitLine) -> Cell:
    return row.tank.temperature_rule.by_c if row.tank.temperature_rule else None


LIMIT_COLUMNS: tuple[Column[LimitLine], ...] = (
    *ABOUT_SHIFT,
    Column("started_at", "when the shift began", lambda row: row.shift.started.at),
    Column(
        "in_use_until",
        "when the shift ended, or something last happened in it: until then its last fills count",
        lambda row: (
            max(row.shift.ended.at, row.shift.last_at) if row.shift.ended else row.shift.last_at
        ),
    ),
    Column("tank", "number of the tank in the line", _own("number")),
    Column("tank_name", "name of the tank", _own("name")),
    Column("stage", "wash, rinse, flume or dump tank", _own("stage")),
    Column("volume_l", "working volume, L", _own("volume_l")),
    Column(
        "level",
        "the reading that the levels below are about: fac_mg_l or paa_mg_l",
        _own("level_field"),
    ),
    Column(
        "critical_low_mg_l", "under it washed batches are held, mg/L", _level("critical_low_mg_l")
    ),
    Column("low_mg_l", "operating low, mg/L", _level("low_mg_l")),
    Column("target_mg_l", "where a dose aims, mg/L", _level("target_mg_l")),
    Column("high_mg_l", "operating high, mg/L", _level("high_mg_l")),
    Column("label_max_mg_l", "most by the label, mg/L", _level("label_max_mg_l")),
    Column("ph_low", "lowest pH; empty with peracetic acid", _ph("low")),
    Column("ph_target", "where acid aims, likewise", _ph("target")),
    Column("ph_high", "highest pH, likewise", _ph("high")),
    Column("critical_ph", "over it washed batches are held; empty: no limit", _own("critical_ph")),
    Column("turbidity_max_ntu", "most cloudy, NTU; empty: no limit", _own("turbidity_max_ntu")),
    Column("look_limit", "most cloudy by eye; empty: no limit", _own("look_limit")),
    Column("check_minutes", "a reading is valid so long, min", _own("check_minutes")),
    Column("check_batches", "batches from one reading to the next", _own("check_batches")),
    Column("batches_per_fill", "batches between water changes", _own("batches_per_fill")),
    Column("hours_per_fill", "hours between water changes", _own("hours_per_fill")),
    Column("contact_s", "least time in the tank, s", _own("contact_s")),
    Column("critical_contact_s", "less is held, s; empty: no limit", _own("critical_contact_s")),
    Column("temperature_rule", "how warm the water must be; empty: no rule", _rule),
    Column("temperature_by_c", "and by how much, degrees Celsius", _by_c),
)
"""Between readings the last value is held, until the next one, a dose, acid (pH only), an exchange
of water, or for check_minutes; a fill is watched from its first reading or batch."""
