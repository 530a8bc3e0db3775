"""The facts of an attempt: what the journal says, held against what was true behind the scenes."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from msgspec import Struct, structs

from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    HoldPlaced,
    ReadingTaken,
    ShiftEnded,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flag_events import Acknowledged, FlagsChanged, FlagShelved
from washmon.line.flags import Flag, Level
from washmon.line.fold import begin, fold, step
from washmon.line.journal import Entry
from washmon.line.judging import in_range, judge_ph, under_critical
from washmon.line.practice_events import Asked, Attempt, BehindTheScenes, WorldChange
from washmon.line.setup import Tank
from washmon.line.state import FlagRecord, ShiftState
from washmon.sessions.debrief.additions import Addition, Unsafe, judge_addition
from washmon.sessions.debrief.washed import (
    Questioned,
    Washed,
    is_own,
    questioned,
    washed,
)
from washmon.sessions.practice.line import Truth
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario import COLLEAGUE, Scenario
from washmon.sessions.practice.stage import BatchTruth, PracticeStage, relive

_COLLEAGUE_BEFORE = "TK"
_ANSWERS = (
    DoseAdded,
    AcidAdded,
    TankFilled,
    WaterExchanged,
    HoldPlaced,
    Acknowledged,
    FlagShelved,
)
"""What is done about a flag. To measure again is none, unless the flag goes by it."""


class Use(Struct, frozen=True, kw_only=True):
    """What went in: products as their labels count them (mL or g), water in litres."""

    sanitizer: float = 0.0
    acid: float = 0.0
    water_l: float = 0.0


class TankFacts(Struct, frozen=True, kw_only=True):
    """One tank by the true water; minutes count from the first batch to the end."""

    tank: Tank
    minutes: float
    level_ok_min: float
    ph_ok_min: float
    """Of a tank of peracetic acid, whose pH has no limits: all of it."""
    both_ok_min: float
    checks_made: int
    checks_needed: int
    washed: int
    watched: int
    """Batches that were washed while a check of this water was still good."""


class LowBatch(Struct, frozen=True, kw_only=True):
    """A batch that met less sanitizer than the critical low; ``held`` is found."""

    seq: int
    tank: int
    at: datetime
    level_mg_l: float
    held: bool
    by_colleague: bool
    knowable: bool
    """Whether the readings, or the want of one, told that it may be so."""


class Wait(Struct, frozen=True, kw_only=True):
    """How long a flag waited until somebody did something in its tank (minutes)."""

    flag: Flag
    raised_at: datetime
    minutes: float


class Facts(Struct, frozen=True, kw_only=True):
    """Everything that a debrief speaks of."""

    attempt: Attempt
    scenario: Scenario
    state: ShiftState
    truth: tuple[Truth, ...]
    batches: tuple[BatchTruth, ...]
    begins: datetime
    minutes: float
    tanks: tuple[TankFacts, ...]
    low: tuple[LowBatch, ...]
    known: tuple[Washed, ...]
    """The trainee's batches in each tank, by what could be known."""
    questioned: Questioned
    additions: tuple[Addition, ...]
    unsafe: tuple[Unsafe, ...]
    waits: tuple[Wait, ...]
    use: Use
    washed: int
    meddled: tuple[tuple[float, datetime, WorldChange], ...] = ()
    """What the trainer changed: after so many minutes, when, and what."""
    asked: tuple[tuple[datetime, Asked], ...] = ()
    """What the trainer asked."""
    hints: tuple[tuple[datetime, str], ...] = ()
    """What the trainee wanted to be told."""

    @property
    def held_needlessly(self) -> int:
        """How often a batch was held in a tank though nothing that could be known said so."""
        return sum(one.needless for one in self.known)

    @property
    def batches_held_needlessly(self) -> int:
        """Batches that were held so, in one tank at least."""
        return len({one.seq for one in self.known if one.needless})

    @property
    def credit(self) -> float:
        """What the batches are worth, each in each tank, in those washed well."""
        return sum(one.worth for one in self.known)

    @property
    def missed(self) -> tuple[LowBatch, ...]:
        """Batches under the critical low that nobody held, though it could be known."""
        return tuple(batch for batch in self.low if not batch.held and batch.knowable)

    @property
    def unseen(self) -> tuple[LowBatch, ...]:
        """Batches under the critical low behind a good check: nobody could know."""
        return tuple(batch for batch in self.low if not batch.held and not batch.knowable)

    @property
    def ended(self) -> bool:
        """Whether the attempt was finished."""
        return self.state.ended is not None


