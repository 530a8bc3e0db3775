"""Forecasts for whoever must not wait: imported late, learned aside, renewed one tank at a time."""

import threading
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from typing import TYPE_CHECKING

from washmon.line.event_base import RULES
from washmon.line.learned import LearnedTank, UsualLearned
from washmon.line.state import ShiftState

if TYPE_CHECKING:  # start-up is measured: numpy and the filter come with the first forecast
    from washmon.forecast.forecast_cache import ForecastCache
    from washmon.forecast.learning import Past
    from washmon.forecast.look_ahead import Forecast


class BackgroundForecasts:
    """The forecasts of the shift that runs; ``learned`` is called on a thread of its own."""

    def __init__(self, learned: Callable[[], None]) -> None:
        self._learned = learned
        self._chain = ""
        self._maintenance: ForecastCache | None = None
        self.news = False
        """Whether a forecast was renewed that nobody has been told of."""
        self._fault: Exception | None = None
        self._found: tuple[tuple[LearnedTank, ...], tuple[str, ...]] = ((), ())

    def knows(self, shift: ShiftState) -> bool:
        """Tell whether what is usual on this line was asked for already."""
        return self._chain == shift.chain

    def forecasts(self, shift: ShiftState, now: datetime) -> "dict[int, Forecast]":
        """Return what is known ahead of each tank, brought forward; takes no time to speak of."""
        if self._maintenance is None or not self.knows(shift):
            return {}
        return self._maintenance.forecasts(shift, now)

    def foreseen(
        self, shift: ShiftState, moments: Iterable[datetime]
    ) -> "Iterator[tuple[datetime, dict[int, Forecast]]]":
        """Yield later moments with what will be known ahead then, if nothing is entered."""
        maintenance = (
            self._maintenance.twin()
            if self._maintenance is not None and self.knows(shift)
            else None
        )
        for moment in moments:
            yield moment, maintenance.renewed(shift, moment) if maintenance else {}

    def stale(self, shift: ShiftState, now: datetime) -> tuple[int, ...]:
        """Return the tanks whose forecast is still to be made anew."""
        if self._maintenance is None or not self.knows(shift):
            return tuple(tank.number for tank in shift.tanks)
        return self._maintenance.due(shift, now)

    def fresh(self, shift: ShiftState, tank: int, now: datetime) -> "Forecast | None":
        """Return what is known ahead of a tank, unless its forecast is to be made anew."""
        if self._maintenance is None or tank in self.stale(shift, now):
            return None
        return self._maintenance.forecasts(shift, now, only=tank).get(tank)

    def learn(self, shift: ShiftState, past: "Past") -> None:
        """Take up a shift, with what past ones say of its produce; that takes its time, aside.

        Where its journal keeps what they said, that stands.
        """
        self._chain, self._maintenance = shift.chain, None
        if shift.learned or not past:
            self._take_up(shift.chain, ())
            return
        threading.Thread(
            target=self._learn, args=(shift.chain, past), name="learning", daemon=True
        ).start()

    def forget(self) -> None:
        """Let go of what was worked out, as where all times of the shift have moved."""
        self._chain, self._maintenance = "", None

    def pop_fault(self) -> Exception | None:
        """Return, once, why past shifts told nothing: then the shift goes on with what is usual."""
        fault, self._fault = self._fault, None
        return fault

    def pop_found(self, chain: str, now: datetime) -> UsualLearned | None:
        """Return, once, what past shifts taught one, for its journal; nothing where nothing."""
        (taught, shifts), self._found = self._found, ((), ())
        if not taught or chain != self._chain:
            return None
        return UsualLearned(at=now, by=RULES, taught=taught, shifts=shifts)

    def renew_one(self, shift: ShiftState, now: datetime) -> bool:
        """Renew one forecast that is due; False where none is, or where learning goes on."""
        due = self._maintenance.due(shift, now) if self._maintenance else ()
        if self._maintenance is None or not due:
            return False
        self._maintenance.renew(shift, now, due[0])
        self.news = True
        return True

    def _learn(self, chain: str, past: "Past") -> None:
        try:
            self._take_up(chain, past)
        except Exception as fault:  # noqa: BLE001 - it is told, and takes nothing down
            self._fault = fault
            self._take_up(chain, ())
        self._learned()

    def _take_up(self, chain: str, past: "Past") -> None:
        from washmon.forecast.forecast_cache import ForecastCache  # noqa: PLC0415 - start-up is measured
        from washmon.forecast.learning import kept_of, learned_from  # noqa: PLC0415 - the same

        priors = learned_from(past)
        maintenance = ForecastCache(priors)
        if chain == self._chain:
            self._maintenance = maintenance
            self._found = kept_of(priors), tuple(one for one, _ in past)
