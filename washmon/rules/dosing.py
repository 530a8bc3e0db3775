"""The step that doses a tank up to its target, how sure its amount is, and what it will do."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.uncertainty import Range, dose_range
from washmon.line.events import ReadingTaken
from washmon.line.fill_water import FillWater
from washmon.line.flags import Amount, Caution, Step, StepKind
from washmon.line.measure import how, measured
from washmon.line.message import Figure, Message, Values
from washmon.line.mixing import unverified
from washmon.line.product import dose, is_solid, most_to, rise
from washmon.line.reading import range_of
from washmon.line.setup import Sanitizer, SanitizerKind
from washmon.line.state import Placed
from washmon.line.strength import Strength, strength_on
from washmon.rules.base import Sight
from washmon.rules.steps import say_step, trouble_step
from washmon.units import Kind

_SAMPLE_G_L = 100.0
"""Any strength: only the ratios of the range are taken from it."""
_WORTH_TELLING_PH = 0.15
_SHORT_MG_L = 1.0
"""So far under the target a dose does not reach it."""


@dataclass(frozen=True, slots=True)
class Advised:
    """A dose and the sentences that belong to its reason."""

    step: Step
    more: tuple[Message, ...] = ()


def dose_to_target(sight: Sight, seen: tuple[float, Placed[ReadingTaken]] | None) -> Advised:
    """Return the dose from a level that was read (``None``: fresh water) to the tank's target."""
    product = sight.setup.sanitizer(sight.spec.sanitizer)
    if product is None:
        return Advised(
            say_step(StepKind.LOOK, "The product of this tank is not in the set-up: add it")
        )
    level = Range(0.0, 0.0, 0.0)
    if seen is not None and seen[0] > 0:
        low, high = range_of(sight.spec, seen[1].event)
        level = Range(max(0.0, low), seen[0], high)
    try:
        strength = strength_on(product, sight.today)
        maximum_mg_l = sight.spec.limits.label_max_mg_l
        most = most_to(product, sight.fill.volume_l, level.best, maximum_mg_l, sight.today)
        amount = _amount(sight, product, strength, level, most.value)
        advised = _step(sight, product, amount, most)
        return Advised(
            advised.step,
            (
                *advised.more,
                *_how(sight, product, strength, level, Amount(amount.best, most.unit)),
                *_ph(sight, sight.spec.limits.target_mg_l - level.best),
            ),
        )
    except ChemistryError as trouble:
        return Advised(trouble_step(trouble))


def _amount(
    sight: Sight, product: Sanitizer, strength: Strength, level: Range, most: float
) -> Range:
    """Return mL (g of a solid) with their range; what the label allows is never passed.

    A container may be stronger than its age tells: the dose must keep the label maximum even if
    nothing was lost since it was labelled, or tested.
    """
    volume_l, limits = sight.fill.volume_l, sight.spec.limits
    if product.kind is SanitizerKind.PERACETIC:
        best = dose(product, volume_l, level.best, limits.target_mg_l).value
        sample = dose_range(volume_l, level, limits.target_mg_l, _SAMPLE_G_L)
        return Range(best * sample.low / sample.best, best, best * sample.high / sample.best)
    found = dose_range(
        volume_l,
        level,
        limits.target_mg_l,
        strength.best,
        strength_error=strength.error,
        solid=is_solid(product),
    )
    if strength.best >= strength.undecayed:
        return found
    return Range(min(found.low, most), min(found.best, most), min(found.high, most))


def _step(sight: Sight, product: Sanitizer, amount: Range, most: Amount) -> Advised:
    exact = Amount(amount.best, most.unit)
    to_measure = measured(exact, sight.setup, at_most=most)
    dilution = how(to_measure)
    peracetic = product.kind is SanitizerKind.PERACETIC
    step = Step(
        kind=StepKind.DOSE,
        say=Message(
            "Add {amount} {product}, stir, wait {mix}, re-check",
            {
                "amount": to_measure.describe(),
                "product": product.name,
                "mix": Figure(sight.spec.mix_minutes, Kind.TIME),
            },
        ),
        product=product.key,
        amount=exact,
        amount_low=amount.low,
        amount_high=amount.high,
        cautions=(Caution.PERACETIC if peracetic else Caution.HYPOCHLORITE, Caution.LABEL),
    )
    return Advised(step, () if dilution is None else (dilution,))


