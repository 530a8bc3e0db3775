"""What is said of each kind of event: a head and its details, each whole and translated by itself.

In one line they read "Reading tank 1: 61 ppm, pH 6.9".
"""

import re
from collections.abc import Callable, Iterator
from enum import StrEnum
from typing import Any

from washmon.line.clock_changes import span
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    ClockChanged,
    Corrected,
    DoseAdded,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    InstrumentChecked,
    LotSent,
    NoteWritten,
    ReadingTaken,
    RegistersTold,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flag_events import Acknowledged, FlagsChanged, FlagShelved, FlagUnshelved
from washmon.line.flags import Amount
from washmon.line.held_words import count_words, held_words
from washmon.line.instruments import MEASURES
from washmon.line.message import Figure, Message, Moment, Value, Values
from washmon.line.practice_events import Asked, BehindTheScenes
from washmon.line.quantities import IN_A_LINE
from washmon.line.registers import Container, Device, Pack, Paper, Thing, mark_of
from washmon.line.setup import LineSetup
from washmon.line.site_events import CourseSet, SetupSaved, ThingRegistered, TrainingSigned
from washmon.units import Kind

_FIELD = re.compile(r"\{(\w+)\}")


def amount_figure(amount: Amount) -> Figure:
    """Return an amount of a product as a figure in its own unit."""
    return Figure(amount.value, Kind.SMALL_VOLUME if amount.unit == "mL" else Kind.MASS)


def rule_words(rule: str) -> str:
    """Return the id of a rule as words."""
    return rule.replace("-", " ")


def plainly(head: str, *details: str) -> Callable[[Any, LineSetup], Iterator[Message]]:
    """Return a sentence whose templates name fields of the event; empty details are left out."""

    def sentence(event: Any, _setup: LineSetup) -> Iterator[Message]:  # noqa: ANN401 - any event
        for text in (head, *details):
            values: Values = {name: _plain(getattr(event, name)) for name in _FIELD.findall(text)}
            if text is head or "" not in values.values():
                yield Message(text, values)

    return sentence


def _plain(value: object) -> str | int:
    """Return a field of an event as a value: a person's own words are never a template."""
    match value:
        case StrEnum():
            return value.value
        case int():
            return value
        case None:
            return ""
    return str(value).strip()


def sent(event: LotSent, setup: LineSetup) -> Iterator[Message]:
    """Say which lot was sent where, with what document, and how much of it."""
    yield from plainly("Lot {lot} sent", "to {to}", "document {reference}")(event, setup)
    if event.sent_kg is not None:
        yield Message("{weight}", {"weight": Figure(event.sent_kg, Kind.PRODUCE_MASS)})


def corrected(event: Corrected, _setup: LineSetup) -> Iterator[Message]:
    """Say what was corrected and why; what it says instead is told by its own kind."""
    yield Message("Correction of entry {entry}", {"entry": event.entry})
    if event.instead is None:
        yield Message("it never happened")
    yield from _said(event.reason)


def _said(text: str) -> Iterator[Message]:
    """Yield a person's own words, if there are any; they are a value, never a template."""
    if text.strip():
        yield Message("{words}", {"words": text.strip()})


def setup_saved(event: SetupSaved, _setup: LineSetup) -> Iterator[Message]:
    """Say which set-up was saved."""
    yield Message("Set-up of {line} saved", {"line": event.setup.line})


_REGISTERED: dict[type[Thing], str] = {
    Device: "Instrument {name}",
    Pack: "Pack {name}",
    Container: "Container {name}",
    Paper: "Paper {name}",
}


def registered(event: ThingRegistered, _setup: LineSetup) -> Iterator[Message]:
    """Say what was registered, changed or retired."""
    yield Message("Registers")
    yield from _thing(event.what)


def course_set(event: CourseSet, _setup: LineSetup) -> Iterator[Message]:
    """Say which course holds from now on."""
    course = event.course
    yield Message(
        "Course of {count} scenarios, pass mark {mark}, due again after {months} months",
        {
            "count": len(course.scenarios),
            "mark": f"{course.pass_mark:g}",
            "months": course.months,
        },
    )


