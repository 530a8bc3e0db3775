"""What is asked of a person: the kind of entry, and all that its fields depend on."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from washmon.gui.context import UserContext
from washmon.line.events import Event
from washmon.line.flags import Flag, Step, StepKind
from washmon.line.journal import Entry
from washmon.line.kinds import EntryKind, entry_for
from washmon.line.own_words import OwnWords
from washmon.line.state import ShiftState, TankState
from washmon.planning.advice import Advice
from washmon.units import Kind, show

if TYPE_CHECKING:  # start-up is measured, and it is only read
    from washmon.forecast.look_ahead import Forecast


def kind_for(step: Step) -> EntryKind | None:
    """Return the entry that says a step was taken, if there is one for it."""
    return entry_for(step.kind)


@dataclass(frozen=True, slots=True)
class Ask:
    """The moment at which a sheet was opened, and for what."""

    shift: ShiftState
    person: UserContext
    now: datetime
    advice: Advice = field(default_factory=Advice)
    tank: int | None = None
    flag: Flag | None = None
    correcting: Entry | None = None
    done: bool = False
    """What the plan of ``tank`` asks for was done."""
    second: bool = False
    """The fields are asked for the second fill, beside a tank."""
    forecasts: "Mapping[int, Forecast]" = field(default_factory=dict)
    """What is expected of each tank's water, as far as anybody has looked ahead."""
    own: OwnWords = field(default_factory=OwnWords)
    """What the shed wrote before."""

    @property
    def chosen(self) -> str:
        """The key of the water that is chosen already; empty where a person chooses."""
        if self.correcting is not None:
            number, second = self.was("tank"), bool(self.was("second"))
        else:
            number, second = self.tank, self.taken is not None and _of_second(self.taken)
        if not isinstance(number, int):
            return ""
        return second_key(number) if second else str(number)

    @property
    def taken(self) -> Step | None:
        """The step that was taken, where this entry says that one was."""
        if self.done:
            return next((one.plan.now for one in self.advice.tanks if one.tank == self.tank), None)
        return None if self.flag is None else self.flag.step

    @property
    def about(self) -> Flag | None:
        """The flag that this entry answers: the one given, or the first that the plan answers."""
        if self.flag is not None or not self.done:
            return self.flag
        mine = (one for one in self.advice.tanks if one.tank == self.tank)
        return next(
            (flag for one in mine for flag in one.flags if flag.rule in one.plan.answers), None
        )

    @property
    def old(self) -> Event | None:
        """What the entry that is corrected says by now; nothing for a new entry."""
        if self.correcting is None:
            return None
        before = self.shift.corrections.get(self.correcting.seq)
        return (before.instead if before else None) or self.correcting.event

    def was(self, field: str) -> object:
        """Return what a field of the corrected entry says; nothing for a new entry."""
        return getattr(self.old, field, None)

    def shown(self, value: float | None, kind: Kind) -> str:
        """Return a value as it would be typed: no unit; empty for nothing."""
        if value is None:
            return ""
        person = self.person
        text = show(value, kind, person.taste, person.decimal_point, with_unit=False)
        return text.replace("\N{MINUS SIGN}", "-")

    def shown_old(self, field: str, kind: Kind) -> str:
        """Return what the corrected entry says in a field, as it would be typed."""
        value = self.was(field)
        return self.shown(value, kind) if isinstance(value, float | int) else ""

    def did_step_of(self, tank: TankState) -> bool:
        """Tell whether this is to say that the step which a tank asked for was done."""
        number = self.flag.tank if self.flag is not None else self.tank
        step = self.taken
        return step is not None and number == tank.number and _of_second(step) is self.second

    def step_of(self, tank: TankState, *kinds: StepKind) -> Step | None:
        """Return the step of one of these kinds that was taken, or else is planned."""
        steps = [self.taken] if self.did_step_of(tank) else []
        for advice in self.advice.tanks:
            if advice.tank == tank.number:
                steps += (advice.plan.now, *(flag.step for flag in advice.flags))
                steps += () if advice.second is None else (advice.second.step,)
        known = (step for step in steps if step is not None)
        mine = (step for step in known if _of_second(step) is self.second)
        return next((step for step in mine if step.kind in kinds), None)


def _of_second(step: Step) -> bool:
    """Tell whether a step is done to the second fill; a swap is done to the tank."""
    return step.second and step.kind is not StepKind.CHANGE_WATER


def second_key(tank: int) -> str:
    """Return what stands for the second fill of a tank where a tank is chosen."""
    return f"{tank}+"


def tank_of(key: str) -> tuple[int, bool]:
    """Return the number of the tank that a key stands for, and whether for its second fill."""
    number = key.removesuffix("+")
    return int(number), number != key
