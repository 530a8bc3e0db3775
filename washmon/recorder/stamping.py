"""What is written onto an entry before it is saved: doubts waved through, chances of a hold."""

from datetime import datetime
from typing import TYPE_CHECKING

from msgspec.structs import replace

from washmon.forecast.background import BackgroundForecasts
from washmon.line.check import Verdict
from washmon.line.events import Corrected, Event
from washmon.line.message import say
from washmon.line.state import ShiftState
from washmon.recorder.troubles import Troubles
from washmon.rules.holding import estimated, unestimated
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
