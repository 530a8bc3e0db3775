"""What is kept from a trainee: flags and steps that are not to be shown yet."""

from datetime import timedelta
from enum import StrEnum

from msgspec.structs import replace

from washmon.line.flags import Condition, Flag, StepKind
from washmon.line.plan import Plan
from washmon.planning.advice import Advice, TankAdvice
from washmon.planning.plan_words import say_step
from washmon.planning.snapshot import Snapshot

DELAY = timedelta(minutes=10)


class Showing(StrEnum):
    """When the trainee is shown what the rules say."""

    ON = "on"
    DELAYED = "delayed"
    OFF = "off"


def veiled(snapshot: Snapshot, showing: Showing) -> Snapshot:
    """Return a snapshot with only those flags that may be seen; all of it where advice is on."""
    if showing is Showing.ON or snapshot.shift is None or snapshot.shift.ended is not None:
        return snapshot
    seen = _old_enough(snapshot) if showing is Showing.DELAYED else frozenset()
    tanks = tuple(_veiled_tank(one, seen) for one in snapshot.advice.tanks)
    flags = tuple(flag for flag in snapshot.advice.flags if flag.key in seen)
    shelved = tuple(flag for flag in snapshot.advice.shelved if flag.key in seen)
    advice = Advice(tanks=tanks, flags=flags, shelved=shelved)
    # What is expected of the water is advice, too.
    return replace(snapshot, advice=advice, forecasts={})


def _old_enough(snapshot: Snapshot) -> frozenset[tuple[int, str]]:
    if snapshot.shift is None:
        return frozenset()
    until = snapshot.now - DELAY
    records = snapshot.shift.open_flags
    return frozenset(record.flag.key for record in records if record.raised_at <= until)


def _veiled_tank(tank: TankAdvice, seen: frozenset[tuple[int, str]]) -> TankAdvice:
    flags = tuple(flag for flag in tank.flags if flag.key in seen)
    if flags and len(flags) == len(tank.flags):
        return tank
    told = bool(flags) and {flag.rule for flag in flags} >= set(tank.plan.answers)
    own = Plan(tank=tank.tank, now=say_step(StepKind.LOOK, "You decide what is next"))
    return TankAdvice(
        tank=tank.tank,
        condition=_worst(flags),
        plan=tank.plan if told else own,
        flags=flags,
        shelved=tuple(flag for flag in tank.shelved if flag.key in seen),
    )


def _worst(flags: tuple[Flag, ...]) -> Condition:
    if not flags:
        return Condition.UNKNOWN
    return Condition(max((flag.level for flag in flags), key=lambda level: level.rank))
