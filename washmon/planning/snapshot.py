"""What a window draws: a shift's state and the rules' word on it at one moment."""

from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from msgspec import Struct

from washmon.line.message import Message
from washmon.line.setup import LineSetup
from washmon.line.state import ShiftState
from washmon.planning.advice import Advice

if TYPE_CHECKING:  # start-up is measured, and what is drawn first has no forecast
    from washmon.forecast.look_ahead import Forecast


class Mode(StrEnum):
    """What the shown shift is."""

    LIVE = "live"
    READ_ONLY = "read only"
    REPLAY = "replay"


class Snapshot(Struct, frozen=True, kw_only=True):
    """Immutable, and complete: nothing else is needed to draw the Board."""

    now: datetime
    mode: Mode = Mode.LIVE
    setup: LineSetup | None = None
    """The newest set-up; a running shift keeps the one it began with."""
    shift: ShiftState | None = None
    advice: Advice = Advice()
    forecasts: "dict[int, Forecast]" = {}
    """What is expected of each tank's water; a tank that nobody has looked at yet is missing."""
    trouble: Message | None = None
    """What stands in the way of saving or judging, if anything does."""
