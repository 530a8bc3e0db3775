"""Checks of what goes into a tank: water, sanitizer, acid."""

import math
from collections.abc import Iterator, Sequence
from datetime import timedelta

from washmon.chemistry.acid import is_solid as is_solid_acid
from washmon.chemistry.checks import ChemistryError
from washmon.line.events import AcidAdded, DoseAdded, TankFilled, WaterExchanged
from washmon.line.finding import Fault, Finding, Values, fill_at
from washmon.line.message import Figure, Message
from washmon.line.product import is_solid, rise
from washmon.line.state import Placed, ShiftState
from washmon.units import Kind

HIGHEST_RISE_MG_L = 1000.0


def filled(state: ShiftState, event: TankFilled) -> Iterator[Finding]:
    """Yield what speaks against a filling or water change."""
    if event.tank not in {tank.number for tank in state.tanks}:
        yield Fault("tank", Message("There is no tank {number}.", {"number": event.tank}))
        return
    usual = state.tank(event.tank).spec.volume_l
    if not 0.5 * usual <= event.volume_l <= 1.5 * usual:
        yield Message(
            "{volume} is far from the {usual} that this tank usually holds.",
            {
                "volume": Figure(event.volume_l, Kind.VOLUME),
                "usual": Figure(usual, Kind.VOLUME),
            },
        )


def exchanged(state: ShiftState, event: WaterExchanged) -> Iterator[Finding]:
    """Yield what speaks against a part of the water exchanged."""
    fill = fill_at(state, event.tank, event.at)
    if isinstance(fill, Fault):
        yield fill
    elif event.volume_l > fill.volume_l:
        yield Fault(
            "volume_l",
            Message(
                "The tank holds only {volume}: enter a water change instead.",
                {"volume": Figure(fill.volume_l, Kind.VOLUME)},
            ),
        )


def dose(state: ShiftState, event: DoseAdded) -> Iterator[Finding]:
    """Yield what speaks against a dose."""
    fill = fill_at(state, event.tank, event.at)
    if isinstance(fill, Fault):
        yield fill
        return
    product = state.setup.sanitizer(event.product)
    if product is None:
        yield Fault("product", Message("This product is not in the set-up."))
        return
    if not 0 < event.amount.value < math.inf:
        yield Fault("amount", Message("An amount is above 0."))
        return
    if event.amount.unit != ("g" if is_solid(product) else "mL"):
        yield Fault("amount", _other_measure(product.name, event.amount.unit))
        return
    try:
        gain_mg_l = rise(product, fill.volume_l, event.amount, event.at.date())
    except ChemistryError as trouble:
        yield Fault("amount", Message(trouble.template, dict(trouble.values)))
        return
    limits = state.tank(event.tank).spec.limits
    figures: Values = {
        "rise": Figure(gain_mg_l, Kind.CONCENTRATION),
        "volume": Figure(fill.volume_l, Kind.VOLUME),
        "max": Figure(limits.label_max_mg_l, Kind.CONCENTRATION),
    }
    if gain_mg_l > HIGHEST_RISE_MG_L:
        yield Fault(
            "amount",
            Message("That would raise {volume} by {rise}: check the amount and its unit.", figures),
        )
    elif gain_mg_l > limits.label_max_mg_l:
        yield Message(
            "That raises {volume} by {rise}, more than the label maximum of {max}.", figures
        )
    yield from _too_soon(fill.acids, event, state)


def acid(state: ShiftState, event: AcidAdded) -> Iterator[Finding]:
    """Yield what speaks against acid."""
    fill = fill_at(state, event.tank, event.at)
    if isinstance(fill, Fault):
        yield fill
        return
    acid = state.setup.acid(event.product)
    if acid is None:
        yield Fault("product", Message("This acid is not in the set-up."))
    elif event.amount.unit != ("g" if is_solid_acid(acid.kind) else "mL"):
        yield Fault("amount", _other_measure(acid.name, event.amount.unit))
    if not 0 < event.amount.value < math.inf:
        yield Fault("amount", Message("An amount is above 0."))
    elif event.amount.value > fill.volume_l * 10:
        yield Fault("amount", Message("That is more acid than such a tank takes: check its unit."))
    yield from _too_soon(fill.doses, event, state)


def _other_measure(product: str, unit: str) -> Message:
    if unit == "g":
        return Message("{product} is a liquid: give its amount as a volume.", {"product": product})
    return Message("{product} is a solid: give its amount as a weight.", {"product": product})


def _too_soon(
    others: Sequence[Placed[DoseAdded | AcidAdded]],
    event: DoseAdded | AcidAdded,
    state: ShiftState,
) -> Iterator[Message]:
    mixing = timedelta(minutes=state.tank(event.tank).spec.mix_minutes)
    for other in others:
        if abs(event.at - other.event.at) < mixing:
            yield Message(
                "Hypochlorite and acid went in within {minutes} of each other. Together they make "
                "chlorine gas: let one mix in fully before the other.",
                {"minutes": Figure(mixing.total_seconds() / 60, Kind.TIME)},
            )
