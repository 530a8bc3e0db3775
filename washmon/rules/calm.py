"""The step of a tank in which nothing is wrong: what to measure next, and when."""

from enum import Enum
from math import ceil, inf
from typing import TYPE_CHECKING

from washmon.line.flags import Step, StepKind
from washmon.line.message import Figure
from washmon.line.second import lacking
from washmon.rules.base import Sight
from washmon.rules.dosing import dose_to_target
from washmon.rules.steps import measure_step, ph_step, say_step, wait_or_check
from washmon.units import Kind

if TYPE_CHECKING:  # start-up is measured, and a step only reads it
    from washmon.forecast.look_ahead import Forecast


class _When(Enum):
    """When to measure next; said alone where something is shelved, which is not nothing to do."""

    NOW = ("Check before the next batch", "Nothing to do. Check before the next batch")
    BATCH = ("Check within 1 batch", "Nothing to do. Check within 1 batch")
    BATCHES = ("Check within {left} batches", "Nothing to do. Check within {left} batches")
    MINUTES = ("Check within {left}", "Nothing to do. Check within {left}")

    def words(self, *, shelved: bool) -> str:
        """Return what is said."""
        alone, with_calm = self.value
        return alone if shelved else with_calm


def calm_step(sight: Sight, *, shelved: bool) -> Step:
    """Return the step; where something is shelved, "nothing to do" is not said."""
    added = sight.unchecked_addition()
    if added is not None:
        return wait_or_check(sight, added)
    last = sight.fill.latest(sight.spec.level_field)
    if last is None:
        return dose_to_target(sight, None).step
    if sight.ph_is_missing():
        return ph_step()
    if sight.waits:
        lacks = lacking(sight.fill, sight.spec, sight.now)
        return measure_step(sight.spec) if lacks else say_step(StepKind.LOOK, "ready")
    every, ahead = sight.spec.check_batches, sight.forecast
    if every is None:
        minutes = sight.spec.check_minutes or 0.0
        left_min = max(0.0, minutes - (sight.now - last.event.at).total_seconds() / 60)
        when = _When.MINUTES if left_min else _When.NOW
        return say_step(
            StepKind.LOOK, when.words(shelved=shelved), left=Figure(ceil(left_min), Kind.TIME)
        )
    left = every - (sight.tank.batches - last.batches)
    if ahead is not None and ahead.readings:
        left = min(left, ahead.check.batches, _until_low(ahead, left))
    when = _When.NOW if left < 1 else _When.BATCH if left == 1 else _When.BATCHES
    return say_step(StepKind.LOOK, when.words(shelved=shelved), left=left)


def _until_low(ahead: "Forecast", most: int) -> int:
    """Return in how many batches the water is as likely as not to be under the operating low.

    Under one, the flags that press for a dose or a check say so.
    """
    batches = ahead.until_low.batches.mid
    return most if batches == inf else max(1, round(batches))
