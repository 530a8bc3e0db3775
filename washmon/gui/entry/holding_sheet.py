"""Holds: which batches must not be sold, and how likely they met too little."""

from washmon.gui.context import UserContext
from washmon.gui.entry.ask import Ask
from washmon.gui.entry.sheet_form import Fields, OneTankForm, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.line.events import HoldPlaced
from washmon.line.flags import Level, StepKind
from washmon.line.held_words import batch_words, failed_words, lot_words, washed_in
from washmon.line.state import Hold, ShiftState, TankState
from washmon.rules.holding import estimated
from washmon.rules.in_question import since_last_good_check, to_hold
from washmon.units import Kind

Seqs = tuple[int, ...]
_HOLD = "hold"
"""The rule that asks for a hold: no reason of its own."""


def hold_form() -> OneTankForm:
    """Return the form of a hold."""
    return OneTankForm(tr("Hold batches"), _hold_fields, _build_hold, beside=_estimate)


def _key(seqs: Seqs) -> str:
    return ",".join(str(seq) for seq in seqs)


def choices_of(ask: Ask, tank: TankState) -> dict[str, Seqs]:
    """Return which batches may be held together, under the words that name them.

    The batches are settled here, not when it is saved: what was read is what is held.
    """
    washed = tuple(batch.seq for batch in tank.washed)
    in_fill = washed[-tank.batches_in_fill :] if tank.batches_in_fill else ()
    flagged = step.batches if (step := ask.step_of(tank, StepKind.HOLD)) else ()
    question = flagged or tuple(sorted(to_hold(ask.shift, tank)))
    old = ask.was("batches")
    found: dict[str, Seqs] = {}
    if isinstance(old, tuple):
        found[tr("As entered ({count})", count=len(old))] = old
    found[tr("In question ({count})", count=len(question))] = question
    unchecked = since_last_good_check(tank)
    found[tr("Since the last good check ({count})", count=len(unchecked))] = unchecked
    found[tr("This fill ({count})", count=len(in_fill))] = in_fill
    found[tr("The last one")] = washed[-1:]
    return {words: seqs for words, seqs in found.items() if seqs}


def _hold_fields(ask: Ask, tank: TankState) -> Fields:
    choices: dict[str, str] = {}
    for words, seqs in choices_of(ask, tank).items():
        choices.setdefault(_key(seqs), words)
    which = FieldSpec(
        "batches",
        tr("Batches"),
        kind=Fill.CHOICE,
        choices=tuple(choices.items()),
        last=next(iter(choices), ""),
        aside=True,
    )
    last_n = FieldSpec("last_n", tr("or the last"), tr("batches"), aside=True, hint=" ")
    return which, last_n, text_field(ask, "reason", tr("Reason"), value=_reason(ask, tank))


def _reason(ask: Ask, tank: TankState) -> str:
    """Return why the tank's batches are in question, in the rules' words."""
    if ask.correcting is not None:
        return ""
    flags = [flag for flag in ask.advice.flags if flag.tank == tank.number]
    if ask.flag is not None:
        flags.append(ask.flag)
    stops = [flag for flag in flags if flag.level is Level.STOP and flag.rule != _HOLD]
    return "; ".join(dict.fromkeys(ask.person.say(flag.title) for flag in stops))


def _build_hold(texts: Texts) -> HoldPlaced:
    chosen = texts.text("batches")
    seqs = tuple(int(seq) for seq in chosen.split(",")) if chosen else ()
    last_n = texts.number("last_n", Kind.COUNT)
    if last_n:
        washed = texts.ask.shift.tank(texts.tank).washed
        seqs = tuple(batch.seq for batch in washed[-int(last_n) :])
    return HoldPlaced(
        at=texts.at(),
        by=texts.ask.person.initials,
        tank=texts.tank,
        batches=seqs,
        reason=texts.needed("reason"),
    )


def hold_words(hold: Hold) -> str:
    """Return a hold in a few words."""
    count = len(hold.placed.batches)
    return tr(
        "Tank {tank}, one batch, {time}" if count == 1 else "Tank {tank}, {count} batches, {time}",
        tank=hold.placed.tank,
        count=count,
        time=f"{hold.placed.at:%H:%M}",
    )


def likely_words(shift: ShiftState, placed: HoldPlaced, person: UserContext) -> str:
    """Return how likely held batches met too little: by lot, then one by one by their times."""
    washed = washed_in(shift)
    lots = [
        tr("Lot {lot}: {likely}", lot=lot, likely=person.say(likely))
        for lot, likely in lot_words(placed, washed)
    ]
    said = [*lots, *(person.say(one) for one in failed_words(placed))]
    each = ", ".join(person.say(one) for one in batch_words(placed, washed))
    whole = "; ".join(said)
    if not each or len(placed.batches) == 1:
        return whole
    return tr("{whole}. Washed at {each}.", whole=whole, each=each)


def _estimate(ask: Ask, tank: TankState) -> str:
    """Return how likely the batches that are offered first met too little."""
    words, seqs = next(iter(choices_of(ask, tank).items()), ("", ()))
    old = ask.old
    if not seqs:
        return ""
    hold = HoldPlaced(at=ask.now, by="", tank=tank.number, batches=seqs, reason="")
    if isinstance(old, HoldPlaced) and old.tank == tank.number:
        return likely_words(ask.shift, old, ask.person)
    made = estimated(ask.shift, hold, ask.forecasts, ask.now)
    if not isinstance(made, HoldPlaced):
        return ""
    return f"{words}. {likely_words(ask.shift, made, ask.person)}"