def trained(event: TrainingSigned, _setup: LineSetup) -> Iterator[Message]:
    """Say whose practice was signed off."""
    what = event.what
    yield Message(
        "Practice of {who} signed off: {scenario}, {score} of 100",
        {"who": what.person, "scenario": what.scenario, "score": f"{what.score:.0f}"},
    )


def registers_told(event: RegistersTold, _setup: LineSetup) -> Iterator[Message]:
    """Say what was registered, changed or retired while the shift ran."""
    yield Message("Registers")
    for thing in event.things:
        yield from _thing(thing)


def _thing(thing: Thing) -> Iterator[Message]:
    yield Message(_REGISTERED[type(thing)], {"name": thing.name})
    yield from _said(mark_of(thing))
    if thing.retired_on is not None:
        yield Message("retired")


def started(event: ShiftStarted, setup: LineSetup) -> Iterator[Message]:
    """Say which line began, with its lots."""
    yield Message("Shift on {line} started", {"line": setup.line})
    if event.lots:
        yield Message("lots {lots}", {"lots": ", ".join(lot.code for lot in event.lots)})


def filled(event: TankFilled, _setup: LineSetup) -> Iterator[Message]:
    """Say what was filled, and how much."""
    text = "Second fill of tank {tank} filled" if event.second else "Tank {tank} filled"
    yield Message(text, {"tank": event.tank})
    yield Message("{volume}", {"volume": Figure(event.volume_l, Kind.VOLUME)})


def exchanged(event: WaterExchanged, _setup: LineSetup) -> Iterator[Message]:
    """Say how much water was exchanged."""
    text = "Water exchanged in tank {tank}"
    if event.second:
        text = "Water exchanged in the second fill of tank {tank}"
    yield Message(text, {"tank": event.tank})
    yield Message("{volume}", {"volume": Figure(event.volume_l, Kind.VOLUME)})


def dosed(event: DoseAdded, setup: LineSetup) -> Iterator[Message]:
    """Say how much of which sanitizer went where."""
    product = setup.sanitizer(event.product)
    text = "Dose second fill of tank {tank}" if event.second else "Dose tank {tank}"
    yield Message(text, {"tank": event.tank})
    yield _amount(event, product.name if product else event.product)
    if event.container:
        yield Message("from {container}", {"container": event.container})


def acidified(event: AcidAdded, setup: LineSetup) -> Iterator[Message]:
    """Say how much of which acid went where."""
    product = setup.acid(event.product)
    text = "Acid second fill of tank {tank}" if event.second else "Acid tank {tank}"
    yield Message(text, {"tank": event.tank})
    yield _amount(event, product.name if product else event.product)
    if event.container:
        yield Message("from {container}", {"container": event.container})


def _amount(event: DoseAdded | AcidAdded, product: str) -> Message:
    amount: Value = event.as_entered.strip() or amount_figure(event.amount)
    return Message("{amount} {product}", {"amount": amount, "product": product})


def read(event: ReadingTaken, _setup: LineSetup) -> Iterator[Message]:
    """Say what was measured."""
    text = "Reading second fill of tank {tank}" if event.second else "Reading tank {tank}"
    yield Message(text, {"tank": event.tank})
    for quantity in IN_A_LINE:
        told = quantity.told(event)
        if told is not None:
            yield told


def washed(event: BatchWashed, _setup: LineSetup) -> Iterator[Message]:
    """Say what was washed, and where."""
    tanks = ", ".join(str(number) for number in event.tanks)
    one = len(event.tanks) == 1
    text = "Batch of {lot} in tank {tanks}" if one else "Batch of {lot} in tanks {tanks}"
    yield Message(text, {"lot": event.lot, "tanks": tanks})
    if event.weight_kg is not None:
        yield Message("{weight}", {"weight": Figure(event.weight_kg, Kind.PRODUCE_MASS)})
    if event.contact_s is not None:
        yield Message(
            "{contact} in the water", {"contact": Figure(event.contact_s, Kind.CONTACT_TIME)}
        )


