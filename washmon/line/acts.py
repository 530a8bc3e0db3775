"""Which role may do what, once PINs are in use, and what asks for the PIN of who does it.

The recorder asks this of whatever is entered, by whichever way it comes. In a shed without PINs
initials stand, and only the checks of :mod:`washmon.line.check` hold.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from enum import StrEnum
from typing import NamedTuple

from msgspec.structs import replace

from washmon.line.events import (
    ClockChanged,
    Corrected,
    Event,
    HandedOver,
    HoldReleased,
    ShiftReviewed,
    ShiftSigned,
)
from washmon.line.message import Message
from washmon.line.registers import Container, Pack, Thing
from washmon.line.setup import DECIDERS, LineSetup, Role, Tank
from washmon.line.site_events import PinReset, PinSet
from washmon.line.state import ShiftState

UNDO_LASTS = timedelta(minutes=2)


class Act(StrEnum):
    """What somebody does, as far as it matters who may."""

    ENTER = "enter readings, batches, doses, water, notes, holds; begin and end a shift"
    UNDO = "undo one's own newest entry within two minutes"
    CORRECT_OWN = "correct an entry of one's own"
    CORRECT = "correct an entry of somebody else"
    RELEASE = "decide about held product, or correct a batch on hold"
    HAND_OVER = "hand a shift over"
    SIGN = "sign a shift"
    REVIEW = "review a shift"
    OPEN = "register a pack or container that was opened"
    REGISTER = "register instruments and papers; change or retire what is registered"
    TRAIN = "sign off training; set the course of scenarios"
    SET_UP = "change the set-up: products, prices, volumes, instruments"
    LIMITS = "change limits, schedules and rules of the set-up; set up another line"
    PEOPLE = "change who is in the set-up, and their roles; set and reset PINs"


class May(NamedTuple):
    """Who may do something, and whether it is done with the PIN of who does."""

    roles: frozenset[Role]
    pin: bool


_ALL = frozenset(Role)
_LEADS = frozenset({Role.SUPERVISOR, Role.MANAGER})
_MANAGES = frozenset({Role.MANAGER})
TABLE = {
    Act.ENTER: May(_ALL, pin=False),
    Act.UNDO: May(_ALL, pin=False),
    Act.CORRECT_OWN: May(_ALL, pin=True),
    Act.CORRECT: May(_LEADS, pin=True),
    Act.RELEASE: May(DECIDERS, pin=True),
    Act.HAND_OVER: May(_LEADS, pin=True),
    Act.SIGN: May(_LEADS, pin=True),
    Act.REVIEW: May(_MANAGES, pin=True),
    Act.OPEN: May(_ALL, pin=False),
    Act.REGISTER: May(_LEADS, pin=True),
    Act.TRAIN: May(_LEADS, pin=True),
    Act.SET_UP: May(_LEADS, pin=True),
    Act.LIMITS: May(_MANAGES, pin=True),
    Act.PEOPLE: May(_MANAGES, pin=True),
}
"""Common practice, no published source; 21 CFR 112.161(b) and 117.190 leave the roles to the farm.
One's own PIN is changed by its owner, whatever the role (:mod:`washmon.line.pins`)."""


_ACTS: dict[type[Event], Act] = {
    HoldReleased: Act.RELEASE,
    HandedOver: Act.HAND_OVER,
    ClockChanged: Act.CORRECT,
    ShiftSigned: Act.SIGN,
    ShiftReviewed: Act.REVIEW,
    PinSet: Act.PEOPLE,
    PinReset: Act.PEOPLE,
}


def act_of(event: Event, shift: ShiftState, now: datetime) -> Act:
    """Return what an entry into a shift is, seen at the moment at which it comes."""
    if isinstance(event, Corrected):
        return _correcting(event, shift, now)
    return _ACTS.get(type(event), Act.ENTER)


def _correcting(event: Corrected, shift: ShiftState, now: datetime) -> Act:
    entry = next((one for one in shift.entries if one.seq == event.entry), None)
    if entry is None:
        return Act.CORRECT
    if _is_held(entry.seq, shift):
        return Act.RELEASE
    own = entry.event.by == event.by
    newest = next(one for one in reversed(shift.entries) if one.event.by == entry.event.by)
    fresh = timedelta(0) <= now - entry.recorded_at <= UNDO_LASTS
    if event.instead is None and own and fresh and newest is entry:
        return Act.UNDO
    return Act.CORRECT_OWN if own else Act.CORRECT


def _is_held(seq: int, shift: ShiftState) -> bool:
    """Tell whether an entry is a batch on which a hold is: a correction could let it go."""
    return any(seq in hold.placed.batches for hold in shift.open_holds)


def acts_of_set_up(before: LineSetup | None, after: LineSetup) -> Iterator[Act]:
    """Yield what saving a set-up comes to; ``before`` is the newest of the same line, if any."""
    yield Act.SET_UP
    if before is None or before.line != after.line or _limits(before) != _limits(after):
        yield Act.LIMITS
    if before is None or before.people != after.people:
        yield Act.PEOPLE


def act_of_registering(before: Thing | None, after: Thing) -> Act:
    """Return what it is to register something; ``before`` is what its key stood for."""
    opened = before is None and isinstance(after, Pack | Container)
    return Act.OPEN if opened else Act.REGISTER


def not_allowed(act: Act, role: Role) -> Message | None:
    """Return that somebody of this role may not do something, if so."""
    if role in TABLE[act].roles:
        return None
    if TABLE[act].roles == _MANAGES:
        return Message(
            {
                Act.REVIEW: "Only a manager reviews: choose one.",
                Act.PEOPLE: "Only a manager changes who is in the set-up, and their roles.",
            }.get(act, "Only a manager changes limits, schedules and rules of a line.")
        )
    return Message(
        {
            Act.RELEASE: "Only a supervisor or a manager decides about held product.",
            Act.HAND_OVER: "Only a supervisor or a manager hands a shift over.",
            Act.SIGN: "Only a supervisor or a manager signs: choose one.",
            Act.SET_UP: "Only a supervisor or a manager changes the set-up.",
            Act.REGISTER: "Only a supervisor or a manager changes what is registered.",
        }.get(act, "Only a supervisor or a manager corrects what somebody else entered.")
    )


def _limits(setup: LineSetup) -> tuple[object, ...]:
    """Return all of a set-up that decides what is good water, and when it is looked at."""
    off = frozenset((one.rule, one.reason) for one in setup.rules_off)
    tanks = {tank.number: _bare(tank) for tank in setup.tanks}
    return tanks, setup.margins, off, setup.meter_check_days, setup.calendar


def _bare(tank: Tank) -> Tank:
    """Return a tank without what is measured at it and named as one likes."""
    return replace(tank, name="", volume_l=0.0, measured=None, acid=None, second_volume_l=None)
