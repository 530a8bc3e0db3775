"""The guide from an empty line to the first batch, tank by tank: fill, dose, wait, measure."""

from dataclasses import dataclass
from enum import StrEnum

from washmon.gui.board.board_words import answer_word
from washmon.gui.board.cautions import short
from washmon.gui.context import UserContext
from washmon.gui.entry.ask import kind_for
from washmon.gui.i18n import tr
from washmon.line.flags import Condition, StepKind
from washmon.line.kinds import EntryKind
from washmon.line.state import TankState
from washmon.planning.advice import Advice
from washmon.planning.snapshot import Snapshot
from washmon.units import Kind


class FillingStage(StrEnum):
    """How far a tank has come."""

    EMPTY = "empty"
    DOSE = "dose"
    WAIT = "wait"
    MEASURE = "measure"
    MEND = "mend"
    READY = "ready"


WAY = (FillingStage.EMPTY, FillingStage.DOSE, FillingStage.MEASURE, FillingStage.READY)
"""The stages that every tank goes through."""
_PLACE = {FillingStage.WAIT: 2, FillingStage.MEND: 2} | {stage: at for at, stage in enumerate(WAY)}


@dataclass(frozen=True, slots=True)
class TankGuide:
    """What the guide says of one tank; derived from the journal, never kept."""

    tank: int
    name: str
    stage: FillingStage
    words: str
    caution: str = ""
    answer: str = ""
    kind: EntryKind | None = None

    @property
    def place(self) -> int:
        """How many of the stages of :data:`WAY` lie behind the tank."""
        return len(WAY) if self.stage is FillingStage.READY else _PLACE[self.stage]


def guide(snapshot: Snapshot, person: UserContext) -> tuple[TankGuide, ...]:
    """Return what each tank needs before it may wash; nothing without a shift."""
    shift = snapshot.shift
    if shift is None:
        return ()
    return tuple(_tank(tank, snapshot.advice, person) for tank in shift.tanks)


def _tank(tank: TankState, advice: Advice, person: UserContext) -> TankGuide:
    name = f"{tank.number}  {tank.spec.name}"
    if tank.fill is None:
        volume = person.show(tank.spec.volume_l, Kind.VOLUME)
        words = tr("Fill with {volume} of clean water.", volume=volume)
        return TankGuide(
            tank.number, name, FillingStage.EMPTY, words, answer=tr("Filled"), kind=EntryKind.WATER
        )
    said = next((one for one in advice.tanks if one.tank == tank.number), None)
    if said is None:
        return TankGuide(tank.number, name, FillingStage.WAIT, tr("One moment…"))
    if said.condition is Condition.IN_LIMITS:
        return TankGuide(tank.number, name, FillingStage.READY, tr("Ready to wash."))
    kind = kind_for(said.plan.now)
    opens = kind not in {None, EntryKind.BATCH}  # nothing is washed from here
    caution = short(said.plan.now.cautions)
    return TankGuide(
        tank.number,
        name,
        _stage(tank, said.plan.now.kind),
        person.say(said.plan.now.say) + ".",
        caution=f"{caution.word}: {caution.text}" if caution is not None else "",
        answer=answer_word(said.plan.now.kind, second=said.plan.now.second) if opens else "",
        kind=kind,
    )


def _stage(tank: TankState, step: StepKind) -> FillingStage:
    if step is StepKind.WAIT:
        return FillingStage.WAIT
    if step is StepKind.CHECK:
        return FillingStage.MEASURE
    measured = tank.fill is not None and tank.fill.latest(tank.spec.level_field) is not None
    return FillingStage.MEND if measured else FillingStage.DOSE
