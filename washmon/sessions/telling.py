"""What happened, in one sentence: for the headless replay, lists of entries and the timeline."""

from collections.abc import Callable

from washmon.line.events import (
    AcidAdded,
    Acknowledged,
    BatchWashed,
    Corrected,
    DoseAdded,
    Event,
    FlagsChanged,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    NoteWritten,
    ReadingTaken,
    SetupSaved,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flags import Amount
from washmon.line.message import Figure, Message, Moment
from washmon.line.setup import LineSetup
from washmon.units import Kind

Values = dict[str, str | int | Figure | Moment]

READING_KINDS = {
    "fac_mg_l": ("free chlorine", Kind.CONCENTRATION),
    "total_mg_l": ("total chlorine", Kind.CONCENTRATION),
    "ph": ("pH", Kind.PH),
    "turbidity_ntu": ("cloudiness", Kind.TURBIDITY),
    "water_c": ("water", Kind.TEMPERATURE),
    "pulp_c": ("pulp", Kind.TEMPERATURE),
    "orp_mv": ("ORP", Kind.POTENTIAL),
}


def tell(event: Event, setup: LineSetup) -> Message:
    """Return one sentence on what happened; figures keep their kinds, so that any taste fits."""
    return _TELLERS[type(event)](event, setup)


def _named(number: int, setup: LineSetup) -> str:
    name = next((tank.name for tank in setup.tanks if tank.number == number), "")
    return f"{number} {name}".strip()


def _product(key: str, setup: LineSetup) -> str:
    product = setup.sanitizer(key) or setup.acid(key)
    return product.name if product else key


def _amount(amount: Amount) -> Figure:
    return Figure(amount.value, Kind.SMALL_VOLUME if amount.unit == "mL" else Kind.MASS)


def _setup_saved(event: SetupSaved, setup: LineSetup) -> Message:
    del setup
    return Message("The set-up of {line} was saved", {"line": event.setup.line})


def _started(event: ShiftStarted, setup: LineSetup) -> Message:
    lots = ", ".join(lot.code for lot in event.lots)
    return Message("The shift began on {line}, lots {lots}", {"line": setup.line, "lots": lots})


def _filled(event: TankFilled, setup: LineSetup) -> Message:
    values: Values = {
        "tank": _named(event.tank, setup),
        "volume": Figure(event.volume_l, Kind.VOLUME),
    }
    return Message("{tank} was filled with {volume}", values)


def _exchanged(event: WaterExchanged, setup: LineSetup) -> Message:
    values: Values = {
        "tank": _named(event.tank, setup),
        "volume": Figure(event.volume_l, Kind.VOLUME),
    }
    return Message("{volume} of {tank} were exchanged for fresh water", values)


def _added(event: DoseAdded | AcidAdded, setup: LineSetup) -> Message:
    values: Values = {
        "tank": _named(event.tank, setup),
        "amount": event.as_entered or _amount(event.amount),
        "product": _product(event.product, setup),
    }
    return Message("{amount} {product} went into {tank}", values)


def _read(event: ReadingTaken, setup: LineSetup) -> Message:
    values: Values = {"tank": _named(event.tank, setup)}
    parts = []
    for field, (name, kind) in READING_KINDS.items():
        value = getattr(event, field)
        if value is not None:
            values[field] = Figure(value, kind)
            parts.append(f"{name} {{{field}}}")
    if event.look is not None:
        values["look"] = event.look
        parts.append("card {look}")
    return Message("{tank} read: " + ", ".join(parts), values)


def _washed(event: BatchWashed, setup: LineSetup) -> Message:
    del setup
    tanks = ", ".join(str(number) for number in event.tanks)
    values: Values = {"lot": event.lot, "tanks": tanks}
    if event.weight_kg is None:
        return Message("A batch of {lot} went through {tanks}", values)
    values["weight"] = Figure(event.weight_kg, Kind.PRODUCE_MASS)
    return Message("A batch of {lot}, {weight}, went through {tanks}", values)


def _noted(event: NoteWritten, setup: LineSetup) -> Message:
    if event.tank is None:
        return Message("Note: {text}", {"text": event.text})
    return Message(
        "Note on {tank}: {text}", {"tank": _named(event.tank, setup), "text": event.text}
    )


def _held(event: HoldPlaced, setup: LineSetup) -> Message:
    values: Values = {
        "count": len(event.batches),
        "tank": _named(event.tank, setup),
        "reason": event.reason,
    }
    return Message("{count} batches of {tank} were held: {reason}", values)


def _released(event: HoldReleased, setup: LineSetup) -> Message:
    del setup
    values: Values = {
        "hold": event.hold,
        "decision": event.decision.value,
        "reason": event.reason,
    }
    return Message("Hold {hold} was decided, {decision}: {reason}", values)


def _acknowledged(event: Acknowledged, setup: LineSetup) -> Message:
    values: Values = {"rule": event.rule, "tank": _named(event.tank, setup)}
    return Message("{rule} on {tank} was acknowledged", values)


def _handed_over(event: HandedOver, setup: LineSetup) -> Message:
    del setup
    if event.note:
        values: Values = {"to": event.to, "note": event.note}
        return Message("The shift was handed to {to}: {note}", values)
    return Message("The shift was handed to {to}", {"to": event.to})


def _ended(event: ShiftEnded, setup: LineSetup) -> Message:
    del setup
    if event.note:
        return Message("The shift ended: {note}", {"note": event.note})
    return Message("The shift ended")


def _flags(event: FlagsChanged, setup: LineSetup) -> Message:
    raised = [f"{flag.rule} on {_named(flag.tank, setup)}" for flag in event.raised]
    cleared = [f"{rule} on {_named(tank, setup)}" for tank, rule in event.cleared]
    values: Values = {"raised": ", ".join(raised), "cleared": ", ".join(cleared)}
    if not cleared:
        return Message("Came up: {raised}", values)
    if not raised:
        return Message("Cleared: {cleared}", values)
    return Message("Came up: {raised}; cleared: {cleared}", values)


def _corrected(event: Corrected, setup: LineSetup) -> Message:
    values: Values = {"entry": event.entry, "reason": event.reason}
    if event.instead is None:
        return Message("Entry {entry} was withdrawn: {reason}", values)
    instead = tell(event.instead, setup)
    if not values.keys() & instead.values.keys():
        text = "Entry {entry} was corrected ({reason}): " + instead.text
        return Message(text, values | instead.values)
    return Message("Entry {entry} was corrected: {reason}", values)


_TELLERS: dict[type, Callable[..., Message]] = {
    SetupSaved: _setup_saved,
    ShiftStarted: _started,
    TankFilled: _filled,
    WaterExchanged: _exchanged,
    DoseAdded: _added,
    AcidAdded: _added,
    ReadingTaken: _read,
    BatchWashed: _washed,
    NoteWritten: _noted,
    HoldPlaced: _held,
    HoldReleased: _released,
    Acknowledged: _acknowledged,
    HandedOver: _handed_over,
    ShiftEnded: _ended,
    FlagsChanged: _flags,
    Corrected: _corrected,
}
