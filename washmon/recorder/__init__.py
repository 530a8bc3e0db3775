"""The recorder: from an entry to journal, state, flags and snapshot, on one background thread."""

from washmon.recorder.answers import Answer, Doubtful, Failed, Refused, Saved
from washmon.recorder.recorder import TICK_S, Clock, Recorder, wall_clock

__all__ = [
    "TICK_S",
    "Answer",
    "Clock",
    "Doubtful",
    "Failed",
    "Recorder",
    "Refused",
    "Saved",
    "wall_clock",
]
