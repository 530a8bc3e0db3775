"""Whose training is due again: one calm line for who manages or trains, and words at a start."""

from collections.abc import Callable, Iterable
from datetime import date
from typing import TYPE_CHECKING

from washmon.gui.i18n import tr
from washmon.gui.kit.message_line import CalmLine
from washmon.line.journal import SITE
from washmon.line.registry import training_of
from washmon.line.training import DueAgain, due_again

if TYPE_CHECKING:  # start-up is measured
    from washmon.store.store import Store


def asking(people: Iterable[str], today: date) -> "Callable[[Store], tuple[DueAgain, ...]]":
    """Return a query for whose training of these people is due again, or soon will be."""
    known = tuple(people)

    def query(store: "Store") -> tuple[DueAgain, ...]:
        return due_again(training_of(store.entries(SITE)), known, today)

    return query


def show_due(line: CalmLine, found: tuple[DueAgain, ...], today: date) -> None:
    """Say in the line who, or how many, are to be trained again, and by when the first of them.

    It stands beside what waits for review, and has no mark: nothing is wrong with the water.
    """
    past = [one for one in found if one.until < today]
    if past:
        who = past[0].person if len(past) == 1 else str(len(past))
        line.say(tr("{who} to train", who=who))
    elif found:
        first = min(found, key=lambda one: one.until)
        line.say(tr("{who} to train by {day}", who=first.person, day=first.until.isoformat()))
    else:
        line.say("")


def due_words(one: DueAgain, today: date) -> str:
    """Return what is said of a person at the start of a shift."""
    words = (
        tr("{who}: training is due again since {day}.")
        if one.until < today
        else tr("{who}: training holds until {day}.")
    )
    return words.format(who=one.person, day=one.until.isoformat())
