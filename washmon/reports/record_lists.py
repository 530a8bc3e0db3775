"""The lists of a shift's record, each column declared once: Logbook, review and paper paint them.

The CSV files have columns of their own, for machines (:mod:`washmon.reports.tables`).
"""

from collections.abc import Sequence
from typing import Any

from washmon.line.events import Event, ReadingTaken
from washmon.line.flags import Level
from washmon.line.held_words import DECISION_WORDS, count_words
from washmon.line.judging import LimitKind
from washmon.line.kinds import KINDS, LISTED_ACTIONS
from washmon.line.message import Message
from washmon.line.state import FlagRecord, Hold
from washmon.reports.lines import Line, lines
from washmon.reports.lots import LotRow, lot_rows
from washmon.reports.measured import Measured, MeasuredColumn, made_with, measured_columns
from washmon.reports.printed_words import tank_name
from washmon.reports.record_columns import (
    CellVerdict,
    Medium,
    RecordCell,
    RecordColumn,
    RecordList,
    Teller,
    Voice,
    at_time,
    by_whom,
    judged,
    number,
    remarks,
)
from washmon.reports.record_view import (
    BatchRow,
    CorrectionRow,
    HoldRow,
    batch_rows,
    correction_rows,
    flag_rows,
    hold_rows,
)
from washmon.units import Kind

DASH = "–"

_WORDS = {
    LimitKind.CRITICAL_LOW: "CRITICAL",
    LimitKind.PH_CRITICAL: "CRITICAL",
    LimitKind.LABEL: "OVER LABEL",
    LimitKind.TOTAL: "OVER LABEL",
    LimitKind.LEGAL: "OVER LEGAL",
    LimitKind.PEROXIDE: "OVER LEGAL",
}
"""Of the limits that are more than an operating low or high."""


def _measured(column: MeasuredColumn) -> RecordColumn[Line[ReadingTaken]]:
    """Return what was measured, with a word on the limit that it does not keep, if any."""

    def cell(line: Line[ReadingTaken], teller: Teller) -> RecordCell:
        found = column.of(line)
        said = ", ".join(_value_words(one, teller, "{value} by {method}") for one in found)
        on_paper = ", ".join(_value_on_paper(one, teller) for one in found)
        breach = next((one.breach for one in found if one.breach is not None), None)
        return judged(said, breach, on_paper)

    return RecordColumn(column.head, cell, column.width)


def _value_on_paper(one: Measured, teller: Teller) -> str:
    words, breach = _value_words(one, teller, "{value}, {method}"), one.breach
    if breach is None:
        return words
    return f"{words}, {_WORDS.get(breach.which, 'LOW' if breach.is_under else 'HIGH')}"


def _value_words(one: Measured, teller: Teller, by: str) -> str:
    if one.kind is None:
        return teller.voice.say(one.told)
    said = teller.voice.show(float(one.value), one.kind)
    if one.method is None:
        return said
    return teller.word(by, value=said, method=teller.word(one.method))


def _water(line: Line[ReadingTaken], teller: Teller) -> str:
    tank = tank_name(line.shift, line.event.tank)
    return teller.word("{tank}, second fill", tank=tank) if line.event.second else tank


def _made_with(line: Line[ReadingTaken], teller: Teller) -> RecordCell:
    """Name instruments and packs, marked where one was not fit for use."""
    told = made_with(line)
    said = [
        name if why is None else teller.word("{name}: {why}", name=name, why=teller.word(why))
        for name, why in told.items()
    ]
    if not any(told.values()):
        return RecordCell(", ".join(said))
    on_paper = [name if why is None else f"{name}, UNFIT: {why}" for name, why in told.items()]
    return RecordCell(", ".join(said), CellVerdict.ACT, ", ".join(on_paper))


def _reading_columns(found: Sequence[Line[ReadingTaken]]) -> list[RecordColumn[Line[ReadingTaken]]]:
    """Return the columns of readings; quantities that nobody measured have none."""
    return [
        number(0.9),
        at_time("Time", 1.5, lambda line: line.event.at),
        RecordColumn("Tank", _water, 2.2),
        *(_measured(one) for one in measured_columns(found)),
        RecordColumn("Made with", _made_with, 3.2, may_lack=True),
        by_whom(0.9),
        *remarks(3.2, may_lack=True),
    ]


