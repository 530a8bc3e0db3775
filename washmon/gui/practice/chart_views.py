"""What the pictures of a debrief show of a tank: level, pH and cloudiness, true and measured."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from enum import Enum

from washmon.gui.i18n import tr
from washmon.line.events import (
    AcidAdded,
    DoseAdded,
    HoldPlaced,
    ReadingTaken,
    TankFilled,
    WaterExchanged,
)
from washmon.line.setup import Tank
from washmon.sessions.debrief.facts import Facts
from washmon.sessions.debrief.known import known
from washmon.sessions.practice.line import Truth
from washmon.units import Kind


class Shade(Enum):
    """Which colour of the theme a limit is drawn in."""

    TARGET = "target"
    CRITICAL = "critical"
    LIMIT = "soft_ink"


@dataclass(frozen=True, slots=True)
class Scale:
    """What is drawn, from ``base`` to ``top`` in the unit of its kind, and what is good of it."""

    what: str
    kind: Kind
    base: float
    top: float
    band: tuple[float, float]
    lines: tuple[tuple[float, str, Shade], ...]
    small: bool = False
    """Whether it stands under another picture of the same tank, and is lower."""


@dataclass(frozen=True, slots=True)
class ChartView:
    """One quantity of a tank over the whole attempt; places are minutes."""

    title: str
    scale: Scale
    minutes: float
    true: tuple[tuple[float, float], ...]
    measured: tuple[tuple[float, float], ...]
    known: tuple[tuple[float, float, float], ...]
    """From and until when a reading told of the water, and its value."""
    doses: tuple[float, ...]
    acids: tuple[float, ...]
    changes: tuple[float, ...]
    holds: tuple[float, ...]
    batches: tuple[tuple[float, bool], ...]
    """When each was washed, and whether it met less than the critical low."""
    hours: tuple[tuple[float, str], ...]


def charts(facts: Facts) -> tuple[ChartView, ...]:
    """Return the pictures of each tank: level, pH and cloudiness; peracetic acid needs no pH."""
    return tuple(
        _chart(facts, one.tank.number, field, scale, truth)
        for one in facts.tanks
        for field, scale, truth in _quantities(one.tank)
    )


def _level(spec: Tank, highest: float, _lowest: float) -> Scale:
    limits = spec.limits
    return Scale(
        what=tr("free chlorine") if spec.peracetic is None else tr("peracetic acid"),
        kind=Kind.CONCENTRATION,
        base=0.0,
        top=1.1 * max(highest, limits.high_mg_l),
        band=(limits.low_mg_l, limits.high_mg_l),
        lines=(
            (limits.target_mg_l, tr("target"), Shade.TARGET),
            (limits.critical_low_mg_l, tr("critical"), Shade.CRITICAL),
        ),
    )


def _ph(spec: Tank, highest: float, lowest: float) -> Scale:
    limits = spec.ph
    critical = spec.critical_ph
    lines = [(limits.target, tr("target"), Shade.TARGET)]
    if critical is not None:
        lines.append((critical, tr("critical"), Shade.CRITICAL))
    return Scale(
        what=tr("pH"),
        kind=Kind.PH,
        base=min(lowest, limits.low) - 0.3,
        top=max(highest, limits.high, critical or 0.0) + 0.3,
        band=(limits.low, limits.high),
        lines=tuple(lines),
        small=True,
    )


def _cloudiness(spec: Tank, highest: float, _lowest: float) -> Scale:
    most = spec.turbidity_max_ntu
    return Scale(
        what=tr("cloudiness"),
        kind=Kind.TURBIDITY,
        base=0.0,
        top=1.1 * max(highest, most or 0.0, 10.0),
        band=(0.0, most or 0.0),
        lines=() if most is None else ((most, tr("limit"), Shade.LIMIT),),
        small=True,
    )


_Drawn = tuple[str, Callable[[Tank, float, float], Scale], Callable[[Truth], float]]


def _quantities(spec: Tank) -> tuple[_Drawn, ...]:
    """Return the field of each quantity that is drawn of a tank, its scale, and its truth."""
    level: _Drawn = (spec.level_field, _level, lambda one: one.level_mg_l)
    ph: _Drawn = ("ph", _ph, lambda one: one.ph)
    cloudy: _Drawn = ("turbidity_ntu", _cloudiness, lambda one: one.turbidity_ntu)
    return (level, ph, cloudy) if spec.peracetic is None else (level, cloudy)


def _chart(
    facts: Facts,
    number: int,
    field: str,
    scale: Callable[[Tank, float, float], Scale],
    truth: Callable[[Truth], float],
) -> ChartView:
    spec, entries = facts.state.setup.tank(number), facts.state.entries
    measured = tuple(
        (_minute(facts, entry.recorded_at), value)
        for entry in entries
        if isinstance(entry.event, ReadingTaken)
        and entry.event.tank == number
        and (value := getattr(entry.event, field)) is not None
    )
    told = known(entries, spec, field, entries[-1].recorded_at)
    true = tuple((one.minutes, truth(one)) for one in facts.truth if one.tank == number)
    levels = [level for _, level in (*true, *measured)] or [0.0]
    low = {(one.seq, one.tank) for one in facts.low}
    return ChartView(
        title=f"{number}  {spec.name}",
        scale=scale(spec, max(levels), min(levels)),
        minutes=max(facts.minutes, 10.0),
        true=true,
        measured=measured,
        known=tuple((_minute(facts, one.at), _minute(facts, one.until), one.value) for one in told),
        doses=_times(facts, number, DoseAdded),
        acids=_times(facts, number, AcidAdded),
        changes=_times(facts, number, TankFilled, WaterExchanged),
        holds=_times(facts, number, HoldPlaced),
        batches=tuple(
            (one.minutes, (one.seq, number) in low) for one in facts.batches if one.tank == number
        ),
        hours=_hours(facts),
    )


def _minute(facts: Facts, at: datetime) -> float:
    return (at - facts.begins).total_seconds() / 60


def _times(facts: Facts, number: int, *kinds: type) -> tuple[float, ...]:
    return tuple(
        _minute(facts, entry.recorded_at)
        for entry in facts.state.entries
        if isinstance(entry.event, kinds) and getattr(entry.event, "tank", None) == number
    )


def _hours(facts: Facts) -> tuple[tuple[float, str], ...]:
    first = -(facts.begins.minute % 30) % 30
    found = []
    minute = float(first)
    while minute <= facts.minutes:
        total = facts.begins.hour * 60 + facts.begins.minute + minute
        found.append((minute, f"{int(total // 60) % 24:02d}:{int(total % 60):02d}"))
        minute += 30.0
    return tuple(found)
