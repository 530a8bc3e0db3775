"""Checks of batches: water that was found good, and a weight that may be."""

from collections.abc import Iterator
from statistics import median

from washmon.line.events import BatchWashed
from washmon.line.finding import Fault, Finding, fill_at
from washmon.line.flags import Level
from washmon.line.message import Figure, Message
from washmon.line.second import is_vouched_for
from washmon.line.state import ShiftState
from washmon.units import Kind

_FAR, _BEYOND = 4.0, 1.5
"""A weight is asked about from so many times the others' median on, or under it, if it is also so
many times beyond all of them: batches by the handful do differ."""
_NEWEST = 24
_LEAST_KG_L, _MOST_KG_L = 0.003, 0.2
"""What a batch weighs per litre of its tank, where no other was weighed: common practice, no
published source."""


def batch(state: ShiftState, event: BatchWashed) -> Iterator[Finding]:
    """Yield what speaks against a batch."""
    if not event.tanks:
        yield Fault("tanks", Message("Say which tanks the batch went through."))
    elif len(set(event.tanks)) < len(event.tanks):
        yield Fault("tanks", Message("A tank is named twice."))
    for number in event.tanks:
        unfit = [*_water_is_unfit(state, event, number)]
        yield from unfit or _tank_is_stopped(state, event, number)
    if not event.lot.strip():
        yield Fault("lot", Message("Say which lot the batch belongs to."))
    if event.weight_kg is not None and event.weight_kg > 0 and event.tanks:
        yield from _odd_weight(state, event, event.weight_kg)


def _odd_weight(state: ShiftState, event: BatchWashed, kg: float) -> Iterator[Message]:
    """Yield a doubt where a weight is far from the others of the shift, or too much for its tanks.

    What was asked about once and stands is among the others: the like is not asked about again.
    """
    value = Figure(kg, Kind.PRODUCE_MASS)
    if others := _weights(state, event):
        usual, least, most = median(others), min(others), max(others)
        far = kg > max(_FAR * usual, _BEYOND * most) or kg < min(usual / _FAR, least / _BEYOND)
        if far:
            yield Message(
                "A batch weighed about {usual} so far: is {value} right?",
                {"usual": Figure(usual, Kind.PRODUCE_MASS), "value": value},
            )
        return
    volumes = [one.spec.volume_l for one in state.tanks if one.number in event.tanks]
    if volumes and (kg > _MOST_KG_L * max(volumes) or kg < _LEAST_KG_L * min(volumes)):
        volume_l = max(volumes) if kg > _MOST_KG_L * max(volumes) else min(volumes)
        yield Message(
            "{value} is an unusual weight of a batch for {volume} of water: is it right?",
            {"value": value, "volume": Figure(volume_l, Kind.VOLUME)},
        )


def _weights(state: ShiftState, event: BatchWashed) -> list[float]:
    """Return what the newest other batches weighed, kg: those of the lot, or of any if none was."""
    washed = [
        one.event for tank in state.tanks for one in tank.washed if tank.number in event.tanks
    ]
    weighed = [one for one in washed if one.weight_kg]
    alike = [one for one in weighed if one.lot == event.lot] or weighed
    return [one.weight_kg or 0.0 for one in alike[-_NEWEST:]]


def _water_is_unfit(state: ShiftState, event: BatchWashed, number: int) -> Iterator[Finding]:
    """Yield what speaks against a batch where nobody has found the water good yet."""
    fill = fill_at(state, number, event.at)
    if isinstance(fill, Fault):
        yield fill
    elif fill.latest(state.tank(number).spec.level_field) is None:
        yield Message("Nothing was measured in the water of tank {number} yet.", {"number": number})
    elif fill.unvouched and not is_vouched_for(fill, state.tank(number).spec):
        yield Message(
            "Tank {number} was measured only with what is not fit for use: measure it anew.",
            {"number": number},
        )
    elif fill.swapped is not None and not is_vouched_for(fill, state.tank(number).spec):
        yield Message(
            "The second fill that was swapped into tank {number} has no check that still "
            "counts: measure it first.",
            {"number": number},
        )


_TO_HOLD = "hold"
"""The rule of this id stops nothing from being washed: it asks for a hold on what was."""


def _tank_is_stopped(state: ShiftState, event: BatchWashed, number: int) -> Iterator[Message]:
    """Yield a doubt where a tank was stopped before a batch went through."""
    stops = (
        record.flag
        for record in state.open_flags
        if record.flag.tank == number
        and record.flag.level is Level.STOP
        and record.flag.rule != _TO_HOLD
        and record.flag.since <= event.at
    )
    stop = next(stops, None)
    if stop is not None:
        yield Message(
            "Tank {number} is stopped: {why}. Stop feeding. What goes through it all the same is "
            "to be held.",
            {"number": number, "why": stop.title.text},
        )
