"""What is asked of a person: the kind of entry, and all that its fields depend on."""

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from washmon.gui.context import Person
from washmon.line.events import Event
from washmon.line.flags import Flag, Step, StepKind
from washmon.line.journal import Entry
from washmon.line.state import ShiftState, TankState
from washmon.rules.advice import Advice
from washmon.units import Kind, show


class EntryKind(StrEnum):
    """What can be entered during a shift."""

    READING = "reading"
    BATCH = "batch"
    DOSE = "dose"
    ACID = "acid"
    WATER = "water change"
    HOLD = "hold"
    RELEASE = "release"
    NOTE = "note"
    SHELVE = "shelve"
    INSTRUMENT = "instrument check"
    HAND_OVER = "hand-over"
    CORRECTION = "correction"


_DOES = {
    StepKind.LEAVE: EntryKind.WATER,
    StepKind.HOLD: EntryKind.HOLD,
    StepKind.CHANGE_WATER: EntryKind.WATER,
    StepKind.LOWER: EntryKind.WATER,
    StepKind.ACID: EntryKind.ACID,
    StepKind.DOSE: EntryKind.DOSE,
    StepKind.CHECK: EntryKind.READING,
    StepKind.VERIFY: EntryKind.INSTRUMENT,
    StepKind.WARM: EntryKind.READING,
    StepKind.CONTACT: EntryKind.BATCH,
}


def kind_for(step: Step) -> EntryKind | None:
    """Return the entry that says a step was taken, if there is one for it."""
    return _DOES.get(step.kind)


@dataclass(frozen=True, slots=True)
class Ask:
    """The moment at which a sheet was opened, and for what."""

    shift: ShiftState
    person: Person
    now: datetime
    advice: Advice = field(default_factory=Advice)
    tank: int | None = None
    flag: Flag | None = None
    correcting: Entry | None = None
    done: bool = False
    """The next step of ``tank`` was done, though no flag asked for it."""

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
        if self.flag is not None:
            return self.flag.tank == tank.number
        return self.done and self.tank == tank.number

    def step_of(self, tank: TankState, *kinds: StepKind) -> Step | None:
        """Return the step of one of these kinds that the flag, or else the tank, asks for."""
        if self.flag is not None and self.flag.tank == tank.number and self.flag.step.kind in kinds:
            return self.flag.step
        for advice in self.advice.tanks:
            if advice.tank == tank.number:
                steps = (advice.step, *(flag.step for flag in advice.flags))
                return next((step for step in steps if step.kind in kinds), None)
        return None
