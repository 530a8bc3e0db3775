"""Checks of instruments: what a meter showed in its standard, and new packs of strips."""

from datetime import date

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.form import Fields, PickForm, number_field, text_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.gui.kit.sheet_spec import Kind as Fill
from washmon.line.events import Instrument, InstrumentChecked
from washmon.line.instruments import MEASURES, strips_use_by
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


def _picks(ask: Ask) -> tuple[tuple[str, str, Fields], ...]:
    return tuple(
        (str(at), words, _fields(ask, one))
        for at, (one, words) in enumerate(instrument_words().items(), 1)
    )


def _picked(ask: Ask) -> str:
    told = ask.was("instrument")
    rule = ask.about.rule if ask.about is not None else ""
    chosen = told if isinstance(told, Instrument) else _asked(ask, rule)
    return str(1 + list(Instrument).index(chosen))


def _asked(ask: Ask, rule: str) -> Instrument:
    """Return the instrument that a flag is about; without one, the pH meter."""
    named = ask.about.why.values.get("instrument") if ask.about is not None else None
    known = {one.value: one for one in Instrument}
    return known.get(str(named), _OF_RULE.get(rule, Instrument.PH_METER))


def _fields(ask: Ask, one: Instrument) -> Fields:
    return _strips(ask) if one is Instrument.STRIPS else _meter(ask, one)


def _meter(ask: Ask, one: Instrument) -> Fields:
    kind = MEASURES[one].kind
    return (
        number_field(ask, "standard", tr("Standard"), kind, _USUAL.get(one), required=True),
        number_field(ask, "found", tr("It showed"), kind, required=True),
        _yes_or_no(ask, "adjusted", tr("Set right"), usual=NO),
        _yes_or_no(ask, "fit", tr("Fit for use"), usual=YES),
        text_field(ask, "against", tr("Buffers or standard, with lot"), aside=True),
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
    one = list(Instrument)[texts.tank - 1]
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
