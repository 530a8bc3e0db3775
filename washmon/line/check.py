"""Is an entry possible, and is it likely? Asked before it is committed.

A *fault* refuses an entry: it can't be true. A *doubt* asks once: it may be true, and if the person
says so it is recorded together with the doubt.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta

from msgspec import Struct
from msgspec.structs import astuple, replace

from washmon.chemistry.acid import is_solid as is_solid_acid
from washmon.chemistry.checks import ChemistryError
from washmon.line import signing
from washmon.line.bounds import BOUNDS
from washmon.line.events import (
    AcidAdded,
    Acknowledged,
    BatchWashed,
    BehindTheScenes,
    Corrected,
    DoseAdded,
    Event,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftReviewed,
    ShiftSigned,
    TankFilled,
    WaterExchanged,
)
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.message import Figure, Message, Moment
from washmon.line.product import is_solid, rise
from washmon.line.setup import DECIDERS
from washmon.line.state import Fill, Placed, ShiftState
from washmon.units import Kind

CLOCK_SLACK = timedelta(minutes=1)
HIGHEST_RISE_MG_L = 1000.0
LONGEST_TEXT = 2000


class Fault(Struct, frozen=True):
    """Why an entry can't be taken, and beside which field to say so."""

    field: str
    message: Message


class Verdict(Struct, frozen=True):
    """What is to be said of an entry before it is committed."""

    faults: tuple[Fault, ...] = ()
    doubts: tuple[Message, ...] = ()


Finding = Fault | Message
AFTER_THE_END = (Corrected, HoldReleased, NoteWritten, ShiftSigned, ShiftReviewed)


JUMP_MG_L = 15.0
JUMP_FRACTION = 0.5


def check(state: ShiftState, event: Event, now: datetime) -> Verdict:
    """Return what speaks against an entry at this point of the shift."""
    faults = [*_time_faults(state, event, now)]
    doubts: list[Message] = []
    if state.ended is not None and not isinstance(event, AFTER_THE_END):
        faults.append(Fault("", Message("This shift has ended: start a new one to go on.")))
    for finding in _findings(state, event):
        if isinstance(finding, Fault):
            faults.append(finding)
        else:
            doubts.append(finding)
    return Verdict(tuple(faults), tuple(doubts))


def _findings(state: ShiftState, event: Event) -> Iterator[Finding]:
    look = _CHECKS.get(type(event))
    if look is None:
        yield Fault("", Message("This can not be entered into a shift."))
        return
    yield from _bound_findings(event)
    if not any(isinstance(value, float) and not math.isfinite(value) for value in astuple(event)):
        yield from look(state, event)


def _time_faults(state: ShiftState, event: Event, now: datetime) -> Iterator[Fault]:
    if event.at > now + CLOCK_SLACK:
        yield Fault(
            "at", Message("{time} is in the future: check the time.", {"time": Moment(event.at)})
        )
    if event.at < state.started.at:
        yield Fault(
            "at",
            Message(
                "{time} is before the shift began at {start}: check the time.",
                {"time": Moment(event.at), "start": Moment(state.started.at)},
            ),
        )
    if not event.by.strip():
        yield Fault("by", Message("Say who enters this: choose your initials."))


def _bound_findings(event: Event) -> Iterator[Finding]:
    for field, bound in BOUNDS.items():
        value = getattr(event, field, None)
        if value is None:
            continue
        if not math.isfinite(value):
            yield Fault(field, Message("This is no number: enter it again."))
            continue
        figures: dict[str, str | int | Figure | Moment] = {
            "value": Figure(value, bound.kind),
            "name": bound.name,
            "low": Figure(bound.low, bound.kind),
            "high": Figure(bound.high, bound.kind),
        }
        if not bound.low <= value <= bound.high:
            yield Fault(
                field,
                Message(
                    "{value} is not a possible {name}: it lies between {low} and {high}.", figures
                ),
            )
        elif not bound.likely_low <= value <= bound.likely_high:
            yield Message("{value} is an unusual {name}.", figures)


