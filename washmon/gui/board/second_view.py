"""What a panel says of a second fill, in one quiet line."""

from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.line.flags import StepKind
from washmon.line.state import TankState
from washmon.planning.advice import TankAdvice
from washmon.units import Kind


def second_words(tank: TankState, advice: TankAdvice, person: Person) -> str:
    """Return the step of a second fill and its level; nothing where there is none to speak of.

    Where its step is the tank's own, that says it, and here stands what was read alone.
    """
    second, now = advice.second, advice.plan.now
    if second is None or second.gas is not None:
        return ""
    told = now.second and now.kind is not StepKind.CHANGE_WATER
    if tank.second is None:
        return "" if told else tr("Second fill: not filled")
    read = _read(tank, person)
    if told or second.step is None:
        return tr("Second fill at {read}", read=read) if read else ""
    step = person.say(second.step.say)
    return tr("{step} (at {read})", step=step, read=read) if read else step


def _read(tank: TankState, person: Person) -> str:
    kinds = ((tank.spec.level_field, Kind.CONCENTRATION), ("ph", Kind.PH))
    said = []
    for field, kind in kinds:
        newest = None if tank.second is None else tank.second.latest(field)
        if newest is not None:
            value = person.show(float(getattr(newest.event, field)), kind)
            said.append(tr("pH {value}", value=value) if kind is Kind.PH else value)
    return ", ".join(said)
