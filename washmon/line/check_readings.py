"""Checks of what is measured."""

from collections.abc import Iterator
from datetime import timedelta

from washmon.line.certain import level_before
from washmon.line.events import ReadingTaken
from washmon.line.finding import Fault, Finding, water_of_entry
from washmon.line.message import Figure, Message, Moment, ppm
from washmon.line.quantities import QUANTITIES
from washmon.line.reading import range_of
from washmon.line.state import Fill, ShiftState
from washmon.units import Kind

JUMP_MG_L = 15.0
JUMP_FRACTION = 0.5
FAR = 1.5
"""So many times the most that was expected is a surprise, the error of the reading aside."""
FAR_MG_L = 1.0
"""And so much more than that: what tap water may bring along. Common practice, as the others."""
SLIP = 5.0
"""A fall to less than such a part of the least that was expected is rather a slip of the point."""


Expected = tuple[float, float]
"""Between which levels, mg/L, a tank's sanitizer was expected to be read."""


def reading(
    state: ShiftState, event: ReadingTaken, expected: Expected | None = None
) -> Iterator[Finding]:
    """Yield what speaks against a reading; without ``expected`` mass balance says what was."""
    fill = water_of_entry(state, event)
    if isinstance(fill, Fault):
        yield fill
        return
    measured = [one for one in QUANTITIES if one.of(event) is not None]
    if not measured:
        yield Fault("", Message("Nothing was measured: enter at least one value."))
    if any(one.is_moved for one in measured):
        yield from _not_mixed(state, fill, event)
    if event.fac_mg_l is not None and event.total_mg_l is not None:
        yield from _more_than_all(event.fac_mg_l, event.total_mg_l)
    field = state.tank(event.tank).spec.level_field
    if getattr(event, field) is not None:
        jumped = [*_jump(fill, event, field, _ROSE[field])]
        yield from jumped or _surprise(state, fill, event, expected)


_ROSE = {
    "fac_mg_l": "Free chlorine rose from {before} to {now} without a dose.",
    "paa_mg_l": "Peracetic acid rose from {before} to {now} without a dose.",
}


def _not_mixed(state: ShiftState, fill: Fill, event: ReadingTaken) -> Iterator[Message]:
    """Yield a doubt where what was put in had not mixed in yet."""
    added = [
        one.event.at
        for series in (fill.doses, fill.acids, fill.exchanges)
        for one in series
        if one.event.at <= event.at
    ]
    if not added:
        return
    mixed_at = max(added) + timedelta(minutes=state.tank(event.tank).spec.mix_minutes)
    if event.at < mixed_at:
        yield Message(
            "What was put in is not mixed yet until {time}: it may read wrong.",
            {"time": Moment(mixed_at)},
        )


def _more_than_all(free_mg_l: float, total_mg_l: float) -> Iterator[Message]:
    if total_mg_l < free_mg_l:
        yield Message(
            "Total chlorine {total} is under free chlorine {free}, which it includes.",
            {
                "total": Figure(total_mg_l, Kind.CONCENTRATION),
                "free": Figure(free_mg_l, Kind.CONCENTRATION),
            },
        )


def _jump(fill: Fill, event: ReadingTaken, field: str, text: str) -> Iterator[Message]:
    """Yield a doubt where a level rose by more than its readings differ, with nothing added."""
    last = fill.latest(field)
    if last is None or event.at < last.event.at:
        return
    before, now = float(getattr(last.event, field)), float(getattr(event, field))
    dosed = any(dose.event.at >= last.event.at for dose in fill.doses)
    if now - before > max(JUMP_MG_L, JUMP_FRACTION * before) and not dosed:
        yield Message(
            text,
            {
                "before": Figure(before, Kind.CONCENTRATION),
                "now": Figure(now, Kind.CONCENTRATION),
            },
        )


def _surprise(
    state: ShiftState, fill: Fill, event: ReadingTaken, expected: Expected | None
) -> Iterator[Message]:
    """Yield a doubt where a level is so far from what was expected that a point may have slipped.

    Nothing read at all is no slip of a point: it is taken as it is.
    """
    spec = state.tank(event.tank).spec
    level = float(getattr(event, spec.level_field))
    # Without a forecast nobody knows how much the batches have used up.
    least, most = expected or (0.0, level_before(state, fill, event).most_mg_l)
    low, high = range_of(state.setup, spec, event)
    if most > 0 and low > FAR * most + FAR_MG_L:
        text = "{now} is far over the {most} at most that was expected: is its point in its place?"
        yield Message(text, {"now": ppm(level), "most": ppm(most)})
    elif level > 0 and high < least / SLIP:
        text = "{now} is far under the {least} at least that was expected: is its point in place?"
        yield Message(text, {"now": ppm(level), "least": ppm(least)})