def facts_of(chain: str, entries: Sequence[Entry]) -> Facts:
    """Return the facts of an attempt.

    Raises:
        PracticeError: the entries are no attempt.
    """
    stage = relive(entries)
    attempt = next((e.event.attempt for e in entries if isinstance(e.event, BehindTheScenes)), None)
    if attempt is None:
        raise PracticeError("This shift is no practice: choose an attempt.")
    entries = _with_colleague(entries, attempt, stage.scenario)
    state = fold(chain, entries)
    additions, unsafe = _additions(chain, entries, stage)
    in_question = questioned(chain, entries)
    mine = washed(state.setup, entries, in_question)
    low = _low_batches(state, stage, mine)
    return Facts(
        attempt=attempt,
        scenario=stage.scenario,
        state=state,
        truth=tuple(stage.truth),
        batches=tuple(stage.batches),
        begins=stage.begins,
        minutes=stage.minutes,
        tanks=tuple(_tank_facts(entries, stage, tank, mine) for tank in state.setup.tanks),
        low=low,
        known=mine,
        questioned=in_question,
        additions=additions,
        unsafe=unsafe,
        waits=_waits(state, entries),
        use=_use(entries),
        meddled=tuple(_meddled(entries, stage)),
        asked=tuple(
            (e.recorded_at, e.event.asked)
            for e in entries
            if isinstance(e.event, BehindTheScenes) and isinstance(e.event.asked, Asked)
        ),
        hints=tuple(
            (e.recorded_at, e.event.hint)
            for e in entries
            if isinstance(e.event, BehindTheScenes) and isinstance(e.event.hint, str)
        ),
        washed=sum(is_own(e) and isinstance(e.event, BatchWashed) for e in entries),
    )


def _meddled(
    entries: Sequence[Entry], stage: PracticeStage
) -> Iterator[tuple[float, datetime, WorldChange]]:
    for entry in entries:
        event = entry.event
        if isinstance(event, BehindTheScenes) and event.change is not None:
            minutes = (entry.recorded_at - stage.begins).total_seconds() / 60
            yield max(0.0, minutes), entry.recorded_at, event.change


# -- the water -----------------------------------------------------------------------------------


def _tank_facts(
    entries: Sequence[Entry], stage: PracticeStage, tank: Tank, batches: Sequence[Washed]
) -> TankFacts:
    first = min((batch.minutes for batch in stage.batches), default=stage.minutes)
    own = [e for e in entries if is_own(e)]
    taken_over = (own[0].recorded_at - stage.begins).total_seconds() / 60 if own else 0.0
    since = max(first, taken_over)
    course = [one for one in stage.truth if one.tank == tank.number and one.minutes >= since]
    level = ph = both = total = 0.0
    making_up = _making_up(entries, tank, stage)
    for here, after in pairwise(course):
        if any(start <= here.minutes < end for start, end in making_up):
            continue
        span = after.minutes - here.minutes
        good = in_range(here.level_mg_l, tank)
        good_ph = judge_ph(here.ph, tank) is None
        total += span
        level += span * good
        ph += span * good_ph
        both += span * (good and good_ph)
    mine = [one for one in batches if one.tank == tank.number]
    made, needed = _checks(own, tank)
    return TankFacts(
        tank=tank,
        minutes=total,
        level_ok_min=level,
        ph_ok_min=ph,
        both_ok_min=both,
        checks_made=made,
        checks_needed=needed,
        washed=len(mine),
        watched=sum(one.watched for one in mine),
    )


def _making_up(
    entries: Sequence[Entry], tank: Tank, stage: PracticeStage
) -> tuple[tuple[float, float], ...]:
    """Return the times (minutes) from a filling to its first reading or batch: no washing time."""
    found: list[tuple[float, float]] = []
    filled: float | None = None
    for entry in entries:
        event = entry.event
        minutes = (entry.recorded_at - stage.begins).total_seconds() / 60
        used = isinstance(event, BatchWashed) and tank.number in event.tanks
        read = isinstance(event, ReadingTaken) and event.tank == tank.number
        if isinstance(event, TankFilled) and event.tank == tank.number:
            filled = minutes
        elif filled is not None and (used or read):
            found.append((filled, minutes))
            filled = None
    if filled is not None:
        found.append((filled, stage.minutes))
    return tuple(found)