READINGS = RecordList(
    "Readings",
    "Nothing was measured.",
    lambda shift: lines(shift, ReadingTaken),
    _reading_columns,
)
_ACTIONS: list[RecordColumn[Line[Event]]] = [
    number(0.9),
    at_time("Time", 1.6, lambda line: line.event.at),
    RecordColumn(
        "What",
        lambda line, teller: teller.word(KINDS[type(line.event)].name),
        only=Medium.SCREEN,
    ),
    RecordColumn("Entry", lambda line, teller: teller.entry(line.event), 9),
    by_whom(1),
    *remarks(4),
]
ACTIONS = RecordList(
    "Actions and notes", "", lambda shift: lines(shift, *LISTED_ACTIONS), lambda _: _ACTIONS
)


def _contact(row: BatchRow, teller: Teller) -> RecordCell:
    words, breach = teller.value(row.line.event.contact_s, Kind.CONTACT_TIME), row.breach
    if breach is None:
        return RecordCell(words)
    return judged(words, breach, f"{words}, {'CRITICAL' if breach.critical else 'SHORT'}")


def _ct(row: BatchRow, teller: Teller) -> RecordCell:
    ct, sign = row.ct_mg_min_l, teller.voice.decimal_point
    return RecordCell("" if ct is None else f"{ct:.3g}".replace(".", sign), is_number=True)


def _decision(hold: Hold | None, teller: Teller) -> RecordCell:
    if hold is None:
        return RecordCell()
    if hold.released is None:
        return RecordCell(teller.word("Open"), CellVerdict.STOP, "OPEN")
    return RecordCell(teller.word(DECISION_WORDS[hold.released.decision]))


def _fate(row: BatchRow, _teller: Teller) -> RecordCell:
    hold = row.hold
    if hold is None:
        return RecordCell()
    if hold.released is None:
        said = f"HELD by entry {hold.seq}, open"
        return RecordCell(said, CellVerdict.STOP, said)
    return RecordCell(f"held by entry {hold.seq}: {hold.released.decision}")


_BATCHES: list[RecordColumn[BatchRow]] = [
    number(1, lambda row: row.line.seq),
    at_time("Time", 1.8, lambda row: row.line.event.at),
    RecordColumn("Lot", lambda row, _: row.line.event.lot, only=Medium.SCREEN),
    RecordColumn("Tanks", lambda row, _: row.tanks, 1.6),
    RecordColumn(
        "Weight",
        lambda row, teller: teller.value(row.line.event.weight_kg, Kind.PRODUCE_MASS),
        1.6,
        may_lack=True,
    ),
    RecordColumn("In the water", _contact, 1.8, may_lack=True),
    RecordColumn("CT, mg min/L", _ct, 1.2, may_lack=True, short="CT"),
    RecordColumn(
        "Held",
        lambda row, teller: _decision(row.hold, teller),
        only=Medium.SCREEN,
        may_lack=True,
    ),
    RecordColumn("Held", _fate, 3.4, Medium.PAPER, may_lack=True),
    RecordColumn(
        "Under critical low",
        lambda row, teller: "" if row.chance is None else teller.voice.say(row.chance),
        1.5,
        may_lack=True,
        short="Chance",
    ),
    by_whom(1, lambda row: row.line.event),
    *remarks(5, lambda row: row.line),
]
BATCHES = RecordList("Batches", "No batch was washed.", batch_rows, lambda _: _BATCHES)


def _level(record: FlagRecord, _teller: Teller) -> RecordCell:
    """Return a level; the screen names it by its mark."""
    level = record.flag.level
    on_paper = level.value.upper() if level is Level.STOP else level.value
    return RecordCell("", CellVerdict(level), on_paper)


def _seen(record: FlagRecord, teller: Teller) -> str:
    seen = record.acknowledged
    return f"{teller.time(seen.at)} {seen.by}" if seen else DASH


def _shelved(record: FlagRecord, teller: Teller) -> str:
    """Return from when to when a flag was put aside while it was up, and by whom."""
    return ", ".join(
        f"{one.placed.at:%H:%M}–{one.over or one.placed.until:%H:%M} {one.placed.by}"
        for one in teller.shift.shelvings
        if one.key == record.flag.key
        and (one.over or one.placed.until) > record.raised_at
        and (record.cleared_at is None or one.placed.at < record.cleared_at)
    )


def _cleared(record: FlagRecord, teller: Teller) -> str:
    return teller.time(record.cleared_at) if record.cleared_at else teller.word("not cleared")


def _why(record: FlagRecord, teller: Teller) -> str:
    return " ".join(teller.voice.say(part) for part in (record.flag.why, *record.flag.more))


