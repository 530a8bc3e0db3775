"""What the pages of a shift's record list: readings, actions, flags, holds, corrections."""

from collections.abc import Sequence
from typing import TypeVar

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Tone
from washmon.gui.logbook.logbook_words import DASH, LOOKS, batches_word, clock, decision_word
from washmon.gui.logbook.table import Cell, Listing, Row
from washmon.line.events import (
    BatchWashed,
    Event,
    ReadingTaken,
)
from washmon.line.judging import Breach
from washmon.line.kinds import KINDS, LISTED_ACTIONS
from washmon.line.state import FlagRecord, Hold, ShiftState
from washmon.reports.lines import Line, lines
from washmon.reports.lots import lot_rows
from washmon.reports.measured import Measured, MeasuredColumn, made_with, measured_columns
from washmon.reports.printed_words import is_late, moment
from washmon.reports.record_view import (
    BatchRow,
    HoldRow,
    batch_rows,
    correction_rows,
    flag_rows,
    hold_rows,
)
from washmon.rules.event_text import event_text
from washmon.units import Kind

T = TypeVar("T")


def readings(shift: ShiftState, person: UserContext) -> Listing:
    """List the readings; quantities that nobody measured have no column."""
    found = lines(shift, ReadingTaken)
    columns = measured_columns(found)
    heads = (
        tr("Time"),
        tr("Tank"),
        *(tr(one.head) for one in columns),
        tr("Made with"),
        tr("By"),
        tr("Remark"),
    )
    rows = [
        (
            Cell(moment(shift, line.event.at)),
            Cell(_water(shift, line.event)),
            *(_measured(line, column, person) for column in columns),
            _made_with(line),
            Cell(line.event.by),
            _remark(line, person),
        )
        for line in found
    ]
    at = heads.index(tr("Made with"))
    if not any(row[at].text for row in rows):
        heads, rows = _left_out(heads, at), [_left_out(row, at) for row in rows]
    return Listing(heads, tuple(rows))


def _left_out(these: tuple[T, ...], at: int) -> tuple[T, ...]:
    return these[:at] + these[at + 1 :]


def _made_with(line: Line[ReadingTaken]) -> Cell:
    """Name instruments and packs, marked where one was not fit for use."""
    told = made_with(line)
    text = ", ".join(
        name if why is None else tr("{name}: {why}", name=name, why=tr(why.value))
        for name, why in told.items()
    )
    unfit = any(told.values())
    return Cell(text, Tone.ACT, MarkState.ACT) if unfit else Cell(text)


def _measured(line: Line[ReadingTaken], column: MeasuredColumn, person: UserContext) -> Cell:
    """Say what was measured, marked where it does not keep a limit."""
    found = column.of(line)
    text = ", ".join(_value_words(one, person) for one in found)
    return _judged(text, next((one.breach for one in found if one.breach is not None), None))


def _judged(text: str, breach: Breach | None) -> Cell:
    """Return a cell, marked where a value does not keep a limit."""
    if breach is None:
        return Cell(text)
    return (
        Cell(text, Tone.STOP, MarkState.STOP)
        if breach.critical
        else Cell(text, Tone.ACT, MarkState.ACT)
    )


def _value_words(one: Measured, person: UserContext) -> str:
    if one.kind is None:
        return person.say(one.told)
    said = person.show(float(one.value), one.kind)
    return (
        said if one.method is None else tr("{value} by {method}", value=said, method=tr(one.method))
    )


def _value(value: float | None, kind: Kind, person: UserContext) -> Cell:
    return Cell("" if value is None else person.show(value, kind))


def actions(shift: ShiftState, person: UserContext) -> Listing:
    """List what was done and noted."""
    heads = (tr("Time"), tr("What"), tr("Entry"), tr("By"), tr("Remark"))
    rows = tuple(
        (
            Cell(moment(shift, line.event.at)),
            Cell(tr(KINDS[type(line.event)].name)),
            Cell(event_text(line.event, shift.setup, person.say)),
            Cell(line.event.by),
            _remark(line, person),
        )
        for line in lines(shift, *LISTED_ACTIONS)
    )
    return Listing(heads, rows)


