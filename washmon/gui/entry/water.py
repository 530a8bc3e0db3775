"""The water: a tank is filled, its water changed, or part of it exchanged."""

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.form import Fields, Pairs, TankForm, number_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.gui.kit.sheet_spec import Kind as Fill
from washmon.line.events import TankFilled, WaterExchanged
from washmon.line.flags import StepKind
from washmon.line.message import Figure
from washmon.line.state import TankState
from washmon.units import Kind

FULL, PART = "full", "part"


def water_form() -> TankForm:
    """Return the form of a filling, a water change or an exchange."""
    return TankForm(tr("Water"), _fields, _build)


def _fields(ask: Ask, tank: TankState) -> Fields:
    drain = _advised_l(ask, tank)
    full = number_field(
        ask,
        "volume_l",
        tr("Volume"),
        Kind.VOLUME,
        tank.spec.volume_l,
        value=drain,
        hint=tr("empty: the whole tank"),
    )
    return _which(ask, tank, part=drain is not None), full


def _which(ask: Ask, tank: TankState, *, part: bool) -> FieldSpec:
    fresh = tr("Filled") if tank.fill is None else tr("All changed")
    choices: Pairs = ((FULL, fresh), (PART, tr("Part exchanged")))
    chosen = PART if part else FULL
    if ask.correcting is not None:  # a correction is of the same kind as the entry
        chosen = PART if isinstance(ask.old, WaterExchanged) else FULL
        choices = tuple(one for one in choices if one[0] == chosen)
    elif tank.fill is None:
        choices = choices[:1]
    return FieldSpec(
        "which", tr("What was done"), kind=Fill.CHOICE, choices=choices, last=chosen, aside=True
    )


def _advised_l(ask: Ask, tank: TankState) -> float | None:
    """Return how much water the flag asks to exchange, if it does."""
    if ask.flag is None or ask.flag.tank != tank.number or ask.flag.step.kind is not StepKind.LOWER:
        return None
    drain = ask.flag.step.say.values.get("drain")
    return drain.value if isinstance(drain, Figure) else None


def _build(texts: Texts) -> TankFilled | WaterExchanged:
    at, by, tank = texts.at(), texts.ask.person.initials, texts.tank
    volume_l = texts.number("volume_l", Kind.VOLUME)
    if texts.text("which") == PART:
        if volume_l is None:
            texts.faults.setdefault("volume_l", tr("Say how much water was exchanged."))
        return WaterExchanged(at=at, by=by, tank=tank, volume_l=volume_l or 0.0)
    whole = texts.ask.shift.tank(tank).spec.volume_l
    return TankFilled(at=at, by=by, tank=tank, volume_l=whole if volume_l is None else volume_l)
