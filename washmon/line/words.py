"""An event in one line, for lists: "Reading tank 1: 61 ppm, pH 6.9"."""

import re
from collections.abc import Callable, Iterator, Sequence

from washmon.line.clock_changes import span
from washmon.line.events import (
    AcidAdded,
    Acknowledged,
    BatchWashed,
    BehindTheScenes,
    ClockChanged,
    Corrected,
    DoseAdded,
    Event,
    FlagsChanged,
    FlagShelved,
    FlagUnshelved,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    InstrumentChecked,
    LinePaused,
    LineResumed,
    NoteWritten,
    PinMistaken,
    PinReset,
    PinSet,
    ReadingTaken,
    SecondSwapped,
    SetupSaved,
    ShiftEnded,
    ShiftReviewed,
    ShiftSigned,
    ShiftStarted,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flags import Amount
from washmon.line.held_words import held_words
from washmon.line.instruments import MEASURES
from washmon.line.message import Figure, Message, Moment, Value
from washmon.line.quantities import IN_A_LINE
from washmon.line.setup import LineSetup
from washmon.units import Kind

NAMES: dict[type, str] = {
    SetupSaved: "Set-up",
    ShiftStarted: "Start of shift",
    TankFilled: "Filling",
    WaterExchanged: "Water exchange",
    SecondSwapped: "Swap of water",
    DoseAdded: "Dose",
    AcidAdded: "Acid",
    ReadingTaken: "Reading",
    BatchWashed: "Batch",
    LinePaused: "Pause of the line",
    LineResumed: "Line goes on",
    ClockChanged: "Clock",
    NoteWritten: "Note",
    InstrumentChecked: "Instrument check",
    HoldPlaced: "Hold",
    HoldReleased: "Decision on a hold",
    Acknowledged: "Flag seen",
    FlagShelved: "Flag shelved",
    FlagUnshelved: "Flag brought back",
    HandedOver: "Hand-over",
    ShiftEnded: "End of shift",
    FlagsChanged: "Flags",
    Corrected: "Correction",
    BehindTheScenes: "Practice",
    ShiftSigned: "Signature",
    ShiftReviewed: "Review",
    PinSet: "PIN",
    PinReset: "PIN",
    PinMistaken: "Wrong PIN",
}
"""What each kind of event is called."""

_FIELD = re.compile(r"\{(\w+)\}")


def describe(event: Event, setup: LineSetup) -> Message:
    """Return an event in one line; ``setup`` is the one that its shift runs on."""
    return joined(parts(event, setup))


def parts(event: Event, setup: LineSetup) -> tuple[Message, ...]:
    """Return an event as a head and its details, each a sentence part of its own to translate.

    Written together they are ``head: detail, detail``.
    """
    return tuple(_WORDS[type(event)](event, setup))


def amount_figure(amount: Amount) -> Figure:
    """Return an amount of a product as a figure in its own unit."""
    return Figure(amount.value, Kind.SMALL_VOLUME if amount.unit == "mL" else Kind.MASS)


def rule_words(rule: str) -> str:
    """Return the id of a rule as words."""
    return rule.replace("-", " ")


def joined(found: Sequence[Message]) -> Message:
    """Return parts as one message; a name that two parts use for different values gets a number."""
    values: dict[str, Value] = {}
    texts = []
    for number, part in enumerate(found):
        names = {
            name: f"{name}_{number}" if values.get(name, value) != value else name
            for name, value in part.values.items()
        }
        values |= {names[name]: value for name, value in part.values.items()}
        texts.append(_FIELD.sub(_renamed(names), part.text))
    head, *details = texts
    return Message(f"{head}: {', '.join(details)}" if details else head, values)


def _renamed(names: dict[str, str]) -> Callable[[re.Match[str]], str]:
    def name(match: re.Match[str]) -> str:
        return f"{{{names.get(match[1], match[1])}}}"

    return name


def _said(text: str) -> Iterator[Message]:
    """Yield a person's own words, if there are any; they are a value, never a template."""
    if text.strip():
        yield Message("{words}", {"words": text.strip()})


def _setup_saved(event: SetupSaved, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Set-up of {line} saved", {"line": event.setup.line})


def _started(event: ShiftStarted, setup: LineSetup) -> Iterator[Message]:
    yield Message("Shift on {line} started", {"line": setup.line})
    if event.lots:
        yield Message("lots {lots}", {"lots": ", ".join(lot.code for lot in event.lots)})


def _filled(event: TankFilled, setup: LineSetup) -> Iterator[Message]:
    del setup
    text = "Second fill of tank {tank} filled" if event.second else "Tank {tank} filled"
    yield Message(text, {"tank": event.tank})
    yield Message("{volume}", {"volume": Figure(event.volume_l, Kind.VOLUME)})


def _exchanged(event: WaterExchanged, setup: LineSetup) -> Iterator[Message]:
    del setup
    text = "Water exchanged in tank {tank}"
    if event.second:
        text = "Water exchanged in the second fill of tank {tank}"
    yield Message(text, {"tank": event.tank})
    yield Message("{volume}", {"volume": Figure(event.volume_l, Kind.VOLUME)})


def _swapped(event: SecondSwapped, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Second fill of tank {tank} swapped in", {"tank": event.tank})


def _dosed(event: DoseAdded, setup: LineSetup) -> Iterator[Message]:
    product = setup.sanitizer(event.product)
    text = "Dose second fill of tank {tank}" if event.second else "Dose tank {tank}"
    yield Message(text, {"tank": event.tank})
    yield _amount(event, product.name if product else event.product)


def _acidified(event: AcidAdded, setup: LineSetup) -> Iterator[Message]:
    product = setup.acid(event.product)
    text = "Acid second fill of tank {tank}" if event.second else "Acid tank {tank}"
    yield Message(text, {"tank": event.tank})
    yield _amount(event, product.name if product else event.product)


def _amount(event: DoseAdded | AcidAdded, product: str) -> Message:
    amount: Value = event.as_entered.strip() or amount_figure(event.amount)
    return Message("{amount} {product}", {"amount": amount, "product": product})


def _read(event: ReadingTaken, setup: LineSetup) -> Iterator[Message]:
    del setup
    text = "Reading second fill of tank {tank}" if event.second else "Reading tank {tank}"
    yield Message(text, {"tank": event.tank})
    for quantity in IN_A_LINE:
        told = quantity.told(event)
        if told is not None:
            yield told


def _washed(event: BatchWashed, setup: LineSetup) -> Iterator[Message]:
    del setup
    tanks = ", ".join(str(number) for number in event.tanks)
    where = "tank" if len(event.tanks) == 1 else "tanks"
    yield Message(f"Batch of {{lot}} in {where} {{tanks}}", {"lot": event.lot, "tanks": tanks})
    if event.weight_kg is not None:
        yield Message("{weight}", {"weight": Figure(event.weight_kg, Kind.PRODUCE_MASS)})
    if event.contact_s is not None:
        yield Message(
            "{contact} in the water", {"contact": Figure(event.contact_s, Kind.CONTACT_TIME)}
        )


def _noted(event: NoteWritten, setup: LineSetup) -> Iterator[Message]:
    del setup
    told = Message("Note on tank {tank}", {"tank": event.tank or 0})
    yield Message("Note") if event.tank is None else told
    yield from _said(event.text)


def _verified(event: InstrumentChecked, setup: LineSetup) -> Iterator[Message]:
    del setup
    kind = MEASURES[event.instrument].kind
    yield Message("Check of {instrument}", {"instrument": event.instrument.value})
    if event.found is not None and event.standard is not None:
        yield Message(
            "it showed {found} in {standard}",
            {"found": Figure(event.found, kind), "standard": Figure(event.standard, kind)},
        )
    if event.against.strip():
        yield Message("against {against}", {"against": event.against.strip()})
    if event.adjusted:
        yield Message("set right")
    if event.lot.strip():
        yield Message("new pack, lot {pack}", {"pack": event.lot.strip()})
    if event.use_by is not None:
        yield Message("good until {use_by}", {"use_by": event.use_by.isoformat()})
    yield Message("fit for use" if event.fit else "not fit for use")


def _held(event: HoldPlaced, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Hold from tank {tank}", {"tank": event.tank})
    count = len(event.batches)
    yield Message("1 batch" if count == 1 else "{count} batches", {"count": count})
    yield from held_words(event)
    yield from _said(event.reason)


def _released(event: HoldReleased, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Held product")
    yield Message("{decision}", {"decision": event.decision.value})
    yield from _said(event.reason)
    for text, words in (
        (event.found, "found: {text}"),
        (event.water, "water: {text}"),
        (event.prevention, "so that it does not recur: {text}"),
    ):
        if text.strip():
            yield Message(words, {"text": text.strip()})


def _acknowledged(event: Acknowledged, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Flag on tank {tank} seen", {"tank": event.tank})
    yield Message("{rule}", {"rule": rule_words(event.rule)})


def _shelved(event: FlagShelved, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message(
        "Flag on tank {tank} shelved until {until}",
        {"tank": event.tank, "until": Moment(event.until)},
    )
    yield Message("{rule}", {"rule": rule_words(event.rule)})
    yield from _said(event.reason)


def _unshelved(event: FlagUnshelved, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Flag on tank {tank} brought back", {"tank": event.tank})
    yield Message("{rule}", {"rule": rule_words(event.rule)})


def _paused(event: LinePaused, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Line paused")
    yield from _said(event.reason)


def _resumed(event: LineResumed, setup: LineSetup) -> Iterator[Message]:
    del event, setup
    yield Message("Line goes on")


def _clock_changed(event: ClockChanged, setup: LineSetup) -> Iterator[Message]:
    del setup
    text = "The clock was set {by} forward: what was entered before counts as so much later"
    if event.by_s < 0:
        text = "The clock was set {by} back: what was entered before counts as so much earlier"
    yield Message(text, {"by": span(event.by_s)})
    yield from _said(event.reason)


def _handed_over(event: HandedOver, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Shift handed over to {who}", {"who": event.to})
    yield from _said(event.note)


def _ended(event: ShiftEnded, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Shift ended")
    if event.holds_to:
        yield Message("open holds go to {who}", {"who": event.holds_to})
    yield from _said(event.note)


def _flags_changed(event: FlagsChanged, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Flags" if event.raised or event.cleared else "Plan")
    for flag in event.raised:
        yield Message("tank {tank} {level}", {"tank": flag.tank, "level": flag.level.value})
        yield flag.title
    for tank, rule in event.cleared:
        yield Message("tank {tank} cleared {rule}", {"tank": tank, "rule": rule_words(rule)})
    yield from (part for plan in event.plans for part in plan.parts)


def _corrected(event: Corrected, setup: LineSetup) -> Iterator[Message]:
    yield Message("Correction of entry {entry}", {"entry": event.entry})
    if event.instead is None:
        yield Message("it never happened")
    else:
        yield describe(event.instead, setup)
    yield from _said(event.reason)


def _behind(event: BehindTheScenes, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield (
        Message("The trainer changed something")
        if event.attempt is None
        else Message("Practice of {who}", {"who": event.attempt.trainee})
    )


def _signed(event: ShiftSigned, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Shift signed by {who}", {"who": event.by})
    yield Message("{role}", {"role": event.role.value})


def _reviewed(event: ShiftReviewed, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("Shift reviewed by {who}", {"who": event.by})
    yield Message("{role}", {"role": event.role.value})
    yield from _said(event.note)


def _pin_set(event: PinSet, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("New PIN of {who}", {"who": event.who})


def _pin_reset(event: PinReset, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("PIN of {who} taken away", {"who": event.who})


def _pin_mistaken(event: PinMistaken, setup: LineSetup) -> Iterator[Message]:
    del setup
    yield Message("A wrong PIN for {who}", {"who": event.by})


_WORDS: dict[type, Callable[..., Iterator[Message]]] = {
    SetupSaved: _setup_saved,
    ShiftStarted: _started,
    TankFilled: _filled,
    WaterExchanged: _exchanged,
    SecondSwapped: _swapped,
    DoseAdded: _dosed,
    AcidAdded: _acidified,
    ReadingTaken: _read,
    BatchWashed: _washed,
    NoteWritten: _noted,
    InstrumentChecked: _verified,
    HoldPlaced: _held,
    HoldReleased: _released,
    Acknowledged: _acknowledged,
    FlagShelved: _shelved,
    FlagUnshelved: _unshelved,
    LinePaused: _paused,
    LineResumed: _resumed,
    ClockChanged: _clock_changed,
    HandedOver: _handed_over,
    ShiftEnded: _ended,
    FlagsChanged: _flags_changed,
    Corrected: _corrected,
    BehindTheScenes: _behind,
    ShiftSigned: _signed,
    ShiftReviewed: _reviewed,
    PinSet: _pin_set,
    PinReset: _pin_reset,
    PinMistaken: _pin_mistaken,
}
