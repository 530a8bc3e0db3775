"""A practice scenario made from a recorded shift: its line, water, batches and mistakes."""

import hashlib
import json
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime, time, timedelta
from itertools import pairwise
from statistics import median

import msgspec
from msgspec import Struct

from washmon.line.events import BatchWashed, Method
from washmon.line.setup import LineSetup
from washmon.line.state import ShiftState
from washmon.sessions.making.fitted import Fitted, fitted
from washmon.sessions.making.mistakes import Mistake, MistakeKind, mistakes
from washmon.sessions.making.own_line import commodity_of, own_line
from washmon.sessions.making.trying import good_score, solved
from washmon.sessions.practice.parameters import Dirtiness, PracticeError, parameters
from washmon.sessions.practice.scenario import BatchPace, Happening, Kit, LineChoice, Scenario
from washmon.sessions.practice.scenario_files import FORMAT, VERSION, scenario_text

_LONGEST_MIN, _SHORTEST_MIN = 600.0, 10.0
_PAUSE_MIN = 25.0
"""A longer time between two batches is a pause, not the pace."""
_SLOWEST_MIN = 60.0
_LEAST_BATCHES = 2


class MadeScenario(Struct, frozen=True, kw_only=True):
    """A scenario that was made, as text; ``good_score`` is what the good strategy reaches in it."""

    text: str
    good_score: float

    @property
    def has_solution(self) -> bool:
        """Whether following the rules leads through it."""
        return solved(self.good_score)


def make_scenario(shift: ShiftState) -> MadeScenario:
    """Return a scenario made from a shift, tried with the good strategy.

    Raises:
        PracticeError: nothing can be practised from it; the sentence says why.
    """
    text = scenario_text(scenario_of(shift))
    return MadeScenario(text=text, good_score=good_score(text))


def scenario_of(shift: ShiftState) -> Scenario:
    """Return the scenario of a shift; people, lots, site and the day itself are left out.

    Raises:
        PracticeError: it is practice, nothing was washed, or its line can't be simulated.
    """
    if shift.started.practice:
        raise PracticeError("This is a practice shift already: choose a recorded one.")
    line = own_line(shift.setup)
    if any(tank.peracetic is not None for tank in line.tanks):
        raise PracticeError(
            "Of peracetic acid nothing is estimated that a scenario could be made from: write one "
            "with this line in the editor."
        )
    batches = _batches(shift)
    if len(batches) < _LEAST_BATCHES:
        raise PracticeError("Fewer than two batches were washed: choose a longer shift.")
    commodity = commodity_of(shift.setup)
    world = fitted(shift, commodity)
    begins = _begins(shift)
    wrong = mistakes(shift)
    pace = _pace(shift, batches, begins, world)
    return Scenario(
        format=FORMAT,
        version=VERSION,
        title=f"From a recorded shift: {_produce(commodity)}, {begins:%H:%M}",
        level=min(9, 2 + len({one.what for one in wrong})),
        goal="Bring the same line through the same shift, better than it went.",
        briefing=_briefing(shift.setup, len(batches), pace.minutes),
        good=tuple(_good(wrong)),
        line=LineChoice(
            commodity=commodity,
            tanks=len(line.tanks),
            setup=json.dumps(json.loads(msgspec.json.encode(line))),
        ),
        tap=world.tap,
        world=world.world,
        pace=pace,
        bench=Kit(chlorine=_methods(shift)),
        happens=tuple(_happenings(wrong, begins, pace.minutes)),
    )


def _batches(shift: ShiftState) -> tuple[BatchWashed, ...]:
    """Return the batches that were washed, each once, in order of time."""
    known = {placed.seq: placed.event for tank in shift.tanks for placed in tank.washed}
    return tuple(sorted(known.values(), key=lambda one: one.at))


def _begins(shift: ShiftState) -> datetime:
    """Return the full minute in which water was first filled in, or the shift began."""
    filled = [fill.begun.event.at for tank in shift.tanks for fill in tank.fills]
    first = min([*filled, *(one.at for one in _batches(shift)[:1])], default=shift.started.at)
    zoned = max(first, shift.started.at).astimezone(shift.started.at.tzinfo)
    return zoned.replace(second=0, microsecond=0)


