"""The fold of a fill's events into an estimate of its water: a particle filter.

Between events the kinetics run in each particle; a batch adds demand, a dose adds chlorine, both by
uncertain amounts; a reading weighs the particles by how likely it is in each. The cost of an event
does not depend on how many came before.
"""

import math
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

import numpy as np

from washmon.chemistry.checks import ChemistryError
from washmon.forecast.batch_weights import BatchWeights
from washmon.forecast.chances import USUAL_CHANCES, Chances
from washmon.forecast.estimate import REMEMBERED, Estimate, LastRead, seed_of, spread_out
from washmon.forecast.kinetics import Chlorine, Floats, rest
from washmon.forecast.memory import Row, Subject
from washmon.forecast.outlook import range_of
from washmon.forecast.own import bias_of, read_by, taking_up
from washmon.forecast.particles import loads, systematic
from washmon.forecast.prior import KG_PER_L, Prior, Trait
from washmon.forecast.readings import USUAL_ACCURACY, Accuracy, Seen
from washmon.forecast.stories import Stories
from washmon.line.events import (
    BatchWashed,
    DoseAdded,
    Method,
    ReadingTaken,
    WaterEvent,
    WaterExchanged,
)
from washmon.line.product import rise
from washmon.line.setup import LineSetup, Lot, Tank
from washmon.line.state import Fill

USUAL_VOLUME_L = 500.0
LEAST_VOLUME_L = 0.1
"""A fill of less is a slip of the pen: the tank's own volume is taken."""
_KINETICS = slice(Trait.FAST_SHARE, Trait.STRENGTH)
_EXPECTED = 200
"""Particles by which it is told what an instrument was expected to show."""
_NEW_SHARE = 0.1
"""Of the particles, how many forget the fill before: this one may be quite another."""


