"""Checks of instruments: what a meter showed in its standard, and new packs of strips."""

from datetime import date
from typing import NamedTuple

from msgspec import UNSET

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.sheet_form import Fields, PickForm, number_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.line.events import Instrument, InstrumentChecked
from washmon.line.fitness import checked_as
from washmon.line.instruments import MEASURES, strips_use_by
from washmon.line.registers import Device, Measuring, Pack, labels
from washmon.units import Kind

YES, NO = "yes", "no"
_USUAL = {Instrument.PH_METER: 7.0}
"""The standard that a check usually begins with: the middle one of the usual buffers."""
_OF_RULE = {"strips-old": Instrument.STRIPS}


def instrument_form() -> PickForm:
    """Return the form of a check of an instrument."""
    return PickForm(tr("Instrument check"), _picks, _picked, _build)


def instrument_words() -> dict[Instrument, str]:
    """Return what the instruments are called."""
    return {
        Instrument.PH_METER: tr("pH meter"),
        Instrument.CHLORINE: tr("Chlorine kit or meter"),
        Instrument.ORP_PROBE: tr("ORP probe"),
        Instrument.STRIPS: tr("Test strips"),
    }


class _Option(NamedTuple):
    """What can be checked: a registered instrument or pack, or any of a kind."""

    kind: Instrument
    thing: Measuring | None = None


def _options(ask: Ask) -> list[_Option]:
    """Return what is registered, then the kinds of which nothing is."""
    things = [one for one in ask.shift.registers.things if isinstance(one, Device | Pack)]
    old = ask.was("which")
    kept = [one for one in things if one.retired_on is None or one.key == old]
    named = [_Option(checked_as(one), one) for one in kept]
    covered = {one.kind for one in named}
    if isinstance(was := ask.was("instrument"), Instrument) and not old:
        covered.discard(was)
    return [*named, *(_Option(one) for one in instrument_words() if one not in covered)]


def _picks(ask: Ask) -> tuple[tuple[str, str, Fields], ...]:
    words, names = instrument_words(), dict(labels(ask.shift.registers))
    return tuple(
        (
            str(at),
            words[one.kind] if one.thing is None else names[one.thing],
            _fields(ask, one),
        )
        for at, one in enumerate(_options(ask), 1)
    )


def _picked(ask: Ask) -> str:
    options = _options(ask)
    rule = ask.about.rule if ask.about is not None else ""
    named = ask.about.why.values.get("name") if ask.about is not None else None
    told = ask.was("instrument")
    kind = told if isinstance(told, Instrument) else _asked(ask, rule)
    keys = [None if one.thing is None else one.thing.key for one in options]
    names = [None if one.thing is None else one.thing.name for one in options]
    if (key := ask.was("which")) in keys and key is not None:
        return str(1 + keys.index(str(key)))
    if named in names and named is not None:
        return str(1 + names.index(str(named)))
    alike = (at for at, one in enumerate(options, 1) if one.kind is kind)
    return str(next(alike, 1))


def _asked(ask: Ask, rule: str) -> Instrument:
    """Return the instrument that a flag is about; without one, the pH meter."""
    named = ask.about.why.values.get("instrument") if ask.about is not None else None
    known = {one.value: one for one in Instrument}
    return known.get(str(named), _OF_RULE.get(rule, Instrument.PH_METER))


def _fields(ask: Ask, one: _Option) -> Fields:
    if one.kind is not Instrument.STRIPS:
        return _meter(ask, one.kind)
    return _strips(ask) if one.thing is None else _tried(ask)


def _meter(ask: Ask, one: Instrument) -> Fields:
    kind = MEASURES[one].kind
    return (
        number_field(ask, "standard", tr("Standard"), kind, _USUAL.get(one), required=True),
        number_field(ask, "found", tr("It showed"), kind, required=True),
        _yes_or_no(ask, "adjusted", tr("Set right"), usual=NO),
        _yes_or_no(ask, "fit", tr("Fit for use"), usual=YES),
        text_field(ask, "against", tr("Buffers or standard, with lot"), aside=True),
    )


def _tried(ask: Ask) -> Fields:
    """Return the fields of a registered pack, held against a kit."""
    ppm = Kind.CONCENTRATION
    return (
        number_field(ask, "standard", tr("A kit read"), ppm),
        number_field(ask, "found", tr("The strip read"), ppm),
        _yes_or_no(ask, "fit", tr("Fit for use"), usual=YES),
    )


def _strips(ask: Ask) -> Fields:
    old, day = ask.was("use_by"), strips_use_by(ask.shift)
    ppm = Kind.CONCENTRATION
    return (
        FieldSpec(
            "use_by",
            tr("Good until"),
            kind=Fill.TEXT,
            last=day.isoformat() if day else "",
            hint=tr("year-month-day, on the pack"),
            value=old.isoformat() if isinstance(old, date) else "",
        ),
        text_field(ask, "lot", tr("Lot of the pack")),
        number_field(ask, "standard", tr("A kit read"), ppm, aside=True),
        number_field(ask, "found", tr("The strip read"), ppm, aside=True),
        _yes_or_no(ask, "fit", tr("Fit for use"), usual=YES),
    )


def _yes_or_no(ask: Ask, key: str, label: str, *, usual: str) -> FieldSpec:
    old = ask.was(key)
    last = usual if not isinstance(old, bool) else YES if old else NO
    choices = ((YES, tr("Yes")), (NO, tr("No")))
    return FieldSpec(key, label, kind=Fill.CHOICE, choices=choices, last=last, aside=True)


def _build(texts: Texts) -> InstrumentChecked:
    one, thing = _options(texts.ask)[texts.tank - 1]
    kind = MEASURES[one].kind
    return InstrumentChecked(
        at=texts.at(),
        by=texts.ask.person.initials,
        instrument=one,
        standard=texts.number("standard", kind),
        found=texts.number("found", kind),
        against=texts.text("against"),
        adjusted=texts.text("adjusted") == YES,
        fit=texts.text("fit") != NO,
        lot=texts.text("lot"),
        use_by=_day(texts),
        which=UNSET if thing is None else thing.key,
    )


def _day(texts: Texts) -> date | None:
    text = texts.text("use_by")
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        texts.faults["use_by"] = tr(
            "This is no date: write year, month and day, such as 2026-05-31."
        )
        return None