def batches(shift: ShiftState, person: UserContext) -> Listing:
    """List the batches."""
    heads = (
        tr("Time"),
        tr("Lot"),
        tr("Tanks"),
        tr("Weight"),
        tr("In the water"),
        tr("CT, mg min/L"),
        tr("Held"),
        tr("Under critical low"),
        tr("By"),
        tr("Remark"),
    )
    rows = [
        (
            Cell(moment(shift, row.line.event.at)),
            Cell(row.line.event.lot),
            Cell(row.tanks),
            _value(row.line.event.weight_kg, Kind.PRODUCE_MASS, person),
            _contact(row, person),
            _ct(row, person),
            _state_of(row.hold),
            Cell("" if row.chance is None else person.say(row.chance)),
            Cell(row.line.event.by),
            _remark(row.line, person),
        )
        for row in batch_rows(shift)
    ]
    return _without_empty(heads, rows, always=len(heads) - 1)


def _contact(row: BatchRow, person: UserContext) -> Cell:
    seconds = row.line.event.contact_s
    said = "" if seconds is None else person.show(seconds, Kind.CONTACT_TIME)
    return _judged(said, row.breach)


def _ct(row: BatchRow, person: UserContext) -> Cell:
    ct = row.ct_mg_min_l
    return Cell("" if ct is None else f"{ct:.3g}".replace(".", person.decimal_point), number=True)


def flags(shift: ShiftState, person: UserContext) -> Listing:
    """List the flags in the order in which they came up."""
    heads = (
        tr("Raised"),
        tr("Tank"),
        tr("Level"),
        tr("Flag"),
        tr("Seen"),
        tr("Shelved"),
        tr("Cleared"),
        tr("Why"),
    )
    rows = [_flag(shift, record, person) for record in flag_rows(shift)]
    return _without_empty(heads, rows, always=0)


def _flag(shift: ShiftState, record: FlagRecord, person: UserContext) -> Row:
    flag, seen = record.flag, record.acknowledged
    look = LOOKS[flag.level]
    return (
        Cell(moment(shift, record.raised_at)),
        Cell(_tank(shift, flag.tank)),
        Cell(look.word, look.tone, look),
        Cell(person.say(flag.title)),
        Cell(f"{moment(shift, seen.at)} {seen.by}" if seen else DASH),
        Cell(_shelved(shift, record)),
        Cell(moment(shift, record.cleared_at) if record.cleared_at else tr("not cleared")),
        Cell(" ".join(person.say(part) for part in (flag.why, *flag.more))),
    )


def _shelved(shift: ShiftState, record: FlagRecord) -> str:
    """Return from when to when a flag was put aside while it was up, and by whom."""
    return ", ".join(
        f"{clock(one.placed.at)}–{clock(one.over or one.placed.until)} {one.placed.by}"
        for one in shift.shelvings
        if one.key == record.flag.key
        and (one.over or one.placed.until) > record.raised_at
        and (record.cleared_at is None or one.placed.at < record.cleared_at)
    )


def holds(shift: ShiftState, person: UserContext) -> Listing:
    """List the holds with what was decided."""
    heads = (
        tr("Placed"),
        tr("Tank"),
        tr("Held"),
        tr("Under critical low"),
        tr("Reason"),
        tr("By"),
        tr("Decision"),
        tr("Decided"),
        tr("Why"),
    )
    rows = tuple(
        (
            Cell(moment(shift, row.hold.placed.at)),
            Cell(_tank(shift, row.hold.placed.tank)),
            Cell(held_words(row, person)),
            Cell(row.likely(person.say)),
            Cell(row.hold.placed.reason),
            Cell(row.hold.placed.by),
            _state_of(row.hold),
            Cell(_decided(shift, row.hold)),
            Cell(row.hold.released.reason if row.hold.released else ""),
        )
        for row in hold_rows(shift)
    )
    return Listing(heads, rows)