@dataclass(frozen=True)
class Forecaster:
    """Follows the water of one tank; holds what does not change in a shift."""

    setup: LineSetup
    tank: Tank
    prior: Prior
    accuracy: Accuracy = USUAL_ACCURACY
    chances: Chances = USUAL_CHANCES
    lots: tuple[Lot, ...] = ()
    """Of the shift, for what each lot is."""

    def begin(self, fill: Fill, before: Estimate | None = None) -> Estimate:
        """Return what is known of a new fill; of produce, product and strips the last one told."""
        at = fill.begun.event.at  # a second fill may have been used later
        seed = seed_of(fill.begun.seq, at.isoformat(), self.tank.number, fill.number)
        volume = self._volume_l(fill.volume_l)
        rng = np.random.Generator(np.random.Philox(key=[seed, 0]))
        count = self.chances.particles
        tap = self.chances.tap_demand_mg_l * np.exp(0.7 * rng.standard_normal((2, count))) / 2
        level = self.chances.tap_chlorine_mg_l * np.abs(rng.standard_normal(count))
        return Estimate(
            tank=self.tank.number,
            seed=seed,
            steps=1,
            at=at,
            volume_l=volume,
            water=Chlorine(level, tap[0], tap[1]),
            traits=self._first_traits(before, rng, at.date()),
            kept=before.kept if before else self.prior.kept,
            reader=before.reader if before else None,
            weights=np.full(count, 1.0 / count),
            mixed_at=at,
            under=np.zeros((0, count), bool),
            lot=before.lot if before else None,
            batch_kg=before.batch_kg if before else self._weights(volume),
        )

    def after(self, estimate: Estimate, event: WaterEvent) -> Estimate:
        """Return what is known after one more event of the same fill.

        An event dated before the last one counts as if it came now; its reading counts less.
        """
        late = event.at < estimate.at
        if isinstance(event, ReadingTaken):
            sampled = self.at(estimate, event.at - self.accuracy.lag(event.fac_method))
            if event.fac_mg_l is not None and 0 <= event.fac_mg_l < math.inf:
                sampled = self._read(sampled, event, doubt=2.0 if late else 1.0)
            return self.at(sampled, event.at)
        now = self.at(estimate, event.at)
        match event:
            case DoseAdded():
                return self._dosed(now, event)
            case BatchWashed():
                return self._washed(now, event)
            case WaterExchanged():
                return self._exchanged(now, event)
            case _:
                return now

    def at(self, estimate: Estimate, now: datetime) -> Estimate:
        """Return the estimate at a later moment; a moment that is past counts as the same."""
        minutes = (now - estimate.at).total_seconds() / 60
        if minutes <= 0:
            return replace(estimate, steps=estimate.steps + 1)
        water = rest(estimate.water, estimate.rates, minutes)
        noise = estimate.chance(1).standard_normal(water.level.shape)
        unsure = self.chances.level_per_root_min * math.sqrt(min(minutes, 1440.0))
        water = water._replace(level=water.level * np.exp(unsure * noise - unsure**2 / 2))
        return replace(estimate, at=now, water=water, steps=estimate.steps + 1)

    # -- what happens -------------------------------------------------------------------------

    def _washed(self, estimate: Estimate, batch: BatchWashed) -> Estimate:
        rng = estimate.chance()
        count = estimate.weights.size
        (kg, spread), weights = estimate.batch_kg.after(batch.weight_kg, estimate.volume_l)
        estimate = taking_up(estimate, batch.lot, self.produce_of)
        traits = self._demand_of(estimate, weights, batch.lot, rng)
        off, noise = math.hypot(self.chances.batch, spread), rng.standard_normal(count)
        load = kg * np.exp(off * noise - self.chances.batch**2 / 2)
        fast, slow = loads(traits, load, estimate.volume_l)
        level, waiting_fast, waiting_slow = estimate.water
        met = level < self.tank.chlorine.critical_low_mg_l
        return replace(
            estimate,
            under=np.concatenate((estimate.under[1 - REMEMBERED :], met[None, :])),
            water=Chlorine(level, waiting_fast + fast, waiting_slow + slow),
            traits=traits,
            lot=batch.lot,
            batch_kg=weights,
            batches=estimate.batches + 1,
        )

    def _demand_of(
        self, estimate: Estimate, weights: BatchWeights, lot: str, rng: np.random.Generator
    ) -> Floats:
        """Return the traits for a next batch: its demand strays a little, or seldom jumps."""
        chances, traits = self.chances, estimate.traits.copy()
        demand = traits[Trait.DEMAND]
        if not weights.settled:  # by the batch until it is known what one weighs
            lighter = math.log(estimate.batch_kg.usual_kg / weights.usual_kg)
            demand += self.prior.per_batch * lighter
        returned = estimate.row_of(Row(Subject.LOT, lot)) is not None
        another = estimate.lot not in {None, lot} and not returned
        drift = chances.lot if another else chances.drift
        if not estimate.batches and not weights.given and self.prior.usual_kg is None:
            drift = math.hypot(drift, chances.unweighed)
        demand += drift * rng.standard_normal(demand.size)
        chance = chances.lot_jump if another else chances.jump
        jumps = np.flatnonzero(rng.random(demand.size) < chance)
        demand[jumps] += chances.jump_spread * rng.standard_normal(jumps.size)
        traits[_KINETICS, jumps] = self.prior.draw(rng, jumps.size)[_KINETICS]
        return traits

    def _dosed(self, estimate: Estimate, dose: DoseAdded) -> Estimate:
        rng = estimate.chance()
        count = estimate.weights.size
        error = np.maximum(1 + self.chances.dose * rng.standard_normal(count), 0.0)
        added = self._rise_mg_l(estimate, dose)
        highest = 4 * self.tank.chlorine.label_max_mg_l
        if (
            added is None or added > highest
        ):  # not known, or not possible: anything may have gone in
            added = highest
            error = np.exp(-4 * rng.random(count))
        level = estimate.water.level + added * error * np.exp(estimate.traits[Trait.STRENGTH])
        return replace(
            estimate,
            water=estimate.water._replace(level=level),
            read_mg_l=None,
            mixed_at=estimate.at + timedelta(minutes=self.tank.mix_minutes),
        )

    def _exchanged(self, estimate: Estimate, exchange: WaterExchanged) -> Estimate:
        part = exchange.volume_l / estimate.volume_l
        part = min(max(part, 0.0), 1.0) if math.isfinite(part) else 0.5
        noise = estimate.chance().standard_normal(estimate.weights.size)
        stays = np.clip(1 - part * (1 + 0.05 * noise), 0.0, 1.0)
        water = Chlorine(*(stays * now for now in estimate.water))
        tap = part * self.chances.tap_demand_mg_l / 2
        return replace(
            estimate,
            water=Chlorine(water.level, water.fast + tap, water.slow + tap),
            read_mg_l=None,
            mixed_at=estimate.at + timedelta(minutes=self.tank.mix_minutes),
        )

    def _read(self, estimate: Estimate, reading: ReadingTaken, doubt: float) -> Estimate:
        if estimate.at < estimate.mixed_at:
            doubt *= 2.0
        seen = Seen(float(reading.fac_mg_l or 0.0), reading.fac_method, doubt)
        strip = reading.fac_method is Method.STRIP
        if strip:
            estimate = read_by(estimate, reading.by)
        bias = np.exp(bias_of(estimate, strip=strip))
        likelihood = seen.likelihood(estimate.water.level * bias, self.accuracy)
        estimate = replace(
            estimate,
            readings=estimate.readings + 1,
            read_mg_l=reading.fac_mg_l,
            last_read=self._expected(estimate, seen, bias) if estimate.readings else None,
        )
        stories = Stories(self.chances, self.accuracy, 2 * self.tank.chlorine.label_max_mg_l)
        draw, kg = self._prior_of(estimate).draw, estimate.batch_kg.usual_kg
        told = stories.told(estimate, likelihood, seen=seen, bias=bias, new_traits=draw, kg=kg)
        if told is not None:
            return told
        weights = estimate.weights * likelihood
        return resampled_if_few_count(replace(estimate, weights=weights / weights.sum()))

    def _expected(self, estimate: Estimate, seen: Seen, bias: Floats) -> LastRead:
        """Return how a reading stands to what had been expected."""
        looks = estimate.water.level * bias
        below, above = seen.tails(looks, self.accuracy)
        tail = 2.0 * min(float(estimate.weights @ below), float(estimate.weights @ above))
        picked = looks[systematic(estimate.weights, estimate.chance(6), _EXPECTED)]
        span = range_of(self.accuracy.readings_of(picked, seen.method))
        return LastRead(seen.value_mg_l, span.low, span.high, min(1.0, tail))

    def _prior_of(self, estimate: Estimate) -> Prior:
        """Return the prior, with its demand by the kilogram as batches weigh here."""
        lighter = math.log(self._weights(estimate.volume_l).prior_kg / estimate.batch_kg.usual_kg)
        middle = self.prior.middle[Trait.DEMAND] + self.prior.per_batch * lighter
        return self.prior.with_trait(Trait.DEMAND, middle, self.prior.spread[Trait.DEMAND])

    def produce_of(self, lot: str | None) -> str:
        """Return what a lot is; of one that nobody said it of, what the line washes."""
        found = (one.produce for one in self.lots if one.code == lot)
        return next(found, self.setup.commodity).strip().lower()

    # -- what is given, made usable ------------------------------------------------------------

    def _first_traits(self, before: Estimate | None, rng: np.random.Generator, on: date) -> Floats:
        product = self.setup.sanitizer(self.tank.sanitizer)
        prior = self.prior.with_product(product, on).with_pack(self.setup)
        traits = prior.draw(rng, self.chances.particles)
        if before is None:
            return traits
        told = before.traits[:, systematic(before.weights, rng, self.chances.particles)]
        new = np.flatnonzero(rng.random(self.chances.particles) <= _NEW_SHARE)
        told[: len(Trait), new] = traits[: len(Trait), new]
        told[Trait.DEMAND] += 0.1 * rng.standard_normal(told.shape[1])
        return told

    def _weights(self, volume_l: float) -> BatchWeights:
        return BatchWeights(self.prior.usual_kg or KG_PER_L * volume_l)

    def _volume_l(self, volume_l: float) -> float:
        for litres in (volume_l, self.tank.volume_l):
            if math.isfinite(litres) and litres >= LEAST_VOLUME_L:
                return litres
        return USUAL_VOLUME_L

    def _rise_mg_l(self, estimate: Estimate, dose: DoseAdded) -> float | None:
        product = self.setup.sanitizer(dose.product)
        if product is None:
            return None
        try:
            found = rise(product, estimate.volume_l, dose.amount, on=dose.at.date())
        except ChemistryError:
            return None
        return found if math.isfinite(found) and found >= 0 else None


def resampled_if_few_count(estimate: Estimate) -> Estimate:
    """Draw the particles anew where too few of them count."""
    count = estimate.weights.size
    if estimate.effective_sample_size() > 0.5 * count:
        return estimate
    rng = estimate.chance(3)
    chosen = systematic(estimate.weights, rng, count)
    return estimate.resampled(chosen, spread_out(estimate.traits, estimate.weights, chosen, rng))