_FLAGS: list[RecordColumn[FlagRecord]] = [
    at_time("Raised", 1.3, lambda record: record.raised_at),
    RecordColumn("Tank", lambda record, teller: tank_name(teller.shift, record.flag.tank), 1.8),
    RecordColumn("Level", _level, 1.1),
    RecordColumn("Flag", lambda record, teller: teller.voice.say(record.flag.title), 2.7),
    RecordColumn("Seen", _seen, 1.8),
    RecordColumn("Shelved", _shelved, only=Medium.SCREEN, may_lack=True),
    RecordColumn("Cleared", _cleared, 1.6),
    RecordColumn("Why", _why, 9),
]
FLAGS = RecordList("Flags", "No flag came up.", flag_rows, lambda _: _FLAGS)


def held_words(row: HoldRow, voice: Voice) -> str:
    """Return what a hold is about: batches, lots, weight."""
    said = [voice.say(count_words(len(row.hold.placed.batches)))]
    said += [voice.say(Message("lot {lot}", {"lot": lot})) for lot in row.lots]
    if row.weighed_kg:
        said.append(voice.show(row.weighed_kg, Kind.PRODUCE_MASS))
    return ", ".join(said)


def _decided(row: HoldRow, teller: Teller) -> str:
    """Return who decided and when, or who has taken over an open hold."""
    done, ended = row.hold.released, row.shift.ended
    if done is not None:
        return f"{teller.time(done.at)} {done.by}"
    return teller.word("with {who}", who=ended.holds_to) if ended and ended.holds_to else ""


_HOLDS: list[RecordColumn[HoldRow]] = [
    number(0.9, lambda row: row.hold.seq),
    at_time("Placed", 1.5, lambda row: row.hold.placed.at),
    RecordColumn("Tank", lambda row, _: tank_name(row.shift, row.hold.placed.tank), 1.8),
    RecordColumn("Held", lambda row, teller: held_words(row, teller.voice), only=Medium.SCREEN),
    RecordColumn(
        "Batches",
        lambda row, _: ", ".join(str(seq) for seq in row.hold.placed.batches),
        2.2,
        Medium.PAPER,
    ),
    RecordColumn("Under critical low", lambda row, teller: row.likely(teller.voice.say), 2.6),
    RecordColumn("Reason", lambda row, _: row.hold.placed.reason, 2.8),
    by_whom(0.9, lambda row: row.hold.placed),
    RecordColumn("Decision", lambda row, teller: _decision(row.hold, teller), 1.8),
    RecordColumn("Decided", _decided, 2),
    RecordColumn("Why", lambda row, _: row.hold.released.reason if row.hold.released else "", 2.6),
]
HOLDS = RecordList("Holds", "Nothing was held.", hold_rows, lambda _: _HOLDS)
_LOTS: list[RecordColumn[LotRow]] = [
    RecordColumn("Lot", lambda row, _: row.code, 2),
    RecordColumn("Produce", lambda row, _: row.produce, 2.4),
    RecordColumn("Came from", lambda row, _: row.source, 3),
    RecordColumn("Batches", lambda row, _: str(len(row.batches)), 1.4),
    RecordColumn(
        "Weight",
        lambda row, teller: teller.value(row.weighed_kg or None, Kind.PRODUCE_MASS),
        1.8,
        short="Weighed",
    ),
    RecordColumn(
        "Went to: batches",
        lambda row, _: RecordCell(row.went, CellVerdict.UNKNOWN if row.not_recorded else None),
        5,
    ),
]
LOTS = RecordList("Lots", "No lot was named.", lot_rows, lambda _: _LOTS)
_CORRECTIONS: list[RecordColumn[CorrectionRow]] = [
    number(0.9, lambda row: row.event.entry),
    at_time("Corrected", 1.6, lambda row: row.event.at),
    by_whom(1, lambda row: row.event),
    RecordColumn("It was", lambda row, teller: teller.entry_with_time(row.old, DASH), 5),
    RecordColumn(
        "It is now",
        lambda row, teller: teller.entry_with_time(row.new, teller.word("It never happened")),
        5,
    ),
    RecordColumn("Why", lambda row, _: row.event.reason, 3.5),
]
CORRECTIONS = RecordList(
    "Corrections", "No entry was corrected.", correction_rows, lambda _: _CORRECTIONS
)
LISTS: dict[str, RecordList[Any]] = {
    "readings": READINGS,
    "actions": ACTIONS,
    "batches": BATCHES,
    "flags": FLAGS,
    "holds": HOLDS,
    "lots": LOTS,
    "corrections": CORRECTIONS,
}
"""All lists, in the order in which the screen shows them."""