def noted(event: NoteWritten, _setup: LineSetup) -> Iterator[Message]:
    """Say what was noted."""
    told = Message("Note on tank {tank}", {"tank": event.tank or 0})
    yield Message("Note") if event.tank is None else told
    yield from _said(event.text)


def verified(event: InstrumentChecked, _setup: LineSetup) -> Iterator[Message]:
    """Say how an instrument did in its check."""
    kind = MEASURES[event.instrument].kind
    yield Message("Check of {instrument}", {"instrument": event.instrument.value})
    yield from _said(event.which or "")
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


def held(event: HoldPlaced, _setup: LineSetup) -> Iterator[Message]:
    """Say what is held, and why."""
    yield Message("Hold from tank {tank}", {"tank": event.tank})
    yield count_words(len(event.batches))
    yield from held_words(event)
    yield from _said(event.reason)


def released(event: HoldReleased, _setup: LineSetup) -> Iterator[Message]:
    """Say what was decided about held product, and why."""
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


def acknowledged(event: Acknowledged, _setup: LineSetup) -> Iterator[Message]:
    """Say which flag was seen."""
    yield Message("Flag on tank {tank} seen", {"tank": event.tank})
    yield Message("{rule}", {"rule": rule_words(event.rule)})


def shelved(event: FlagShelved, _setup: LineSetup) -> Iterator[Message]:
    """Say which flag was put aside, until when and why."""
    yield Message(
        "Flag on tank {tank} shelved until {until}",
        {"tank": event.tank, "until": Moment(event.until)},
    )
    yield Message("{rule}", {"rule": rule_words(event.rule)})
    yield from _said(event.reason)


def unshelved(event: FlagUnshelved, _setup: LineSetup) -> Iterator[Message]:
    """Say which flag was brought back."""
    yield Message("Flag on tank {tank} brought back", {"tank": event.tank})
    yield Message("{rule}", {"rule": rule_words(event.rule)})


def clock_changed(event: ClockChanged, _setup: LineSetup) -> Iterator[Message]:
    """Say by how much the clock was set."""
    text = "The clock was set {by} forward: what was entered before counts as so much later"
    if event.by_s < 0:
        text = "The clock was set {by} back: what was entered before counts as so much earlier"
    yield Message(text, {"by": span(event.by_s)})
    yield from _said(event.reason)


def handed_over(event: HandedOver, _setup: LineSetup) -> Iterator[Message]:
    """Say to whom the shift went, and that they took it over."""
    yield Message("Shift handed over to {who}", {"who": event.to})
    if event.confirmed:
        yield Message("who took it over")
    yield from _said(event.note)


def ended(event: ShiftEnded, _setup: LineSetup) -> Iterator[Message]:
    """Say that the shift ended, and who has its open holds."""
    yield Message("Shift ended")
    if event.holds_to:
        yield Message("open holds go to {who}", {"who": event.holds_to})
    yield from _said(event.note)


def flags_changed(event: FlagsChanged, _setup: LineSetup) -> Iterator[Message]:
    """Say what came up, what went, and the plans."""
    yield Message("Flags" if event.raised or event.cleared else "Plan")
    for flag in event.raised:
        yield Message("tank {tank} {level}", {"tank": flag.tank, "level": flag.level.value})
        yield flag.title
    for tank, rule in event.cleared:
        yield Message("tank {tank} cleared {rule}", {"tank": tank, "rule": rule_words(rule)})
    yield from (part for plan in event.plans for part in plan.parts)


def behind(event: BehindTheScenes, _setup: LineSetup) -> Iterator[Message]:
    """Say what nobody on the line is told."""
    if event.attempt is not None:
        yield Message("Practice of {who}", {"who": event.attempt.trainee})
    elif isinstance(event.asked, Asked):
        yield Message("The trainer asked: {question}", {"question": event.asked.question})
    elif isinstance(event.hint, str):
        yield Message("The trainee wanted a hint: {hint}", {"hint": event.hint})
    else:
        yield Message("The trainer changed something")
