"""Checks of what goes into a tank: water, sanitizer, acid."""

import math
from collections.abc import Iterator, Sequence
from datetime import timedelta

from washmon.chemistry.acid import ACIDS
from washmon.chemistry.acid import is_solid as is_solid_acid
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.titration import UNKNOWN_ALKALINITY
from washmon.chemistry.water import CACO3_MG_PER_EQ, ph_of, with_acid
from washmon.line.certain import LevelBefore, level_before
from washmon.line.events import AcidAdded, DoseAdded, SecondSwapped, TankFilled, WaterExchanged
from washmon.line.fill_water import FillWater
from washmon.line.finding import Fault, Finding, fill_at, no_second_vessel, water_of_entry
from washmon.line.judging import is_under, most_mg_l, over_label, under_target, which_most
from washmon.line.message import Figure, Message, Moment, Values
from washmon.line.product import acid_mol, is_solid, rise
from washmon.line.setup import SanitizerKind, Tank
from washmon.line.state import Fill, Placed, ShiftState, order, passed, value_of
from washmon.units import Kind

HIGHEST_RISE_MG_L = 1000.0
LOWEST_PH = 6.0
"""Under it chlorine gas comes out of wash water: common practice, no published source."""
MOST_ALKALINITY_MG_L = 450.0
"""As CaCO3: acid that uses up more than this is a slip of the hand; common practice."""
FAR_PH = 0.3
"""So far under its low limit a pH is a slip of the hand, not a step too many; common practice."""
_MIDDLING_MG_L = math.sqrt(UNKNOWN_ALKALINITY.low_mg_l * UNKNOWN_ALKALINITY.high_mg_l)
FULL = 0.9
"""Of the target: a dose that brings the water so far was a whole one."""


def filled(state: ShiftState, event: TankFilled) -> Iterator[Finding]:
    """Yield what speaks against a filling or water change."""
    if event.tank not in {tank.number for tank in state.tanks}:
        yield Fault("tank", Message("There is no tank {number}.", {"number": event.tank}))
        return
    spec = state.tank(event.tank).spec
    usual = spec.second_volume_l if event.second else spec.volume_l
    if usual is None:
        yield no_second_vessel(spec)
        return
    if not 0.5 * usual <= event.volume_l <= 1.5 * usual:
        yield Message(
            "{volume} is far from the {usual} that the second vessel holds."
            if event.second
            else "{volume} is far from the {usual} that this tank usually holds.",
            {
                "volume": Figure(event.volume_l, Kind.VOLUME),
                "usual": Figure(usual, Kind.VOLUME),
            },
        )
    yield from _unused(state, event)
    if not event.second:
        yield from unmeasured(state, event)


def _unused(state: ShiftState, event: TankFilled) -> Iterator[Message]:
    """Yield a doubt where water that was dosed would go before anything was washed in it.

    An entry on the wrong tank would let a full dose be advised on top of the one that is in.
    """
    fill = water_of_entry(state, event)
    if isinstance(fill, Fault) or not (fill.doses or fill.acids):
        return
    tank = state.tank(event.tank)
    if event.second or (fill is tank.fill and not tank.batches_in_fill):
        yield Message(
            "What was filled in at {time} was dosed, and nothing was washed in it: was it let out?",
            {"time": Moment(fill.begun.event.at)},
        )


def unmeasured(state: ShiftState, event: TankFilled | SecondSwapped) -> Iterator[Message]:
    """Yield a doubt where the water that goes was not measured after its last batches."""
    fill = fill_at(state, event.tank, event.at)
    if isinstance(fill, Fault):
        return
    tank = state.tank(event.tank)
    since = (fill.at, fill.used.seq)
    for reading in fill.readings:
        level = getattr(reading.event, tank.spec.level_field)
        if level is not None and fill.at <= reading.event.at <= event.at:
            since = order(reading)
    washed = [one for one in passed(tank.washed, since, None) if one.event.at <= event.at]
    if washed:
        yield Message(
            "Measure before you drain: one batch was washed since the last check."
            if len(washed) == 1
            else "Measure before you drain: {count} batches were washed since the last check.",
            {"count": len(washed)},
        )


def exchanged(state: ShiftState, event: WaterExchanged) -> Iterator[Finding]:
    """Yield what speaks against a part of the water exchanged."""
    fill = water_of_entry(state, event)
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
    fill = water_of_entry(state, event)
    if isinstance(fill, Fault):
        yield fill
        return
    product = state.setup.sanitizer(event.product)
    if product is None:
        yield Fault("product", Message("This product is not in the set-up."))
        return
    tank = state.tank(event.tank).spec
    if (product.kind is SanitizerKind.PERACETIC) != (tank.peracetic is not None):
        yield Fault("product", _other_sanitizer(product.name, tank))
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
    yield from _rise_findings(level_before(state, fill, event), gain_mg_l, fill, tank)
    yield from _too_soon(fill.acids, event, state)


def _other_sanitizer(product: str, tank: Tank) -> Message:
    if tank.peracetic is not None:
        text = "{tank} is kept with peracetic acid: {product} must never go into it."
    else:
        text = "{tank} is kept with chlorine: {product} must never go into it."
    return Message(text, {"tank": tank.name, "product": product})


