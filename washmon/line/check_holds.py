"""Checks of holds, and of the end of a shift that must not lose any."""

from collections.abc import Iterator

from washmon.line.decided import PARTS, part_findings
from washmon.line.events import HoldPlaced, HoldReleased, ShiftEnded
from washmon.line.finding import Fault, Finding, text_faults
from washmon.line.message import Message
from washmon.line.setup import DECIDERS
from washmon.line.state import ShiftState


def hold(state: ShiftState, event: HoldPlaced) -> Iterator[Finding]:
    """Yield what speaks against a hold."""
    if event.tank not in {tank.number for tank in state.tanks}:
        yield Fault("tank", Message("There is no tank {number}.", {"number": event.tank}))
    known = {batch.seq for tank in state.tanks for batch in tank.washed}
    if not event.batches:
        yield Fault("batches", Message("Say which batches to hold."))
    elif not known.issuperset(event.batches):
        yield Fault("batches", Message("A batch in this hold is not in the journal."))
    yield from text_faults("reason", event.reason)
    if event.chances and len(event.chances) != len(event.batches):
        yield Fault("chances", Message("A hold has one chance for each of its batches, or none."))
    if any(chance is not None and not 0 <= chance <= 1 for chance in event.chances):
        yield Fault("chances", Message("A chance lies between 0 and 1."))


def release(state: ShiftState, event: HoldReleased) -> Iterator[Finding]:
    """Yield what speaks against a decision on a hold.

    It needs all four parts of a corrective action: what was found, done to the product, done to the
    water, and done so that it does not recur, each about this shift (:mod:`washmon.line.decided`).
    Decisions of old journals may lack some.
    """
    if event.hold not in {one.seq for one in state.open_holds}:
        yield Fault("hold", Message("This hold is not open."))
    for field in PARTS:
        yield from text_faults(field, getattr(event, field))
    yield from part_findings(state, event)
    person = state.setup.person(event.by)
    if person is None or person.role not in DECIDERS:
        yield Fault(
            "by",
            Message("Held product is decided on by a supervisor or a manager of this line."),
        )


def end(state: ShiftState, event: ShiftEnded) -> Iterator[Finding]:
    """Yield what speaks against the end of a shift."""
    if state.open_holds and not event.holds_to:
        yield Fault(
            "holds_to",
            Message(
                "One hold is open: say who takes it over."
                if len(state.open_holds) == 1
                else "{count} holds are open: say who takes them over.",
                {"count": len(state.open_holds)},
            ),
        )
    elif event.holds_to and state.setup.person(event.holds_to) is None:
        yield Fault("holds_to", Message("{who} is not in the set-up.", {"who": event.holds_to}))
