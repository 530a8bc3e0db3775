"""What the Board says, as one deed of a person: all interpretation of advice stands here.

Nothing but the one next step of each tank is read, with the amount as it is shown: a person sees
"2¼ tsp", not millilitres.
"""

from datetime import datetime
from enum import StrEnum

from msgspec import Struct

from washmon.line.flags import Condition, Step, StepKind
from washmon.line.message import Figure, Message, Moment, say
from washmon.planning.advice import Advice
from washmon.units import Kind, UnitError, UnitSystem, parse


class Deed(StrEnum):
    """What a person does about a tank now."""

    WASH = "wash on"
    CHECK = "check"
    DOSE = "dose"
    ACID = "acid"
    WAIT = "wait"
    CHANGE = "change water"
    SWAP = "swap"
    EXCHANGE = "exchange"
    HOLD = "hold"
    LEAVE = "leave"
    FILL = "fill"
    VERIFY = "verify"
    STAND = "stand still"


BY_HAND = frozenset(Deed) - {Deed.WASH, Deed.WAIT, Deed.STAND}


class Todo(Struct, frozen=True, kw_only=True):
    """One deed with what belongs to it."""

    tank: int
    deed: Deed
    said: str
    why: str = ""
    """The finding that it answers first, for the count of causes."""
    may_wash: bool = True
    """Whether batches may go on through this tank meanwhile."""
    amount: float | None = None
    """mL or g, as shown."""
    unit: str = "mL"
    product: str = ""
    until: datetime | None = None
    litres: float | None = None
    batches: tuple[int, ...] = ()
    ph_only: bool = False
    cloudiness: bool = False
    second: bool = False

    @property
    def hand(self) -> tuple[str, str, bool] | None:
        """What makes it the same deed from look to look, where it needs a hand."""
        return (self.deed, self.product, self.second) if self.deed in BY_HAND else None


def next_step(advice: Advice, tank: int, taste: UnitSystem) -> Todo:
    """Return what the Board asks of a person for one tank now."""
    told = advice.tank(tank)
    feed = told.plan.feed and told.condition is not Condition.STOP
    why = told.plan.answers[0] if told.plan.answers else "calm"
    return _todo(tank, told.step, taste, why=why, feed=feed)


def second_step(advice: Advice, tank: int, taste: UnitSystem) -> Todo | None:
    """Return what the Board asks for the second fill of a tank, if it has one."""
    second = advice.tank(tank).second
    if second is None or second.step is None:
        return None
    return _todo(tank, second.step, taste, why="second", feed=True)


def _todo(tank: int, step: Step, taste: UnitSystem, *, why: str, feed: bool) -> Todo:
    said = say(step.say, taste)
    deed = _deed(step, feed=feed)
    amount, unit = _amount(step, taste)
    return Todo(
        tank=tank,
        deed=deed,
        said=said,
        why=why,
        may_wash=feed,
        amount=amount,
        unit=unit,
        product=step.product or "",
        until=_until(step.say),
        litres=_litres(step.say),
        batches=step.batches,
        ph_only="pH" in step.say.text and "chlorine" not in step.say.text,
        cloudiness="loud" in step.say.text,
        second=step.second,
    )


_DEEDS = {
    StepKind.LEAVE: Deed.LEAVE,
    StepKind.HOLD: Deed.HOLD,
    StepKind.CHANGE_WATER: Deed.CHANGE,
    StepKind.LOWER: Deed.EXCHANGE,
    StepKind.WAIT: Deed.WAIT,
    StepKind.CHECK: Deed.CHECK,
    StepKind.FILL: Deed.FILL,
}
_ADDITIONS = {StepKind.ACID: Deed.ACID, StepKind.DOSE: Deed.DOSE}


def _deed(step: Step, *, feed: bool) -> Deed:
    if step.kind is StepKind.CHANGE_WATER and step.second:
        return Deed.SWAP
    if step.kind in _ADDITIONS and step.amount is not None:
        return _ADDITIONS[step.kind]
    return _DEEDS.get(step.kind) or _looking(step.say.text, feed=feed)


def _looking(text: str, *, feed: bool) -> Deed:
    """Return what a person makes of a step that is only told in words."""
    if text.startswith("Fill the tank"):
        return Deed.CHANGE
    return Deed.WASH if feed else Deed.STAND


def _amount(step: Step, taste: UnitSystem) -> tuple[float | None, str]:
    if step.amount is None:
        return None, "mL"
    shown, unit = step.say.values.get("amount"), step.amount.unit
    if isinstance(shown, str):
        kind = Kind.MASS if unit == "g" else Kind.SMALL_VOLUME
        try:
            return parse(shown.replace("\N{NO-BREAK SPACE}", " "), kind, taste), unit
        except UnitError:
            pass
    return step.amount.value, unit


def _until(message: Message) -> datetime | None:
    moment = message.values.get("time")
    return moment.at if isinstance(moment, Moment) else None


def _litres(message: Message) -> float | None:
    drain = message.values.get("drain")
    return drain.value if isinstance(drain, Figure) else None
