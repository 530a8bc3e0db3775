"""Which flags of a tank are told, and whose step comes first."""

from collections.abc import Iterable, Sequence

from msgspec.structs import replace

from washmon.line.flags import Flag, Level, Step, StepKind
from washmon.rules.base import Sight
from washmon.rules.steps import for_second, say_step, wait_or_check

ADDITIONS = frozenset({StepKind.ACID, StepKind.DOSE, StepKind.LOWER})
GO_ALONE = ADDITIONS | {StepKind.LEAVE, StepKind.CHANGE_WATER, StepKind.WAIT}
"""Steps after which nothing is added until the water was measured again."""

FOLDED = {
    "chlorine-critical": ("check-now", "doses-will-not-hold", "demand-unusual", "change-near"),
    "chlorine-low": ("check-now", "redose-soon"),
    "overdue": ("check-now",),
    "cloudy": ("change-near", "doses-will-not-hold", "combined-high", "rinse-carry"),
    "batches": ("change-near", "doses-will-not-hold"),
    "hours": ("change-near", "doses-will-not-hold"),
    "doses-do-not-hold": ("change-near", "doses-will-not-hold", "demand-unusual"),
    "reading-jumps": ("demand-unusual",),
    "doses-will-not-hold": ("redose-soon", "combined-high"),
    "second-fill": ("change-near", "batches"),
    "swap-unchecked": ("first-reading", "check-after-adding", "overdue"),
}
"""By the id of a rule: what follows from the same cause, and is told with it."""
MOST_WATCHED = 3
"""So many flags of a tank that only ask to watch stand at once, the most protective first."""


def by_urgency(flags: Iterable[Flag]) -> tuple[Flag, ...]:
    """Return flags most urgent first: by level, then the most protective step, then the tank."""
    return tuple(
        sorted(
            flags, key=lambda flag: (-flag.level.rank, flag.step.kind.rank, flag.tank, flag.rule)
        )
    )


def causes(flags: Sequence[Flag]) -> list[Flag]:
    """Return flags without what follows from another of them: that is told with its cause."""
    under = _under(flags)
    return [flag for flag in flags if flag.rule not in under]


def with_consequences(told: Iterable[Flag], flags: Sequence[Flag]) -> tuple[Flag, ...]:
    """Return flags, each with the reasons of those of ``flags`` that follow from it."""
    under = _under(flags)
    return tuple(
        replace(flag, more=(*flag.more, *more))
        if (more := [under[one].why for one in FOLDED.get(flag.rule, ()) if one in under])
        else flag
        for flag in told
    )


def _under(flags: Sequence[Flag]) -> dict[str, Flag]:
    """Return what follows from another flag and presses no more than it, by the id of its rule."""
    present = {flag.rule: flag for flag in flags}
    return {
        one: present[one]
        for cause in present
        for one in FOLDED.get(cause, ())
        if one in present and present[one].level.rank <= present[cause].level.rank
    }


def a_handful(flags: Sequence[Flag]) -> list[Flag]:
    """Return flags without those to watch that are too many to be read."""
    watched = [flag for flag in flags if flag.level is Level.WATCH]
    over = {flag.rule for flag in watched[MOST_WATCHED:]}
    return [flag for flag in flags if flag.rule not in over or flag.level is not Level.WATCH]


def mixed_first(flags: Iterable[Flag], sight: Sight) -> tuple[Flag, ...]:
    """Return flags, each with the wait for what was added last before its own step."""
    return tuple(_stepping(flag, _after_mixing(flag, sight)) for flag in flags)


def _stepping(flag: Flag, step: Step) -> Flag:
    """Return a flag with this step; put off, it shows no amount, and tells of none."""
    return flag if step is flag.step else replace(flag, step=step, more=())


def _after_mixing(flag: Flag, sight: Sight) -> Step:
    """Put waiting and re-checking before any further addition, and before any on an old pH.

    The step for a second fill has been through this already, in its own water.
    """
    if flag.step.kind not in ADDITIONS or flag.step.second:
        return flag.step
    by_ph = flag.rule.startswith("ph-")
    added = sight.unchecked_for_ph() if by_ph else sight.unchecked_addition()
    return flag.step if added is None else wait_or_check(sight, added)


def waits(step: Step) -> bool:
    """Tell whether a step makes a second fill ready: the water in use comes first."""
    return step.second and step.kind not in {StepKind.CHANGE_WATER, StepKind.LEAVE}


class Turn:
    """Keeps an addition back while another step of the same tank must come first.

    So no two flags ask for acid and hypochlorite at the same time, and none for either in water
    that is to be left alone or let out. A step that is only shelved keeps others back like any: it
    may be under way. Only a water change that was put off stops no dose, since this water is
    washed in until then. A second fill is water of its own: it keeps nothing back, and waits only
    for the other addition, so that acid and hypochlorite are never at hand together, and for gas.
    """

    def __init__(self, flags: Sequence[Flag], shelved: Sequence[Flag]) -> None:
        waiting = [one for one in shelved if one.step.kind is not StepKind.CHANGE_WATER]
        alone = [
            flag
            for flag in (*flags, *waiting)
            if flag.step.kind in GO_ALONE and not waits(flag.step)
        ]
        first = min(alone, key=lambda flag: flag.step.kind.rank, default=None)
        self._first = None if first is None else first.step.kind
        self._is_shelved = first in waiting

    def kept(self, flags: Iterable[Flag]) -> tuple[Flag, ...]:
        """Return flags, each with its step if it is that one's turn."""
        return tuple(_stepping(flag, self.of(flag.step)) for flag in flags)

    def of(self, step: Step) -> Step:
        """Return a step, or that it is not its turn yet."""
        if self._first is None or step.kind not in ADDITIONS or step.kind is self._first:
            return step
        if step.second and self._first not in {StepKind.LEAVE, StepKind.ACID, StepKind.DOSE}:
            return step
        return self._later(step)

    def beside(self, step: Step, own: Step) -> Step:
        """Return the step of a second fill, or that first comes the tank's ``own`` addition."""
        both = {step.kind, own.kind} == {StepKind.ACID, StepKind.DOSE}
        return self._later(step) if both else self.of(step)

    def _later(self, step: Step) -> Step:
        text = "Add nothing for this yet: first the other step in this tank, then measure"
        if step.second:
            text = "Add nothing for this yet: the tank's own step comes first"
        if self._is_shelved:
            text = "Add nothing for this yet: the step of a shelved flag comes first. Bring it back"
        later = say_step(StepKind.LOOK, text)
        return for_second(later) if step.second else later
