"""An event in one line, with each rule by its title, as the Board calls it."""

from functools import cache

from msgspec.structs import replace

from washmon.line.events import Event
from washmon.line.message import Message
from washmon.line.setup import LineSetup
from washmon.line.words import joined, parts, rule_words
from washmon.rules import all_rules


def described(event: Event, setup: LineSetup) -> Message:
    """Return an event in one line; ``setup`` is the one that its shift runs on."""
    return joined([titled(part) for part in parts(event, setup)])


def titled(part: Message) -> Message:
    """Return a part of such a line, with the title of its rule for the words of its id."""
    match part.values.get("rule"):
        case str(rule):
            return replace(part, values=part.values | {"rule": _titles().get(rule, rule)})
    return part


@cache
def _titles() -> dict[str, str]:
    """Return the title of each rule by the words of its id."""
    return {rule_words(rule.id): rule.title for rule in all_rules()}
