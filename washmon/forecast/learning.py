"""What past shifts of a line say about its produce, so that the next begins less in the dark."""

from collections.abc import Mapping, Sequence

from washmon.forecast.own import ended
from washmon.forecast.prior import Prior, as_learned, container_of, pack_of, prior_for
from washmon.forecast.shift import follow_tank, forecaster_of, prior_in
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.learned import LearnedTank
from washmon.line.state import ShiftState

Past = Sequence[tuple[str, Sequence[Entry]]]
"""Chains of past shifts with their entries, oldest first."""
_CARRIED = 128
_ENOUGH_READINGS, _ENOUGH_BATCHES = 3, 5


def learned_from(past: Past) -> dict[int, Prior]:
    """Return the prior of each tank as journals of past shifts tell it.

    Raises:
        Exception: whatever a journal that no one can follow may bring.
    """
    return prior_from([fold(chain, entries) for chain, entries in past])


def kept_of(priors: Mapping[int, Prior]) -> tuple[LearnedTank, ...]:
    """Return what the journal of a shift that begins with these priors keeps of them."""
    kept = (as_learned(prior, tank) for tank, prior in priors.items())
    return tuple(one for one in kept if one is not None)


def kept_in(shift: ShiftState) -> dict[int, Prior]:
    """Return the prior of each tank as the journal of a shift keeps it."""
    found = {tank.number: prior_in(shift, place) for place, tank in enumerate(shift.tanks)}
    return {number: prior for number, prior in found.items() if prior is not None}


def prior_from(shifts: Sequence[ShiftState]) -> dict[int, Prior]:
    """Return the prior of each tank, told by past shifts of the same line and commodity.

    Which line and commodity, the last shift says; others are passed over. One shift is followed
    after the other, each from where the one before had come to, as much less sure as days differ.
    """
    if not shifts:
        return {}
    setup = shifts[-1].setup
    alike = [
        shift
        for shift in shifts
        if (shift.setup.line, shift.setup.commodity) == (setup.line, setup.commodity)
    ]
    priors = {}
    for place, spec in enumerate(setup.tanks):
        if spec.peracetic is None:
            prior = prior_for(setup.commodity, place)
            for shift in alike:
                prior = _told(shift, spec.number, prior)
            priors[spec.number] = prior
    return priors


def _told(shift: ShiftState, number: int, prior: Prior) -> Prior:
    """Return the prior after one more shift, if enough was washed and read to tell anything."""
    tank = next((one for one in shift.tanks if one.number == number), None)
    if tank is None or not tank.fills:
        return prior
    readings = sum(
        placed.event.fac_mg_l is not None for fill in tank.fills for placed in fill.readings
    )
    if readings < _ENOUGH_READINGS or tank.batches < _ENOUGH_BATCHES:
        return prior
    forecaster = forecaster_of(shift, tank.spec, prior)
    estimate = ended(follow_tank(forecaster, tank)[-1].estimate, forecaster.produce_of)
    usual_kg = estimate.batch_kg.usual_kg if estimate.batch_kg.given else None
    product = shift.setup.sanitizer(tank.spec.sanitizer)
    return prior.told_by(
        estimate.belief(_CARRIED), usual_kg, container_of(product), pack_of(shift.setup)
    )
