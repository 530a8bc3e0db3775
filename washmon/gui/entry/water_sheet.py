"""The water: a tank is filled, its water changed, part of it exchanged, or a second fill used."""

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.sheet_form import Fields, OneTankForm, Pairs, number_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.line.events import SecondSwapped, TankFilled, WaterExchanged
from washmon.line.flags import StepKind
from washmon.line.message import Figure
from washmon.line.second import lacking
from washmon.line.state import TankState
from washmon.units import Kind

FULL, PART, SWAP = "full", "part", "swap"


def water_form() -> OneTankForm:
    """Return the form of a filling, a water change, an exchange or a swap."""
    return OneTankForm(tr("Water"), _fields, _build, second=_has_second_vessel)


def _has_second_vessel(tank: TankState) -> bool:
    return tank.spec.second_volume_l is not None


def _fields(ask: Ask, tank: TankState) -> Fields:
    drain = _advised_l(ask, tank)
    full = number_field(
        ask,
        "volume_l",
        tr("Volume"),
        Kind.VOLUME,
        tank.spec.second_volume_l if ask.second else tank.spec.volume_l,
        value=drain,
        hint=tr("leave empty for a whole vessel")
        if ask.second
        else tr("leave empty for a whole tank"),
    )
    which = _which(ask, tank, part=drain is not None)
    return (which,) if isinstance(ask.old, SecondSwapped) else (which, full)


def _which(ask: Ask, tank: TankState, *, part: bool) -> FieldSpec:
    fresh = tr("Filled") if tank.fill is None else tr("All changed")
    choices: Pairs = ((FULL, fresh), (PART, tr("Part exchanged")))
    chosen = PART if part else FULL
    swap: Pairs = ((SWAP, tr("Second fill swapped in")),)
    if ask.correcting is not None:  # a correction is of the same kind as the entry
        chosen = PART if isinstance(ask.old, WaterExchanged) else FULL
        chosen = SWAP if isinstance(ask.old, SecondSwapped) else chosen
        choices = tuple(one for one in (*choices, *swap) if one[0] == chosen)
    elif tank.fill is None:
        choices = choices[:1]
    if ask.correcting is None and tank.second is not None:
        choices = (*swap, *choices)
        ready = not lacking(tank.second, tank.spec, ask.now)
        chosen = SWAP if ready and not part else chosen
    return FieldSpec(
        "which", tr("What was done"), kind=Fill.CHOICE, choices=choices, last=chosen, aside=True
    )


def _advised_l(ask: Ask, tank: TankState) -> float | None:
    """Return how much water the step that was taken exchanges, if it does."""
    step = ask.taken
    if step is None or step.kind is not StepKind.LOWER or not ask.did_step_of(tank):
        return None
    drain = step.say.values.get("drain")
    return drain.value if isinstance(drain, Figure) else None


def _build(texts: Texts) -> TankFilled | WaterExchanged | SecondSwapped:
    at, by, tank, second = texts.at(), texts.ask.person.initials, texts.tank, texts.second
    volume_l = texts.number("volume_l", Kind.VOLUME)
    if texts.text("which") == SWAP:
        if volume_l is not None:
            texts.faults["volume_l"] = tr("The whole second fill is swapped in: leave this empty.")
        return SecondSwapped(at=at, by=by, tank=tank)
    if texts.text("which") == PART:
        if volume_l is None:
            texts.faults.setdefault("volume_l", tr("Say how much water was exchanged."))
        return WaterExchanged(at=at, by=by, tank=tank, volume_l=volume_l or 0.0, second=second)
    spec = texts.ask.shift.tank(tank).spec
    whole = (spec.second_volume_l if second else spec.volume_l) or 0.0
    volume_l = whole if volume_l is None else volume_l
    return TankFilled(at=at, by=by, tank=tank, volume_l=volume_l, second=second)
