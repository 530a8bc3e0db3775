"""What the timeline of a replay shows, worked out once when a session is opened."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from washmon.gui.kit.state_mark import MarkState
from washmon.line.events import AcidAdded, DoseAdded, Event
from washmon.line.flags import Flag, Level
from washmon.sessions.player import Judged, Player
from washmon.units import UnitSystem

MOST_HOURS_SHOWN = 9
_LOOKS = {Level.WATCH: MarkState.WATCH, Level.ACT: MarkState.ACT, Level.STOP: MarkState.STOP}


@dataclass(frozen=True, slots=True)
class Mark:
    """Flags that came up at one place of the replay (s): the worst of them gives the shape."""

    offset_s: float
    at: datetime
    look: MarkState
    flags: tuple[Flag, ...]


@dataclass(frozen=True, slots=True)
class Timeline:
    """A whole replay at a glance; places are seconds of replay."""

    title: str
    note: str
    taste: UnitSystem
    complete: bool
    length_s: float
    marks: tuple[Mark, ...]
    doses: tuple[float, ...]
    acids: tuple[float, ...]
    judged: Judged
    """Whose word it shows: the flags of then, or those of today."""
    was_told: bool
    """Whether anything was told then; else there is only the word of today."""
    hours: tuple[tuple[float, str], ...]
    """Where full hours lie (or half ones, of a short shift), and how they are written."""


def timeline_of(player: Player) -> Timeline:
    """Return the timeline of a session that is in the player."""
    session = player.session
    return Timeline(
        title=session.header.title,
        note=session.header.teaching_note,
        taste=session.setup.taste,
        complete=session.complete,
        length_s=player.length,
        marks=tuple(
            Mark(change.offset_s, change.at, _worst(change.raised), change.raised)
            for change in player.changes
            if change.raised
        ),
        doses=_places(player, DoseAdded),
        acids=_places(player, AcidAdded),
        judged=player.judged,
        was_told=player.was_told,
        hours=_hours(player),
    )


def _places(player: Player, kind: type[Event]) -> tuple[float, ...]:
    return tuple(played.offset_s for played in player.events if isinstance(played.event, kind))


def _worst(flags: tuple[Flag, ...]) -> MarkState:
    return _LOOKS[max((flag.level for flag in flags), key=lambda level: level.rank)]


def _hours(player: Player) -> tuple[tuple[float, str], ...]:
    """Return a label every half hour, hour, two hours and so on, whichever fits."""
    begin = player.events[0].at
    every = timedelta(minutes=30)
    while player.length > MOST_HOURS_SHOWN * every.total_seconds():
        every *= 2
    midnight = begin.replace(hour=0, minute=0, second=0, microsecond=0)
    at = midnight + -((midnight - begin) // every) * every
    found = []
    # What lies after a skipped stretch has no place on an even scale.
    while (at - begin).total_seconds() < player.length:
        found.append((player.position_of(at), f"{at:%H:%M}"))
        at += every
    return tuple(found)
