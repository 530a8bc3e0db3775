"""What speaks against an entry: what the line's own check finds, and what the rules ask beside."""

from datetime import datetime
from typing import TYPE_CHECKING

from msgspec.structs import replace

from washmon.line.check import Verdict, check
from washmon.line.events import Corrected, Event, ShiftEnded
from washmon.line.fold import step
from washmon.line.journal import Entry
from washmon.line.message import Message
from washmon.line.state import ShiftState
from washmon.rules.in_question import to_hold

if TYPE_CHECKING:  # start-up is measured, and it is only read
    from washmon.forecast.look_ahead import Forecast


def check_entry(
    shift: ShiftState,
    event: Event,
    now: datetime,
    ahead: "Forecast | None" = None,
) -> Verdict:
    """Return what speaks against an entry at this point of the shift.

    A reading is held against the forecast of its tank, where there is a fresh one.
    """
    expected = None if ahead is None else (ahead.level.low, ahead.level.high)
    verdict = check(shift, event, now, expected)
    if verdict.faults:
        return verdict
    asked = None
    if isinstance(event, ShiftEnded):
        asked = unheld(shift)
    elif isinstance(event, Corrected):
        asked = _freed(shift, event)
    return verdict if asked is None else replace(verdict, doubts=(*verdict.doubts, asked))


def _freed(shift: ShiftState, event: Corrected) -> Message | None:
    """Return that a correction would free batches that nobody has held yet, if it would."""
    last = shift.entries[-1]
    after = step(shift, Entry(last.seq + 1, last.recorded_at, event, ""))
    count = len(_loose(shift) - _loose(after) - {event.entry})
    if not count:
        return None
    text = "{count} batches that are in question would not be any more: was it never so?"
    if count == 1:
        text = "One batch that is in question would not be any more: was it never so?"
    return Message(text, {"count": count})


def _loose(shift: ShiftState) -> set[int]:
    """Return the places of the batches that are in question and not on hold."""
    return {seq for tank in shift.tanks for seq in to_hold(shift, tank)}


def unheld(shift: ShiftState) -> Message | None:
    """Return that batches are in question and not on hold, if any are."""
    count = len(_loose(shift))
    if not count:
        return None
    text = "{count} batches are in question and not on hold: hold them first."
    if count == 1:
        text = "One batch is in question and not on hold: hold it first."
    return Message(text, {"count": count})
