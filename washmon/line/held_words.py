"""How likely held batches met too little, in words: per hold, per lot and per batch."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import NamedTuple

from washmon.line.events import BatchWashed, Decision, HoldPlaced, Limit
from washmon.line.message import Figure, Message, Moment, Value
from washmon.line.state import ShiftState
from washmon.units import Kind

Chances = Sequence[float | None]
Batches = Mapping[int, BatchWashed]
_BY_CHLORINE = {Limit.LOW, Limit.UNCHECKED}
_FAILED = {
    Limit.UNCHECKED: Message("water not found good before"),
    Limit.LOW: Message("a check under the critical low"),
    Limit.LABEL: Message("a check over the label maximum"),
    Limit.PH: Message("a check over the critical pH"),
    Limit.TEMPERATURE: Message("a check off the critical temperature"),
    Limit.CONTACT: Message("too short in the water"),
}
DECISION_WORDS = {
    Decision.WASH_AGAIN: "Wash again",
    Decision.DIVERT: "Divert",
    Decision.DISCARD: "Discard",
    Decision.RELEASE: "Release",
}


class HeldBatch(NamedTuple):
    """A batch in a hold, with the chance that it met less than the critical low, if known."""

    seq: int
    event: BatchWashed
    chance: float | None


def percent(chance: float) -> Figure:
    """Return a chance as it may be said: nothing that was not measured is quite sure."""
    return Figure(min(max(round(100 * chance), 1), 99), Kind.PERCENT)


def chances_of(placed: HoldPlaced) -> dict[int, float | None]:
    """Return the chance of each batch in a hold, by its place in the journal."""
    chances = placed.chances or (None,) * len(placed.batches)
    return dict(zip(placed.batches, chances, strict=False))


def washed_in(shift: ShiftState) -> dict[int, BatchWashed]:
    """Return the batches of a shift by their places in the journal, corrections applied."""
    return {batch.seq: batch.event for tank in shift.tanks for batch in tank.washed}


def held_batches(placed: HoldPlaced, washed: Batches) -> list[HeldBatch]:
    """Return the batches in a hold, in the order in which they were washed."""
    found = [
        HeldBatch(seq, washed[seq], chance)
        for seq, chance in chances_of(placed).items()
        if seq in washed
    ]
    return sorted(found, key=lambda one: (one.event.at, one.seq))


def held_words(placed: HoldPlaced) -> Iterator[Message]:
    """Yield what is known of a hold as a whole: how likely, and which limit failed."""
    if _by_chlorine(placed):
        yield _likely(tuple(chances_of(placed).values()))
    yield from failed_words(placed)


def failed_words(placed: HoldPlaced) -> Iterator[Message]:
    """Yield which limits failed but the critical low, of which the chances tell."""
    for limit in placed.failed:
        if limit is not Limit.LOW or not _estimated(placed):
            yield _FAILED[limit]


def lot_words(
    placed: HoldPlaced, washed: Batches, *, short: bool = False
) -> Iterator[tuple[str, Message]]:
    """Yield each lot of a hold with how likely its batches met too little.

    ``short`` leaves out what that is, as under a head that says it.
    """
    if not _by_chlorine(placed):
        return
    lots: dict[str, list[float | None]] = {}
    for one in held_batches(placed, washed):
        lots.setdefault(one.event.lot, []).append(one.chance)
    for lot, chances in lots.items():
        yield lot, _likely(chances, short=short)


def batch_words(placed: HoldPlaced, washed: Batches) -> Iterator[Message]:
    """Yield the chance of each batch by its time; neighbours of one chance are said together."""
    if not _estimated(placed):
        return
    for said, group in groupby(held_batches(placed, washed), key=lambda one: _said(one.chance)):
        alike = list(group)
        first, last = alike[0].event.at, alike[-1].event.at
        values = {"first": Moment(first), "last": Moment(last)}
        one = len(alike) == 1
        if said is None:
            text = "{first}: not estimated" if one else "{first}–{last}: not estimated"
            yield Message(text, {**values})
        else:
            text = "{first}: {chance}" if one else "{first}–{last}: {chance}"
            yield Message(text, {**values, "chance": said})


def batch_word(placed: HoldPlaced, seq: int) -> Message:
    """Return the chance of one batch in a hold, or what failed where there is none."""
    chance = chances_of(placed).get(seq)
    if chance is not None:
        return Message("{chance}", {"chance": percent(chance)})
    failed = () if _by_chlorine(placed) else tuple(failed_words(placed))
    return failed[0] if failed else Message("not estimated")


def _said(chance: float | None) -> Figure | None:
    return None if chance is None else percent(chance)


def _estimated(placed: HoldPlaced) -> bool:
    return any(chance is not None for chance in placed.chances)


def _by_chlorine(placed: HoldPlaced) -> bool:
    """Tell whether a chance is to be told: not where another limit alone failed."""
    return _estimated(placed) or not placed.failed or bool(_BY_CHLORINE & set(placed.failed))


class _Shape(NamedTuple):
    """A sentence in full and short, each also for where some batches were not estimated."""

    full: str
    full_missing: str
    short: str
    short_missing: str

    def text(self, *, short: bool, missing: bool) -> str:
        if short:
            return self.short_missing if missing else self.short
        return self.full_missing if missing else self.full


_ONE = _Shape(
    "chance under the critical low {most}",
    "chance under the critical low {most} ({missing} more not estimated)",
    "{most}",
    "{most} ({missing} more not estimated)",
)
_EACH = _Shape(
    "chance under the critical low up to {most} for each of {count}",
    "chance under the critical low up to {most} for each of {count} ({missing} more not estimated)",
    "up to {most} for each of {count}",
    "up to {most} for each of {count} ({missing} more not estimated)",
)
_ABOUT = _Shape(
    "about {about} of {count} under the critical low",
    "about {about} of {count} under the critical low ({missing} more not estimated)",
    "about {about} of {count}",
    "about {about} of {count} ({missing} more not estimated)",
)


def _likely(chances: Chances, *, short: bool = False) -> Message:
    known = [chance for chance in chances if chance is not None]
    if not known:
        return Message("not estimated" if short else "chance under the critical low not estimated")
    about, missing = round(sum(known)), len(chances) - len(known)
    # Where a check failed, nobody is told first that it was probably none.
    shape = _ONE if len(known) == 1 else _ABOUT if about else _EACH
    values: dict[str, Value] = {"about": about, "count": len(known), "missing": missing}
    text = shape.text(short=short, missing=bool(missing))
    return Message(text, {**values, "most": percent(max(known))})


def count_words(batches: int) -> Message:
    """Return a number of batches."""
    return Message("1 batch" if batches == 1 else "{count} batches", {"count": batches})
