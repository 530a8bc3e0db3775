"""The player: a recorded shift, looked at again at any moment through the same fold.

As told then, flags and plans are those of the journal. As judged today, they are left out and the
rules and the planner are asked anew. Either way there is one look after each entry, one at each
moment at which a change was journaled, and one every 30 s of shift time in between, so that what
is overdue comes up by itself. What lies ahead is worked out as it is live: from what the journal
says was learned of the shifts before. Older journals do not say it: there from what those shifts
tell, where the Logbook has them, else from what is usual of the produce. All of it is one fixed
programme of looks, and the state after a look depends on nothing but its place in it: jumping gives
what playing there gives.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple

from msgspec.structs import replace

from washmon.forecast.forecast_cache import CachedForecast, ForecastCache, as_of
from washmon.forecast.learning import Past, kept_in, learned_from
from washmon.forecast.look_ahead import Forecast
from washmon.forecast.prior import Prior
from washmon.line.clock_changes import moved, within
from washmon.line.events import ClockChanged, Event, ShiftEnded
from washmon.line.flag_events import FlagsChanged
from washmon.line.flags import Flag
from washmon.line.fold import begin, step
from washmon.line.journal import Entry
from washmon.line.learned import OfProgram, UsualLearned
from washmon.line.plan import Plan
from washmon.line.state import ShiftState
from washmon.planning.advice import Advice, advise, changed_flags
from washmon.planning.snapshot import Mode, Snapshot
from washmon.planning.told import as_told
from washmon.sessions.file import Session

TICK_S = 30.0
CHECKPOINT_EVERY = 16
LONGEST_WATCH_S = 12 * 3600.0
"""So long without an entry the clock is watched; then the replay skips to the next entry."""
SKIP_S = 60.0
"""What a skipped stretch still takes of the replay's time."""
SETTLES_S = 5.0
"""So soon after an entry what was told counts as told of it: live, a forecast takes its moment."""


class Judged(StrEnum):
    """Whose word a replay shows."""

    THEN = "then"
    """As told then: flags and plans of the journal."""
    TODAY = "today"
    """As judged today: by the rules and the planner of this program."""


class ReplayLook(NamedTuple):
    """One look: when, how far into the replay (s), the entry that caused it, what was told then."""

    at: datetime
    offset_s: float
    entry: Entry | None = None
    told: tuple[Entry, ...] = ()


class Played(NamedTuple):
    """An entry that somebody made, and where it lies in the replay (s)."""

    offset_s: float
    at: datetime
    entry: Entry

    @property
    def event(self) -> Event:
        """What happened."""
        return self.entry.event


class ReplayChange(NamedTuple):
    """Flags that came up or went, plans that changed, and where it lies in the replay (s)."""

    offset_s: float
    at: datetime
    raised: tuple[Flag, ...]
    cleared: tuple[tuple[int, str], ...]
    entry: Entry | None
    """The entry that was looked at, or nothing where only time had passed."""
    plans: tuple[Plan, ...] = ()


class News(NamedTuple):
    """What happened at one look of the rules."""

    at: datetime
    entry: Entry | None
    change: ReplayChange | None


class _Point(NamedTuple):
    """What is known after a look."""

    shift: ShiftState
    advice: Advice
    changes: tuple[FlagsChanged, ...] = ()
    forecasts: Mapping[int, Forecast] = MappingProxyType({})


