"""An event as people read it: in one line, with each rule by its title, as the Board calls it."""

from collections.abc import Callable
from functools import cache

from msgspec.structs import replace

from washmon.line.events import Event
from washmon.line.kinds import phrases
from washmon.line.message import Message, spoken
from washmon.line.setup import LineSetup
from washmon.line.words import rule_words
from washmon.rules import all_rules


def event_text(event: Event, setup: LineSetup, say: Callable[[Message], str]) -> str:
    """Return an event in one line.

    Args:
        event: what happened.
        setup: the one that its shift runs on.
        say: translates a whole phrase and fills in its figures.
    """
    return spoken(phrases(event, setup), lambda phrase: say(titled(phrase)))


def titled(part: Message) -> Message:
    """Return a phrase with the title of its rule for the words of its id."""
    match part.values.get("rule"):
        case str(rule):
            return replace(part, values=part.values | {"rule": _titles().get(rule, rule)})
    return part


@cache
def _titles() -> dict[str, str]:
    """Return the title of each rule by the words of its id."""
    return {rule_words(rule.id): rule.title for rule in all_rules()}
