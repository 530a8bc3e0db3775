"""When the time ahead is looked at: when nobody waits, one tank after the other."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from washmon.forecast.background import BackgroundForecasts
from washmon.line.events import Event, ReadingTaken
from washmon.line.fold import step
from washmon.line.journal import Entry
from washmon.line.state import ShiftState
from washmon.planning.advice import Advice, advise
from washmon.recorder.past import learn, not_learned
from washmon.recorder.troubles import Troubles
from washmon.store.store import Store

if TYPE_CHECKING:
    from washmon.forecast.look_ahead import Forecast

FIRST_AHEAD_S = 1.5
"""After the program has begun: first the Board is drawn."""


class Foresight:
    """The forecasts of a shift, and when they are to be made anew; on the recorder's thread."""

    def __init__(
        self, ahead_s: float, store: Store, troubles: Troubles, learned: Callable[[], None]
    ) -> None:
        """Begin without any.

        Args:
            ahead_s: seconds without an entry after which they are made; with 0, they are made
                before the entry is answered.
            store: what past shifts are read from.
            troubles: where it is told that one could not be made.
            learned: called on another thread, once past shifts have told something.
        """
        self._ahead_s, self._store, self._troubles = ahead_s, store, troubles
        self.known = BackgroundForecasts(learned)
        self.next_s: float | None = None
        """In how many quiet seconds to look; None where there is nothing to look at."""
        self.newest: dict[int, Forecast] = {}

    def soon(self, shift: ShiftState | None) -> None:
        """Let forecasts be made when nobody waits for anything."""
        after_s = 0.0
        if shift is not None and not self.known.knows(shift):
            after_s = FIRST_AHEAD_S  # a long shift that is taken up takes its time
        self.next_s = self._ahead_s and max(self._ahead_s, after_s)

    def fresh(self, shift: ShiftState, event: Event, now: datetime) -> "Forecast | None":
        """Return what is known ahead of the tank of a reading, unless it is to be made anew."""
        tank = event.tank if isinstance(event, ReadingTaken) else None
        return None if tank is None else self.known.fresh(shift, tank, now)

    def hurry(self) -> None:
        """Look now, as what was entered is drawn; not before what past shifts taught is known."""
        if self.next_s is not None and self.next_s <= self._ahead_s:
            self.next_s = 0.0

    def look(self, shift: ShiftState | None, now: Callable[[], datetime]) -> bool:
        """Renew one tank's forecast; tell whether all are new, and are to be judged with."""
        self.next_s = None
        if shift is None or shift.ended is not None:
            return False
        with self._troubles.told("looking ahead"):
            if not self.known.knows(shift):
                learn(self.known, shift, self._store, self._troubles, now())
            if self.known.renew_one(shift, now()):
                self.next_s = 0.0
                return False
        is_news = self.known.news or "looking ahead" in self._troubles
        self.known.news = False
        return is_news

    def keep_learned(
        self, shift: ShiftState | None, now: datetime, append: Callable[[str, Event], Entry]
    ) -> ShiftState | None:
        """Journal what past shifts taught one that runs, so that its replay begins with it, too.

        Return the shift after that.
        """
        if (fault := self.known.pop_fault()) is not None:
            self._troubles.remark(now, not_learned(fault))
        if shift is None or shift.ended is not None or shift.learned or self._store.read_only:
            return shift
        found = self.known.pop_found(shift.chain, now)
        return shift if found is None else step(shift, append(shift.chain, found))

    def stale(self, shift: ShiftState, now: datetime, *, plans: bool) -> tuple[int, ...]:
        """Take what is known now, and return the tanks whose own forecast is still due.

        Without ``plans`` nothing is taken, as those follow when nobody waits. A fault in the
        forecasts stops no rule.
        """
        if not plans and self._ahead_s:
            self.known.news = True
            return tuple(tank.number for tank in shift.tanks)
        self.newest = {}
        with self._troubles.told("foreseeing"):
            self.newest, stale = self.known.forecasts(shift, now), self.known.stale(shift, now)
            return stale
        return ()

    def first_flag(self, shift: ShiftState | None, moments: Sequence[datetime]) -> datetime | None:
        """Return the first of some moments at which a new flag is up, or a plan asks for a hand."""
        if shift is None:
            return None
        known: frozenset[tuple[int, str]] | None = None
        for moment, forecasts in self.known.foreseen(shift, moments):
            up = _calling(advise(shift, moment, forecasts=forecasts))
            if known is None:
                known = up
            if up - known:
                return moment
        return None


def _calling(advice: Advice) -> frozenset[tuple[int, str]]:
    """Return what calls for somebody: flags, and plans that ask for a hand."""
    plans = frozenset((one.tank, str(one.plan.now.kind)) for one in advice.tanks if one.plan.hand)
    return plans | frozenset(flag.key for flag in advice.flags)
