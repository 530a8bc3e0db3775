"""The CSV tables: every column declared once, with its name and what it means."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from washmon.line import fitness
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    ClockChanged,
    DoseAdded,
    Event,
    HoldReleased,
    InstrumentChecked,
    LotSent,
    ReadingTaken,
)
from washmon.line.kinds import ACTIONS as ALL_ACTIONS
from washmon.line.kinds import KINDS
from washmon.line.quantities import BY_FIELD, METHODS, QUANTITIES, HowMeasured, Quantity
from washmon.line.registers import full_name
from washmon.line.state import ShiftState
from washmon.reports.batch_columns import (
    BATCH_COLUMNS,
    CHANCES,
    CORRECTED,
    HOLD_COLUMNS,
    STEPS,
    TOO_SHORT,
)
from washmon.reports.cells import Cell, Column
from washmon.reports.limit_columns import LIMIT_COLUMNS, limit_lines
from washmon.reports.lines import Line, in_words, lines
from washmon.reports.measured import limits_not_kept
from washmon.reports.record_view import hold_rows
from washmon.reports.shared_columns import (
    CORRECTION,
    ENTRY,
    IMPORTED,
    SECOND,
    TANK,
    doubts,
    field,
    joined,
    original,
    with_utc,
)
from washmon.reports.summary import TankSummary
from washmon.reports.summary_columns import REVIEW_DAYS, SUMMARY_COLUMNS
from washmon.reports.summing import summarize
from washmon.reports.week_columns import WEEK_COLUMNS

T = TypeVar("T")


@dataclass(frozen=True)
class Table(Generic[T]):
    """One kind of CSV file."""

    key: str
    meaning: str
    columns: tuple[Column[T], ...]
    rows: Callable[[ShiftState], Iterable[T]]


def _action_lines(shift: ShiftState) -> list[Line[Event]]:
    return lines(shift, *ALL_ACTIONS)


def _method(method: HowMeasured) -> Column[Line[ReadingTaken]]:
    """Return the column of a method, empty where nothing was measured by it."""
    by_it = [one for one in QUANTITIES if one.method == method.field]

    def read(line: Line[ReadingTaken]) -> Cell:
        measured = any(one.of(line.event) is not None for one in by_it)
        return str(getattr(line.event, method.field)) if measured else None

    return Column(method.field, method.meaning, read)


def _original(one: Quantity) -> Column[Line[ReadingTaken]]:
    return Column(
        f"original_{one.field}", f"before the correction: {one.meaning}", original(one.field)
    )


def _amount(unit: str) -> Callable[[Line[Any]], Cell]:
    def read(line: Line[Any]) -> Cell:
        event = line.event
        if isinstance(event, DoseAdded | AcidAdded) and event.amount.unit == unit:
            return float(event.amount.value)
        return None

    return read


def _product_name(line: Line[Any]) -> str:
    setup, key = line.shift.setup, getattr(line.event, "product", "")
    product = setup.acid(key) if isinstance(line.event, AcidAdded) else setup.sanitizer(key)
    return product.name if product else key


def _text(line: Line[Any]) -> str:
    """Return what a person wrote in their own words with an entry."""
    event = line.event
    if isinstance(event, ClockChanged):
        return in_words(line.shift, event)
    return next(
        (str(found) for name in ("text", "reason", "note") if (found := getattr(event, name, ""))),
        "",
    )


_SECOND_FILL_CAME = 1 + QUANTITIES.index(BY_FIELD["orp_mv"])
"""How many quantities had columns before that of the second fill: later ones come last, so that who
reads the files by place goes on reading."""
_FIRST, _LATER = QUANTITIES[:_SECOND_FILL_CAME], QUANTITIES[_SECOND_FILL_CAME:]
_FIRST_METHODS, _LATER_METHODS = METHODS[:3], METHODS[3:]

_READING_COLUMNS: tuple[Column[Line[ReadingTaken]], ...] = (
    *ENTRY,
    *TANK,
    Column(
        "batches_washed",
        "batches washed in the tank in this shift before it",
        lambda row: row.washed,
    ),
    *(Column(one.field, one.meaning, field(one.field)) for one in _FIRST),
    *map(_method, _FIRST_METHODS),
    Column("doubts", "what the program asked about before it took the entry", doubts),
    *CORRECTION,
    Column("original_at", "when it happened, before the correction", original("at")),
    Column("original_tank", "tank before the correction", original("tank")),
    *map(_original, _FIRST),
    IMPORTED,
    SECOND,
)
_NOT_KEPT: Column[Line[ReadingTaken]] = Column(
    "limits_not_kept",
    "limits of its tank that the reading does not keep, with semicolons between; empty if none",
    lambda row: "; ".join(limits_not_kept(row)),
)


def _made_with(line: Line[ReadingTaken]) -> str:
    found = fitness.made_with(line.shift, line.seq, line.event)
    return "; ".join(f"{one.field}: {full_name(thing)}" for one, thing, _ in found)


def _unfit(line: Line[ReadingTaken]) -> str:
    found = fitness.made_with(line.shift, line.seq, line.event)
    return "; ".join(f"{one.field}: {why}" for one, _, why in found if why is not None)


_WITH: tuple[Column[Line[ReadingTaken]], ...] = (
    Column(
        "made_with",
        "registered instruments and packs by what was measured with them, with serial number or "
        "lot; semicolons between",
        _made_with,
    ),
    Column(
        "unfit",
        "what was measured with something unfit for use, and why: it proves no good water",
        _unfit,
    ),
)
_LATER_COLUMNS: tuple[Column[Line[ReadingTaken]], ...] = (
    *(Column(one.field, one.meaning, field(one.field)) for one in _LATER),
    *map(_method, _LATER_METHODS),
    *map(_original, _LATER),
)

_ACTION_COLUMNS: tuple[Column[Line[Event]], ...] = (
    *ENTRY,
    Column(
        "action",
        f"one of: {', '.join(KINDS[event].action for event in ALL_ACTIONS)}",
        lambda row: KINDS[type(row.event)].action,
    ),
    *TANK,
    Column("product", "name of the product that was added", _product_name),
    Column("amount_ml", "amount of a liquid product, mL", _amount("mL")),
    Column("amount_g", "amount of a solid product, g", _amount("g")),
    Column("as_entered", "the amount as the person wrote it", field("as_entered")),
    Column("volume_l", "water filled or exchanged, L", field("volume_l")),
    Column(
        "batches",
        "entries of the batches that a hold is about, with spaces between",
        lambda row: joined(getattr(row.event, "batches", ())),
    ),
    Column(
        "about_entry",
        "the entry that a release or a correction is about",
        lambda row: (
            getattr(row.event, "hold", None)
            if isinstance(row.event, HoldReleased)
            else getattr(row.event, "entry", None)
        ),
    ),
    Column("rule", "the rule whose flag was seen, shelved or brought back", field("rule")),
    Column(
        "decision", "on held batches: wash again, divert, discard or release", field("decision")
    ),
    Column(
        "to",
        "initials of who took over the shift, or its open holds at the end",
        lambda row: None if isinstance(row.event, LotSent) else _heir(row.event),
    ),
    Column("text", "note or reason in the person's own words", _text),
    Column("words", "the whole entry in one line", lambda row: in_words(row.shift, row.event)),
    Column("doubts", "what the program asked about before it took the entry", doubts),
    *CORRECTION,
)


def _shown(line: Line[Event]) -> Cell:
    """Return a number: what was found about held product, in words, has a column of its own."""
    return line.event.found if isinstance(line.event, InstrumentChecked) else None


def _cause(line: Line[Event]) -> Cell:
    return line.event.found if isinstance(line.event, HoldReleased) else None


def _heir(event: Event) -> Cell:
    heir: Cell = getattr(event, "to", None) or getattr(event, "holds_to", None)
    return heir


def _of_check(name: str) -> Callable[[Line[Event]], Cell]:
    return lambda line: field(name)(line) if isinstance(line.event, InstrumentChecked) else None


def _of_sent(name: str) -> Callable[[Line[Event]], Cell]:
    return lambda line: field(name)(line) if isinstance(line.event, LotSent) else None


_SENT_COLUMNS: tuple[Column[Line[Event]], ...] = (
    Column("sent_lot", "the lot that was sent", _of_sent("lot")),
    Column("sent_to", "the customer or load that it was sent to", _of_sent("to")),
    Column("reference", "number of the document that went with it", _of_sent("reference")),
    Column("sent_kg", "weight that was sent, kg; empty if not told", _of_sent("sent_kg")),
)
_CHECK_COLUMNS: tuple[Column[Line[Event]], ...] = (
    Column("instrument", "the instrument that was checked", field("instrument")),
    Column(
        "standard",
        "of a check: value of the standard, in pH, mg/L or mV as the instrument measures",
        field("standard"),
    ),
    Column("found", "of a check: what the instrument showed in it", _shown),
    Column("against", "of a check: the buffers or the standard that were used", field("against")),
    Column("adjusted", "of a check: yes if the instrument was set right", field("adjusted")),
    Column("fit", "of a check: yes if the instrument may be used after it", field("fit")),
    Column("strips_lot", "lot of a new pack of strips", _of_check("lot")),
    Column("strips_use_by", "until when a new pack of strips is good", field("use_by")),
)
_UNTIL: Column[Line[Event]] = Column("until", "until when a flag is shelved", field("until"))
_CAUSE: Column[Line[Event]] = Column(
    "cause", "of a release: what was found to be wrong, as whoever decided wrote it", _cause
)

_OF_ACTIONS: tuple[Column[Line[Event]], ...] = (
    *_ACTION_COLUMNS,
    IMPORTED,
    *_CHECK_COLUMNS,
    _UNTIL,
    SECOND,
    _CAUSE,
)
_WHICH: tuple[Column[Line[Event]], ...] = (
    Column("container", "registered container that a product was poured from", field("container")),
    Column("which", "of a check: the registered instrument or pack", field("which")),
)

SUMMARIES: Table[TankSummary] = Table(
    "summaries",
    "one row per tank and shift",
    (
        *with_utc(SUMMARY_COLUMNS, "started_at", "ended_at", "signed_at", "reviewed_at"),
        REVIEW_DAYS,
    ),
    summarize,
)
READINGS = Table(
    "readings",
    "one row per reading, corrections applied",
    (*with_utc(_READING_COLUMNS, "at", "recorded_at"), _NOT_KEPT, *_LATER_COLUMNS, *_WITH),
    lambda shift: lines(shift, ReadingTaken),
)
ACTIONS = Table(
    "actions",
    "one row per dose, acid, filling, water exchange, swap, hold, release, sent, note, correction, "
    "hand-over, signature, and flag seen, shelved or brought back; an entry that was withdrawn is "
    "told by its correction",
    (*with_utc(_OF_ACTIONS, "at", "recorded_at"), *_WHICH, *_SENT_COLUMNS),
    _action_lines,
)
BATCHES = Table(
    "batches",
    "one row per batch",
    (*with_utc(BATCH_COLUMNS, "at", "recorded_at"), TOO_SHORT, *STEPS),
    lambda shift: lines(shift, BatchWashed),
)
HOLDS = Table(
    "holds",
    "one row per hold",
    with_utc((*HOLD_COLUMNS, IMPORTED, *CHANCES, *CORRECTED), "at", "decided_at"),
    hold_rows,
)
LIMITS = Table(
    "limits",
    "one row per tank and shift: the limits that its water was held to",
    with_utc((*LIMIT_COLUMNS, IMPORTED), "started_at", "in_use_until"),
    limit_lines,
)
WEEK = Table(
    "week",
    "the report of some days: one row per tank and shift, what a manager looks at; the limits that "
    "it was held to are in the table of limits",
    WEEK_COLUMNS,
    summarize,
)

TABLES: Sequence[Table[Any]] = (SUMMARIES, READINGS, ACTIONS, BATCHES, HOLDS, LIMITS, WEEK)
