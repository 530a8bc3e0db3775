"""The report of a week: what a manager looks at, in 17 columns, a row for each tank and shift."""

from datetime import date

from washmon.reports.cells import Cell, Column
from washmon.reports.costs import Cost
from washmon.reports.summary import LevelSummary, TankSummary, TimeShares


def _level(row: TankSummary) -> LevelSummary | None:
    return row.paa or row.fac


def _time(row: TankSummary) -> TimeShares | None:
    return row.paa_time or row.fac_time


def _day(row: TankSummary) -> date:
    return row.shift.started_at.date()


def _lowest(row: TankSummary) -> Cell:
    level = _level(row)
    return level.lowest if level else None


def _median(row: TankSummary) -> Cell:
    level = _level(row)
    return level.median if level else None


def _under(row: TankSummary) -> Cell:
    level = _level(row)
    return round(level.count * (1.0 - level.at_least_critical)) if level else None


def _within(row: TankSummary) -> Cell:
    time = _time(row)
    return round(100.0 * time.within, 1) if time else None


def _unknown(row: TankSummary) -> Cell:
    time = _time(row)
    return round(100.0 * time.unknown, 1) if time else None


def _doses_ml(row: TankSummary) -> Cell:
    return sum((one.amount.value for one in row.sanitizer_used if one.amount.unit == "mL"), 0.0)


def _cost(row: TankSummary) -> Cell:
    cost: Cost = row.cost
    return cost.total if row.shift.currency else None


def _reviewed(row: TankSummary) -> Cell:
    imported = "imported" if row.shift.imported else ""
    return "; ".join(filter(None, (imported, row.shift.reviewed_by)))


WEEK_COLUMNS: tuple[Column[TankSummary], ...] = (
    Column("date", "day on which the shift began, by the clock of the shed", _day),
    Column("line", "wash line, as set up", lambda row: row.shift.line),
    Column("tank", "number of the tank in the line", lambda row: row.tank),
    Column("batches", "batches washed in the tank", lambda row: row.batches),
    Column("washed_kg", "weight of the batches that were weighed, kg", lambda row: row.washed_kg),
    Column("level_lowest_mg_l", "lowest free chlorine, or peracetic acid, mg/L", _lowest),
    Column("level_median_mg_l", "its median, mg/L", _median),
    Column("time_within_pct", "time in use known to be within operating limits, %", _within),
    Column("time_unknown_pct", "time in use without a valid reading, %", _unknown),
    Column("readings_under_critical", "readings under the critical low", _under),
    Column("ph_median", "median pH", lambda row: row.ph.median if row.ph else None),
    Column("batches_held", "batches that were ever held", lambda row: row.batches_held),
    Column("holds_open", "holds on which nobody has decided", lambda row: row.open_holds),
    Column("doses_ml", "liquid sanitizer added, mL", _doses_ml),
    Column(
        "water_l",
        "water filled and exchanged, L; empty where an imported log does not say",
        lambda row: row.water_l if row.water_known else None,
    ),
    Column("cost", "of chemicals and water; empty where a part is not known", _cost),
    Column(
        "reviewed_by",
        "initials of who reviewed it last; imported, where it was taken over from a log",
        _reviewed,
    ),
)
