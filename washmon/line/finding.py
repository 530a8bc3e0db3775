"""What a check of an entry can find, and what all checks ask alike."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from msgspec import Struct

from washmon.line.message import Figure, Message, Moment
from washmon.line.state import Fill, ShiftState

CLOCK_SLACK = timedelta(minutes=1)
LONGEST_TEXT = 2000
Values = dict[str, str | int | Figure | Moment]


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


def text_faults(field: str, text: str) -> Iterator[Fault]:
    """Yield what is wrong with words that a person must write."""
    if not text.strip():
        yield Fault(field, Message("Write a few words here."))
    elif len(text) > LONGEST_TEXT:
        yield Fault(
            field, Message("That is too long: at most {most} characters.", {"most": LONGEST_TEXT})
        )
