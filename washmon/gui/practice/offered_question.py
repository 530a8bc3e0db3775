"""A question about how things stand now, for a trainer who has no time to write one."""

from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.line.flags import StepKind
from washmon.line.practice_events import Asked
from washmon.planning.snapshot import Snapshot
from washmon.sessions.practice.stage import Stage
from washmon.units import Kind

_TIMES = (0.5, 1.0, 1.5)
_LEAST_MG_L = 8.0


def offered(stage: Stage, snapshot: Snapshot | None, person: Person) -> Asked:
    """Return what is to be done first where something is, else how much chlorine there is."""
    shift = snapshot.shift if snapshot is not None else None
    plans = [] if snapshot is None or shift is None else list(snapshot.advice.tanks)
    pressing = [one for one in plans if one.plan.hand]
    if pressing:
        step = pressing[0].plan.now.kind
        tank = stage.setup.tank(pressing[0].tank)
        answers = tuple(words for words, _ in _deeds())
        right = next((at for at, (_, kinds) in enumerate(_deeds()) if step in kinds), -1)
        question = tr("{tank}: what is to be done first?", tank=tank.name)
        return Asked(question=question, answers=answers, right=right)
    return _level(stage, person)


def _deeds() -> tuple[tuple[str, frozenset[StepKind]], ...]:
    return (
        (tr("A reading"), frozenset({StepKind.CHECK, StepKind.LOOK})),
        (tr("Hypochlorite or acid"), frozenset({StepKind.DOSE, StepKind.ACID})),
        (
            tr("Fresh water, in part or in whole"),
            frozenset({StepKind.CHANGE_WATER, StepKind.LOWER, StepKind.LEAVE}),
        ),
        (tr("Its batches held"), frozenset({StepKind.HOLD})),
    )


def _level(stage: Stage, person: Person) -> Asked:
    tank = stage.setup.tanks[0]
    filled = any(one.tank == tank.number for one in stage.truth)
    level = stage.line.free_mg_l(tank.number) if filled else 0.0
    around = max(level, _LEAST_MG_L)
    answers = tuple(
        tr("About {level}", level=person.show(float(round(times * around)), Kind.CONCENTRATION))
        for times in _TIMES
    )
    right = min(range(len(_TIMES)), key=lambda at: abs(_TIMES[at] * around - level))
    return Asked(
        question=tr("How much free chlorine is in {tank} by now?", tank=tank.name),
        answers=answers,
        right=right,
    )