def _rise_findings(
    before: LevelBefore, gain_mg_l: float, fill: Fill, tank: Tank
) -> Iterator[Finding]:
    figures: Values = {
        "rise": Figure(gain_mg_l, Kind.CONCENTRATION),
        "volume": Figure(fill.volume_l, Kind.VOLUME),
        "max": Figure(most_mg_l(tank), Kind.CONCENTRATION),
        "which": which_most(tank).value,
        "level": Figure(before.level_mg_l, Kind.CONCENTRATION),
        "sum": Figure(before.level_mg_l + gain_mg_l, Kind.CONCENTRATION),
    }
    if gain_mg_l > HIGHEST_RISE_MG_L:
        yield Fault(
            "amount",
            Message("That would raise {volume} by {rise}: check the amount and its unit.", figures),
        )
        return
    if over_label(gain_mg_l, tank):
        yield Message("That raises {volume} by {rise}, more than the {which} of {max}.", figures)
    elif over_label(before.level_mg_l + gain_mg_l, tank):
        yield Message(
            "That raises {volume} from about {level} to {sum}, over the {which} of {max}.",
            figures,
        )
    if before.unmeasured_at and not under_target(before.level_mg_l / FULL, tank):
        yield Message(
            "The dose of {time} was not measured yet, and is enough for about {level}: measure "
            "before you add more.",
            {**figures, "time": Moment(before.unmeasured_at)},
        )


def acid(state: ShiftState, event: AcidAdded) -> Iterator[Finding]:
    """Yield what speaks against acid."""
    fill = water_of_entry(state, event)
    if isinstance(fill, Fault):
        yield fill
        return
    tank = state.tank(event.tank).spec
    if tank.peracetic is not None:
        yield Fault("product", _other_sanitizer("acid", tank))
        return
    yield from _acid_ph(state, fill, event)
    yield from _acid_amount(state, fill, event)
    yield from _too_soon(fill.doses, event, state)


def _acid_ph(state: ShiftState, fill: Fill, event: AcidAdded) -> Iterator[Finding]:
    """Yield what speaks against any acid by the pH that was read last before it."""
    read = [
        float(one.event.ph)
        for one in fill.readings
        if one.event.ph is not None and one.event.at <= event.at
    ]
    if not read:
        return
    target = state.tank(event.tank).spec.ph.target
    values: Values = {"ph": Figure(read[-1], Kind.PH), "target": Figure(target, Kind.PH)}
    if read[-1] < LOWEST_PH:
        # Asked, not refused: what was poured must stand in the record.
        yield Message(
            "The last pH is {ph}: acid makes chlorine gas of it. Add none. If some is in already, "
            "keep away and air the room.",
            values,
        )
    elif read[-1] < target:
        yield Message(
            "The last pH is {ph}, under the target of {target}: acid lowers it further.", values
        )


def _acid_amount(state: ShiftState, fill: Fill, event: AcidAdded) -> Iterator[Finding]:
    product = state.setup.acid(event.product)
    if product is None:
        yield Fault("product", Message("This acid is not in the set-up."))
        return
    if event.amount.unit != ("g" if is_solid_acid(product.kind) else "mL"):
        yield Fault("amount", _other_measure(product.name, event.amount.unit))
        return
    if not 0 < event.amount.value < math.inf:
        yield Fault("amount", Message("An amount is above 0."))
        return
    try:
        mol = acid_mol(product, event.amount)
    except ChemistryError as trouble:
        yield Fault("product", Message(trouble.template, dict(trouble.values)))
        return
    eq_l = mol * ACIDS[product.kind].protons / max(1.0, fill.volume_l)
    if eq_l * CACO3_MG_PER_EQ > MOST_ALKALINITY_MG_L:
        yield Fault("amount", Message("That is more acid than such a tank takes: check its unit."))
    else:
        yield from _ph_would_fall(state, fill, event)


def _ph_would_fall(state: ShiftState, fill: Fill, event: AcidAdded) -> Iterator[Message]:
    """Yield a doubt where acid would take the pH of the water under its low limit.

    Alkalinity is what the set-up or the fill's own answers tell, and then a step too many is not
    asked about. Where neither does, it is the middle of what sources have, by ratio: the hardest
    would let everything pass, and with the softest each step would be asked about. Acid that no pH
    was read since is counted in.
    """
    spec = state.tank(event.tank).spec
    water = FillWater(state.setup, spec, fill)
    seen = water.latest("ph", (event.at, state.last_seq))
    since = None if seen is None else order(seen)
    source_ph, known = water.source_ph_range()[0], water.alkalinity
    alkalinity = _MIDDLING_MG_L if known is None else known.range.best_mg_l
    room = 0.0 if known is None else FAR_PH
    before = source_ph if seen is None else value_of(seen, "ph")
    others = (one.event for one in fill.acids if since is None or order(one) > since)
    try:
        after = water.water(before, alkalinity, since, source_ph=source_ph)
        for acid_in in (*others, event):
            product = state.setup.acid(acid_in.product)
            if product is not None:
                after = with_acid(after, product.kind, water.mol_l(acid_in))
        ph = round(ph_of(after), 1)
    except ChemistryError:
        return
    if is_under(ph, spec.ph.low - room, Kind.PH):
        yield Message(
            "In water of {alkalinity} mg/L alkalinity as CaCO₃ that takes the pH from {before} to "
            "about {after}, under {low}: check the amount and its unit.",
            {
                "alkalinity": round(alkalinity),
                "before": Figure(before, Kind.PH),
                "after": Figure(ph, Kind.PH),
                "low": Figure(spec.ph.low, Kind.PH),
            },
        )


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
