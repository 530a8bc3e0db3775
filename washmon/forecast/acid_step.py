"""The one amount of acid that a tank's pH asks for, and the pH that it brings about."""

import math

import numpy as np
from msgspec import Struct

from washmon.chemistry.acid import is_solid, small_step
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.measuring import MeasuredAmount
from washmon.forecast.ph import PhForecast
from washmon.forecast.ph_particles import PhRange
from washmon.line.flags import Amount
from washmon.line.measure import measured
from washmon.line.message import Figure, Message
from washmon.line.product import acid_mol
from washmon.line.setup import Acid
from washmon.units import Kind

SAFE = 0.01
"""How likely at most an acid step takes the pH under the tank's low limit."""
LEAST_PH = 6.3
"""Nor under this, however low the tank's limit is: gas leaves water under pH 6, and a reading may
be 0.3 off (common practice, no published source)."""
MOST_GROWTH = 2.0
"""A step is at most so many times the largest that its fill has stood, until the answer is known
well."""
FIRST_SHARE, TOLD_SHARE = 0.65, 0.5
"""Of the best estimate, where no acid has told yet how this water answers. Half first is common
practice, no published source: it stays where a report tells of the source, which may be of another
one. Where nothing is told the estimate is broad, its low end keeps the limit, and a little more
than half mostly does, so that no second step is needed."""
_LEAST_SHARE = 0.7
"""A spoon that holds less than the step may have is better than a dilution: the rest follows."""
WHOLE = 0.8
"""Of the way: what is left after so much is no step of its own."""


class AcidStep(Struct, frozen=True):
    """One amount of acid in a measure of the shed, and what it brings about."""

    product: Acid
    measured: MeasuredAmount
    after: PhRange
    whole: bool
    """It goes the whole way to the target; else more will follow after the re-check."""

    @property
    def amount(self) -> Amount:
        """What the measure really holds."""
        return Amount(self.measured.actual, "g" if is_solid(self.product.kind) else "mL")


def acid_step(forecast: PhForecast, *, anyway: bool = False) -> AcidStep | Message:
    """Return the acid to add next, or why none is: one sentence.

    The pH after it is under the tank's low limit in one of a hundred cases at most. Inside the
    limits no acid is due; ``anyway`` asks for it all the same, down to the target.
    """
    spec = forecast.spec
    product = forecast.setup.acid(spec.acid)
    if product is None:
        return Message("No acid is in the set-up.")
    ph = round(forecast.now.best, 1)  # as finely as anybody reads it
    if ph <= (spec.ph.target if anyway else spec.ph.high):
        return Message(
            "The pH is about {ph}, inside its limits: no acid is due.", {"ph": Figure(ph, Kind.PH)}
        )
    try:
        return _step(forecast, product)
    except ChemistryError as trouble:
        return Message(trouble.template, dict(trouble.values))


def _step(forecast: PhForecast, product: Acid) -> AcidStep | Message:
    spec, volume_l = forecast.spec, forecast.fill.volume_l
    unit = "g" if is_solid(product.kind) else "mL"
    per_mol_l = volume_l / acid_mol(product, Amount(1.0, unit))
    # Until the water has answered it may be as soft as any.
    least = SAFE if forecast.answered else 0.0
    low = max(spec.ph.low, LEAST_PH)
    most = per_mol_l * float(np.quantile(forecast.particles.acid_to(low, product.kind), least))
    whole = per_mol_l * float(np.median(forecast.particles.acid_to(spec.ph.target, product.kind)))
    most = min(most, _allowed(forecast, product, whole))
    if min(most, whole) <= 0:
        return _no_room(forecast)
    asked = min(most, whole)
    found = measured(
        Amount(asked, unit), forecast.setup, at_most=most, at_least=_LEAST_SHARE * asked
    )
    amount = Amount(found.actual, unit)
    return AcidStep(product, found, forecast.after(acid=amount), found.actual >= WHOLE * whole)


def _allowed(forecast: PhForecast, product: Acid, whole: float) -> float:
    """Return the most that a step may be while it is not known well how this water answers."""
    if forecast.narrow:
        return math.inf
    before = [
        acid_mol(acid, added.event.amount) / acid_mol(product, Amount(1.0, added.event.amount.unit))
        for added in forecast.fill.acids
        if (acid := forecast.setup.acid(added.event.product)) is product
    ]
    if before:
        return MOST_GROWTH * max(before)
    volume_l, ph = forecast.fill.volume_l, max(7.0, min(12.0, forecast.now.best))
    careful = small_step(volume_l, ph, product.kind, product.strength_pct)
    told = forecast.setup.source.alkalinity_mg_l is not None
    return max((TOLD_SHARE if told else FIRST_SHARE) * whole, min(whole, careful))


def _no_room(forecast: PhForecast) -> Message:
    return Message(
        "How this water answers acid is not known well enough: any amount might take the pH under "
        "{low}. Exchange part of the water for fresh, or read the pH again.",
        {"low": Figure(forecast.spec.ph.low, Kind.PH)},
    )
