"""What is coming in a practice shift, for a trainer's eyes."""

from typing import NamedTuple

from washmon.line.message import Message
from washmon.sessions.practice.scenario import Happening
from washmon.sessions.practice.stage import PracticeStage

_MOST = 5


class Coming(NamedTuple):
    """One thing, and in how many minutes."""

    in_min: float
    what: Message


def coming(stage: PracticeStage) -> tuple[Coming, ...]:
    """Return the next batch, the next events and the end, in their order."""
    found = [Coming(minute - stage.minutes, _told(one)) for minute, one in stage.ahead[:_MOST]]
    batch = stage.coming
    due = batch.due_min - stage.minutes
    waits = Message("a batch of {lot} waits", {"lot": batch.lot})
    comes = Message("a batch of {lot} comes", {"lot": batch.lot})
    found.append(Coming(due, waits if due <= 0.0 else comes))
    found.append(Coming(stage.scenario.pace.minutes - stage.minutes, Message("the time is over")))
    return tuple(sorted(found, key=lambda one: one.in_min))


def _told(one: Happening) -> Message:
    changes = {name: getattr(one.change, name) for name in one.change.__struct_fields__}
    words = {
        "dirtiness": "load {value}",
        "strength_times": "product at {value} of what it is",
        "strip_share": "strips show {value}",
        "decay_share": "loss at {value} of the usual",
        "strength_share": "product at {value} of its first strength",
    }
    said = [
        words[name].format(value=value if isinstance(value, str) else f"{100 * value:g} %")
        for name, value in changes.items()
        if value is not None
    ]
    if one.say:
        said.append(f"“{one.say}”")
    return Message("{what}", {"what": ", ".join(said)})
