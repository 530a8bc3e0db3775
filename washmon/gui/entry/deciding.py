"""The decision on a hold: its four parts, each offered from what was done in this shift."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.holding_sheet import hold_words, likely_words
from washmon.gui.entry.sheet_form import Fields, LineForm, choice_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldSpec, Offer
from washmon.line.events import (
    AcidAdded,
    Decision,
    DoseAdded,
    Event,
    HoldReleased,
    LinePaused,
    ReadingTaken,
    SecondSwapped,
    TankFilled,
    WaterExchanged,
)
from washmon.line.held_words import DECISION_WORDS, held_batches, lot_words, washed_in
from washmon.line.judging import judge_level
from washmon.line.message import clock
from washmon.line.state import Hold
from washmon.rules.event_text import event_text
from washmon.units import Kind

_HOLD, _DECISION = "hold", "decision"
_MOST_ACTS = 3
_MOST_BY_TIME = 3
_DONE = (DoseAdded, AcidAdded, TankFilled, WaterExchanged, SecondSwapped, LinePaused)


def release_form() -> LineForm:
    """Return the form of a decision on a hold."""
    return LineForm(
        tr("Decide on a hold"), _release_fields, _build_release, note=_open, save=tr("Decide")
    )


def _open(ask: Ask) -> str:
    """Return what is known of each open hold."""
    holds = ask.shift.open_holds
    if not holds:
        return tr("No hold is open: there is nothing to decide.")
    said = [likely_words(ask.shift, hold.placed, ask.person) for hold in holds]
    if len(holds) == 1:
        return said[0]
    return "\n".join(
        f"{hold_words(hold)}. {words}" for hold, words in zip(holds, said, strict=True)
    )


def _release_fields(ask: Ask) -> Fields:
    open_holds = ask.shift.open_holds
    holds = tuple((str(hold.seq), hold_words(hold)) for hold in open_holds)
    order = (Decision.DISCARD, Decision.DIVERT, Decision.WASH_AGAIN, Decision.RELEASE)
    decisions = tuple((one.value, tr(DECISION_WORDS[one])) for one in order)
    first = holds[0][0] if holds else ""
    found = _found(ask, open_holds[0]) if len(open_holds) == 1 else ""

    def offers(of: Callable[[Ask, Hold], Iterator[Offer]]) -> tuple[Offer, ...]:
        return tuple(
            replace(offer, when=((_HOLD, str(hold.seq)), *offer.when))
            for hold in open_holds
            for offer in of(ask, hold)
        )

    def part(
        key: str, label: str, of: Callable[[Ask, Hold], Iterator[Offer]], value: str = ""
    ) -> FieldSpec:
        field = text_field(ask, key, label, value=value, required=True)
        return replace(field, offers=offers(of))

    return (
        choice_field(ask, _HOLD, tr("Hold"), holds, first, aside=len(holds) == 1),
        choice_field(ask, _DECISION, tr("Decision"), decisions, required=True),
        part("found", tr("Found"), _found_offers, found),
        part("reason", tr("Done to product, why"), _product_offers),
        part("water", tr("Done to the water"), _water_offers),
        part("prevention", tr("So that it does not happen again"), _prevention_offers),
    )


def _batches(ask: Ask, hold: Hold) -> str:
    """Name the batches of a hold by their times, or the first and the last, with their lots."""
    held = held_batches(hold.placed, washed_in(ask.shift))
    times = [clock(one.event.at) for one in held]
    lots = ", ".join(dict.fromkeys(one.event.lot for one in held if one.event.lot))
    when = ", ".join(times) if len(times) <= _MOST_BY_TIME else f"{times[0]}–{times[-1]}"
    words = "one batch, {when}" if len(held) == 1 else "{count} batches, {when}"
    named = tr(words, count=len(held), when=when)
    return tr("{batches}, lot {lots}", batches=named, lots=lots) if lots else named


def _found(ask: Ask, hold: Hold) -> str:
    """Return why a hold was placed, and of which batches: it says what was found."""
    return tr("{why}: {batches}", why=hold.placed.reason, batches=_batches(ask, hold))


def _found_offers(ask: Ask, hold: Hold) -> Iterator[Offer]:
    yield Offer(_found(ask, hold))


def _product_offers(ask: Ask, hold: Hold) -> Iterator[Offer]:
    """Offer what a decision means, as far as it can be told from here."""
    batches = _batches(ask, hold)

    def offer(decision: Decision, words: str) -> Offer:
        return Offer(words[:1].upper() + words[1:], ((_DECISION, decision.value),))

    yield offer(Decision.DISCARD, tr("{batches}: thrown away, none sold", batches=batches))
    yield offer(Decision.DIVERT, tr("{batches}: not sold as washed produce", batches=batches))
    good = _good_reading(ask, hold)
    if good is not None:
        level = ask.shown(getattr(good, _level_field(ask, hold)), Kind.CONCENTRATION)
        yield offer(
            Decision.WASH_AGAIN,
            tr(
                "{batches}: washed again in tank {tank} at {level} ppm, read {time}",
                batches=batches,
                tank=hold.placed.tank,
                level=level,
                time=clock(good.at),
            ),
        )
    told = lot_words(hold.placed, washed_in(ask.shift))
    likely = "; ".join(f"{lot} {ask.person.say(words)}".strip() for lot, words in told)
    if likely:
        words = tr("{batches}: released, {likely}", batches=batches, likely=likely)
        yield offer(Decision.RELEASE, words)


def _level_field(ask: Ask, hold: Hold) -> str:
    return ask.shift.tank(hold.placed.tank).spec.level_field


def _good_reading(ask: Ask, hold: Hold) -> ReadingTaken | None:
    """Return the newest reading of the tank since the hold, if its level keeps the critical low."""
    tank = ask.shift.tank(hold.placed.tank)
    newest = None if tank.fill is None else tank.fill.latest(tank.spec.level_field)
    if newest is None or newest.event.at < hold.placed.at:
        return None
    breach = judge_level(getattr(newest.event, tank.spec.level_field), tank.spec)
    return None if breach is not None and breach.critical else newest.event


def _water_offers(ask: Ask, hold: Hold) -> Iterator[Offer]:
    """Offer what was done in the tank since its first held batch, together and one by one."""
    held = held_batches(hold.placed, washed_in(ask.shift))
    since = held[0].event.at if held else hold.placed.at
    done = [_act(ask, one) for one in _acts(ask, hold, since)]
    good = _good_reading(ask, hold)
    read = [] if good is None else [_act(ask, good)]
    if done:
        yield Offer("; ".join((*done[-_MOST_ACTS:], *read)))
    if len(done) > 1 or (done and read):
        yield Offer(done[-1])
    if read and not done:
        yield Offer(read[0])


def _acts(ask: Ask, hold: Hold, since: datetime) -> Iterator[Event]:
    """Yield what was done about a tank's water from a moment on, as it was corrected."""
    for entry in ask.shift.entries:
        correction = ask.shift.corrections.get(entry.seq)
        event = entry.event if correction is None else correction.instead
        mine = getattr(event, "tank", hold.placed.tank) == hold.placed.tank
        if isinstance(event, _DONE) and mine and event.at >= since:
            yield event


