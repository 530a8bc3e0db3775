"""What speaks against an entry: what the line's own check finds, and what the rules ask beside."""

from datetime import datetime

from msgspec.structs import replace

from washmon.line.check import Verdict, check
from washmon.line.events import Event, ShiftEnded
from washmon.line.message import Message
from washmon.line.state import ShiftState
from washmon.rules.in_question import to_hold


def check_entry(shift: ShiftState, event: Event, now: datetime) -> Verdict:
    """Return what speaks against an entry at this point of the shift."""
    verdict = check(shift, event, now)
    loose = unheld(shift) if isinstance(event, ShiftEnded) else None
    return verdict if loose is None else replace(verdict, doubts=(*verdict.doubts, loose))


def unheld(shift: ShiftState) -> Message | None:
    """Return that batches are in question and not on hold, if any are."""
    count = len({seq for tank in shift.tanks for seq in to_hold(shift, tank)})
    if not count:
        return None
    text = "{count} batches are in question and not on hold: hold them first."
    if count == 1:
        text = "One batch is in question and not on hold: hold it first."
    return Message(text, {"count": count})
