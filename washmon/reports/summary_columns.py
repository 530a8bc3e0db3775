"""The columns of the summary table."""

from collections.abc import Callable, Iterable

from washmon.line.flags import StepKind
from washmon.line.signing import SigningStage
from washmon.reports.cells import Cell, Column
from washmon.reports.costs import Cost, summed
from washmon.reports.summary import TankSummary, Used

Sum = Callable[[TankSummary], Cell]
_WATER = frozenset({StepKind.CHANGE_WATER, StepKind.LOWER})


def _part(of: str, name: str) -> Sum:
    """Return how a column reads a value of a part that may be missing."""

    def read(summary: TankSummary) -> Cell:
        value: Cell = getattr(getattr(summary, of), name, None)
        return value

    return read


def _own(name: str) -> Sum:
    def read(summary: TankSummary) -> Cell:
        value: Cell = getattr(summary, name)
        return value

    return read


def _total(used: Iterable[Used], unit: str) -> float:
    return sum((one.amount.value for one in used if one.amount.unit == unit), 0.0)


def _names(used: Iterable[Used]) -> str:
    return "; ".join(f"{one.name} {one.amount.value:g} {one.amount.unit}" for one in used)


def _cost(of: Callable[[TankSummary], Cost]) -> Sum:
    """Return how a column reads a cost: empty where it, or the currency, is not known."""
    return lambda row: of(row).total if row.shift.currency else None


def _water_cost(row: TankSummary) -> Cost:
    return summed([row.water_cost if row.water_l or not row.water_known else 0.0])


def _done(*kinds: StepKind) -> Sum:
    return lambda summary: sum(one.kind in kinds for one in summary.corrective)


def _measured(of: str, unit: str, what: str) -> tuple[Column[TankSummary], ...]:
    critical = "the critical low or above it"
    found = (
        Column(f"{of}_readings", f"readings of {what}", _part(of, "count")),
        Column(f"{of}_lowest{unit}", f"lowest {what}", _part(of, "lowest")),
        Column(f"{of}_median{unit}", f"median {what}", _part(of, "median")),
        Column(f"{of}_highest{unit}", f"highest {what}", _part(of, "highest")),
        Column(
            f"{of}_readings_within_share",
            "share of these readings from operating low to operating high, 0 to 1; what something "
            "known to be unfit read does not count as within",
            _part(of, "within"),
        ),
    )
    if of == "ph":
        return found
    share = f"share of these readings at {critical}, 0 to 1"
    return (
        *found,
        Column(f"{of}_readings_at_least_critical_share", share, _part(of, "at_least_critical")),
    )


def _time(of: str, what: str) -> tuple[Column[TankSummary], ...]:
    part = f"{of}_time"
    return (
        Column(
            f"{of}_watched_s",
            "time from the first use of each fill to its end, s",
            _part(part, "watched_s"),
        ),
        Column(
            f"{of}_time_within_share",
            f"share of that time with {what} known to be within operating limits, 0 to 1",
            _part(part, "within"),
        ),
        Column(
            f"{of}_time_outside_share",
            f"share of that time with {what} known to be outside of them, 0 to 1",
            _part(part, "outside"),
        ),
        Column(
            f"{of}_time_unknown_share",
            f"share of that time without a valid reading of {what}, 0 to 1",
            _part(part, "unknown"),
        ),
        Column(
            f"{of}_longest_gap_s",
            f"longest time in use without a reading of {what}, s",
            _part(part, "longest_gap_s"),
        ),
    )