def _act(ask: Ask, event: Event) -> str:
    what = event_text(event, ask.shift.setup, ask.person.say)
    return tr("{what}, {time}", what=what, time=clock(event.at))


def _prevention_offers(ask: Ask, hold: Hold) -> Iterator[Offer]:
    """Offer what the shed wrote before, tied to these batches, and a closer watch on the tank."""
    batches = _batches(ask, hold)
    for words in ask.own.prevention[:2]:
        yield Offer(tr("{words} ({batches})", words=words, batches=batches))
    usual = ask.shift.tank(hold.placed.tank).spec.check_batches
    if usual is not None and usual > 1:
        yield Offer(
            tr(
                "Tank {tank} is read every {count} batches from {time} on, not every {usual}",
                tank=hold.placed.tank,
                count=max(1, usual // 2),
                time=clock(ask.now),
                usual=usual,
            )
        )
    yield Offer(tr("Tank {tank} is read before each new lot", tank=hold.placed.tank))


def _build_release(texts: Texts) -> HoldReleased:
    if not texts.text("decision"):
        texts.faults["decision"] = tr("Choose what is done with it.")
    return HoldReleased(
        at=texts.at(),
        by=texts.ask.person.initials,
        hold=int(texts.text("hold") or -1),
        decision=texts.one_of("decision", Decision, Decision.DISCARD),
        reason=texts.needed("reason"),
        found=texts.needed("found"),
        water=texts.needed("water"),
        prevention=texts.needed("prevention"),
    )
