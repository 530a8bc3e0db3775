"""What in the record of a shift deviates: what its reviewer must have seen.

Where nothing does, shifts may be signed together; one in which anything does, never.
"""

from collections.abc import Iterator

from msgspec import Struct

from washmon.line.event_base import RULES, Signature
from washmon.line.events import (
    BatchWashed,
    ClockChanged,
    Corrected,
    Event,
    InstrumentChecked,
    ReadingTaken,
    ShiftEnded,
)
from washmon.line.fitness import made_with
from washmon.line.flags import Level
from washmon.line.journal import Entry
from washmon.line.judging import Breach, judge_batch
from washmon.line.message import Message
from washmon.line.quantities import judge_reading
from washmon.line.record import INSTRUMENTS, missing
from washmon.line.state import FlagRecord, ShiftState

LATE_S = 15 * 60
"""An entry that comes later than this is said to be late; common practice, no published source."""


class Deviations(Struct, frozen=True, kw_only=True):
    """What deviates, entries by their place; nothing of what was withdrawn."""

    readings: frozenset[int] = frozenset()
    """Out of a limit, made with what was unfit, taken in spite of a doubt, corrected, or late."""
    batches: frozenset[int] = frozenset()
    """Too short in the water, or as above."""
    actions: frozenset[int] = frozenset()
    """Other entries as above, an instrument found unfit, a clock that was set."""
    flags: int = 0
    """That asked for an act, or to stop."""
    holds: int = 0
    corrections: int = 0
    said: tuple[Message, ...] = ()
    """What the record lacks, and what else must be known of it."""

    def __bool__(self) -> bool:
        """Tell whether anything deviates."""
        entries = len(self.readings) + len(self.batches) + len(self.actions)
        return bool(entries + self.flags + self.holds + self.corrections + len(self.said))


def deviations(shift: ShiftState) -> Deviations:
    """Return what in a shift deviates."""
    readings: set[int] = set()
    batches: set[int] = set()
    others: set[int] = set()
    for entry in shift.entries:
        correction = shift.corrections.get(entry.seq)
        event = correction.instead if correction else entry.event
        if event is not None and (correction or _deviates(shift, entry, event)):
            kinds = {ReadingTaken: readings, BatchWashed: batches}
            kinds.get(type(event), others).add(entry.seq)
    return Deviations(
        readings=frozenset(readings),
        batches=frozenset(batches),
        actions=frozenset(others),
        flags=sum(asked_for_an_act(one) for one in (*shift.closed_flags, *shift.open_flags)),
        holds=len(shift.holds),
        corrections=sum(isinstance(one.event, Corrected) for one in shift.entries),
        said=tuple(_said(shift)),
    )


def asked_for_an_act(record: FlagRecord) -> bool:
    """Tell whether a flag was more than something coming up."""
    return record.flag.level is not Level.WATCH


def too_short(shift: ShiftState, batch: BatchWashed) -> Breach | None:
    """Return the gravest contact time that a batch did not stay for in one of its tanks."""
    specs = (tank.spec for tank in shift.tanks if tank.number in batch.tanks)
    found = [one for spec in specs if (one := judge_batch(batch, spec)) is not None]
    return max(found, key=lambda one: (one.critical, one.limit), default=None)


def _deviates(shift: ShiftState, entry: Entry, event: Event) -> bool:
    if isinstance(event, Signature | Corrected | ShiftEnded) or event.by == RULES:
        return False  # told of by themselves, or by the gaps of the record
    late = (entry.recorded_at - event.at).total_seconds() > LATE_S and not shift.started.imported
    return late or bool(getattr(event, "doubts", ())) or _is_bad(shift, entry.seq, event)


def _is_bad(shift: ShiftState, seq: int, event: Event) -> bool:
    match event:
        case ReadingTaken(tank=number):
            specs = (tank.spec for tank in shift.tanks if tank.number == number)
            unfit = any(why is not None for *_, why in made_with(shift, seq, event))
            return unfit or any(judge_reading(event, spec) for spec in specs)
        case BatchWashed():
            return too_short(shift, event) is not None
        case InstrumentChecked(fit=fit):
            return not fit
    return isinstance(event, ClockChanged)


def _said(shift: ShiftState) -> Iterator[Message]:
    yield from missing(shift)
    for one in shift.started.checks:
        if not one.done and not one.item.casefold().startswith(INSTRUMENTS):  # told above
            yield Message("Not ticked at the start: {item}.", {"item": one.item})
    if shift.started.imported:
        yield Message("No rule looked on: the shift was taken over from a log kept elsewhere.")
