"""The steps that rules ask for, with their amounts."""

from washmon.chemistry.acid import is_solid, small_step
from washmon.chemistry.checks import ChemistryError
from washmon.line.events import Method
from washmon.line.flags import Amount, Caution, Step, StepKind
from washmon.line.measure import measured
from washmon.line.message import Figure, Message
from washmon.line.product import dose
from washmon.line.reading import level_range
from washmon.line.setup import LineSetup, Sanitizer, Tank
from washmon.units import Kind


def say_step(kind: StepKind, text: str, **values: str | int | Figure) -> Step:
    """Return a step that needs no amount."""
    return Step(kind=kind, say=Message(text, dict(values)))


def dose_step(
    setup: LineSetup, tank: Tank, volume_l: float, fac_mg_l: float, method: Method
) -> Step:
    """Return the step that doses a tank from a measured level to its target."""
    product = setup.sanitizer(tank.sanitizer)
    if product is None:
        return say_step(StepKind.LOOK, "The product of this tank is not in the set-up: add it")
    try:
        return _dose_step(setup, tank, product, volume_l, (fac_mg_l, method))
    except ChemistryError as trouble:
        return say_step(StepKind.LOOK, trouble.template, **trouble.values)


def _dose_step(
    setup: LineSetup, tank: Tank, product: Sanitizer, volume_l: float, reading: tuple[float, Method]
) -> Step:
    fac_mg_l, method = reading
    target = tank.chlorine.target_mg_l
    amount = dose(product, volume_l, fac_mg_l, target)
    lowest, highest = level_range(fac_mg_l, method) if fac_mg_l > 0 else (0.0, 0.0)
    most = dose(product, volume_l, max(0.0, lowest), target).value
    least = dose(product, volume_l, highest, target).value if highest < target else 0.0
    text = "Add {amount} {product}, stir, wait {mix}, re-check"
    if most - least > 0.1 * amount.value:
        text = "Add {amount} {product} ({range}), stir, wait {mix}, re-check"
    to_measure = measured(amount, setup)
    return Step(
        kind=StepKind.DOSE,
        say=Message(
            text,
            {
                "amount": to_measure.describe(),
                "range": to_measure.span(least, most),
                "product": product.name,
                "mix": Figure(tank.mix_minutes, Kind.TIME),
            },
        ),
        product=product.key,
        amount=amount,
        amount_low=least,
        amount_high=most,
        cautions=(Caution.HYPOCHLORITE, Caution.LABEL),
    )


def acid_step(setup: LineSetup, tank: Tank, volume_l: float, ph: float) -> Step:
    """Return the careful small step of acid: alkalinity is not known, so never a full estimate."""
    product = setup.acid(tank.acid)
    if product is None:
        return say_step(
            StepKind.LOWER,
            "No acid is in the set-up: exchange part of the water for fresh, re-check pH",
        )
    try:
        value = small_step(volume_l, ph, product.kind, product.strength_pct)
    except ChemistryError as trouble:
        return say_step(StepKind.LOOK, trouble.template, **trouble.values)
    amount = Amount(value, "g" if is_solid(product.kind) else "mL")
    return Step(
        kind=StepKind.ACID,
        say=Message(
            "Add {amount} {product} on its own, stir, wait {mix}, re-check pH",
            {
                "amount": measured(amount, setup, never_more=True).describe(),
                "product": product.name,
                "mix": Figure(tank.mix_minutes, Kind.TIME),
            },
        ),
        product=product.key,
        amount=amount,
        cautions=(Caution.ACID, Caution.LABEL),
    )
