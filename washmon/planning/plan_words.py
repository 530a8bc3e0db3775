"""The sentences of a plan: each a whole template, with its figures apart."""

from datetime import datetime
from math import ceil

from washmon.chemistry.checks import ChemistryError
from washmon.line.flags import Caution, Step, StepKind
from washmon.line.message import Figure, Message, Moment, Value, ppm
from washmon.line.plan import Due, Span
from washmon.line.setup import Tank
from washmon.units import Kind

SECOND = "Second fill: "
"""Goes before each step for a second fill, so that no hand goes to the wrong water."""
CHANGE = "Change the water: drain, clean, refill, then dose and measure"


def say_step(kind: StepKind, text: str, *cautions: Caution, **values: Value) -> Step:
    """Return a step that needs no amount."""
    return Step(kind=kind, say=Message(text, dict(values)), cautions=cautions)


def trouble_message(trouble: ChemistryError) -> Message:
    """Return why no amount can be worked out."""
    return Message(trouble.template, dict(trouble.values))


def measure_step(spec: Tank, *, cloudiness: bool = False) -> Step:
    """Return the step that asks for a reading, of cloudiness too where that is due."""
    text = "Measure free chlorine and pH now"
    if spec.peracetic is not None:
        text = "Measure peracetic acid now"
        if cloudiness:
            text = "Measure peracetic acid and cloudiness now"
    elif cloudiness:
        text = "Measure free chlorine, pH and cloudiness now"
    return say_step(StepKind.CHECK, text)


def change_step(*, swap: bool) -> Step:
    """Return the step that changes the water, by a swap where the second fill is ready."""
    text = "Swap in the second fill" if swap else CHANGE
    step = say_step(StepKind.CHANGE_WATER, text, Caution.DISCHARGE)
    return Step(kind=step.kind, say=step.say, cautions=step.cautions, second=swap)


def wait_step(until: datetime) -> Step:
    """Return the step that stands still until what was added has mixed in."""
    return say_step(StepKind.WAIT, "Stir, wait until {time}, then measure", time=Moment(until))


def calm_step(due: Due) -> Step:
    """Return the step where there is nothing to do but to read again in time."""
    left, at = due.batches, due.at
    if left is None and at is None:
        return say_step(StepKind.LOOK, "Nothing to do")
    if left is None:
        return say_step(StepKind.LOOK, "Nothing to do. Check by {time}", time=_moment(at))
    if at is None:
        text = "Nothing to do. Check within {left} batches"
        if left <= 1:
            text = "Nothing to do. Check after the next batch"
        return say_step(StepKind.LOOK, text, left=left)
    text = "Nothing to do. Check within {left} batches, by {time}"
    if left <= 1:
        text = "Nothing to do. Check after the next batch, by {time}"
    return say_step(StepKind.LOOK, text, left=left, time=_moment(at))


def read_again(due: Due) -> Message:
    """Return when to read next, while washing goes on."""
    left, at = due.batches, due.at
    if left is None and at is None:
        return Message("Washing may go on.")
    if left is None:
        return Message("Washing may go on. Read it by {time}.", {"time": _moment(at)})
    values: dict[str, Value] = {"left": left}
    if at is None:
        text = "Washing may go on. Read it within {left} batches."
        return Message(
            text if left > 1 else "Washing may go on. Read it after the next batch.", values
        )
    values["time"] = _moment(at)
    text = "Washing may go on. Read it within {left} batches, by {time}."
    if left <= 1:
        text = "Washing may go on. Read it after the next batch, by {time}."
    return Message(text, values)


def wait_and_read(minutes: float) -> Message:
    """Return that an addition must mix in and be read before washing goes on."""
    return Message(
        "Wait {mix}, then read it before washing on.", {"mix": Figure(ceil(minutes), Kind.TIME)}
    )


def brings_level(span: Span) -> Message:
    """Return what a dose brings about."""
    return Message(
        "Brings it to {low}–{high}.", {"low": number(span.low), "high": ppm(_read(span.high))}
    )


def brings_ph(span: Span) -> Message:
    """Return what acid brings about."""
    return Message(
        "Brings the pH to {low}–{high}.",
        {"low": Figure(round(span.low, 1), Kind.PH), "high": Figure(round(span.high, 1), Kind.PH)},
    )


def number(mg_l: float) -> str:
    """Return a level as people read it, without its unit: the lower end of a range."""
    value = _read(mg_l)
    return f"{value:.0f}" if value >= _TENTHS_UNDER else f"{value:.1f}"


def surprise(seen: float, span: Span) -> Message:
    """Return that a reading was not what had been expected."""
    low, high = number(span.low), number(span.high)
    if low == high:
        return Message(
            "It read {seen}, and {high} was expected: the plan goes by the reading.",
            {"seen": ppm(seen), "high": high},
        )
    return Message(
        "It read {seen}, and {low}–{high} was expected: the plan goes by the reading.",
        {"seen": ppm(seen), "low": low, "high": high},
    )


_TENTHS_UNDER = 10.0


def _read(mg_l: float) -> float:
    return round(mg_l) if mg_l >= _TENTHS_UNDER else round(mg_l, 1)


def _moment(at: datetime | None) -> Moment:
    if at is None:
        raise TypeError("no moment")
    return Moment(at)
