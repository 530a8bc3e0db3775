"""Checks of holds, and of the end of a shift that must not lose any.

What a decision on held product must say: each part names what was done in this very shift.

An auditor reads four parts of a corrective action (found, done to the product, to the water, and
against its return: 21 CFR 117.150, "reasonable" left to the reader). A sign, or one sentence for
all of them, answers nothing. What names neither a batch, an amount nor an act of the shift is
doubted, not refused: no list of words is complete.
"""

import re
from collections.abc import Iterator

from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    HoldPlaced,
    HoldReleased,
    InstrumentChecked,
    LinePaused,
    ReadingTaken,
    SecondSwapped,
    ShiftEnded,
    TankFilled,
    WaterExchanged,
)
from washmon.line.finding import Fault, Finding, text_faults
from washmon.line.message import Message, clock
from washmon.line.setup import DECIDERS
from washmon.line.state import MEASURED, ShiftState

PARTS = ("found", "reason", "water", "prevention")
_LETTERS = 4
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_CLOCK = re.compile(r"\b(\d{1,2}):(\d{2})\b")
_NAMES_NOTHING = {
    "found": "What was found names no batch, amount or act of this shift: {words}",
    "reason": "What was done to the product names no batch, amount or act of this shift: {words}",
    "water": "What was done to the water names no batch, amount or act of this shift: {words}",
    "prevention": "What is to prevent it names no batch, amount or act of this shift: {words}",
}
_ACTS: tuple[tuple[tuple[type, ...], str], ...] = (
    ((DoseAdded,), r"re-?dos|dose|dosi|dosa|chlorin|clor"),
    ((AcidAdded,), r"acid|ácid"),
    ((TankFilled, WaterExchanged, SecondSwapped), r"water|fill|fresh|chang|agua|cambi|llen"),
    ((ReadingTaken,), r"check|re-?read|read|measur|test|strip|level|medi|lect|tira|nivel|comprob"),
    ((BatchWashed,), r"batch|wash|re-?wash|lot|lote|tanda|lav"),
    ((LinePaused,), r"paus|stop|halt|detuv|parad"),
    ((InstrumentChecked,), r"meter|strip|calibrat|medidor|tira|calibr"),
    ((HoldPlaced,), r"held|hold|discard|divert|releas|thr[eo]w|reten|desech|desvi|liber|tir[oó]"),
)
"""Beginnings of words, in the languages of the window, for what may have been done in a shift."""


def part_findings(state: ShiftState, event: HoldReleased) -> Iterator[Finding]:
    """Yield what the parts of a decision lack; empty ones are left to whoever asks for words."""
    before: dict[str, str] = {}
    earlier = [hold.released for hold in state.holds if hold.released is not None]
    for part in PARTS:
        text = getattr(event, part).strip()
        plain = _plain(text)
        if not text:
            continue
        if sum(sign.isalpha() for sign in text) < _LETTERS:
            yield Fault(
                part, Message("“{words}” says nothing: write what was done.", {"words": text})
            )
        elif plain in before:
            yield Fault(
                part,
                Message("This is what stands in another part: write what belongs here."),
            )
        elif any(_plain(getattr(one, part)) == plain for one in earlier):
            yield Message(
                "This was written of another hold, word for word: {words}", {"words": text}
            )
        elif not names_something(text, state):
            yield Message(_NAMES_NOTHING[part], {"words": text})
        before[plain] = part


def names_something(text: str, state: ShiftState) -> bool:
    """Tell whether a text names a batch, an amount or an act of a shift."""
    low = text.casefold()
    names = (*state.lot_codes, *(tank.spec.name for tank in state.tanks))
    if any(name.casefold() in low for name in names):
        return True
    if any(f"{int(hour):02}:{minute}" in _times(state) for hour, minute in _CLOCK.findall(text)):
        return True
    rest = _CLOCK.sub(" ", text)
    if not _amounts(state).isdisjoint(_number(one) for one in _NUMBER.findall(rest)):
        return True
    kinds = {type(entry.event) for entry in state.entries}
    return any(
        kinds.intersection(types) and re.search(rf"\b(?:{stems})", low) for types, stems in _ACTS
    )


def _plain(text: str) -> str:
    return " ".join(re.findall(r"\w+", text.casefold()))


def _times(state: ShiftState) -> set[str]:
    return {clock(entry.event.at) for entry in state.entries}


def _amounts(state: ShiftState) -> set[float]:
    """Return the figures of a shift: as entered, as read, and how many batches were held."""
    found: set[float] = set()
    for entry in state.entries:
        match entry.event:
            case DoseAdded() | AcidAdded():
                found.add(round(entry.event.amount.value, 2))
                found.update(_number(one) for one in _NUMBER.findall(entry.event.as_entered))
            case TankFilled() | WaterExchanged():
                found.add(round(entry.event.volume_l, 2))
            case ReadingTaken():
                values = (getattr(entry.event, field) for field in MEASURED)
                found.update(round(one, 2) for one in values if isinstance(one, float))
            case HoldPlaced():
                found.add(float(len(entry.event.batches)))
    return found


def _number(text: str) -> float:
    return round(float(text.replace(",", ".")), 2)


def hold(state: ShiftState, event: HoldPlaced) -> Iterator[Finding]:
    """Yield what speaks against a hold."""
    if event.tank not in {tank.number for tank in state.tanks}:
        yield Fault("tank", Message("There is no tank {number}.", {"number": event.tank}))
    known = {batch.seq for tank in state.tanks for batch in tank.washed}
    if not event.batches:
        yield Fault("batches", Message("Say which batches to hold."))
    elif not known.issuperset(event.batches):
        yield Fault("batches", Message("A batch in this hold is not in the journal."))
    yield from text_faults("reason", event.reason)
    if event.chances and len(event.chances) != len(event.batches):
        yield Fault("chances", Message("A hold has one chance for each of its batches, or none."))
    if any(chance is not None and not 0 <= chance <= 1 for chance in event.chances):
        yield Fault("chances", Message("A chance lies between 0 and 1."))


def release(state: ShiftState, event: HoldReleased) -> Iterator[Finding]:
    """Yield what speaks against a decision on a hold.

    It needs all four parts of a corrective action: what was found, done to the product, done to the
    water, and done so that it does not recur, each about this shift (:mod:`washmon.line.decided`).
    Decisions of old journals may lack some.
    """
    if event.hold not in {one.seq for one in state.open_holds}:
        yield Fault("hold", Message("This hold is not open."))
    for field in PARTS:
        yield from text_faults(field, getattr(event, field))
    yield from part_findings(state, event)
    person = state.setup.person(event.by)
    if person is None or person.role not in DECIDERS:
        yield Fault(
            "by",
            Message("Held product is decided on by a supervisor or a manager of this line."),
        )


def end(state: ShiftState, event: ShiftEnded) -> Iterator[Finding]:
    """Yield what speaks against the end of a shift."""
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
