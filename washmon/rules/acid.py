"""The step that lowers the pH: half of the estimate where alkalinity is known, else a small one."""

from functools import lru_cache

from msgspec import Struct

from washmon.chemistry.acid import LOWEST_PH_FOR_ACID, acid_mol_per_unit, is_solid, small_step
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.titration import AcidPlan, acid_plan
from washmon.chemistry.water import Water, ph_of, with_acid
from washmon.line.fill_water import FillWater, KnownAlkalinity
from washmon.line.flags import Amount, Caution, Step, StepKind
from washmon.line.measure import how, measured
from washmon.line.message import Figure, Message, Moment, Values
from washmon.line.setup import Acid
from washmon.rules.base import Sight
from washmon.rules.dosing import Advised
from washmon.rules.steps import say_step, trouble_step
from washmon.units import Kind

LEAST_PH = 6.0
_PH_ROOM = 0.2
"""A pH reading may be off by so much (common practice, no published source)."""


class _Waters(Struct, frozen=True):
    """The same tank with the best, the least and the most plausible alkalinity."""

    best: Water[float]
    softest: Water[float]
    hardest: Water[float]


def acid_to_target(sight: Sight, ph: float) -> Advised:
    """Return the acid to add first to water of this pH, with the sentences of its reason.

    No amount can take the tank under pH 6 at the low end of what its alkalinity may be.
    """
    return _to_target(sight.water, ph)


@lru_cache(maxsize=64)
def _to_target(water: FillWater, ph: float) -> Advised:
    """Return the acid; kept, since nothing else counts and each look of the rules asks again."""
    product = water.setup.acid(water.spec.acid)
    if product is None:
        return Advised(
            say_step(
                StepKind.LOWER,
                "No acid is in the set-up: exchange part of the water for fresh, re-check pH",
            )
        )
    known = water.alkalinity
    if known is None and ph < LOWEST_PH_FOR_ACID:
        return Advised(
            say_step(
                StepKind.LOOK,
                "Add acid under pH 7 only by an estimate: measure the alkalinity of the source, "
                "save it in the set-up",
            )
        )
    try:
        waters = _waters(water, ph)
        if known is not None:
            return _by_estimate(water, product, known, waters)
        return _small_step(water, product, ph, waters.softest)
    except ChemistryError as trouble:
        return Advised(trouble_step(trouble))


def _waters(water: FillWater, ph: float) -> _Waters:
    known = water.plausible()
    source_ph, lowest, highest = water.source_ph_range()
    return _Waters(
        water.water(ph, known.best_mg_l, source_ph=source_ph),
        water.water(ph, known.low_mg_l, source_ph=highest),
        water.water(ph, known.high_mg_l, source_ph=lowest),
    )


def _by_estimate(
    water: FillWater, product: Acid, known: KnownAlkalinity, waters: _Waters
) -> Advised:
    plan = acid_plan(
        waters.best,
        waters.softest,
        waters.hardest,
        target_ph=water.spec.ph.target,
        volume_l=water.fill.volume_l,
        product=(product.kind, product.strength_pct, None),
    )
    step = _step(
        water,
        product,
        plan.first,
        "Add {amount} {product} on its own, half of the estimate. Stir, wait {mix}, re-check pH",
        "Add {amount} {product} (under your smallest measure) on its own, half of the estimate. "
        "Stir, wait {mix}, re-check pH",
    )
    return Advised(step, (_known(known), _plan(water, product, plan)))


def _known(known: KnownAlkalinity) -> Message:
    values: Values = {
        "best": round(known.range.best_mg_l),
        "low": round(known.range.low_mg_l),
        "high": round(known.range.high_mg_l),
    }
    if known.told_at is None:
        return Message(
            "The set-up tells an alkalinity of {best} ({low}–{high}) mg/L as CaCO₃.", values
        )
    values["at"] = Moment(known.told_at)
    return Message(
        "What was added at {at} moved the pH as in water of {best} ({low}–{high}) mg/L alkalinity "
        "as CaCO₃.",
        values,
    )


def _plan(water: FillWater, product: Acid, plan: AcidPlan) -> Message:
    unit = "g" if is_solid(product.kind) else "mL"
    whole = measured(Amount(plan.whole, unit), water.setup, never_more=True)
    return Message(
        "The whole way to pH {target} takes about {whole} ({low} to {high}). Half of it brings the "
        "pH to about {after}, and not under {lowest}.",
        {
            "target": _ph(water.spec.ph.target),
            "whole": whole.describe(),
            "low": Figure(
                round(plan.whole_low, 1), Kind.MASS if unit == "g" else Kind.SMALL_VOLUME
            ),
            "high": Figure(
                round(plan.whole_high, 1), Kind.MASS if unit == "g" else Kind.SMALL_VOLUME
            ),
            "after": _ph(plan.ph_after_first),
            "lowest": _ph(plan.lowest_ph_after_first),
        },
    )


def _small_step(water: FillWater, product: Acid, ph: float, softest: Water[float]) -> Advised:
    volume_l = water.fill.volume_l
    value = small_step(volume_l, ph, product.kind, product.strength_pct)
    per_unit = acid_mol_per_unit(product.kind, product.strength_pct) / volume_l
    while ph_of(with_acid(softest, product.kind, value * per_unit)) < LEAST_PH + _PH_ROOM:
        value /= 2
    step = _step(
        water,
        product,
        value,
        "Add {amount} {product} on its own, stir, wait {mix}, re-check pH",
        "Add {amount} {product} (under your smallest measure) on its own, stir, wait {mix}, "
        "re-check pH",
    )
    return Advised(
        step,
        (
            Message(
                "How much acid this water takes is not known: small steps, re-check each. After "
                "the first, what the pH did tells how much more."
            ),
        ),
    )


def _step(water: FillWater, product: Acid, value: float, text: str, too_small: str) -> Step:
    amount = Amount(value, "g" if is_solid(product.kind) else "mL")
    to_measure = measured(amount, water.setup, never_more=True)
    return Step(
        kind=StepKind.ACID,
        say=Message(
            text if how(to_measure) is None else too_small,
            {
                "amount": to_measure.describe(),
                "product": product.name,
                "mix": Figure(water.spec.mix_minutes, Kind.TIME),
            },
        ),
        product=product.key,
        amount=amount,
        cautions=(Caution.ACID, Caution.LABEL),
    )


def _ph(value: float) -> Figure:
    return Figure(round(value, 1), Kind.PH)