def _fill(state: ShiftState, number: int, at: datetime) -> Fill | Fault:
    """Return the water that was in a tank at a moment."""
    try:
        tank = state.tank(number)
    except KeyError:
        return Fault("tank", Message("There is no tank {number}.", {"number": number}))
    for fill in reversed(tank.fills):
        if fill.at <= at:
            return fill
    if tank.fill is None:
        return Fault(
            "tank",
            Message("{tank} has no water yet: enter its filling first.", {"tank": tank.spec.name}),
        )
    return Fault(
        "at",
        Message(
            "{tank} was filled at {filled} only: check the time.",
            {"tank": tank.spec.name, "filled": Moment(tank.fills[0].at)},
        ),
    )


def _reading(state: ShiftState, event: ReadingTaken) -> Iterator[Finding]:
    fill = _fill(state, event.tank, event.at)
    if isinstance(fill, Fault):
        yield fill
        return
    values = (
        event.fac_mg_l,
        event.paa_mg_l,
        event.peroxide_mg_l,
        event.total_mg_l,
        event.ph,
        event.turbidity_ntu,
        event.look,
        event.water_c,
        event.pulp_c,
        event.orp_mv,
    )
    if all(value is None for value in values):
        yield Fault("", Message("Nothing was measured: enter at least one value."))
    if event.fac_mg_l is not None:
        yield from _chlorine_doubts(fill, event, event.fac_mg_l)
    if event.paa_mg_l is not None:
        yield from _jump(
            fill,
            event,
            "paa_mg_l",
            "Peracetic acid rose from {before} to {now} without a dose.",
        )


def _chlorine_doubts(fill: Fill, event: ReadingTaken, fac_mg_l: float) -> Iterator[Message]:
    if event.total_mg_l is not None and event.total_mg_l < fac_mg_l:
        yield Message(
            "Total chlorine {total} is under free chlorine {free}, which it includes.",
            {
                "total": Figure(event.total_mg_l, Kind.CONCENTRATION),
                "free": Figure(fac_mg_l, Kind.CONCENTRATION),
            },
        )
    yield from _jump(
        fill, event, "fac_mg_l", "Free chlorine rose from {before} to {now} without a dose."
    )


def _jump(fill: Fill, event: ReadingTaken, field: str, text: str) -> Iterator[Message]:
    """Yield a doubt where a level rose by more than its readings differ, with nothing added."""
    last = fill.latest(field)
    if last is None or event.at < last.event.at:
        return
    before, now = float(getattr(last.event, field)), float(getattr(event, field))
    dosed = any(dose.event.at >= last.event.at for dose in fill.doses)
    if now - before > max(JUMP_MG_L, JUMP_FRACTION * before) and not dosed:
        yield Message(
            text,
            {
                "before": Figure(before, Kind.CONCENTRATION),
                "now": Figure(now, Kind.CONCENTRATION),
            },
        )


def _dose(state: ShiftState, event: DoseAdded) -> Iterator[Finding]:
    fill = _fill(state, event.tank, event.at)
    if isinstance(fill, Fault):
        yield fill
        return
    product = state.setup.sanitizer(event.product)
    if product is None:
        yield Fault("product", Message("This product is not in the set-up."))
        return
    if not 0 < event.amount.value < math.inf:
        yield Fault("amount", Message("An amount is above 0."))
        return
    if event.amount.unit != ("g" if is_solid(product) else "mL"):
        yield Fault("amount", _other_measure(product.name, event.amount.unit))
        return
    try:
        gain_mg_l = rise(product, fill.volume_l, event.amount, event.at.date())
    except ChemistryError as trouble:
        yield Fault("amount", Message(trouble.template, dict(trouble.values)))
        return
    limits = state.tank(event.tank).spec.limits
    figures: dict[str, str | int | Figure | Moment] = {
        "rise": Figure(gain_mg_l, Kind.CONCENTRATION),
        "volume": Figure(fill.volume_l, Kind.VOLUME),
        "max": Figure(limits.label_max_mg_l, Kind.CONCENTRATION),
    }
    if gain_mg_l > HIGHEST_RISE_MG_L:
        yield Fault(
            "amount",
            Message("That would raise {volume} by {rise}: check the amount and its unit.", figures),
        )
    elif gain_mg_l > limits.label_max_mg_l:
        yield Message(
            "That raises {volume} by {rise}, more than the label maximum of {max}.", figures
        )
    yield from _too_soon(fill.acids, event, state)