def held_words(row: HoldRow, person: UserContext) -> str:
    """Return what a hold is about: batches, lots, weight."""
    said = [batches_word(len(row.hold.placed.batches))]
    said += [tr("lot {lot}", lot=lot) for lot in row.lots]
    if row.weighed_kg:
        said.append(person.show(row.weighed_kg, Kind.PRODUCE_MASS))
    return ", ".join(said)


def _told(shift: ShiftState, event: Event, person: UserContext) -> str:
    return f"{moment(shift, event.at)}  {event_text(event, shift.setup, person.say)}"


def lots(shift: ShiftState, person: UserContext) -> Listing:
    """List the lots: where each came from, and where it was sent."""
    heads = (
        tr("Lot"),
        tr("Produce"),
        tr("Came from"),
        tr("Batches"),
        tr("Weight"),
        tr("Went to: batches"),
    )
    rows = tuple(
        (
            Cell(row.code),
            Cell(row.produce),
            Cell(row.source),
            Cell(str(len(row.batches))),
            _value(row.weighed_kg or None, Kind.PRODUCE_MASS, person),
            Cell(row.went, Tone.WATCH, MarkState.UNKNOWN) if row.not_recorded else Cell(row.went),
        )
        for row in lot_rows(shift)
    )
    return Listing(heads, rows)


def corrections(shift: ShiftState, person: UserContext) -> Listing:
    """List the corrections: what stood there, what stands there now, and why."""
    heads = (tr("Corrected"), tr("By"), tr("It was"), tr("It is now"), tr("Why"))
    rows = tuple(
        (
            Cell(moment(shift, row.event.at)),
            Cell(row.event.by),
            Cell(_told(shift, row.old, person) if row.old else DASH),
            Cell(_told(shift, row.new, person) if row.new else tr("It never happened")),
            Cell(row.event.reason),
        )
        for row in correction_rows(shift)
    )
    return Listing(heads, rows)


def _water(shift: ShiftState, event: ReadingTaken) -> str:
    tank = _tank(shift, event.tank)
    return tr("{tank}, second fill", tank=tank) if event.second else tank


def _tank(shift: ShiftState, number: int) -> str:
    name = next((tank.spec.name for tank in shift.tanks if tank.number == number), "")
    return f"{number}  {name}".strip()


def _state_of(hold: Hold | None) -> Cell:
    if hold is None:
        return Cell()
    if hold.released is None:
        return Cell(tr("Open"), Tone.STOP, MarkState.STOP)
    return Cell(decision_word(hold.released.decision))


def _decided(shift: ShiftState, hold: Hold) -> str:
    if hold.released is None:
        return ""
    return f"{moment(shift, hold.released.at)}  {hold.released.by}"


def _remark(
    line: Line[Event] | Line[ReadingTaken] | Line[BatchWashed], person: UserContext
) -> Cell:
    """Say what stood here before a correction, what was doubted, and when it came late."""
    said = list(getattr(line.event, "doubts", ()))
    if line.correction is not None and line.original is not None:
        said.insert(
            0,
            tr(
                "Corrected by {who}: {why}. It was: {old}",
                who=line.correction.by,
                why=line.correction.reason,
                old=event_text(line.original, line.shift.setup, person.say),
            ),
        )
    if is_late(line):
        said.append(tr("Written down at {time}.", time=moment(line.shift, line.recorded_at)))
    return Cell("  ".join(said), Tone.SOFT)


def _without_empty(heads: tuple[str, ...], rows: Sequence[Row], *, always: int) -> Listing:
    keep = [at for at in range(len(heads)) if at == always or any(row[at].text for row in rows)]
    if not rows:
        return Listing(heads, ())
    return Listing(
        tuple(heads[at] for at in keep), tuple(tuple(row[at] for at in keep) for row in rows)
    )
