"""From a flag to its card: title, step, reasons, cautions, and what can be answered."""

import re
from collections.abc import Iterable
from typing import NamedTuple

from washmon.gui.board import cautions
from washmon.gui.board.kept import Kept
from washmon.gui.board.views import FlagView
from washmon.gui.board.words import answer_word, clock_words
from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import Look
from washmon.line.flags import Flag
from washmon.line.state import FlagRecord, ShiftState
from washmon.rules import all_rules

_FIRST_CLAUSE = re.compile(r"(?<=\w)[.:;] |\.$")


class _Told(NamedTuple):
    """All that the card of a flag is written from."""

    flag: Flag
    tank: str
    record: FlagRecord | None
    source: str
    person: Person
    writable: bool


class FlagShelf(Kept[tuple[int, str], _Told, FlagView]):
    """Keeps the cards that were written, by tank and rule."""

    def __init__(self) -> None:
        super().__init__(_flag_view)


def flag_views(
    shift: ShiftState, flags: Iterable[Flag], person: Person, shelf: FlagShelf, *, writable: bool
) -> tuple[FlagView, ...]:
    """Return the cards of flags, in the order given.

    ``writable``: entries can be made, so that flags can be answered and acknowledged.
    """
    records = {record.flag.key: record for record in shift.open_flags}
    sources = {rule.id: rule.source for rule in all_rules()}
    return tuple(
        shelf.view(
            flag.key,
            _Told(
                flag,
                shift.tank(flag.tank).spec.name,
                records.get(flag.key),
                sources.get(flag.rule, ""),
                person,
                writable,
            ),
        )
        for flag in flags
    )


def _flag_view(told: _Told) -> FlagView:
    flag, tank, record, source, person, writable = told
    why = " ".join(person.say(part) for part in (flag.why, *flag.more))
    seen = record.acknowledged if record is not None else None
    return FlagView(
        flag=flag,
        look=Look(flag.level.value),
        title=tr(
            "{number} {tank}: {what}", number=flag.tank, tank=tank, what=person.say(flag.title)
        ),
        step=person.say(flag.step.say),
        gist=gist(why),
        why=why,
        source=tr("Source: {source}", source=source) if source else "",
        since=_since(flag, record),
        caution=cautions.short(flag.step.cautions),
        cautions=cautions.full(flag.step.cautions),
        answer=answer_word(flag.step.kind) if writable else "",
        # Only what is journaled as raised can be acknowledged.
        can_acknowledge=writable and record is not None and seen is None,
        seen=""
        if seen is None
        else tr("seen by {who} {time}", who=seen.by, time=clock_words(seen.at)),
    )


def _since(flag: Flag, record: FlagRecord | None) -> str:
    since = clock_words(flag.since)
    if record is None:
        return tr("Since {since}.", since=since)
    return tr("Since {since}; raised {raised}.", since=since, raised=clock_words(record.raised_at))


def gist(why: str) -> str:
    """Return the first clause of an explanation, as a sentence."""
    return _FIRST_CLAUSE.split(why, maxsplit=1)[0].rstrip(".") + "."
