"""Check of what somebody says of the computer's clock."""

from collections.abc import Iterator

from washmon.line.clock_changes import LONGEST_S, moved
from washmon.line.events import ClockChanged
from washmon.line.finding import CLOCK_SLACK, Fault, Finding, text_faults
from washmon.line.message import Message, Moment
from washmon.line.state import ShiftState


def clock_changed(state: ShiftState, event: ClockChanged) -> Iterator[Finding]:
    """Yield what speaks against moving all that was entered so far."""
    yield from text_faults("reason", event.reason)
    if not 0 < abs(event.by_s) <= LONGEST_S:
        yield Fault("by_s", Message("Say by how much the times are wrong."))
        return
    last = max(moved(state.last_at, event.by_s), moved(state.started.at, event.by_s))
    if last > event.at + CLOCK_SLACK:
        yield Fault(
            "by_s",
            Message(
                "Moved like this, an entry would be of {time}, which is not yet: look again.",
                {"time": Moment(last)},
            ),
        )
