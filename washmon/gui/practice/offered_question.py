"""A question for a trainer who has no time to write one: the scenario's own, or of the moment."""

import hashlib

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.line.flags import StepKind
from washmon.line.practice_events import Asked, BehindTheScenes
from washmon.line.state import ShiftState
from washmon.planning.snapshot import Snapshot
from washmon.sessions.practice.scenario import parts_of
from washmon.sessions.practice.stage import PracticeStage
from washmon.units import Kind

_TIMES = (0.6, 1.0, 1.5)
_LEAST_MG_L = 8.0


def offered(stage: PracticeStage, snapshot: Snapshot | None, person: UserContext) -> Asked:
    """Return the next question of the scenario that was not asked yet.

    Where there is none, what is to be done first where something is, else how much sanitizer there
    is.
    """
    shift = snapshot.shift if snapshot is not None else None
    own = _own(stage, shift)
    if own is not None:
        return own
    plans = [] if snapshot is None or shift is None else list(snapshot.advice.tanks)
    pressing = [one for one in plans if one.plan.hand]
    if pressing:
        step = pressing[0].plan.now.kind
        tank = stage.setup.tank(pressing[0].tank)
        deeds = _deeds(peracetic=stage.line.peracetic)
        answers = tuple(words for words, _ in deeds)
        right = next((at for at, (_, kinds) in enumerate(deeds) if step in kinds), -1)
        question = tr("{tank}: what is to be done first?", tank=tank.name)
        return Asked(question=question, answers=answers, right=right)
    return _level(stage, person)


def _own(stage: PracticeStage, shift: ShiftState | None) -> Asked | None:
    """Return a question of the scenario, its answers in an order that gives nothing away."""
    entries = shift.entries if shift is not None else ()
    told = (one.event.asked for one in entries if isinstance(one.event, BehindTheScenes))
    asked = {one.question for one in told if isinstance(one, Asked)}
    for line in stage.scenario.asks:
        question, *answers = parts_of(line)
        if answers and question not in asked:
            right = answers[0]
            mixed = sorted(answers, key=lambda one: hashlib.sha256(one.encode()).digest())
            return Asked(question=question, answers=tuple(mixed), right=mixed.index(right))
    return None


def _deeds(*, peracetic: bool) -> tuple[tuple[str, frozenset[StepKind]], ...]:
    added = tr("Peracetic acid") if peracetic else tr("Hypochlorite or acid")
    return (
        (tr("A reading"), frozenset({StepKind.CHECK, StepKind.LOOK})),
        (added, frozenset({StepKind.DOSE, StepKind.ACID})),
        (
            tr("Fresh water, in part or in whole"),
            frozenset({StepKind.CHANGE_WATER, StepKind.LOWER, StepKind.LEAVE}),
        ),
        (tr("Its batches held"), frozenset({StepKind.HOLD})),
    )


def _level(stage: PracticeStage, person: UserContext) -> Asked:
    """Ask how much sanitizer there is; where all tanks are empty, what comes first."""
    filled = {one.tank for one in stage.truth}
    tank = next((one for one in stage.setup.tanks if one.number in filled), None)
    if tank is None:
        return Asked(
            question=tr("The tanks are empty: what comes first?"),
            answers=(
                tr("Peracetic acid") if stage.line.peracetic else tr("Hypochlorite"),
                tr("Water, and its filling entered"),
                tr("A reading"),
            ),
            right=1,
        )
    level = stage.line.level_mg_l(tank.number)
    right = round(level) % len(_TIMES)  # the right one stands at no place of its own
    steps = [level * times / _TIMES[right] for times in _TIMES]
    if level < _LEAST_MG_L:
        steps = [0.0, _LEAST_MG_L, 2.0 * _LEAST_MG_L]
        right = int(level > _LEAST_MG_L / 2.0)
    answers = tuple(
        tr("About {level}", level=person.show(float(round(step)), Kind.CONCENTRATION))
        for step in steps
    )
    question = tr("How much free chlorine is in {tank} by now?", tank=tank.name)
    if stage.line.peracetic:
        question = tr("How much peracetic acid is in {tank} by now?", tank=tank.name)
    return Asked(
        question=question,
        answers=answers,
        right=right,
    )