def _other_measure(product: str, unit: str) -> Message:
    if unit == "g":
        return Message("{product} is a liquid: give its amount as a volume.", {"product": product})
    return Message("{product} is a solid: give its amount as a weight.", {"product": product})


def _acid(state: ShiftState, event: AcidAdded) -> Iterator[Finding]:
    fill = _fill(state, event.tank, event.at)
    if isinstance(fill, Fault):
        yield fill
        return
    acid = state.setup.acid(event.product)
    if acid is None:
        yield Fault("product", Message("This acid is not in the set-up."))
    elif event.amount.unit != ("g" if is_solid_acid(acid.kind) else "mL"):
        yield Fault("amount", _other_measure(acid.name, event.amount.unit))
    if not 0 < event.amount.value < math.inf:
        yield Fault("amount", Message("An amount is above 0."))
    elif event.amount.value > fill.volume_l * 10:
        yield Fault("amount", Message("That is more acid than such a tank takes: check its unit."))
    yield from _too_soon(fill.doses, event, state)


def _too_soon(
    others: Sequence[Placed[DoseAdded | AcidAdded]],
    event: DoseAdded | AcidAdded,
    state: ShiftState,
) -> Iterator[Message]:
    mixing = timedelta(minutes=state.tank(event.tank).spec.mix_minutes)
    for other in others:
        if abs(event.at - other.event.at) < mixing:
            yield Message(
                "Hypochlorite and acid went in within {minutes} of each other. Together they make "
                "chlorine gas: let one mix in fully before the other.",
                {"minutes": Figure(mixing.total_seconds() / 60, Kind.TIME)},
            )


def _batch(state: ShiftState, event: BatchWashed) -> Iterator[Finding]:
    if not event.tanks:
        yield Fault("tanks", Message("Say which tanks the batch went through."))
    elif len(set(event.tanks)) < len(event.tanks):
        yield Fault("tanks", Message("A tank is named twice."))
    for number in event.tanks:
        fill = _fill(state, number, event.at)
        if isinstance(fill, Fault):
            yield fill
        elif fill.latest(state.tank(number).spec.level_field) is None:
            yield Message(
                "Nothing was measured in the water of tank {number} yet.", {"number": number}
            )
    if not event.lot.strip():
        yield Fault("lot", Message("Say which lot the batch belongs to."))


def _filled(state: ShiftState, event: TankFilled) -> Iterator[Finding]:
    if event.tank not in {tank.number for tank in state.tanks}:
        yield Fault("tank", Message("There is no tank {number}.", {"number": event.tank}))
        return
    usual = state.tank(event.tank).spec.volume_l
    if not 0.5 * usual <= event.volume_l <= 1.5 * usual:
        yield Message(
            "{volume} is far from the {usual} that this tank usually holds.",
            {
                "volume": Figure(event.volume_l, Kind.VOLUME),
                "usual": Figure(usual, Kind.VOLUME),
            },
        )


def _exchanged(state: ShiftState, event: WaterExchanged) -> Iterator[Finding]:
    fill = _fill(state, event.tank, event.at)
    if isinstance(fill, Fault):
        yield fill
    elif event.volume_l > fill.volume_l:
        yield Fault(
            "volume_l",
            Message(
                "The tank holds only {volume}: enter a water change instead.",
                {"volume": Figure(fill.volume_l, Kind.VOLUME)},
            ),
        )


def _note(state: ShiftState, event: NoteWritten) -> Iterator[Finding]:
    del state
    yield from _text("text", event.text)


def _hold(state: ShiftState, event: HoldPlaced) -> Iterator[Finding]:
    known = {batch.seq for tank in state.tanks for batch in tank.washed}
    if not event.batches:
        yield Fault("batches", Message("Say which batches to hold."))
    elif not known.issuperset(event.batches):
        yield Fault("batches", Message("A batch in this hold is not in the journal."))
    yield from _text("reason", event.reason)


