"""What is written onto an entry before it is saved: doubts, chances of a hold, days of a review."""

from datetime import datetime
from typing import TYPE_CHECKING

from msgspec.structs import replace

from washmon.forecast.background import BackgroundForecasts
from washmon.line.check import Verdict
from washmon.line.events import Corrected, Event, ShiftReviewed
from washmon.line.message import say
from washmon.line.signing import days_waited
from washmon.line.state import ShiftState
from washmon.recorder.starting import newest_setup
from washmon.recorder.troubles import Troubles
from washmon.rules.holding import estimated, unestimated
from washmon.store.store import Store
from washmon.units import UnitSystem

if TYPE_CHECKING:  # start-up is measured, and it is only handed on
    from washmon.forecast.look_ahead import Forecast


def with_doubts(event: Event, verdict: Verdict) -> Event:
    """Record the doubts that were waved through with the entry, and with what corrects it."""
    said = tuple(say(doubt, UnitSystem.METRIC) for doubt in verdict.doubts)
    if not said:
        return event
    instead = event.instead if isinstance(event, Corrected) else None
    if isinstance(event, Corrected) and instead is not None and hasattr(instead, "doubts"):
        return replace(event, instead=replace(instead, doubts=said))
    return replace(event, doubts=said) if hasattr(event, "doubts") else event


def with_days(event: Event, shift: ShiftState, store: Store, now: datetime) -> Event:
    """Let a review say how many working days it took, by the calendar that its line has now.

    Only this writes it: what an entry itself claims is not believed.

    Raises:
        StoreUnavailable: the set-ups can't be read.
    """
    if not isinstance(event, ShiftReviewed):
        return event
    setup = newest_setup(store, shift.setup.line) or shift.setup
    return replace(event, days=days_waited(shift, now, setup.calendar))


def with_chances(
    event: Event, shift: ShiftState, ahead: BackgroundForecasts, now: datetime, troubles: Troubles
) -> Event:
    """Let a hold say how likely its batches met too little, by the newest forecast there is.

    Whatever goes wrong with that is a trouble, and the hold is placed without.
    """
    bare = unestimated(event)
    if bare is event:
        return event
    forecasts: dict[int, Forecast] = {}
    with troubles.told("looking ahead"):
        while ahead.knows(shift) and ahead.renew_one(shift, now):
            pass
        forecasts = ahead.forecasts(shift, now)
    with troubles.told("estimating a hold"):
        return estimated(shift, bare, forecasts, now)
    return bare
