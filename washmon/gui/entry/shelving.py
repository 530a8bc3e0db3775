"""A flag is put aside for a while: for how long, and why."""

from datetime import timedelta

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.sheet_form import Fields, LineForm, Pairs, choice_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.line.flag_events import FlagShelved
from washmon.line.flags import Level

MINUTES = (10, 20, 30, 60, 120)


def shelve_form() -> LineForm:
    """Return the form that shelves a flag."""
    return LineForm(tr("Shelve a flag"), _fields, _build, note=_which, save=tr("Shelve"))


def _which(ask: Ask) -> str:
    if ask.flag is None:
        return ""
    return tr(
        "{number} {tank}: {what}. It is back when the time is over, and at once if it gets worse.",
        number=ask.flag.tank,
        tank=ask.shift.tank(ask.flag.tank).spec.name,
        what=ask.person.say(ask.flag.title),
    )


def _lengths(ask: Ask) -> Pairs:
    most = int(ask.shift.setup.margins.shelve_longest_min)
    offered = [minutes for minutes in MINUTES if minutes <= most] or [most]
    return tuple((str(one), tr("{minutes} min", minutes=one)) for one in offered)


def _reasons() -> Pairs:
    ready = (tr("Under way already"), tr("Material is being fetched"), tr("To be tested again"))
    return tuple((words, words) for words in ready)


def _fields(ask: Ask) -> Fields:
    return (
        choice_field(ask, "minutes", tr("For how long"), _lengths(ask), required=True),
        choice_field(ask, "ready", tr("Why"), _reasons()),
        text_field(ask, "reason", tr("or in your own words")),
    )


def _build(texts: Texts) -> FlagShelved:
    ask, minutes = texts.ask, texts.text("minutes")
    said = [part for part in (texts.text("ready"), texts.text("reason")) if part]
    if not minutes:
        texts.faults["minutes"] = tr("Choose for how long.")
    if not said:
        texts.faults["reason"] = tr("Say why: choose a reason, or write a few words.")
    flag = ask.flag
    return FlagShelved(
        at=ask.now,
        by=ask.person.initials,
        tank=flag.tank if flag is not None else -1,
        rule=flag.rule if flag is not None else "",
        level=flag.level if flag is not None else Level.WATCH,
        until=ask.now + timedelta(minutes=int(minutes or 0)),
        reason=": ".join(said),
    )
