"""Checks of what is measured."""

from collections.abc import Iterator
from datetime import timedelta

from washmon.line.events import ReadingTaken
from washmon.line.finding import Fault, Finding, water_of_entry
from washmon.line.message import Figure, Message, Moment
from washmon.line.state import Fill, ShiftState
from washmon.units import Kind

JUMP_MG_L = 15.0
JUMP_FRACTION = 0.5
CHANGED_BY_ADDITIONS = ("fac_mg_l", "total_mg_l", "paa_mg_l", "peroxide_mg_l", "ph", "orp_mv")


def reading(state: ShiftState, event: ReadingTaken) -> Iterator[Finding]:
    """Yield what speaks against a reading."""
    fill = water_of_entry(state, event)
    if isinstance(fill, Fault):
        yield fill
        return
    values = (
        event.fac_mg_l,
        event.paa_mg_l,
        event.peroxide_mg_l,
        event.total_mg_l,
        event.ph,
        event.turbidity_ntu,
        event.look,
        event.water_c,
        event.pulp_c,
        event.orp_mv,
    )
    if all(value is None for value in values):
        yield Fault("", Message("Nothing was measured: enter at least one value."))
    if any(getattr(event, field) is not None for field in CHANGED_BY_ADDITIONS):
        yield from _not_mixed(state, fill, event)
    if event.fac_mg_l is not None:
        yield from _chlorine_doubts(fill, event, event.fac_mg_l)
    if event.paa_mg_l is not None:
        yield from _jump(
            fill,
            event,
            "paa_mg_l",
            "Peracetic acid rose from {before} to {now} without a dose.",
        )


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


def _chlorine_doubts(fill: Fill, event: ReadingTaken, fac_mg_l: float) -> Iterator[Message]:
    if event.total_mg_l is not None and event.total_mg_l < fac_mg_l:
        yield Message(
            "Total chlorine {total} is under free chlorine {free}, which it includes.",
            {
                "total": Figure(event.total_mg_l, Kind.CONCENTRATION),
                "free": Figure(fac_mg_l, Kind.CONCENTRATION),
            },
        )
    yield from _jump(
        fill, event, "fac_mg_l", "Free chlorine rose from {before} to {now} without a dose."
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
