"""A replay without a window: each entry with the flags after it, as JSON lines or plain text."""

from collections.abc import Callable, Iterator
from typing import Any

import msgspec

from washmon.line.flags import Condition, Flag
from washmon.line.message import Message, say
from washmon.planning.snapshot import Snapshot
from washmon.sessions.file import Session
from washmon.sessions.player import Judged, Player
from washmon.sessions.telling import happened, tell

CALM = (Condition.IN_LIMITS, Condition.UNKNOWN)


def lines(session: Session, *, as_json: bool, judged: Judged = Judged.THEN) -> Iterator[str]:
    """Yield one line of JSON, or a few of text, for each entry and each change that time brought.

    A line has ``seq`` (none where only time passed), ``at``, ``by``, ``event``, ``summary``, and
    what holds after it: ``flags`` (tank, rule, level, title, step), most urgent first, ``shelved``
    (tank, rule, level, title, until, by, reason), and ``steps``, the next step of each tank: as
    told then, or as judged today.
    """
    player = Player(session, judged=judged)
    going = True
    while going:
        shown = _shown(player)
        if as_json:
            yield msgspec.json.encode(shown).decode()
        else:
            yield from _as_text(shown)
        going = player.step()


def _shown(player: Player) -> dict[str, Any]:
    snapshot, news, setup = player.snapshot, player.news, player.session.setup
    event = happened(news)

    def said(message: Message) -> str:
        return say(message, setup.taste)

    return {
        "seq": None if news.entry is None else news.entry.seq,
        "at": event.at,
        "by": event.by,
        "event": event.__struct_config__.tag,
        "summary": tell(event, setup).said(said),
        "flags": [
            {
                "tank": flag.tank,
                "rule": flag.rule,
                "level": flag.level,
                "title": said(flag.title),
                "step": _answer(snapshot, flag, said),
            }
            for flag in snapshot.advice.flags
        ],
        "shelved": _shelved(snapshot, said),
        "steps": [
            {"tank": one.tank, "condition": one.condition, "step": said(one.step.say)}
            for one in snapshot.advice.tanks
        ],
    }


def _answer(snapshot: Snapshot, flag: Flag, said: Callable[[Message], str]) -> str:
    """Return what is done about a flag, or nothing where its tank's plan answers another."""
    plan = snapshot.advice.tank(flag.tank).plan
    if flag.step is not None:  # told in a time when each flag had one
        return said(flag.step.say)
    return said(plan.now.say) if flag.rule in plan.answers else ""


def _shelved(snapshot: Snapshot, said: Callable[[Message], str]) -> list[dict[str, Any]]:
    aside = snapshot.shift.shelved_at(snapshot.now) if snapshot.shift is not None else {}
    return [
        {
            "tank": flag.tank,
            "rule": flag.rule,
            "level": flag.level,
            "title": said(flag.title),
            "until": placed.until,
            "by": placed.by,
            "reason": placed.reason,
        }
        for flag in snapshot.advice.shelved
        for placed in [aside[flag.key].placed]
    ]


def _as_text(shown: dict[str, Any]) -> Iterator[str]:
    place = "" if shown["seq"] is None else f"#{shown['seq']}"
    yield f"{shown['at']:%H:%M:%S} {place:>5} {shown['by']:<5} {shown['summary']}"
    for flag in shown["flags"]:
        step = f" {flag['step']}." if flag["step"] else ""
        yield f"{'':15}{flag['level']:>6}: tank {flag['tank']}, {flag['title']}.{step}"
    for flag in shown["shelved"]:
        until, by, reason = f"{flag['until']:%H:%M}", flag["by"], flag["reason"]
        yield (
            f"{'':15}shelved: tank {flag['tank']}, {flag['title']}, until {until} ({by}: {reason})."
        )
    for one in shown["steps"]:
        if one["condition"] in CALM:
            yield f"{'':15}{one['condition']:>6}: tank {one['tank']}. {one['step']}."
