"""Short words of the Board: methods, ages, cards, answers."""

from datetime import datetime, timedelta

from washmon.gui.i18n import tr
from washmon.line.events import Method
from washmon.line.flags import StepKind
from washmon.line.message import clock
from washmon.line.setup import LineSetup, Look

DASH = "–"
DOT = "\N{NO-BREAK SPACE} ·  "


def unbroken(text: str) -> str:
    """Return text that no line end parts at a hyphen, so that "re-check" stays one word."""
    return text.replace("-", "\N{WORD JOINER}-\N{WORD JOINER}")


def method_word(method: Method) -> str:
    """Return how a value was come by."""
    return {Method.STRIP: tr("strip"), Method.KIT: tr("kit"), Method.METER: tr("meter")}[method]


def look_word(look: Look) -> str:
    """Return what the card in the sample showed."""
    return {Look.READABLE: tr("readable"), Look.FAINT: tr("faint"), Look.GONE: tr("gone")}[look]


def age_words(age: timedelta) -> str:
    """Return an age as people say it; a moment ahead of the clock counts as now."""
    minutes = int(age.total_seconds() // 60)
    if minutes < 1:
        return tr("just now")
    if minutes < 60:
        return tr("{minutes} min ago", minutes=minutes)
    hours, rest = divmod(minutes, 60)
    if hours < 24 and rest:
        return tr("{hours} h {minutes} min ago", hours=hours, minutes=rest)
    if hours < 24:
        return tr("{hours} h ago", hours=hours)
    return tr("over a day ago")


def clock_words(at: datetime) -> str:
    """Return a time of day."""
    return clock(at)


def batches_words(count: int) -> str:
    """Return how many batches the water has washed."""
    return tr("1 batch") if count == 1 else tr("{count} batches", count=count)


def product_name(setup: LineSetup, key: str) -> str:
    """Return what a product is called, its key where the set-up does not have it."""
    product = setup.sanitizer(key) or setup.acid(key)
    return key if product is None else product.name


def answer_word(kind: StepKind, *, second: bool = False) -> str:
    """Return what a person says who has done a step; empty where there is nothing to enter.

    To change the water by the second fill is to swap it in.
    """
    if second and kind is StepKind.CHANGE_WATER:
        return tr("Swapped it in")
    return {
        StepKind.LEAVE: tr("Changed water"),
        StepKind.HOLD: tr("Hold them"),
        StepKind.CHANGE_WATER: tr("Changed water"),
        StepKind.LOWER: tr("Exchanged water"),
        StepKind.ACID: tr("Added acid"),
        StepKind.DOSE: tr("Added it"),
        StepKind.WARM: tr("Measure now"),
        StepKind.CONTACT: tr("Next batch"),
        StepKind.CHECK: tr("Measure now"),
        StepKind.FILL: tr("Filled it"),
        StepKind.VERIFY: tr("Checked it"),
    }.get(kind, "")


def turn_word(kind: StepKind) -> str:
    """Return in one or two words what a tank needs, as the strip of who is first says it."""
    return {
        StepKind.LEAVE: tr("step back"),
        StepKind.HOLD: tr("hold product"),
        StepKind.CHANGE_WATER: tr("change water"),
        StepKind.LOWER: tr("exchange water"),
        StepKind.WAIT: tr("wait"),
        StepKind.ACID: tr("add acid"),
        StepKind.DOSE: tr("dose"),
        StepKind.WARM: tr("warm the water"),
        StepKind.CONTACT: tr("wash longer"),
        StepKind.CHECK: tr("read it"),
        StepKind.FILL: tr("fill the second"),
        StepKind.VERIFY: tr("check the instrument"),
        StepKind.LOOK: tr("nothing to do"),
    }[kind]


def other_word(kind: StepKind) -> str:
    """Return what an action that was weighed is called."""
    return {
        StepKind.LEAVE: tr("Leave the tank"),
        StepKind.HOLD: tr("Hold"),
        StepKind.CHANGE_WATER: tr("Change the water"),
        StepKind.LOWER: tr("Exchange part of the water"),
        StepKind.WAIT: tr("Wait"),
        StepKind.ACID: tr("Acid"),
        StepKind.DOSE: tr("Dose"),
        StepKind.WARM: tr("Warm the water"),
        StepKind.CONTACT: tr("Wash longer"),
        StepKind.CHECK: tr("Read"),
        StepKind.FILL: tr("Second fill"),
        StepKind.VERIFY: tr("Check the instrument"),
        StepKind.LOOK: tr("Nothing"),
    }[kind]