def _how(
    sight: Sight, product: Sanitizer, strength: Strength, level: Range, amount: Amount
) -> Iterator[Message]:
    """Yield the mass balance in words, with the strength that was reckoned with."""
    volume_l, limits = sight.fill.volume_l, sight.spec.limits
    reached = level.best + rise(product, volume_l, amount, sight.today)
    is_short = reached < limits.target_mg_l - _SHORT_MG_L
    values: Values = {
        "level": Figure(level.best, Kind.CONCENTRATION),
        "target": Figure(round(reached) if is_short else limits.target_mg_l, Kind.CONCENTRATION),
        "volume": Figure(volume_l, Kind.VOLUME),
        "strength": strength_figure(product, strength.best),
        "label": strength_figure(product, strength.label),
        "undecayed": strength_figure(product, strength.undecayed),
        "days": strength.days or 0,
        "storage": Figure(strength.storage_c, Kind.TEMPERATURE),
        "tested": "" if product.tested_on is None else product.tested_on.isoformat(),
    }
    yield Message(_lifts(product, strength), values)
    if is_short:
        yield Message(
            "More could pass the label maximum of {most} if the container has lost nothing since: "
            "test it, or open a fresh one.",
            {"most": Figure(limits.label_max_mg_l, Kind.CONCENTRATION)},
        )


def _lifts(product: Sanitizer, strength: Strength) -> str:
    """Return the words of the mass balance, by where the strength is known from."""
    if product.kind is SanitizerKind.PERACETIC:
        return (
            "The amount lifts {volume} from {level} to {target} by mass balance with {strength} "
            "peracetic acid; dirt in the water takes some of it."
        )
    if strength.tested and strength.days:
        return (
            "The amount lifts {volume} from {level} to {target} by mass balance with {strength} "
            "available chlorine, what is left at best of the {undecayed} that a test found on "
            "{tested}; dirt in the water takes some of it."
        )
    if strength.tested:
        return (
            "The amount lifts {volume} from {level} to {target} by mass balance with {strength} "
            "available chlorine, as tested (label {label}); dirt in the water takes some of it."
        )
    if not strength.days:
        return (
            "The amount lifts {volume} from {level} to {target} by mass balance with {strength} "
            "available chlorine; dirt in the water takes some of it."
        )
    if strength.days == 1:
        return (
            "The amount lifts {volume} from {level} to {target} by mass balance with {strength} "
            "available chlorine, what a day at {storage} has left of {label} at best; dirt in the "
            "water takes some of it."
        )
    return (
        "The amount lifts {volume} from {level} to {target} by mass balance with {strength} "
        "available chlorine, what {days} days at {storage} have left of {label} at best; dirt in "
        "the water takes some of it."
    )


def strength_figure(product: Sanitizer, strength: float) -> Figure:
    """Return a strength as a person reads it: percent of a solid, g/L of a liquid."""
    if is_solid(product):
        return Figure(strength / 10, Kind.PERCENT)
    return Figure(round(strength, 1), Kind.STRENGTH)


def _ph(sight: Sight, rise_mg_l: float) -> tuple[Message, ...]:
    """Return what a dose will do to the pH, where one was read since the water last changed."""
    if sight.spec.peracetic is not None or unverified(sight.fill, "ph", sight.spec) is not None:
        return ()
    return _ph_after(sight.water, rise_mg_l)


@lru_cache(maxsize=64)
def _ph_after(water: FillWater, rise_mg_l: float) -> tuple[Message, ...]:
    """Return what a dose will do to the pH; kept, as each look asks."""
    try:
        found = water.ph_after_dose(rise_mg_l)
    except ChemistryError:
        return ()
    if found is None:
        return ()
    names = ("ph", "best", "low", "high")
    values = {
        name: Figure(round(value, 1), Kind.PH) for name, value in zip(names, found, strict=True)
    }
    if found[3] - found[2] < _WORTH_TELLING_PH:
        return (Message("It takes pH {ph} to about {best}.", dict(values)),)
    return (
        Message(
            "It takes pH {ph} to about {best}, between {low} and {high} as the water is hard or "
            "soft.",
            dict(values),
        ),
    )
