"""The sentences of a debrief that are not part of the score, and its tables for a file."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.line.practice_events import Asked, WorldChange
from washmon.line.state import ShiftState
from washmon.reports.cells import Cell, Column
from washmon.reports.tables import Table
from washmon.sessions.debrief.additions import Addition
from washmon.sessions.debrief.facts import Facts, LowBatch, TankFacts
from washmon.sessions.debrief.known import beside
from washmon.sessions.debrief.next_one import Next
from washmon.sessions.debrief.score import Debrief
from washmon.sessions.debrief.slips import Slip, SlipKind
from washmon.units import Kind

_LONGEST = 8
MOMENTS = 3
"""So many moments are told apart, those that cost most."""


def tank_sentences(found: Debrief, person: UserContext) -> tuple[str, ...]:
    """Return a sentence for each tank: how long it was in its limits, how it was checked."""
    return tuple(_tank(one, person) for one in found.facts.tanks)


def _tank(facts: TankFacts, person: UserContext) -> str:
    if not facts.minutes:
        return tr("{tank}: nothing was washed yet.", tank=_name(facts))
    return tr(
        "{tank}: {limits}; {made} checks made, {needed} needed; {watched} of {washed} batches "
        "washed behind a good check.",
        tank=_name(facts),
        limits=_in_limits(facts, person),
        made=facts.checks_made,
        needed=facts.checks_needed,
        watched=facts.watched,
        washed=facts.washed,
    )


def _in_limits(facts: TankFacts, person: UserContext) -> str:
    """Return how long level and pH were in their limits; peracetic acid needs no pH."""
    level = person.show(round(facts.level_ok_min), Kind.TIME)
    whole = person.show(round(facts.minutes), Kind.TIME)
    if facts.tank.peracetic is not None:
        return tr("peracetic acid in limits {level} of {all}", level=level, all=whole)
    return tr(
        "chlorine in limits {level} of {all}, pH {ph}",
        level=level,
        all=whole,
        ph=person.show(round(facts.ph_ok_min), Kind.TIME),
    )


def _name(facts: TankFacts) -> str:
    return f"{facts.tank.number} {facts.tank.name}"


def teaching_sentences(found: Debrief, person: UserContext) -> tuple[str, ...]:
    """Return what to talk about, the gravest first; a few words each."""
    facts = found.facts
    said = _lesson_sentences(facts)
    said += [
        tr("{time}, tank {tank}: {harm}.", time=f"{a.at:%H:%M}", tank=a.tank, harm=tr(a.harm.value))
        for a in facts.unsafe
    ]
    said += [_missed(one, person) for one in facts.missed[:_LONGEST]]
    told = {one.seq for one in facts.missed[:_LONGEST]}
    more = {one.seq for one in facts.missed} - told
    if more:
        said.append(tr("and {count} more batches were not found.", count=len(more)))
    held = {one.seq for one in facts.low if one.held}
    if held:
        words = tr("{count} batches under the critical low were found and held.", count=len(held))
        said.append(words)
    if facts.held_needlessly:
        said.append(
            tr(
                "{count} batches were held though a good check stood behind them: needlessly.",
                count=facts.batches_held_needlessly,
            )
        )
    said += [_addition(one, found.facts, person) for one in facts.additions if one.wrong][:_LONGEST]
    waits = sorted(facts.waits, key=lambda wait: -wait.minutes)[:3]
    said += [
        tr(
            "{time}, tank {tank}: “{flag}” waited {minutes}.",
            time=f"{wait.raised_at:%H:%M}",
            tank=wait.flag.tank,
            flag=person.say(wait.flag.title),
            minutes=person.show(round(wait.minutes), Kind.TIME),
        )
        for wait in waits
        if round(wait.minutes)
    ]
    return tuple(said)


def _lesson_sentences(facts: Facts) -> list[str]:
    """Return what the trainer did and asked, and what hints were wanted."""
    said = [
        tr("{time}: the trainer made it so: {what}.", time=f"{at:%H:%M}", what=change_words(change))
        for _, at, change in facts.meddled
    ]
    said += [f"{at:%H:%M}: {asked_words(asked)}" for at, asked in facts.asked]
    said += [
        tr("{time}: wanted a hint: {hint}", time=f"{at:%H:%M}", hint=hint)
        for at, hint in facts.hints
    ]
    return said


def asked_words(asked: Asked) -> str:
    """Return what a trainer asked, and how it was answered."""
    count = sum(asked.counts)
    if not 0 <= asked.right < len(asked.answers):
        return tr("Asked: {question} ({count} answered)", question=asked.question, count=count)
    return tr(
        "Asked: {question} {right} of {count} were right: {answer}",
        question=asked.question,
        right=asked.counts[asked.right] if asked.counts else 0,
        count=count,
        answer=asked.answers[asked.right],
    )


def change_words(change: WorldChange) -> str:
    """Return what a trainer made different, in words."""
    said = []
    if change.dirtiness is not None:
        said.append(tr("load {what}", what=tr(change.dirtiness)))
    for share, words in (
        (change.strength_share, tr("product at {share} % of its first strength")),
        (change.strength_times, tr("product {share} % as strong as before")),
        (change.strip_share, tr("strips show {share} %")),
        (change.decay_share, tr("sanitizer goes {share} % as fast as usual by itself")),
    ):
        if share is not None:
            said.append(words.format(share=f"{100 * share:g}"))
    return "; ".join(said)


def _slip_words(kind: SlipKind, count: int) -> str:
    once, often = _batch_words(kind) or _deed_words(kind)
    return once if count == 1 else often.format(count=count)


def _batch_words(kind: SlipKind) -> tuple[str, str] | None:
    return {
        SlipKind.PH_LEFT: (
            tr("1 batch went in with the pH outside its limits or not measured"),
            tr("{count} batches went in with the pH outside its limits or not measured"),
        ),
        SlipKind.WENT_ON: (
            tr("1 batch went in though the level was outside its limits"),
            tr("{count} batches went in though the level was outside its limits"),
        ),
        SlipKind.CHECK_LATE: (
            tr("1 batch went in while a check was overdue"),
            tr("{count} batches went in while a check was overdue"),
        ),
        SlipKind.CHECK_MISSED: (
            tr("1 batch went in, and nobody had measured the water"),
            tr("{count} batches went in, and nobody had measured the water"),
        ),
        SlipKind.HOLD_MISSED: (
            tr("1 batch was in question, and not held"),
            tr("{count} batches were in question, and not held"),
        ),
        SlipKind.KNOWN_BAD: (
            tr("1 batch went into water that was known to be bad"),
            tr("{count} batches went into water that was known to be bad"),
        ),
        SlipKind.HOLD_NEEDLESS: (
            tr("1 batch was held though nothing spoke against it"),
            tr("{count} batches were held though nothing spoke against them"),
        ),
        SlipKind.TO_HOLD: (
            tr("1 batch was washed so that it had to be held"),
            tr("{count} batches were washed so that they had to be held"),
        ),
    }.get(kind)


def _deed_words(kind: SlipKind) -> tuple[str, str]:
    return {
        SlipKind.LATE_ANSWER: (tr("a pressing flag waited"), tr("{count} pressing flags waited")),
        SlipKind.NOT_WASHED: (
            tr("1 batch fewer was washed than could have been"),
            tr("{count} batches fewer were washed than could have been"),
        ),
        SlipKind.TOO_MUCH: (tr("too much was put in"), tr("too much was put in, {count} times")),
        SlipKind.TOO_LITTLE: (
            tr("too little was put in"),
            tr("too little was put in, {count} times"),
        ),
    }.get(kind) or (_act_words(kind),) * 2


def _act_words(kind: SlipKind) -> str:
    return {
        SlipKind.NOT_DUE: tr("something was put in when it was not due, or before a check"),
        SlipKind.ACID_TOO_MUCH: tr("too much acid was put in"),
        SlipKind.ACID_IN_LOW_PH: tr("acid was put into water of a low pH"),
        SlipKind.ACID_WITH_BLEACH: tr("acid and bleach were put in within the mixing time"),
        SlipKind.OVER_LABEL: tr("the label's maximum was passed"),
        SlipKind.OVER_PEROXIDE: tr("the legal maximum of peroxide was passed"),
    }.get(kind, "")


def moment_words(slip: Slip) -> str:
    """Return what one moment was, when and where. A batch counts once, in however many tanks."""
    tanks = tr(" and ").join(str(tank) for tank in slip.tanks)
    points = max(1, round(slip.cost))
    return tr(
        "{time}, {where}: {what}; {cost}.",
        time=f"{slip.at:%H:%M}",
        where=tr("tank {tanks}", tanks=tanks)
        if len(slip.tanks) == 1
        else tr("tanks {tanks}", tanks=tanks),
        what=_slip_words(slip.kind, slip.count),
        cost=tr("about {points} points", points=points) if points > 1 else tr("about 1 point"),
    )


def beside_words(found: Debrief, slip: Slip, person: UserContext) -> str:
    """Return what could have been known at a moment, beside the truth; empty of an empty tank."""
    seen = beside(found.facts, slip.tanks[0], slip.at)
    if seen is None:
        return ""
    level, ph = Kind.CONCENTRATION, Kind.PH
    known = tr("nothing: no reading told of this water")
    if seen.read_mg_l is not None and seen.read_at is not None:
        known = tr(
            "{level} at {time}",
            level=person.show(seen.read_mg_l, level),
            time=f"{seen.read_at:%H:%M}",
        )
    if seen.read_ph is not None:
        known = tr("{known}, pH {ph}", known=known, ph=person.show(seen.read_ph, ph))
    true = person.show(round(seen.true_mg_l), level)
    if found.facts.state.setup.tank(seen.tank).peracetic is None:
        shown = person.show(round(seen.true_ph, 1), ph)
        true = tr("{known}, pH {ph}", known=true, ph=shown)
    return tr(
        "Tank {tank}: you could have known {known}. True: {true}.",
        tank=seen.tank,
        known=known,
        true=true,
    )


def next_words(advised: Next) -> str:
    """Return which scenario is advised, and why."""
    words = (
        tr("The same once more, “{title}”: most was lost in {topic}.")
        if advised.again
        else tr("“{title}”: most was lost in {topic}.")
    )
    return words.format(title=advised.scenario.title, topic=tr(advised.topic.value))


def _missed(batch: LowBatch, person: UserContext) -> str:
    return tr(
        "{time}, tank {tank}: a batch met {level}, under the critical low, and was not held.",
        time=f"{batch.at:%H:%M}",
        tank=batch.tank,
        level=person.show(round(batch.level_mg_l), Kind.CONCENTRATION),
    )


def _addition(one: Addition, facts: Facts, person: UserContext) -> str:
    kind = Kind.SMALL_VOLUME if one.amount.unit == "mL" else Kind.MASS
    amount = person.show(one.amount.value, kind)
    kept = facts.state.setup.tank(one.tank).peracetic
    sanitizer = tr("hypochlorite") if kept is None else tr("peracetic acid")
    what = tr("acid") if one.is_acid else sanitizer
    if one.right is None:
        return tr(
            "{time}, tank {tank}: {amount} {what} when none was due, or before a check.",
            time=f"{one.at:%H:%M}",
            tank=one.tank,
            amount=amount,
            what=what,
        )
    return tr(
        "{time}, tank {tank}: {amount} {what}; {right} was right.",
        time=f"{one.at:%H:%M}",
        tank=one.tank,
        amount=amount,
        what=what,
        right=person.show(one.right, kind),
    )


@dataclass(frozen=True, slots=True)
class ScoreLine:
    """One line of the file: a part of the score, with the attempt it belongs to."""

    found: Debrief
    key: str
    points: float
    most: float
    why: str


def score_lines(found: Debrief, person: UserContext) -> Iterator[ScoreLine]:
    """Yield the parts of a score, and the whole at the end."""
    for part in found.parts:
        yield ScoreLine(found, part.key, part.points, part.most, person.say(part.why))
    counts = round(found.counts, 2)
    yield ScoreLine(found, "counts", counts, 1.0, person.say(found.why_counts))
    most = sum(part.most for part in found.parts)
    yield ScoreLine(found, "score", round(found.score, 1), most, "")


def _no_shifts(_shift: ShiftState) -> tuple[ScoreLine, ...]:
    return ()


def _moment(place: int, line: ScoreLine) -> Cell:
    slips = line.found.slips
    return moment_words(slips[place]) if place < len(slips) else ""


def _practice(_line: ScoreLine) -> Cell:
    return True


DEBRIEF_TABLE: Table[ScoreLine] = Table(
    "debrief",
    "one row for each part of the score of a practice attempt",
    (
        Column("practice", "always yes: this is no record of a shift", _practice),
        Column("attempt", "chain of the attempt", lambda line: line.found.chain),
        Column("trainee", "who practised", lambda line: line.found.facts.attempt.trainee),
        Column("scenario", "its title", lambda line: line.found.facts.scenario.title),
        Column("begun_at", "when it was begun", lambda line: line.found.facts.attempt.begun_at),
        Column(
            "advice",
            "whether advice was shown: on, delayed or off",
            lambda line: line.found.facts.attempt.advice,
        ),
        Column(
            "trainer",
            "what the trainer changed, and when, with semicolons between",
            lambda line: "; ".join(
                f"{at:%H:%M} {change_words(one)}" for _, at, one in line.found.facts.meddled
            ),
        ),
        Column("finished", "whether it was finished", lambda line: line.found.facts.ended),
        Column("part", "part of the score", lambda line: line.key),
        Column("points", "points", lambda line: line.points),
        Column("most", "the most there is", lambda line: line.most),
        Column("why", "why so many", lambda line: line.why),
        *(
            Column(
                f"moment_{place}",
                f"what cost most points at one moment, number {place}",
                partial(_moment, place - 1),
            )
            for place in range(1, MOMENTS + 1)
        ),
    ),
    _no_shifts,
)
