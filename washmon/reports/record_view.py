"""What the record of a shift says of batches, holds and corrections, with its verdicts.

Logbook, printed record and CSV files paint these rows; none of them judges, counts or pairs
anything itself. Readings stand in :mod:`washmon.reports.measured`.
"""

from collections.abc import Callable
from dataclasses import dataclass

from washmon.line.deviating import too_short
from washmon.line.events import BatchWashed, Corrected, Event
from washmon.line.held_words import batch_word, failed_words, lot_words, washed_in
from washmon.line.judging import Breach
from washmon.line.message import Message
from washmon.line.state import FlagRecord, Hold, ShiftState
from washmon.reports.exposure import ct_hocl_mg_min_l
from washmon.reports.lines import Line, lines


@dataclass(frozen=True, slots=True)
class BatchRow:
    """A batch, how it was washed, and what became of it."""

    line: Line[BatchWashed]
    ct_mg_min_l: float | None
    """Hypochlorous acid times the time in the water, mg min/L, where both are known."""
    breach: Breach | None
    """The contact time that it did not stay for in one of its tanks."""
    hold: Hold | None
    """The last one that it was put under."""

    @property
    def tanks(self) -> str:
        """The numbers of its tanks."""
        return ", ".join(str(number) for number in self.line.event.tanks)

    @property
    def chance(self) -> Message | None:
        """How likely it met too little, where it was held."""
        return None if self.hold is None else batch_word(self.hold.placed, self.line.seq)


@dataclass(frozen=True, slots=True)
class HoldRow:
    """A hold with the batches that it is about."""

    shift: ShiftState
    hold: Hold
    batches: tuple[BatchWashed, ...]

    @property
    def lots(self) -> tuple[str, ...]:
        """The lots of the batches, each once."""
        return tuple(dict.fromkeys(batch.lot for batch in self.batches))

    @property
    def weighed_kg(self) -> float:
        """The weight of those batches that were weighed."""
        return sum((batch.weight_kg or 0.0 for batch in self.batches), 0.0)

    def likely(self, say: Callable[[Message], str]) -> str:
        """Return how likely the batches of each lot met too little, and what else failed."""
        placed = self.hold.placed
        lots = list(lot_words(placed, washed_in(self.shift), short=True))
        said = [say(one) if len(lots) == 1 else f"{lot}: {say(one)}" for lot, one in lots]
        return "; ".join([*said, *(say(one) for one in failed_words(placed))])


@dataclass(frozen=True, slots=True)
class CorrectionRow:
    """A correction: what stood there before it, and what stands there since."""

    event: Corrected
    old: Event | None

    @property
    def new(self) -> Event | None:
        """What is right; None where it never happened."""
        return self.event.instead


def batch_rows(shift: ShiftState) -> list[BatchRow]:
    """Return the batches of a shift in the order in which they were washed."""
    held = {seq: hold for hold in shift.holds for seq in hold.placed.batches}
    return [
        BatchRow(
            line=line,
            ct_mg_min_l=ct_hocl_mg_min_l(shift, line.event),
            breach=too_short(shift, line.event),
            hold=held.get(line.seq),
        )
        for line in lines(shift, BatchWashed)
    ]


def hold_row(shift: ShiftState, hold: Hold) -> HoldRow:
    """Return a hold with its batches, corrections applied."""
    washed = {line.seq: line.event for line in lines(shift, BatchWashed)}
    return HoldRow(shift, hold, tuple(washed[one] for one in hold.placed.batches if one in washed))


def hold_rows(shift: ShiftState) -> list[HoldRow]:
    """Return the holds of a shift in the order in which they were placed."""
    return [hold_row(shift, hold) for hold in shift.holds]


def correction_rows(shift: ShiftState) -> list[CorrectionRow]:
    """Return the corrections as they were made; a second one corrects what the first said."""
    stands: dict[int, Event | None] = {entry.seq: entry.event for entry in shift.entries}
    rows = []
    for entry in shift.entries:
        if isinstance(event := entry.event, Corrected):
            old = stands.get(event.entry)
            rows.append(CorrectionRow(event, old))
            stands[event.entry] = event.instead or old
    return rows


def flag_rows(shift: ShiftState) -> list[FlagRecord]:
    """Return the flags of a shift in the order in which they came up."""
    return sorted((*shift.closed_flags, *shift.open_flags), key=lambda one: one.raised_at)
