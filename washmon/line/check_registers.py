"""Checks of what is registered, before it is journaled."""

import math
import re
from collections.abc import Iterator
from datetime import date

from washmon.line.finding import LONGEST_TEXT, Fault
from washmon.line.message import Message
from washmon.line.quantities import BY_FIELD
from washmon.line.registers import Container, Device, Pack, Paper, Registers, Thing, mark_of
from washmon.line.setup import LineSetup

LONGEST_CHECK_DAYS = 1000
LONGEST_NAME = 60
"""Characters of a name: it stands on a button of the reading sheet."""
LARGEST_PAPER = 20_000_000
"""Bytes of one paper."""
ALL_PAPERS = 1_000_000_000
"""Bytes of all papers together."""
_MOST, _STRONGEST = 1e9, 1000.0
"""Of an amount, mL or g, and of a strength, in whatever its label counts."""
_SHA256 = re.compile(r"[0-9a-f]{64}")


def thing_faults(
    thing: Thing, known: Registers, setup: LineSetup | None, today: date
) -> Iterator[Fault]:
    """Yield what speaks against registering something like this."""
    before = known.thing(thing.key)
    if not thing.key or (before is not None and type(before) is not type(thing)):
        yield Fault("", Message("This can't be registered like this."))
    yield from _texts(thing)
    alike = (one for one in known.things if type(one) is type(thing) and one.retired_on is None)
    if any(one.key != thing.key and _called(one) == _called(thing) for one in alike):
        yield Fault("name", Message("There is one of this name already: name it apart."))
    match thing:
        case Device():
            yield from _device(thing, today)
        case Pack():
            yield from _measures(thing.measures)
            yield from _days(thing.opened_on, thing.use_by, today)
        case Container():
            yield from _container(thing, setup, today)
        case Paper():
            yield from _paper(thing, known)


def _called(thing: Thing) -> tuple[str, str]:
    return thing.name.strip().casefold(), mark_of(thing).strip().casefold()


def _texts(thing: Thing) -> Iterator[Fault]:
    if not thing.name.strip():
        yield Fault("name", Message("Give it a name."))
    for field, most in (("name", LONGEST_NAME), ("serial", 200), ("lot", 200), ("file", 500)):
        if len(getattr(thing, field, "")) > min(most, LONGEST_TEXT):
            text = "That is too long: at most {most} characters."
            yield Fault(field, Message(text, {"most": most}))


def _measures(fields: tuple[str, ...]) -> Iterator[Fault]:
    if not fields:
        yield Fault("measures", Message("Say what is measured with it."))
    elif any(field not in BY_FIELD for field in fields):
        yield Fault("measures", Message("Nothing of this kind is measured here."))


def _device(device: Device, today: date) -> Iterator[Fault]:
    yield from _measures(device.measures)
    if device.check_days is not None and not 1 <= device.check_days <= LONGEST_CHECK_DAYS:
        text = "Write after how many days it is checked again, 1 to {most}."
        yield Fault("check_days", Message(text, {"most": LONGEST_CHECK_DAYS}))
    if device.checked_on is not None and device.checked_on > today:
        yield Fault("checked_on", Message("This day is still to come."))


def _days(opened_on: date | None, use_by: date | None, today: date) -> Iterator[Fault]:
    if opened_on is not None and opened_on > today:
        yield Fault("opened_on", Message("This day is still to come."))
    if opened_on is not None and use_by is not None and use_by < opened_on:
        text = "It was past this day when it was opened: look at the dates again."
        yield Fault("use_by", Message(text))


def _container(one: Container, setup: LineSetup | None, today: date) -> Iterator[Fault]:
    products: set[str] = set()
    if setup is not None:
        products = {known.key for known in setup.sanitizers} | {known.key for known in setup.acids}
    if one.retired_on is None and one.product not in products:
        yield Fault("product", Message("Choose a product of the set-up."))
    yield from _days(one.opened_on, one.use_by, today)
    full = None if one.full is None else one.full.value
    for field, value in (("full", full), ("reorder_at", one.reorder_at)):
        if value is not None and not 0 < value <= _MOST:
            yield Fault(field, Message("Write an amount over nothing."))
    if one.strength is not None and not 0 < one.strength <= _STRONGEST:
        yield Fault("strength", Message("Write the strength as it stands on the label."))
    if not math.isfinite(one.otherwise):
        yield Fault("left", Message("This is not a number: enter it again."))


def _paper(paper: Paper, known: Registers) -> Iterator[Fault]:
    if not _SHA256.fullmatch(paper.sha256) or paper.size <= 0:
        yield Fault("file", Message("Choose a file."))
        return
    if paper.size > LARGEST_PAPER:
        yield Fault("file", Message("This file is too large: a paper has 20 MB at the most."))
    sizes = {one.sha256: one.size for one in known.of(Paper)}
    if sum((sizes | {paper.sha256: paper.size}).values()) > ALL_PAPERS:
        text = "There is no room for more papers: all together have 1 GB at the most."
        yield Fault("file", Message(text))
