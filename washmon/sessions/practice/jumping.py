"""A jump of practice time: to the next thing to do, and why it ends there."""

from enum import Enum

from washmon.line.state import ShiftState
from washmon.sessions.practice.stage import PracticeStage

PATIENCE_MIN = 3.0
"""So long a batch waits on a line that nobody stopped; then it goes in by itself."""
STRIDE_MIN = 1.0
_LONGEST_JUMP_MIN = 30.0


class Stop(Enum):
    """Why a jump ended."""

    BATCH = "a batch waits"
    TIPPED = "nobody stopped the batch"
    FLAG = "a flag came up"
    MIXED = "an addition has mixed in"
    SAID = "something was said"
    END = "the time is over"
    LATER = "nothing happened"


def all_filled(shift: ShiftState | None) -> bool:
    """Tell whether every tank has water, so that batches can go in."""
    return shift is not None and all(tank.fill for tank in shift.tanks)


def next_stop(stage: PracticeStage, shift: ShiftState | None, *, fed: bool) -> tuple[float, Stop]:
    """Return the minute of the shift at which a jump ends, half an hour ahead at most, and why.

    Args:
        stage: the practice shift behind the Board.
        shift: what its journal says, once there is one.
        fed: batches come; False while somebody has stopped the line.
    """
    until, stop = stage.minutes + _LONGEST_JUMP_MIN, Stop.LATER
    due = stage.coming.due_min if fed else None
    for moment, why in (
        (due, Stop.BATCH),
        (due + PATIENCE_MIN if due is not None and all_filled(shift) else None, Stop.TIPPED),
        (_next_mixed(stage, shift), Stop.MIXED),
        (stage.scenario.pace.minutes, Stop.END),
    ):
        if moment is not None and stage.minutes + 1e-6 < moment <= until:
            until, stop = moment, why
    return until, stop


def _next_mixed(stage: PracticeStage, shift: ShiftState | None) -> float | None:
    """Return when the newest addition of some tank will have mixed in, minutes."""
    found = []
    for tank in shift.tanks if shift else ():
        last = tank.fill.last_addition() if tank.fill else None
        if last is not None:
            since = (last.event.at - stage.begins).total_seconds() / 60.0
            found.append(since + tank.spec.mix_minutes)
    later = [moment for moment in found if moment > stage.minutes + 1e-6]
    return min(later, default=None)


def pass_until(stage: PracticeStage, until_min: float, stop: Stop) -> Stop:
    """Let time pass, but no further than until something is said aloud; return why it ended."""
    heard = len(stage.spoken)
    while stage.minutes < until_min - 1e-6:
        stage.advance(min(STRIDE_MIN, until_min - stage.minutes))
        if len(stage.spoken) > heard:
            return Stop.SAID
    return stop
