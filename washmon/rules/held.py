"""The rule that asks for a hold on what was washed in water that may have been bad."""

from collections.abc import Iterator, Mapping
from functools import lru_cache

from washmon.line.events import BatchWashed
from washmon.line.flags import Level, StepKind
from washmon.line.held_words import percent
from washmon.line.message import Figure, Message, Moment, Value
from washmon.line.same import Same
from washmon.line.state import Placed
from washmon.rules.base import Finding, RuleContext, rule
from washmon.rules.in_question import (
    UNCHECKED,
    chances_below,
    tells_of_level,
    to_hold,
    windows,
    within,
)
from washmon.units import Kind

_BAD_CHECK = (
    "A check was not good. Nobody knows when the water turned, so every batch since the good check "
    "before it is in question: {lots}. Washing again does not by itself make it safe; somebody "
    "with the right to decide must."
)
_UNCHECKED_WATER = (
    "Washed before a check found this water good, so nobody knows what the produce met: {lots}. "
    "Washing again does not by itself make it safe; somebody with the right to decide must."
)

_KNOWN = "The last check before them was good at {good}; the one at {bad} was not."
_KNOWN_LEVEL = "The last check before them was good at {good}; the one at {bad}, {level}, was not."
_NONE_BEFORE = "No check of this water was good before them; the one at {bad}, {level}, was not."

_SOME = (
    "Of {count} batches of lot {lot}, about {about} met less than {critical}, by all that was "
    "read; for a single batch the chance goes from {least} to {most}."
)
_FEW = (
    "For each of {count} batches of lot {lot} the chance that it met less than {critical} is "
    "{least} to {most}, by all that was read."
)
_ALIKE = (
    "The chance that a batch of lot {lot} met less than {critical} is about {most} for each of "
    "{count}, by all that was read."
)
_ONE = (
    "The chance that the batch of lot {lot} met less than {critical} is about {most}, by all that "
    "was read."
)


@rule(
    "hold",
    "hold what was washed",
    "All product since the last good check: segregate, review, act, record, as in 21 CFR 120.10; "
    "washing again does not make it safe: J. Food Prot. 74(3):352 (2011)",
    answers=(StepKind.HOLD,),
)
def product_to_hold(rule_context: RuleContext) -> Finding | None:
    """Ask for a hold on batches that were washed since the last good check before a bad one."""
    asked = to_hold(rule_context.shift, rule_context.tank)
    if not asked:
        return None
    named = frozenset(asked)
    known = [_by_place(Same(tank.washed)) for tank in rule_context.shift.tanks]
    batches = {seq: next(one[seq] for one in known if seq in one) for seq in named}
    loose = tuple(sorted(named, key=lambda seq: (batches[seq].at, seq)))
    washed = [batches[seq] for seq in loose]
    return Finding(
        Level.STOP,
        Message(
            _UNCHECKED_WATER if set(asked.values()) == {UNCHECKED} else _BAD_CHECK,
            {"lots": ", ".join(dict.fromkeys(event.lot for event in washed))},
        ),
        washed[0].at,
        (
            *_what_is_known(rule_context, named),
            *_how_likely(rule_context, dict(zip(loose, washed, strict=True))),
        ),
    )


def _what_is_known(rule_context: RuleContext, named: frozenset[int]) -> Iterator[Message]:
    """Say which checks stand before and after the batches, apart from any chance."""
    tank, field = rule_context.tank, rule_context.spec.level_field
    for window in windows(tank):
        if window.told_by == UNCHECKED or named.isdisjoint(within(tank, window)):
            continue
        read = {one.seq: one for one in window.fill.readings}
        good, bad = read.get(window.since[1]), read[window.told_by].event
        level = getattr(bad, field)
        values: dict[str, Value] = {"bad": Moment(bad.at)}
        if level is not None:
            values["level"] = Figure(level, Kind.CONCENTRATION)
        if good is not None:
            text = _KNOWN if level is None or not tells_of_level(tank, window) else _KNOWN_LEVEL
            yield Message(text, {**values, "good": Moment(good.event.at)})
        elif level is not None:
            yield Message(_NONE_BEFORE, values)


def _how_likely(rule_context: RuleContext, washed: Mapping[int, BatchWashed]) -> Iterator[Message]:
    """Say of each lot how many of its batches met too little, and how far their chances differ."""
    found = chances_below(rule_context)
    lots: dict[str, list[float]] = {}
    for seq, batch in washed.items():
        if seq in found:
            lots.setdefault(batch.lot, []).append(found[seq])
    for lot, chances in lots.items():
        about = round(sum(chances))
        text = _SOME if about else _FEW
        if percent(min(chances)) == percent(max(chances)):
            text = _ONE if len(chances) == 1 else _ALIKE
        yield Message(
            text,
            {
                "lot": lot,
                "count": len(chances),
                "about": about,
                "critical": Figure(
                    rule_context.spec.chlorine.critical_low_mg_l, Kind.CONCENTRATION
                ),
                "least": percent(min(chances)),
                "most": percent(max(chances)),
            },
        )


@lru_cache(maxsize=64)
def _by_place(same: Same[tuple[Placed[BatchWashed], ...]]) -> dict[int, BatchWashed]:
    """Return a tank's batches by their places in the journal; kept, as each look asks again."""
    return {batch.seq: batch.event for batch in same.part}