def _release(state: ShiftState, event: HoldReleased) -> Iterator[Finding]:
    if event.hold not in {hold.seq for hold in state.open_holds}:
        yield Fault("hold", Message("This hold is not open."))
    yield from _text("reason", event.reason)
    for field in ("found", "water", "prevention"):
        if len(getattr(event, field)) > LONGEST_TEXT:
            yield from _text(field, getattr(event, field))
    person = state.setup.person(event.by)
    if person is None or person.role not in DECIDERS:
        yield Fault(
            "by",
            Message("Held product is decided on by a supervisor or a manager of this line."),
        )


def _acknowledge(state: ShiftState, event: Acknowledged) -> Iterator[Finding]:
    if (event.tank, event.rule) not in {record.flag.key for record in state.open_flags}:
        yield Fault("", Message("This flag is no longer there."))


def _hand_over(state: ShiftState, event: HandedOver) -> Iterator[Finding]:
    if state.setup.person(event.to) is None:
        yield Fault("to", Message("{who} is not in the set-up.", {"who": event.to or "–"}))


def _end(state: ShiftState, event: ShiftEnded) -> Iterator[Finding]:
    if state.open_holds and not event.holds_to:
        yield Fault(
            "holds_to",
            Message(
                "One hold is open: say who takes it over."
                if len(state.open_holds) == 1
                else "{count} holds are open: say who takes them over.",
                {"count": len(state.open_holds)},
            ),
        )
    elif event.holds_to and state.setup.person(event.holds_to) is None:
        yield Fault("holds_to", Message("{who} is not in the set-up.", {"who": event.holds_to}))


def _behind(state: ShiftState, event: BehindTheScenes) -> Iterator[Finding]:
    del event
    if not state.started.practice:
        yield Fault("", Message("Only a practice shift has anything behind the scenes."))


def _signature(state: ShiftState, event: ShiftSigned | ShiftReviewed) -> Iterator[Finding]:
    yield from (Fault("", message) for message in signing.faults(state, event))
    yield from signing.doubts(state, event)


def _corrected(state: ShiftState, event: Corrected) -> Iterator[Finding]:
    yield from _text("reason", event.reason)
    original = next((entry.event for entry in state.entries if entry.seq == event.entry), None)
    if not isinstance(original, CORRECTABLE):
        yield Fault("entry", Message("This entry can't be corrected."))
        return
    if event.instead is None:
        return
    if type(event.instead) is not type(original):
        yield Fault("entry", Message("A correction is of the same kind as the entry."))
        return
    if event.instead.at < state.started.at or event.instead.at > event.at + CLOCK_SLACK:
        yield Fault("at", Message("The corrected time lies outside the shift."))
        return
    yield from _findings(_without(state, event), event.instead)


def _without(state: ShiftState, event: Corrected) -> ShiftState:
    """Return the shift as if the entry that is corrected had never been made."""
    last = state.entries[-1]
    withdrawn = Entry(last.seq + 1, last.recorded_at, replace(event, instead=None), "")
    return fold(state.chain, (*state.entries, withdrawn))


CORRECTABLE = (
    TankFilled,
    WaterExchanged,
    DoseAdded,
    AcidAdded,
    ReadingTaken,
    BatchWashed,
    NoteWritten,
    HoldPlaced,
)


def _text(field: str, text: str) -> Iterator[Fault]:
    if not text.strip():
        yield Fault(field, Message("Write a few words here."))
    elif len(text) > LONGEST_TEXT:
        yield Fault(
            field, Message("That is too long: at most {most} characters.", {"most": LONGEST_TEXT})
        )


_CHECKS: dict[type, Callable[..., Iterator[Finding]]] = {
    TankFilled: _filled,
    WaterExchanged: _exchanged,
    DoseAdded: _dose,
    AcidAdded: _acid,
    ReadingTaken: _reading,
    BatchWashed: _batch,
    NoteWritten: _note,
    HoldPlaced: _hold,
    HoldReleased: _release,
    Acknowledged: _acknowledge,
    HandedOver: _hand_over,
    ShiftEnded: _end,
    Corrected: _corrected,
    BehindTheScenes: _behind,
    ShiftSigned: _signature,
    ShiftReviewed: _signature,
}