class Player:
    """Plays one session. Not thread-safe; snapshots are immutable and may go anywhere.

    ``position`` and ``length`` are seconds of replay: those of the shift, except that a stretch in
    which nobody watched the tanks (after the end, or half a day without an entry) is skipped.
    """

    def __init__(self, session: Session, past: Past = (), judged: Judged = Judged.THEN) -> None:
        """``past`` are the shifts before, where the Logbook has them.

        A session in which nothing was ever told, as of a shift that was written down elsewhere, is
        judged today.
        """
        self._session = session
        self.was_told = any(isinstance(entry.event, FlagsChanged) for entry in session.entries)
        """Whether the journal holds what was told then."""
        self.judged = judged if self.was_told else Judged.TODAY
        """Whose word it shows."""
        self.untaught: Exception | None = None
        """Why past shifts told nothing, if they did not."""
        self._looks = _settled(programme(session.entries))
        self._offsets = [look.offset_s for look in self._looks]
        self._checkpoints: dict[int, _Point] = {}
        self._made: list[tuple[int, Mapping[int, CachedForecast]]] = []
        self.events = tuple(
            Played(look.offset_s, look.at, look.entry) for look in self._looks if look.entry
        )
        self._at_events = [place for place, look in enumerate(self._looks) if look.entry]
        self._changes = dict(self._play_through(past))
        self.changes = tuple(self._changes.values())
        """All flags that come up and go, in order."""
        self._at_flags = [place for place, change in self._changes.items() if change.raised]
        self._at_news = sorted({*self._at_events, *self._changes})
        self._place = 0
        self._position = 0.0
        self._point = self._checkpoints[0]

    # -- where it is ----------------------------------------------------------------------------

    @property
    def session(self) -> Session:
        """What is played."""
        return self._session

    @property
    def length(self) -> float:
        """How long the replay is, seconds."""
        return self._offsets[-1]

    @property
    def position(self) -> float:
        """How far the replay has come, seconds."""
        return self._position

    @property
    def at_end(self) -> bool:
        """Whether everything has been played."""
        return self._place == len(self._looks) - 1

    @property
    def time(self) -> datetime:
        """The moment of the shift that is shown."""
        look = self._looks[self._place]
        return look.at + timedelta(seconds=self._position - look.offset_s)

    @property
    def entry(self) -> Entry:
        """The newest entry that has been played."""
        return self.events[bisect_right(self._at_events, self._place) - 1].entry

    @property
    def news(self) -> News:
        """What happened last: an entry, a change of flags that time brought, or both."""
        place = self._at_news[bisect_right(self._at_news, self._place) - 1]
        look = self._looks[place]
        return News(look.at, look.entry, self._changes.get(place))

    @property
    def snapshot(self) -> Snapshot:
        """What the Board shows at this moment."""
        shift = self._point.shift
        return Snapshot(
            now=self.time,
            mode=Mode.REPLAY,
            setup=shift.setup,
            shift=shift,
            advice=self._point.advice,
            forecasts=dict(self._point.forecasts),
        )

    # -- going elsewhere ------------------------------------------------------------------------

    def advance(self, seconds: float) -> None:
        """Let so much of the replay pass; it stops at the end."""
        self.seek_position(self._position + max(0.0, seconds))

    def seek_position(self, position_s: float) -> None:
        """Go to a place of the replay, in seconds; what lies outside is moved to its edge."""
        position = min(max(0.0, position_s), self.length)
        self._go(bisect_right(self._offsets, position) - 1, position)

    def seek(self, where: datetime | float) -> None:
        """Go to a moment of the shift, or to a fraction (0 to 1) of the replay."""
        if isinstance(where, datetime):
            self.seek_position(self.position_of(where))
        else:
            self.seek_position(where * self.length)

    def step(self) -> bool:
        """Go to the next entry or change of flags, whichever comes first; False at the last."""
        return self._hop(self._at_news, bisect_right(self._at_news, self._place))

    def step_event(self) -> bool:
        """Go to right after the next entry; False at the last one."""
        return self._hop(self._at_events, bisect_right(self._at_events, self._place))

    def back_event(self) -> bool:
        """Go back to right after an entry: the newest, or the one before where it stands there."""
        return self._hop(self._at_events, self._before(self._at_events))

    def next_flag(self) -> bool:
        """Go to where the next flag comes up; False if none does."""
        return self._hop(self._at_flags, bisect_right(self._at_flags, self._place))

    def previous_flag(self) -> bool:
        """Go back to where a flag came up; False if none did."""
        return self._hop(self._at_flags, self._before(self._at_flags))

    def _before(self, places: list[int]) -> int:
        within = self._position > self._offsets[self._place]
        return (bisect_right if within else bisect_left)(places, self._place) - 1

    def _hop(self, places: list[int], number: int) -> bool:
        if not 0 <= number < len(places):
            return False
        self._go(places[number], self._offsets[places[number]])
        return True

    def _go(self, place: int, position: float) -> None:
        if place != self._place:
            self._point = self._at(place)
        self._place, self._position = place, position

    def position_of(self, at: datetime) -> float:
        """Return where in the replay (s) a moment of the shift lies."""
        place = bisect_right(self._looks, at, key=lambda look: look.at) - 1
        if place < 0:
            return 0.0
        ahead = (at - self._looks[place].at).total_seconds()
        until = self._offsets[place + 1] if place + 1 < len(self._offsets) else self.length
        return min(self._offsets[place] + ahead, max(self._offsets[place], until - 1e-6))

    # -- looking --------------------------------------------------------------------------------

    def _priors(self, past: Past) -> dict[int, Prior]:
        """Return what it begins with: what its own journal keeps, else what past shifts tell."""
        entries = self._session.entries
        kept = (entry for entry in entries if isinstance(entry.event, UsualLearned))
        if (first := next(kept, None)) is not None:
            return kept_in(step(begin(self._session.header.chain, entries[0]), first))
        try:
            return learned_from(past)
        except Exception as fault:  # noqa: BLE001 - it is told, and a replay goes on without
            self.untaught = fault
            return {}

    def _play_through(self, past: Past) -> Iterator[tuple[int, ReplayChange]]:
        """Look once at everything: keep checkpoints, and yield all changes of flags."""
        point: _Point | None = None
        maintenance = ForecastCache(self._priors(past))
        for place, look in enumerate(self._looks):
            shift = self._entered(look, point)
            before = maintenance.made
            if shift.ended is None:
                maintenance.renewed(shift, look.at)
            if maintenance.made is not before:
                self._made.append((place, maintenance.made))
            point = self._judged(place, shift)
            if place % CHECKPOINT_EVERY == 0:
                self._checkpoints[place] = point
            if point.changes:
                yield place, _change(look, point.changes)

    def _at(self, place: int) -> _Point:
        """Return what is known after a look, from here or from the nearest checkpoint before."""
        start = place - place % CHECKPOINT_EVERY
        point = self._checkpoints[start]
        if start < self._place <= place:
            start, point = self._place, self._point
        for between in range(start + 1, place + 1):
            point = self._judged(between, self._entered(self._looks[between], point))
        return point

    def _entered(self, look: ReplayLook, before: _Point | None) -> ShiftState:
        """Return the shift with the entry of a look, if it has one."""
        if before is None:
            assert look.entry is not None  # noqa: S101 - the programme begins with an entry
            return begin(self._session.header.chain, look.entry)
        return before.shift if look.entry is None else step(before.shift, look.entry)

    def _judged(self, place: int, shift: ShiftState) -> _Point:
        """Return what is known after a look: what lies ahead, what is said and changed."""
        look = self._looks[place]
        known = bisect_right(self._made, place, key=lambda made: made[0]) - 1
        forecasts = as_of(self._made[known][1], shift, look.at) if known >= 0 else {}
        if self.judged is Judged.THEN:
            return _told(look, shift, forecasts)
        for entry in look.told:
            if not isinstance(entry.event, FlagsChanged):
                shift = step(shift, entry)
        advice = advise(shift, look.at, forecasts=forecasts)
        change = changed_flags(shift, advice, look.at)
        if change is None:
            return _Point(shift, advice, (), forecasts)
        # Its place is none of the journal's, so that no entry can mean it.
        change = replace(change, upto=max(entry.seq for entry in shift.entries))
        after = step(shift, Entry(-1 - place, look.at, change, ""))
        return _Point(after, advice, (change,), forecasts)


