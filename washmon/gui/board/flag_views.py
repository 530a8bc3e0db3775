"""From a flag to its card: title, reasons, the step that answers it, and who has seen it."""

import re
from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from washmon.gui.board.board_words import clock_words
from washmon.gui.board.panel_views import FlagView, KeptViews, ShelvedView
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import MarkState
from washmon.line.flags import Flag, Step
from washmon.line.state import FlagRecord, ShiftState
from washmon.planning.advice import Advice
from washmon.rules import all_rules

_FIRST_CLAUSE = re.compile(r"(?<=\w)[.:;] |\.$")


class _Told(NamedTuple):
    """All that the card of a flag is written from."""

    flag: Flag
    tank: str
    record: FlagRecord | None
    source: str
    answered: Step | None
    note: bool
    person: UserContext
    writable: bool
    can_shelve: bool
    back: datetime | None
    """When it came back from the shelf last."""


class FlagShelf(KeptViews[tuple[int, str], _Told, FlagView]):
    """Keeps the cards that were written, by tank and rule."""

    def __init__(self) -> None:
        super().__init__(_flag_view)


def flag_views(
    shift: ShiftState,
    advice: Advice,
    person: UserContext,
    shelf: FlagShelf,
    now: datetime,
    *,
    writable: bool,
) -> tuple[FlagView, ...]:
    """Return the cards of all flags that stand, the gravest first, then of what is only noted.

    ``writable``: entries can be made, so that flags can be acknowledged.
    """
    notes = tuple(flag for one in advice.tanks for flag in one.notes)
    steps = {(one.tank, rule): one.plan.now for one in advice.tanks for rule in one.plan.answers}
    records = {record.flag.key: record for record in shift.open_flags}
    sources = {rule.id: rule.source for rule in all_rules()}
    back = {one.key: at for one in shift.shelvings if (at := one.over or one.placed.until) <= now}
    return tuple(
        shelf.view(
            flag.key,
            _Told(
                flag,
                shift.tank(flag.tank).spec.name,
                records.get(flag.key),
                sources.get(flag.rule, ""),
                steps.get(flag.key),
                flag in notes,
                person,
                writable,
                shift.setup.margins.shelve_longest_min > 0 and flag.never_shelved is None,
                back.get(flag.key),
            ),
        )
        for flag in (*advice.flags, *notes)
    )


def shelved_views(
    shift: ShiftState, flags: Iterable[Flag], person: UserContext, now: datetime, *, writable: bool
) -> tuple[ShelvedView, ...]:
    """Return what is said of flags that are put aside, in the order given."""
    aside = shift.shelved_at(now)
    return tuple(
        ShelvedView(
            flag.key,
            _title(flag, shift.tank(flag.tank).spec.name, person),
            tr(
                "until {time}, {who}: {reason}",
                time=clock_words(one.placed.until),
                who=one.placed.by,
                reason=one.placed.reason,
            ),
            writable,
        )
        for flag in flags
        if (one := aside.get(flag.key)) is not None
    )


def _title(flag: Flag, tank: str, person: UserContext) -> str:
    what = person.say(flag.title)
    return tr("{number} {tank}: {what}", number=flag.tank, tank=tank, what=what)


def _flag_view(told: _Told) -> FlagView:
    flag, record, person, writable = told.flag, told.record, told.person, told.writable
    why = " ".join(person.say(part) for part in (flag.why, *flag.more))
    seen = record.acknowledged if record is not None else None
    if seen is not None and told.back is not None and seen.at < told.back:
        seen = None  # it was shelved since: it is to be seen anew
    return FlagView(
        flag=flag,
        look=MarkState(flag.level.value),
        title=_title(flag, told.tank, person),
        gist=gist(why),
        why=why,
        source=tr("Source: {source}", source=told.source) if told.source else "",
        since=_since(flag, record),
        answered="" if told.answered is None else person.say(told.answered.say),
        # Only what is journaled as raised can be acknowledged.
        can_acknowledge=writable and record is not None and seen is None and not told.note,
        can_shelve=writable and told.can_shelve and seen is not None,
        note=told.note,
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
