"""The program as the shed has it: its journal, its fold, its forecast and its advice, no window."""

from datetime import datetime, timedelta, timezone
from time import perf_counter

from tests.obedience.sheds import DAY, WHO
from tests.obedience.twins import Twins
from washmon.forecast.forecast_cache import ForecastCache
from washmon.line.check import Verdict, check
from washmon.line.events import Event, ShiftStarted
from washmon.line.flag_events import FlagsChanged
from washmon.line.fold import begin, step
from washmon.line.journal import Entry, extend
from washmon.line.setup import LineSetup, Lot
from washmon.line.state import ShiftState
from washmon.planning.advice import Advice, advise, changed_flags
from washmon.rules.holding import estimated

START = datetime(DAY.year, DAY.month, DAY.day, 7, 0, tzinfo=timezone(timedelta(hours=-4)))
CHAIN = "obedient"


class Refused(Exception):  # noqa: N818 - says what it is
    """The program would not take an entry."""


class Program:
    """One shift of the program, asked at moments that are minutes since the shift began."""

    def __init__(self, setup: LineSetup, twins: Twins | None = None) -> None:
        started = ShiftStarted(
            at=START, by=WHO, setup=setup, lots=(Lot(code="L-1", produce=setup.commodity),)
        )
        ((self._last, _),) = extend(CHAIN, None, [started], START)
        self.state: ShiftState = begin(CHAIN, self._last)
        self.advice = Advice()
        self.raised: list[tuple[float, int, str]] = []
        """Flags as they came up: minute, tank, rule."""
        self.doubts: dict[str, int] = {}
        self.looks = 0
        self.advise_ms: list[float] = []
        self.forecast_ms = 0.0
        self._maintenance, self._twins = ForecastCache(), twins

    @staticmethod
    def at(minutes: float) -> datetime:
        """Return the clock of the shed; entries are timed in whole seconds."""
        return START + timedelta(seconds=round(60.0 * minutes))

    def enter(self, event: Event, minutes: float) -> None:
        """Take an entry, as the window does; doubts are counted, and answered with yes.

        Raises:
            Refused: the entry can't be true.
        """
        now = self.at(minutes)
        verdict = self.asked(event, minutes)
        if verdict.faults:
            raise Refused(verdict.faults[0].message.text)
        for doubt in verdict.doubts:
            self.doubts[doubt.text] = self.doubts.get(doubt.text, 0) + 1
        self._write(
            estimated(self.state, event, self._maintenance.forecasts(self.state, now), now), now
        )

    def asked(self, event: Event, minutes: float) -> Verdict:
        """Return what the window asks or says before it takes an entry."""
        return check(self.state, event, self.at(minutes))

    def look(self, minutes: float) -> Advice:
        """Look ahead, ask what is advised, and journal what was raised or cleared."""
        now = self.at(minutes)
        begun = perf_counter()
        forecasts = self._maintenance.renewed(self.state, now)
        ahead = perf_counter()
        self.advice = advise(self.state, now, forecasts=forecasts)
        done = perf_counter()
        self.looks += 1
        self.forecast_ms += 1000.0 * (ahead - begun)
        self.advise_ms.append(1000.0 * (done - ahead))
        changed = changed_flags(self.state, self.advice, now)
        if changed is not None:
            self._count(changed, minutes)
            self._write(changed, now)
        if self._twins is not None:
            self._twins.look(self.state, now, minutes, self.advice, forecasts)
        return self.advice

    def _count(self, changed: FlagsChanged, minutes: float) -> None:
        """Count what is annunciated: flags that came up, or came to press more."""
        before = {record.flag.key: record.flag.level.rank for record in self.state.open_flags}
        for flag in changed.raised:
            if flag.level.rank > before.get(flag.key, -1):
                self.raised.append((minutes, flag.tank, flag.rule))
                if self._twins is not None:
                    self._twins.raised(minutes, flag.tank, flag.rule)

    def _write(self, event: Event, now: datetime) -> Entry:
        ((entry, _),) = extend(CHAIN, self._last, [event], now)
        self._last = entry
        self.state = step(self.state, entry)
        return entry
