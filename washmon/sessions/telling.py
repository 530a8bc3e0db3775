"""What happened, in one sentence with the names of its tanks and rules: for replay and practice."""

from collections.abc import Callable
from typing import NamedTuple

from msgspec.structs import replace

from washmon.line.event_base import RULES
from washmon.line.events import Event
from washmon.line.flag_events import FlagsChanged
from washmon.line.kinds import phrases
from washmon.line.message import Message, Phrase, Value, spoken
from washmon.line.setup import LineSetup
from washmon.line.words import rule_words
from washmon.rules.event_text import titled
from washmon.sessions.player import News


class Told(NamedTuple):
    """A sentence in parts that are translated one by one: a head and what is listed after it."""

    head: Phrase
    rest: tuple[Phrase, ...] = ()

    def said(self, say: Callable[[Message], str]) -> str:
        """Return the sentence as somebody reads it."""
        return spoken((self.head, *self.rest), say)


def tell(event: Event, setup: LineSetup) -> Told:
    """Return one sentence on what happened; figures keep their kinds, so that any taste fits."""
    found = _flags(event) if isinstance(event, FlagsChanged) else phrases(event, setup)
    head, *rest = (_with_names(part, setup) for part in found)
    return Told(head, tuple(rest))


def happened(news: News) -> Event:
    """Return what news are of: the entry, or what the rules found when only time had passed."""
    if news.entry is not None:
        return news.entry.event
    changed = FlagsChanged(at=news.at, by=RULES, upto=-1)
    if news.change is None:
        return changed
    raised, cleared, plans = news.change.raised, news.change.cleared, news.change.plans
    return replace(changed, raised=raised, cleared=cleared, plans=plans)


def _flags(event: FlagsChanged) -> tuple[Phrase, ...]:
    """Return what came up, else what is to be done now, else what was cleared: the news of it."""
    came_up = [(flag.tank, flag.rule) for flag in event.raised]
    if not came_up and (any(plan.hand for plan in event.plans) or not event.cleared):
        return (Message("Plan"), *(part for plan in event.plans for part in plan.parts))
    flags = (
        Message("{rule} on tank {tank}", {"rule": rule_words(rule), "tank": tank})
        for tank, rule in came_up or event.cleared
    )
    return (Message("Came up" if came_up else "Cleared"), *flags)


def _with_names(part: Phrase, setup: LineSetup) -> Phrase:
    """Return a part with the name of its tank beside the number, and the title of its rule."""
    if isinstance(part, tuple):
        return tuple(_with_names(one, setup) for one in part)
    named: dict[str, Value] = {}
    match part.values.get("tank"):
        case int(number):
            name = next((tank.name for tank in setup.tanks if tank.number == number), "")
            named["tank"] = f"{number} {name}".strip()
    return titled(replace(part, values=part.values | named))
