"""Signatures under a shift: what they cover, what came after them, and who may give them.

A signature covers the hash that the chain ended with when it was given, and with it every entry
before. A later entry is not covered: it does not undo the signature, it reopens the review. Only
where a lot was sent is told later without that (see :func:`reopens`).
"""

from collections.abc import Iterator
from datetime import datetime
from enum import StrEnum
from typing import get_args

from msgspec import Struct

from washmon.line.deviating import deviations
from washmon.line.event_base import Signature
from washmon.line.events import Corrected, Event, LotSent, ShiftReviewed, ShiftSigned
from washmon.line.journal import Entry
from washmon.line.learned import OfProgram
from washmon.line.message import Message
from washmon.line.record import missing
from washmon.line.setup import Person, Role
from washmon.line.state import ShiftState
from washmon.line.working_days import WorkCalendar, day_there, working_days

_OF_PROGRAM = get_args(OfProgram)  # as it is asked of every entry: a union takes twice as long
Signed = ShiftSigned | ShiftReviewed

MAY_SIGN = frozenset({Role.SUPERVISOR, Role.MANAGER})
MAY_REVIEW = frozenset({Role.MANAGER})


class SigningStage(StrEnum):
    """How far a record has come."""

    RUNNING = "running"
    UNSIGNED = "unsigned"
    SIGNED = "signed"
    CHANGED = "changed since"
    """Signed, then something was entered that no signature covers."""
    REVIEWED = "reviewed"


class GivenSignature(Struct, frozen=True):
    """A signature with its place in the journal."""

    seq: int
    event: Signed


class Signing(Struct, frozen=True, kw_only=True):
    """The signatures under a shift."""

    stage: SigningStage
    signed: GivenSignature | None = None
    """The newest signature of who led the shift."""
    reviewed: GivenSignature | None = None
    """The newest review."""
    later: tuple[Entry, ...] = ()
    """What people entered after the first signature, covered since or not."""
    torn: tuple[int, ...] = ()
    """Places of signatures that do not cover what stands before them now."""

    @property
    def reopened(self) -> tuple[Entry, ...]:
        """Those of the later entries that have the shift read anew."""
        return tuple(one for one in self.later if reopens(one.event))

    @property
    def corrected_at(self) -> tuple[int, ...]:
        """Places of the corrections that were made after the first signature."""
        return tuple(one.seq for one in self.later if isinstance(one.event, Corrected))


def reopens(event: Event) -> bool:
    """Tell whether an entry that comes after a signature has the shift signed and read anew.

    Where a lot went is told when it leaves, often days after the review. It changes no value, no
    decision and no batch that was signed for, so no manager reads the shift again because of it;
    the entry stands with its own initials, and the record counts it as later than the signature.
    What was sent although it was held does: the doubt stands with the entry. So does a correction.
    """
    if isinstance(event, LotSent):
        return bool(event.doubts)
    return not isinstance(event, _OF_PROGRAM)


def signing(shift: ShiftState) -> Signing:
    """Return who signed a shift, and what came after."""
    signed: GivenSignature | None = None
    reviewed: GivenSignature | None = None
    later: list[Entry] = []
    torn: list[int] = []
    covered, before = False, ""
    for entry in shift.entries:
        event = entry.event
        if isinstance(event, Signature):
            covered = event.covers == before
            if not covered:
                torn.append(entry.seq)
            if isinstance(event, ShiftSigned):
                signed = GivenSignature(entry.seq, event)
            elif isinstance(event, ShiftReviewed):
                reviewed = GivenSignature(entry.seq, event)
        elif signed is not None and not isinstance(event, _OF_PROGRAM):
            covered = covered and not reopens(event)
            later.append(entry)
        before = entry.hash
    return Signing(
        stage=_stage(shift, signed, reviewed, covered=covered),
        signed=signed,
        reviewed=reviewed,
        later=tuple(later),
        torn=tuple(torn),
    )


def _stage(
    shift: ShiftState,
    signed: GivenSignature | None,
    reviewed: GivenSignature | None,
    *,
    covered: bool,
) -> SigningStage:
    if shift.ended is None:
        return SigningStage.RUNNING
    if signed is None:
        return SigningStage.UNSIGNED
    if not covered:
        return SigningStage.CHANGED
    if reviewed is not None and reviewed.seq > signed.seq:
        return SigningStage.REVIEWED
    return SigningStage.SIGNED


def faults(shift: ShiftState, event: Signed) -> Iterator[Message]:
    """Yield why a shift can't be signed so."""
    if shift.ended is None:
        yield Message("The shift is still running: end it, then sign it.")
        return
    if event.covers != shift.entries[-1].hash:
        yield Message("Something was entered since this was read: look again, then sign.")
    now = signing(shift)
    if isinstance(event, ShiftReviewed):
        if now.signed is None:
            yield Message("Nobody who led the shift has signed it yet: that comes before a review.")
        elif now.stage is SigningStage.REVIEWED:
            yield Message("This shift is reviewed, and nothing was entered since.")
        elif event.together and (now.reopened or now.torn or deviations(shift)):
            yield Message(
                "Something in this shift deviates, or came after its signature: read it, and sign "
                "it by itself."
            )
    elif now.stage in {SigningStage.SIGNED, SigningStage.REVIEWED}:
        yield Message("This shift is signed, and nothing was entered since.")


def waits_since(shift: ShiftState) -> datetime | None:
    """Return since when a shift waits for a review, signed or not; None: it runs, or it does not.

    One that was reviewed before waits since something was entered that no signature covers.
    """
    now = signing(shift)
    if shift.ended is None or now.stage is SigningStage.REVIEWED:
        return None
    if now.reviewed is None:
        return shift.ended.at
    before = now.reviewed.seq
    return next((one.recorded_at for one in now.reopened if one.seq > before), shift.ended.at)


def days_waited(shift: ShiftState, now: datetime, calendar: WorkCalendar) -> int | None:
    """Return the working days that a shift has waited for its review; None: it waits for none."""
    since = waits_since(shift)
    return None if since is None else working_days(since.date(), day_there(now, since), calendar)


def days_to_review(shift: ShiftState) -> int | None:
    """Return the working days that the first review of a shift took, once it had one.

    Reviews of before do not tell; for them the calendar that the shift began with is taken.
    """
    first = next((one.event for one in shift.entries if isinstance(one.event, ShiftReviewed)), None)
    if first is None or shift.ended is None:
        return None
    if first.days is not None:
        return first.days
    made = shift.ended.at
    return working_days(made.date(), day_there(first.at, made), shift.setup.calendar)


def doubts(shift: ShiftState, event: Signed) -> Iterator[Message]:
    """Yield what whoever signs is asked about: what the record lacks, and a review of oneself."""
    yield from missing(shift)
    signed = signing(shift).signed
    if isinstance(event, ShiftReviewed) and signed and signed.event.by == event.by:
        yield Message(
            "{who} signed this shift too: a review by somebody else says more.", {"who": event.by}
        )


def role_fault(person: Person | None, event: Signed) -> Message | None:
    """Return why this person can't sign so; the role in the signature must be theirs."""
    allowed = MAY_REVIEW if isinstance(event, ShiftReviewed) else MAY_SIGN
    if person is None:
        return Message("{who} is not in the set-up.", {"who": event.by or "–"})
    if person.role not in allowed or person.role is not event.role:
        if allowed is MAY_REVIEW:
            return Message("Only a manager reviews: choose one.")
        return Message("Only a supervisor or a manager signs: choose one.")
    return None
