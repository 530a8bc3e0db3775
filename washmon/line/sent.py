"""Where the batches of a shift were sent: one step forward of a lot.

As 21 CFR 1.1340 asks of who ships a food on the traceability list: lot code, amount, recipient,
date, and the number of a document. What nobody told is not recorded, and is said to be so.
"""

from collections.abc import Iterator
from typing import TypeVar

from washmon.line.events import BatchWashed, Decision, Event, LotSent
from washmon.line.finding import Fault, Finding
from washmon.line.message import Message, Moment
from washmon.line.state import ShiftState

E = TypeVar("E", bound=Event)
NOT_RECORDED = "not recorded"
DISCARDED = "discarded"


def is_lot(code: str, other: str) -> bool:
    """Tell whether two codes name one lot: without regard to case and spacing."""
    return " ".join(code.split()).casefold() == " ".join(other.split()).casefold()


def destinations(shift: ShiftState) -> dict[int, tuple[LotSent, ...]]:
    """Return what was told of each batch, by its place; of one that nobody told of, nothing.

    An entry is about those batches of its lot that were washed before it and not told of yet;
    where there are none, about those of the entry before it: they were parted between the two.
    """
    batches = _now(shift, BatchWashed)
    found: dict[int, tuple[LotSent, ...]] = {}
    newest: dict[str, list[int]] = {}
    for _, sent in _now(shift, LotSent):
        key = " ".join(sent.lot.split()).casefold()
        of = [seq for seq, one in batches if is_lot(one.lot, sent.lot) and one.at <= sent.at]
        newest[key] = [seq for seq in of if seq not in found] or newest.get(key, [])
        for seq in newest[key]:
            found[seq] = (*found.get(seq, ()), sent)
    return found


def discarded(shift: ShiftState) -> frozenset[int]:
    """Return the places of batches that went nowhere, by the last decision about them."""
    last = {seq: hold for hold in shift.holds for seq in hold.placed.batches}
    return frozenset(
        seq
        for seq, hold in last.items()
        if hold.released is not None and hold.released.decision is Decision.DISCARD
    )


def untold(shift: ShiftState) -> tuple[str, ...]:
    """Return the lots of which some batch is not told where it went, in order."""
    told = destinations(shift).keys() | discarded(shift)
    codes = dict.fromkeys(one.lot for seq, one in _now(shift, BatchWashed) if seq not in told)
    return tuple(code for code in codes if code)


def went(shift: ShiftState) -> dict[int, str]:
    """Return in words where each batch went, by its place."""
    told, nowhere = destinations(shift), discarded(shift)

    def words(seq: int) -> str:
        if seq in told:
            return "; ".join(dict.fromkeys(recipient(one) for one in told[seq]))
        return DISCARDED if seq in nowhere else NOT_RECORDED

    return {seq: words(seq) for seq, _ in _now(shift, BatchWashed)}


def recipient(sent: LotSent) -> str:
    """Return to whom something was sent, with the number of its document."""
    return f"{sent.to} ({sent.reference})" if sent.reference else sent.to


def sending(state: ShiftState, event: LotSent) -> Iterator[Finding]:
    """Yield what speaks against it that a lot was sent."""
    of = [(seq, one) for seq, one in _now(state, BatchWashed) if is_lot(one.lot, event.lot)]
    if not of:
        yield Fault("lot", Message("No batch of lot {lot} was washed here.", {"lot": event.lot}))
    elif event.at < of[0][1].at:
        yield Fault(
            "at",
            Message(
                "The first batch of lot {lot} was washed at {time}: check the time.",
                {"lot": event.lot, "time": Moment(of[0][1].at)},
            ),
        )
    if event.sent_kg is not None and event.sent_kg <= 0:
        yield Fault("sent_kg", Message("A weight is more than nothing: enter it again."))
    held = {seq for hold in state.open_holds for seq in hold.placed.batches}
    if any(seq in held for seq, _ in of):
        yield Message(
            "Batches of lot {lot} are on hold: what is held stays here until somebody has decided.",
            {"lot": event.lot},
        )


def _now(shift: ShiftState, kind: type[E]) -> list[tuple[int, E]]:
    """Return the entries of a kind as they are now, by place, in the order of what happened."""
    found = []
    for entry in shift.entries:
        correction = shift.corrections.get(entry.seq)
        event = correction.instead if correction else entry.event
        if isinstance(event, kind):
            found.append((entry.seq, event))
    return sorted(found, key=lambda one: (one[1].at, one[0]))