def _told(look: ReplayLook, shift: ShiftState, forecasts: Mapping[int, Forecast]) -> _Point:
    """Return what is known after a look by what the journal says was told."""
    for entry in look.told:
        shift = step(shift, entry)
    events = (entry.event for entry in look.told)
    changes = tuple(event for event in events if isinstance(event, FlagsChanged))
    return _Point(shift, as_told(shift, look.at), changes, forecasts)


def _change(look: ReplayLook, changes: tuple[FlagsChanged, ...]) -> ReplayChange:
    return ReplayChange(
        look.offset_s,
        look.at,
        tuple(flag for change in changes for flag in change.raised),
        tuple(key for change in changes for key in change.cleared),
        look.entry,
        tuple(plan for change in changes for plan in change.plans),
    )


def programme(entries: tuple[Entry, ...]) -> Iterator[ReplayLook]:
    """Yield the looks in order: entries in the order of the journal, ticks where time passes."""
    start = now = entries[0].recorded_at
    offset = 0.0
    watched = True
    for entry in entries:
        set_by_s = within(entry.event.by_s) if isinstance(entry.event, ClockChanged) else 0
        # A clock that was set back while nobody watched it lets no time pass.
        at = max(now, moved(entry.recorded_at, -set_by_s))
        gap_s = (at - now).total_seconds()
        if watched:
            for tick in _ticks(start, now, min(gap_s, LONGEST_WATCH_S)):
                yield ReplayLook(tick, offset + (tick - now).total_seconds())
        skipped = gap_s > (LONGEST_WATCH_S if watched else SKIP_S)
        offset += (LONGEST_WATCH_S * watched + SKIP_S) if skipped else gap_s
        start, now = moved(start, set_by_s), moved(at, set_by_s)
        if isinstance(entry.event, OfProgram):
            yield ReplayLook(now, offset, None, (entry,))
        else:
            yield ReplayLook(now, offset, entry)
        watched = watched and not isinstance(entry.event, ShiftEnded)


def _settled(looks: Iterator[ReplayLook]) -> list[ReplayLook]:
    """Return the looks with what was told right after an entry told at its look."""
    settled: list[ReplayLook] = []
    place: int | None = None
    for look in looks:
        settled.append(look)
        if look.entry is not None:
            place = len(settled) - 1
        elif place is not None and look.offset_s - settled[place].offset_s <= SETTLES_S:
            settled[place] = settled[place]._replace(told=settled[place].told + look.told)
            settled[-1] = look._replace(told=())
    return settled


def _ticks(start: datetime, after: datetime, span_s: float) -> Iterator[datetime]:
    """Yield the ticks that lie inside a span of time, counted from the start of the shift."""
    number = int((after - start).total_seconds() // TICK_S) + 1
    until = after + timedelta(seconds=span_s)
    while (tick := start + timedelta(seconds=number * TICK_S)) < until:
        yield tick
        number += 1
