"""What a check of an entry can find, and what all checks ask alike."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from msgspec import Struct

from washmon.line.events import AcidAdded, DoseAdded, ReadingTaken, TankFilled, WaterExchanged
from washmon.line.message import Message, Moment
from washmon.line.setup import Tank
from washmon.line.state import Fill, ShiftState, order

CLOCK_SLACK = timedelta(minutes=1)
LONGEST_TEXT = 2000


class Fault(Struct, frozen=True):
    """Why an entry can't be taken, and beside which field to say so."""

    field: str
    message: Message


Finding = Fault | Message
"""A fault refuses an entry, a bare sentence is a doubt."""


def fill_at(state: ShiftState, number: int, at: datetime) -> Fill | Fault:
    """Return the water that was in a tank at a moment."""
    try:
        tank = state.tank(number)
    except KeyError:
        return Fault("tank", Message("There is no tank {number}.", {"number": number}))
    for fill in reversed(tank.fills):
        if fill.at <= at:
            return fill
    if tank.fill is None:
        return Fault(
            "tank",
            Message("{tank} has no water yet: enter its filling first.", {"tank": tank.spec.name}),
        )
    return Fault(
        "at",
        Message(
            "{tank} was filled only at {filled}: check the time.",
            {"tank": tank.spec.name, "filled": Moment(tank.fills[0].at)},
        ),
    )


def water_of_entry(
    state: ShiftState,
    event: TankFilled | WaterExchanged | DoseAdded | AcidAdded | ReadingTaken,
) -> Fill | Fault:
    """Return the water that an entry is about: what was in its tank, or the second fill then.

    Of a filling it is the water before it.
    """
    if event.second:
        return second_at(state, event.tank, event.at)
    return fill_at(state, event.tank, event.at)


def second_at(state: ShiftState, number: int, at: datetime) -> Fill | Fault:
    """Return the second fill that waited beside a tank at a moment."""
    try:
        tank = state.tank(number)
    except KeyError:
        return Fault("tank", Message("There is no tank {number}.", {"number": number}))
    if tank.spec.second_volume_l is None:
        return no_second_vessel(tank.spec)
    made = [one for one in tank.every_fill if one.begun.event.second and one.begun.event.at <= at]
    last = max(made, key=lambda one: order(one.begun), default=None)
    if last is None or (last.swapped is not None and last.at <= at):
        return Fault(
            "at" if tank.second else "tank",
            Message(
                "No second fill waits beside {tank}: enter its filling first.",
                {"tank": tank.spec.name},
            ),
        )
    return last


def no_second_vessel(tank: Tank) -> Fault:
    """Return why nothing can be entered of a second fill of a tank."""
    return Fault("tank", Message("{tank} has no second vessel in the set-up.", {"tank": tank.name}))


def text_faults(field: str, text: str) -> Iterator[Fault]:
    """Yield what is wrong with words that a person must write."""
    if not text.strip():
        yield Fault(field, Message("Write a few words here."))
    elif len(text) > LONGEST_TEXT:
        yield Fault(
            field, Message("That is too long: at most {most} characters.", {"most": LONGEST_TEXT})
        )