def _pace(
    shift: ShiftState, batches: Sequence[BatchWashed], begins: datetime, world: Fitted
) -> BatchPace:
    gaps = [_minutes(one.at, other.at) for one, other in pairwise(batches)]
    usual = [gap for gap in gaps if 0.0 < gap <= _PAUSE_MIN] or [_PAUSE_MIN]
    ends = shift.ended.at if shift.ended is not None else shift.last_at
    minutes = min(max(round(_minutes(begins, ends)), _SHORTEST_MIN), _LONGEST_MIN)
    seed = int.from_bytes(hashlib.sha256(shift.chain.encode()).digest()[:4], "big") >> 1
    return BatchPace(
        begins=begins.time(),
        minutes=float(minutes),
        first_batch=float(min(max(round(_minutes(begins, batches[0].at)), 0), 240)),
        batch_minutes=min(max(round(median(usual), 1), 1.0), _SLOWEST_MIN),
        batch_weight=world.batch_weight,
        seed=seed,
    )


def _methods(shift: ShiftState) -> tuple[Method, ...]:
    """Return what chlorine was measured with."""
    used = {
        placed.event.fac_method
        for tank in shift.tanks
        for fill in tank.fills
        for placed in fill.readings
        if placed.event.fac_mg_l is not None
    }
    return tuple(one for one in Method if one in used) or tuple(Method)


# -- what happens --------------------------------------------------------------------------------


def _happenings(wrong: Sequence[Mistake], begins: datetime, minutes: float) -> Iterator[Happening]:
    """Return the mistakes on the timeline, in order; what lies outside of it is left out.

    Where two of a kind overlap, the first ends with the second's beginning.
    """
    last = begins + timedelta(minutes=minutes)
    found: list[tuple[datetime, Happening]] = []
    for place, one in enumerate(wrong):
        after = [other.since for other in wrong[place + 1 :] if other.what is one.what]
        overlaps = one.what is not MistakeKind.LATE_DOSE
        since = max(one.since, begins)
        until = min(one.until, last, *(after[:1] if overlaps else ()))
        if since < until:
            found += _one(one, since.astimezone(begins.tzinfo), until.astimezone(begins.tzinfo))
    ordered = sorted(found, key=lambda pair: pair[0])
    return (one for _, one in ordered)


def _one(
    mistake: Mistake, since: datetime, until: datetime
) -> Iterator[tuple[datetime, Happening]]:
    match mistake.what:
        case MistakeKind.LATE_DOSE:
            spell = round(_minutes(mistake.since, mistake.until))
            said = (
                f"In the recorded shift, tank {mistake.tank} was read low at this time, and for "
                f"{spell} min nothing was added. How is yours?"
            )
            yield since, Happening(at=_clock(since), say=said)
        case MistakeKind.WRONG_AMOUNT:
            yield since, Happening(at=_clock(since), strength_share=mistake.share)
            yield until, Happening(at=_clock(until), strength_share=1.0)
        case MistakeKind.CLOUDY_LOAD:
            yield since, Happening(at=_clock(since), dirtiness=mistake.dirtiness)
            yield until, Happening(at=_clock(until), dirtiness=Dirtiness.USUAL)


def _clock(at: datetime) -> time:
    return at.time().replace(microsecond=0)


# -- in words ------------------------------------------------------------------------------------


def _produce(commodity: str) -> str:
    return parameters().commodity[commodity].line.casefold()


def _briefing(setup: LineSetup, batches: int, minutes: float) -> str:
    tanks = len(own_line(setup).tanks)
    return (
        f"This is the line of the shed, as it ran in a recorded shift: {tanks} "
        f"{'tank' if tanks == 1 else 'tanks'}, {batches} batches in {minutes / 60:.1f} hours. "
        "The water uses up chlorine, and its pH drifts, as it did then. Make up the tanks "
        "yourself and wash on. What went wrong then may come again: your readings will tell."
    )


def _good(wrong: Sequence[Mistake]) -> Iterator[str]:
    """Return what a good run looks like: the rules, and the answer to each kind of mistake."""
    yield "A check before the first batch, and then as often as the set-up asks"
    count = Counter(one.what for one in wrong)
    if count[MistakeKind.LATE_DOSE]:
        yield f"Low water dosed at once (late then: {_times(count[MistakeKind.LATE_DOSE])})"
    if count[MistakeKind.WRONG_AMOUNT]:
        yield (
            "A check after each dose: the amount may not do what it should "
            f"(off then: {_times(count[MistakeKind.WRONG_AMOUNT])})"
        )
    if count[MistakeKind.CLOUDY_LOAD]:
        yield "Cloudy water seen early, and changed before doses stop holding"
    yield "What was washed since the last good check held where a reading is bad"


def _times(count: int) -> str:
    return f"{count} time" if count == 1 else f"{count} times"


def _minutes(then: datetime, now: datetime) -> float:
    return (now - then).total_seconds() / 60.0
