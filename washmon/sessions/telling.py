"""What happened, in one sentence: for the headless replay, lists of entries and the timeline."""

from collections.abc import Callable
from typing import NamedTuple

from washmon.line.events import (
    RULES,
    AcidAdded,
    Acknowledged,
    BatchWashed,
    BehindTheScenes,
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
from washmon.line.instruments import MEASURES
from washmon.line.message import Figure, Message, Moment
from washmon.line.setup import LineSetup
from washmon.rules import all_rules
from washmon.sessions.player import News
from washmon.units import Kind


class Told(NamedTuple):
    """A sentence in parts that are translated one by one: a head and what is listed after it."""

    head: Message
    rest: tuple[Message, ...] = ()

    def said(self, say: Callable[[Message], str]) -> str:
        """Return the sentence as somebody reads it."""
        listed = ", ".join(say(part) for part in self.rest)
        return f"{say(self.head)}: {listed}" if listed else say(self.head)


Values = dict[str, str | int | Figure | Moment]

READINGS = {
    "fac_mg_l": ("free chlorine {value}", Kind.CONCENTRATION),
    "paa_mg_l": ("peracetic acid {value}", Kind.CONCENTRATION),
    "peroxide_mg_l": ("hydrogen peroxide {value}", Kind.CONCENTRATION),
    "total_mg_l": ("total chlorine {value}", Kind.CONCENTRATION),
    "ph": ("pH {value}", Kind.PH),
    "turbidity_ntu": ("cloudiness {value}", Kind.TURBIDITY),
    "water_c": ("water {value}", Kind.TEMPERATURE),
    "pulp_c": ("pulp {value}", Kind.TEMPERATURE),
    "orp_mv": ("ORP {value}", Kind.POTENTIAL),
}


def tell(event: Event, setup: LineSetup) -> Told:
    """Return one sentence on what happened; figures keep their kinds, so that any taste fits."""
    return _TELLERS[type(event)](event, setup)


def happened(news: News) -> Event:
    """Return what news are of: the entry, or what the rules found when only time had passed."""
    if news.entry is not None:
        return news.entry.event
    raised, cleared = (news.change.raised, news.change.cleared) if news.change else ((), ())
    return FlagsChanged(at=news.at, by=RULES, upto=-1, raised=raised, cleared=cleared)


def _named(number: int, setup: LineSetup) -> str:
    name = next((tank.name for tank in setup.tanks if tank.number == number), "")
    return f"{number} {name}".strip()


def _product(key: str, setup: LineSetup) -> str:
    product = setup.sanitizer(key) or setup.acid(key)
    return product.name if product else key


def _rule(id_: str) -> str:
    return next((rule.title for rule in all_rules() if rule.id == id_), id_)


def _amount(amount: Amount) -> Figure:
    return Figure(amount.value, Kind.SMALL_VOLUME if amount.unit == "mL" else Kind.MASS)


def _setup_saved(event: SetupSaved, setup: LineSetup) -> Told:
    del setup
    return Told(Message("The set-up of {line} was saved", {"line": event.setup.line}))


def _started(event: ShiftStarted, setup: LineSetup) -> Told:
    lots = ", ".join(lot.code for lot in event.lots)
    return Told(
        Message("The shift began on {line}, lots {lots}", {"line": setup.line, "lots": lots})
    )


def _filled(event: TankFilled, setup: LineSetup) -> Told:
    values: Values = {
        "tank": _named(event.tank, setup),
        "volume": Figure(event.volume_l, Kind.VOLUME),
    }
    text = "{tank} was filled with {volume}"
    if event.second:
        text = "The second fill of {tank} was filled with {volume}"
    return Told(Message(text, values))


def _exchanged(event: WaterExchanged, setup: LineSetup) -> Told:
    values: Values = {
        "tank": _named(event.tank, setup),
        "volume": Figure(event.volume_l, Kind.VOLUME),
    }
    text = "{volume} of {tank} were exchanged for fresh water"
    if event.second:
        text = "{volume} of the second fill of {tank} were exchanged for fresh water"
    return Told(Message(text, values))


def _swapped(event: SecondSwapped, setup: LineSetup) -> Told:
    return Told(
        Message("The second fill of {tank} was swapped in", {"tank": _named(event.tank, setup)})
    )


def _added(event: DoseAdded | AcidAdded, setup: LineSetup) -> Told:
    values: Values = {
        "tank": _named(event.tank, setup),
        "amount": event.as_entered or _amount(event.amount),
        "product": _product(event.product, setup),
    }
    text = "{amount} {product} went into {tank}"
    if event.second:
        text = "{amount} {product} went into the second fill of {tank}"
    return Told(Message(text, values))


def _read(event: ReadingTaken, setup: LineSetup) -> Told:
    text = "The second fill of {tank} read" if event.second else "{tank} read"
    head = Message(text, {"tank": _named(event.tank, setup)})
    seen = [
        Message(text, {"value": Figure(value, kind)})
        for field, (text, kind) in READINGS.items()
        if (value := getattr(event, field)) is not None
    ]
    if event.look is not None:
        seen.append(Message("card {look}", {"look": event.look}))
    return Told(head, tuple(seen))


def _washed(event: BatchWashed, setup: LineSetup) -> Told:
    del setup
    tanks = ", ".join(str(number) for number in event.tanks)
    values: Values = {"lot": event.lot, "tanks": tanks}
    if event.weight_kg is None:
        return Told(Message("A batch of {lot} went through {tanks}", values))
    values["weight"] = Figure(event.weight_kg, Kind.PRODUCE_MASS)
    return Told(Message("A batch of {lot}, {weight}, went through {tanks}", values))


def _noted(event: NoteWritten, setup: LineSetup) -> Told:
    if event.tank is None:
        return Told(Message("Note: {text}", {"text": event.text}))
    values: Values = {"tank": _named(event.tank, setup), "text": event.text}
    return Told(Message("Note on {tank}: {text}", values))


def _verified(event: InstrumentChecked, setup: LineSetup) -> Told:
    del setup
    kind = MEASURES[event.instrument].kind
    values: Values = {"instrument": event.instrument.value}
    told = []
    if event.found is not None and event.standard is not None:
        figures: Values = {
            "found": Figure(event.found, kind),
            "standard": Figure(event.standard, kind),
        }
        told.append(Message("it showed {found} in {standard}", figures))
    if event.adjusted:
        told.append(Message("it was set right"))
    if event.use_by is not None:
        told.append(Message("good until {day}", {"day": event.use_by.isoformat()}))
    told.append(Message("fit for use" if event.fit else "not fit for use"))
    return Told(Message("Check of {instrument}", values), tuple(told))


def _held(event: HoldPlaced, setup: LineSetup) -> Told:
    values: Values = {
        "count": len(event.batches),
        "tank": _named(event.tank, setup),
        "reason": event.reason,
    }
    return Told(Message("{count} batches of {tank} were held: {reason}", values))


def _released(event: HoldReleased, setup: LineSetup) -> Told:
    del setup
    values: Values = {
        "hold": event.hold,
        "decision": event.decision.value,
        "reason": event.reason,
    }
    parts = (
        ("found: {text}", event.found),
        ("water: {text}", event.water),
        ("so that it does not recur: {text}", event.prevention),
    )
    rest = tuple(Message(words, {"text": text}) for words, text in parts if text)
    return Told(Message("Hold {hold} was decided, {decision}: {reason}", values), rest)


def _acknowledged(event: Acknowledged, setup: LineSetup) -> Told:
    values: Values = {"rule": _rule(event.rule), "tank": _named(event.tank, setup)}
    return Told(Message("{rule} on {tank} was acknowledged", values))


def _shelved(event: FlagShelved, setup: LineSetup) -> Told:
    values: Values = {
        "rule": _rule(event.rule),
        "tank": _named(event.tank, setup),
        "until": Moment(event.until),
        "reason": event.reason,
    }
    return Told(Message("{rule} on {tank} was shelved until {until}: {reason}", values))


def _unshelved(event: FlagUnshelved, setup: LineSetup) -> Told:
    values: Values = {"rule": _rule(event.rule), "tank": _named(event.tank, setup)}
    return Told(Message("{rule} on {tank} was brought back", values))


def _handed_over(event: HandedOver, setup: LineSetup) -> Told:
    del setup
    if event.note:
        values: Values = {"to": event.to, "note": event.note}
        return Told(Message("The shift was handed to {to}: {note}", values))
    return Told(Message("The shift was handed to {to}", {"to": event.to}))


def _ended(event: ShiftEnded, setup: LineSetup) -> Told:
    del setup
    if event.note:
        return Told(Message("The shift ended: {note}", {"note": event.note}))
    return Told(Message("The shift ended"))


def _flags(event: FlagsChanged, setup: LineSetup) -> Told:
    cleared = tuple(_flag(tank, rule, setup) for tank, rule in event.cleared)
    if not event.raised:
        return Told(Message("Cleared"), cleared)
    raised = tuple(_flag(flag.tank, flag.rule, setup) for flag in event.raised)
    return Told(Message("Came up"), raised)


def _flag(tank: int, rule: str, setup: LineSetup) -> Message:
    return Message("{rule} on {tank}", {"rule": _rule(rule), "tank": _named(tank, setup)})


def _corrected(event: Corrected, setup: LineSetup) -> Told:
    values: Values = {"entry": event.entry, "reason": event.reason}
    if event.instead is None:
        return Told(Message("Entry {entry} was withdrawn ({reason})", values))
    instead = tell(event.instead, setup)
    head = Message("Entry {entry} was corrected ({reason})", values)
    return Told(head, (instead.head, *instead.rest))


def _behind(event: BehindTheScenes, setup: LineSetup) -> Told:
    del setup
    if event.attempt is not None:
        return Told(Message("Practice of {who} began", {"who": event.attempt.trainee}))
    return Told(Message("The trainer changed something behind the scenes"))


def _signed(event: ShiftSigned, setup: LineSetup) -> Told:
    del setup
    values: Values = {"who": event.by, "role": event.role.value}
    return Told(Message("{who} ({role}) signed the shift", values))


def _reviewed(event: ShiftReviewed, setup: LineSetup) -> Told:
    del setup
    values: Values = {"who": event.by, "role": event.role.value}
    if event.note:
        values["note"] = event.note
        return Told(Message("{who} ({role}) reviewed the shift: {note}", values))
    return Told(Message("{who} ({role}) reviewed the shift", values))


def _pin_set(event: PinSet, setup: LineSetup) -> Told:
    del setup
    return Told(Message("{who} has a new PIN", {"who": event.who}))


def _pin_reset(event: PinReset, setup: LineSetup) -> Told:
    del setup
    return Told(Message("{by} took the PIN of {who} away", {"by": event.by, "who": event.who}))


def _pin_mistaken(event: PinMistaken, setup: LineSetup) -> Told:
    del setup
    return Told(Message("A wrong PIN was given for {who}", {"who": event.by}))


_TELLERS: dict[type, Callable[..., Told]] = {
    SetupSaved: _setup_saved,
    ShiftStarted: _started,
    TankFilled: _filled,
    WaterExchanged: _exchanged,
    SecondSwapped: _swapped,
    DoseAdded: _added,
    AcidAdded: _added,
    ReadingTaken: _read,
    BatchWashed: _washed,
    NoteWritten: _noted,
    InstrumentChecked: _verified,
    HoldPlaced: _held,
    HoldReleased: _released,
    Acknowledged: _acknowledged,
    FlagShelved: _shelved,
    FlagUnshelved: _unshelved,
    HandedOver: _handed_over,
    ShiftEnded: _ended,
    FlagsChanged: _flags,
    Corrected: _corrected,
    BehindTheScenes: _behind,
    ShiftSigned: _signed,
    ShiftReviewed: _reviewed,
    PinSet: _pin_set,
    PinReset: _pin_reset,
    PinMistaken: _pin_mistaken,
}
