"""From a kind of entry to its sheet, and from what was typed there to an event."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from washmon.gui.entry.adding import acid_form, dose_form
from washmon.gui.entry.ask import Ask, second_key
from washmon.gui.entry.batch import batch_form, sent_form
from washmon.gui.entry.deciding import release_form
from washmon.gui.entry.holding_sheet import hold_form
from washmon.gui.entry.instrument_sheet import instrument_form
from washmon.gui.entry.reading_sheet import reading_form
from washmon.gui.entry.sheet_form import Fields, Form, LineForm, OneTankForm, PickForm
from washmon.gui.entry.shelving import shelve_form
from washmon.gui.entry.shift_forms import (
    clock_form,
    hand_over_form,
    note_form,
    pause_form,
    resume_form,
)
from washmon.gui.entry.texts import Texts
from washmon.gui.entry.water_sheet import water_form
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec, SheetSpec, TankSpec
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.line.events import (
    Correctable,
    Corrected,
    Event,
)
from washmon.line.kinds import KINDS, EntryKind
from washmon.line.state import TankState

FORMS: dict[EntryKind, Callable[[], Form]] = {
    EntryKind.READING: reading_form,
    EntryKind.BATCH: batch_form,
    EntryKind.DOSE: dose_form,
    EntryKind.ACID: acid_form,
    EntryKind.WATER: water_form,
    EntryKind.HOLD: hold_form,
    EntryKind.RELEASE: release_form,
    EntryKind.NOTE: note_form,
    EntryKind.PAUSE: pause_form,
    EntryKind.RESUME: resume_form,
    EntryKind.SHELVE: shelve_form,
    EntryKind.INSTRUMENT: instrument_form,
    EntryKind.SENT: sent_form,
    EntryKind.HAND_OVER: hand_over_form,
    EntryKind.CLOCK: clock_form,
}
"""Of each kind that has a sheet; a test holds it against :mod:`washmon.line.kinds`."""
RIGHT, NEVER = "right", "never"
Faults = dict[str, str]


def has_more(kind: EntryKind) -> bool:
    """Tell whether "More…" is offered; what is always now has no time to enter."""
    return not any(one.sheet is kind and one.is_now for one in KINDS.values())


def sheet_for(kind: EntryKind, ask: Ask, *, more: bool = False) -> SheetSpec:
    """Return the sheet of a kind of entry; ``more`` asks for the seldom used fields too."""
    form = FORMS[kind]()
    correcting = ask.correcting is not None
    title = tr("Correct: {what}", what=form.title) if correcting else form.title
    note = form.note(ask) if form.note is not None else ""
    if isinstance(form, OneTankForm):
        tanks = tuple(
            TankSpec(
                str(tank.number),
                tank.spec.name,
                _fields(form, ask, tank, more=more),
                form.beside(ask, tank) if form.beside is not None else "",
            )
            for tank in ask.shift.tanks
        )
        seconds = tuple(_seconds(form, ask, more=more))
        return SheetSpec(title, tanks=(*tanks, *seconds), note=note, tank=ask.chosen)
    if isinstance(form, PickForm):
        picks = tuple(
            TankSpec(key, label, _whole(fields, (), ask, more=more))
            for key, label, fields in form.picks(ask)
        )
        return SheetSpec(title, tanks=picks, note=note, tank=form.picked(ask))
    return SheetSpec(
        title,
        _fields(form, ask, None, more=more),
        note=note,
        save=form.save,
        anyway=form.confirmed,
    )


def _seconds(form: OneTankForm, ask: Ask, *, more: bool) -> Iterator[TankSpec]:
    """Yield the second fills that an entry may be about, each as a tank of its own."""
    for tank in ask.shift.tanks:
        key = second_key(tank.number)
        if ask.chosen == key or (form.second is not None and form.second(tank)):
            # The fills before it tell what people measure with here.
            fills = () if tank.second is None else (*tank.fills, tank.second)
            beside = TankState(spec=tank.spec, fills=fills)
            label = tr("Second fill of {tank}", tank=tank.number)
            yield TankSpec(key, label, _fields(form, replace(ask, second=True), beside, more=more))


def _fields(
    form: OneTankForm | LineForm, ask: Ask, tank: TankState | None, *, more: bool
) -> Fields:
    if isinstance(form, OneTankForm):
        if tank is None:
            raise ValueError(tank)
        fields = form.fields(ask, tank)
        rest = form.more(ask, tank) if form.more is not None else ()
    else:
        fields = form.fields(ask)
        rest = form.more(ask) if form.more is not None else ()
    return _whole(fields, rest, ask, more=more)


def _whole(fields: Fields, rest: Fields, ask: Ask, *, more: bool) -> Fields:
    """Return the fields of a form with what every sheet asks for besides."""
    if ask.correcting is not None:
        return (*fields, *(rest if more else ()), _at(ask), *_why(ask))
    return (*fields, *rest, _at(ask)) if more else fields


def _at(ask: Ask) -> FieldSpec:
    """Return the field for when it happened, if that is not now."""
    old = ask.old
    return FieldSpec(
        "at",
        tr("When"),
        last=tr("now"),
        hint=tr("min ago, or a time"),
        aside=True,
        value="" if old is None else f"{old.at:%H:%M}",
    )


def _why(_ask: Ask) -> Fields:
    choices = ((RIGHT, tr("These are right")), (NEVER, tr("It never happened")))
    return (
        FieldSpec("never", tr("Entry"), kind=Fill.CHOICE, choices=choices, last=RIGHT, aside=True),
        FieldSpec("why", tr("Why it is corrected"), kind=Fill.TEXT, required=True),
    )


def confirmation(kind: EntryKind, event: Event, ask: Ask) -> str:
    """Return what is asked before an entry of this kind is sent; empty for nothing."""
    form = FORMS[kind]()
    if not isinstance(form, LineForm) or form.confirm is None or ask.correcting is not None:
        return ""
    return form.confirm(ask, event)


def build(kind: EntryKind, typed: Typed, ask: Ask) -> Event | Faults:
    """Return the event that was typed, or a sentence for each field that can't be read."""
    texts = Texts(typed.values, typed.tank, ask)
    made = FORMS[kind]().build(texts) if ask.correcting is None else _correction(kind, texts)
    return texts.faults or made


def _correction(kind: EntryKind, texts: Texts) -> Corrected:
    ask = texts.ask
    instead: Event | None = None
    if texts.text("never") != NEVER:
        instead = FORMS[kind]().build(texts)
    reason = texts.needed("why")
    return Corrected(
        at=ask.now,
        by=ask.person.initials,
        entry=ask.correcting.seq if ask.correcting is not None else -1,
        reason=reason,
        instead=instead if isinstance(instead, Correctable) else None,
    )
