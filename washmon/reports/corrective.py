"""What was done about the water or the produce while a flag called for it."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from msgspec import Struct

from washmon.line.events import (
    AcidAdded,
    DoseAdded,
    SecondSwapped,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flags import Level, StepKind
from washmon.line.state import FlagRecord, Hold, Placed, TankState
from washmon.rules import rule_of


class Corrective(Struct, frozen=True, kw_only=True):
    """Something done about the water or the produce while a flag called for it.

    It counts if, at its time, a flag of level act or stop was up on the tank, or one whose step
    asked for just this. ``rules`` are the ids of those flags.
    """

    seq: int
    at: datetime
    by: str
    kind: StepKind
    rules: tuple[str, ...]


def corrective(
    tank: TankState, holds: Iterable[Hold], flags: Sequence[FlagRecord]
) -> list[Corrective]:
    """Return what was done about a tank while flags called for it, in order of time."""
    done: list[Corrective] = []

    def note(seq: int, at: datetime, by: str, kind: StepKind) -> None:
        rules = dict.fromkeys(record.flag.rule for record in flags if _calls_for(record, at, kind))
        if rules:
            done.append(Corrective(seq=seq, at=at, by=by, kind=kind, rules=tuple(rules)))

    for kind, placed in _actions(tank):
        note(placed.seq, placed.event.at, placed.event.by, kind)
    for hold in holds:
        note(hold.seq, hold.placed.at, hold.placed.by, StepKind.HOLD)
    return sorted(done, key=lambda one: (one.at, one.seq))


Action = (
    Placed[TankFilled]
    | Placed[SecondSwapped]
    | Placed[DoseAdded]
    | Placed[AcidAdded]
    | Placed[WaterExchanged]
)


def _actions(tank: TankState) -> Iterator[tuple[StepKind, Action]]:
    for fill in tank.fills:
        if fill.number > 1:
            yield StepKind.CHANGE_WATER, fill.used
        # What was done to a second fill while it waited set nothing right in the tank.
        yield from ((StepKind.DOSE, one) for one in fill.doses if not one.event.second)
        yield from ((StepKind.ACID, one) for one in fill.acids if not one.event.second)
        yield from ((StepKind.LOWER, one) for one in fill.exchanges if not one.event.second)


def _calls_for(record: FlagRecord, at: datetime, kind: StepKind) -> bool:
    # What caused a flag may have been entered with an earlier time than the rules looked at it.
    since = min(record.flag.since, record.raised_at)
    if at < since or (record.cleared_at is not None and at > record.cleared_at):
        return False
    if record.flag.level is not Level.WATCH:
        return True
    if record.flag.step is not None:  # as it was journaled once
        return record.flag.step.kind is kind
    rule = rule_of(record.flag.rule)
    return rule is not None and kind in rule.answers