def _checks(own: Sequence[Entry], tank: Tank) -> tuple[int, int]:
    """Return the checks that were made, and those that the set-up and each addition asked for."""
    made = needed = since = 0
    open_addition = False
    for entry in own:
        event = entry.event
        match event:
            case ReadingTaken() if event.tank == tank.number:
                made += 1
                open_addition, since = False, 0
            case DoseAdded() | AcidAdded() | WaterExchanged() if event.tank == tank.number:
                needed += not open_addition
                open_addition = True
            case BatchWashed() if tank.number in event.tanks:
                since += 1
                if tank.check_batches is not None and since == tank.check_batches:
                    needed, since = needed + 1, 0
    return made, needed


# -- the produce ---------------------------------------------------------------------------------


def _with_colleague(
    entries: Sequence[Entry], attempt: Attempt, scenario: Scenario
) -> Sequence[Entry]:
    """Return entries in which a colleague is called so, whom earlier versions called TK."""
    if scenario.before is None or attempt.trainee == _COLLEAGUE_BEFORE:
        return entries
    return [
        structs.replace(one, event=structs.replace(one.event, by=COLLEAGUE))
        if one.event.by == _COLLEAGUE_BEFORE
        else one
        for one in entries
    ]


def _low_batches(
    state: ShiftState, stage: PracticeStage, mine: Sequence[Washed]
) -> tuple[LowBatch, ...]:
    unseen = {(one.seq, one.tank) for one in mine if one.watched and not one.asked}
    by = {batch.seq: batch.event for tank in state.tanks for batch in tank.washed}
    held = {(seq, hold.placed.tank) for hold in state.holds for seq in hold.placed.batches}
    return tuple(
        LowBatch(
            seq=met.seq,
            tank=met.tank,
            at=stage.begins + timedelta(minutes=met.minutes),
            level_mg_l=met.level_mg_l,
            held=(met.seq, met.tank) in held,
            by_colleague=met.seq in by and by[met.seq].by == COLLEAGUE,
            knowable=(met.seq, met.tank) not in unseen,
        )
        for met in stage.batches
        if under_critical(met.level_mg_l, state.setup.tank(met.tank))
    )


# -- what went in --------------------------------------------------------------------------------


def _additions(
    chain: str, entries: Sequence[Entry], stage: PracticeStage
) -> tuple[tuple[Addition, ...], tuple[Unsafe, ...]]:
    state = begin(chain, entries[0])
    found: list[Addition] = []
    unsafe: list[Unsafe] = []
    for entry in entries[1:]:
        if is_own(entry) and isinstance(entry.event, DoseAdded | AcidAdded):
            addition, acts = judge_addition(state, entry, entry.event, stage)
            found.append(addition)
            unsafe += acts
        state = step(state, entry)
    return tuple(found), tuple(unsafe)


def _use(entries: Sequence[Entry]) -> Use:
    own = [entry.event for entry in entries if is_own(entry)]
    return Use(
        sanitizer=sum(event.amount.value for event in own if isinstance(event, DoseAdded)),
        acid=sum(event.amount.value for event in own if isinstance(event, AcidAdded)),
        water_l=sum(
            event.volume_l for event in own if isinstance(event, TankFilled | WaterExchanged)
        ),
    )


# -- the flags -----------------------------------------------------------------------------------


def _waits(state: ShiftState, entries: Sequence[Entry]) -> tuple[Wait, ...]:
    ended = state.ended.at if isinstance(state.ended, ShiftEnded) else entries[-1].recorded_at
    own = [e for e in entries if is_own(e) and isinstance(e.event, _ANSWERS)]
    records = (*state.closed_flags, *state.open_flags)
    pressing = [record for record in records if record.flag.level is not Level.WATCH]
    pressing.sort(key=lambda record: record.raised_at)
    return tuple(
        Wait(
            flag=record.flag,
            raised_at=record.raised_at,
            minutes=_waited(record, _after(record, entries, own), ended),
        )
        for record in pressing
    )


def _after(record: FlagRecord, entries: Sequence[Entry], own: Sequence[Entry]) -> Sequence[Entry]:
    """Return what was done after a flag came up, in the order of the journal."""
    raised = next(
        entry.seq
        for entry in entries
        if isinstance(entry.event, FlagsChanged)
        and record.flag in entry.event.raised
        and entry.event.at == record.raised_at
    )
    return [entry for entry in own if entry.seq > raised]


def _waited(record: FlagRecord, after: Sequence[Entry], ended: datetime) -> float:
    answered = (
        entry.recorded_at
        for entry in after
        if getattr(entry.event, "tank", None) == record.flag.tank
    )
    moments = [ended, next(answered, ended)]
    if record.cleared_at is not None:
        moments.append(record.cleared_at)
    return max(0.0, (min(moments) - record.raised_at).total_seconds() / 60)