SUMMARY_COLUMNS: tuple[Column[TankSummary], ...] = (
    Column("shift", "name of the shift's journal", _part("shift", "chain")),
    Column("practice", "yes if the shift was simulated", _part("shift", "practice")),
    Column("site", "site, as set up", _part("shift", "site")),
    Column("location", "location of the site", _part("shift", "location")),
    Column("line", "wash line, as set up", _part("shift", "line")),
    Column("commodity", "what the line washes", _part("shift", "commodity")),
    Column("started_at", "when the shift began", _part("shift", "started_at")),
    Column("ended_at", "when it ended; empty while it runs", _part("shift", "ended_at")),
    Column("supervisor", "initials of who began it", _part("shift", "supervisor")),
    Column("supervisor_name", "name of who began it", _part("shift", "supervisor_name")),
    Column(
        "lots", "codes of the lots, with semicolons between", lambda row: "; ".join(row.shift.lots)
    ),
    Column(
        "line_batches", "batches washed on the line, each counted once", _part("shift", "batches")
    ),
    Column("tank", "number of the tank in the line", _own("tank")),
    Column("tank_name", "name of the tank", _own("tank_name")),
    Column("stage", "wash, rinse, flume or dump tank", _own("stage")),
    Column("batches", "batches washed in the tank", _own("batches")),
    Column("washed_kg", "weight of the batches that were weighed, kg", _own("washed_kg")),
    Column("batches_not_weighed", "batches without a weight", _own("batches_not_weighed")),
    Column("fills", "times the tank was filled", _own("fills")),
    Column("exchanges", "times part of the water was exchanged", _own("exchanges")),
    Column(
        "water_used_l",
        "water filled and exchanged, L; empty where an imported log does not say",
        lambda row: row.water_l if row.water_known else None,
    ),
    Column("readings", "readings taken, of anything", _own("readings")),
    *_measured("fac", "_mg_l", "free chlorine, mg/L as Cl2"),
    *_measured("ph", "", "pH"),
    *_time("fac", "free chlorine"),
    Column(
        "fac_time_below_critical_share",
        "share of that time with free chlorine known to be under the critical low, 0 to 1",
        _part("fac_time", "critical"),
    ),
    *_time("ph", "pH"),
    Column("doses", "doses of sanitizer, the starting dose included", _own("doses")),
    Column("sanitizer_ml", "liquid sanitizer, mL", lambda row: _total(row.sanitizer_used, "mL")),
    Column("sanitizer_g", "solid sanitizer, g", lambda row: _total(row.sanitizer_used, "g")),
    Column("sanitizers", "products with their amounts", lambda row: _names(row.sanitizer_used)),
    Column("acid_additions", "times acid was added", _own("acid_additions")),
    Column("acid_ml", "liquid acid, mL", lambda row: _total(row.acid_used, "mL")),
    Column("acid_g", "solid acid, g", lambda row: _total(row.acid_used, "g")),
    Column("acids", "products with their amounts", lambda row: _names(row.acid_used)),
    Column("flags_watch", "flags raised: coming up", _own("flags_watch")),
    Column("flags_act", "flags raised: act now", _own("flags_act")),
    Column("flags_stop", "flags raised: stop and hold", _own("flags_stop")),
    Column("holds", "holds placed", _own("holds")),
    Column("holds_open", "holds on which nobody has decided", _own("open_holds")),
    Column("batches_held", "batches that were ever held", _own("batches_held")),
    Column(
        "decisions",
        "what was decided on holds, with semicolons between",
        lambda row: "; ".join(decision.value for decision in row.decisions),
    ),
    Column(
        "corrective_actions",
        "doses, acid, water changes, exchanges and holds while a flag called for them",
        lambda row: len(row.corrective),
    ),
    Column("corrective_doses", "of these, doses", _done(StepKind.DOSE)),
    Column("corrective_acid", "of these, acid", _done(StepKind.ACID)),
    Column("corrective_water", "of these, water changes and exchanges", _done(*_WATER)),
    Column("corrective_holds", "of these, holds", _done(StepKind.HOLD)),
    Column("corrections", "corrections of entries about this tank", _own("corrections")),
    *_measured("paa", "_mg_l", "peracetic acid, mg/L"),
    *_time("paa", "peracetic acid"),
    Column(
        "paa_time_below_critical_share",
        "share of that time with peracetic acid known to be under the critical low, 0 to 1",
        _part("paa_time", "critical"),
    ),
    Column(
        "signing",
        f"one of: {', '.join(SigningStage)}; changed since means entries that no signature covers",
        _part("shift", "signing"),
    ),
    Column("signed_by", "initials of who signed it last", _part("shift", "signed_by")),
    Column("signed_at", "when that was", _part("shift", "signed_at")),
    Column("reviewed_by", "initials of the manager who reviewed it", _part("shift", "reviewed_by")),
    Column("reviewed_at", "when that was", _part("shift", "reviewed_at")),
    Column(
        "corrected_after_signing",
        "corrections made after the first signature",
        _part("shift", "corrected_after_signing"),
    ),
    Column(
        "journal_hash",
        "hash (SHA-256) that the shift's journal ends with",
        _part("shift", "head"),
    ),
    Column(
        "imported",
        "the file that the shift was taken over from; empty if it was entered at the time",
        _part("shift", "imported"),
    ),
    Column(
        "cost_sanitizers",
        "cost of the sanitizers by the prices of the set-up; empty where one is not known",
        _cost(lambda row: summed(one.cost for one in row.sanitizer_used)),
    ),
    Column(
        "cost_acids",
        "cost of the acids, likewise",
        _cost(lambda row: summed(one.cost for one in row.acid_used)),
    ),
    Column("cost_water", "cost of the water, likewise", _cost(_water_cost)),
    Column(
        "cost_total",
        "cost of all three; empty where a part of it is not known",
        _cost(lambda row: row.cost),
    ),
    Column("currency", "of the costs, three letters of ISO 4217", _part("shift", "currency")),
)
REVIEW_DAYS: Column[TankSummary] = Column(
    "review_working_days",
    "working days from the end of the shift to its first review, by the calendar of the site; "
    "empty while there is none",
    _part("shift", "review_days"),
)
