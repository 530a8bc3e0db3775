"""The reading: what was measured in a tank, only what this tank uses."""

from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import UNSET

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.made_with import (
    METHOD_OF,
    read_made_with,
    read_method,
    read_reagents,
    unfit_note,
    with_field,
)
from washmon.gui.entry.sheet_form import (
    Fields,
    OneTankForm,
    choice_field,
    number_field,
    second_waits,
)
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.line.events import ReadingTaken
from washmon.line.quantities import METHODS, NUMBERS, ON_THE_SHEET, Quantity
from washmon.line.state import TankState
from washmon.units import Kind


def reading_form() -> OneTankForm:
    """Return the form of a reading."""
    return OneTankForm(
        tr("Reading"), _fields, _build, _more, second=second_waits, beside=unfit_note
    )


def _used(ask: Ask, tank: TankState) -> list[Quantity]:
    """Return what a tank is asked for at once, without "More…"."""
    asked = (one for one in ON_THE_SHEET if one.asked(tank.spec) or ask.was(one.field) is not None)
    return list(asked)


def _fields(ask: Ask, tank: TankState) -> Fields:
    used = _used(ask, tank)
    # Beside a meter the card is the second best: Enter passes it by.
    aside = any(one.field == "turbidity_ntu" for one in used)
    return tuple(_with_methods(ask, tank, used, aside=aside))


def _more(ask: Ask, tank: TankState) -> Fields:
    used = _used(ask, tank)
    rest = [one for one in ON_THE_SHEET if one.fits(tank.spec) and one not in used]
    return tuple(_with_methods(ask, tank, rest, before=used))


def _with_methods(
    ask: Ask,
    tank: TankState,
    these: Sequence[Quantity],
    *,
    before: Sequence[Quantity] = (),
    aside: bool = False,
) -> Iterator[FieldSpec]:
    """Yield the fields of quantities, and beside the first of each method that of the method.

    ``before`` are those whose fields are on the sheet already; ``aside`` passes by what is seen.
    """
    told = {one.method for one in before}
    for one in these:
        if one.kind is not None:
            yield _number(ask, tank, one, one.kind)
        else:
            yield _choice(ask, one, aside=aside)
        if not one.method or one.method not in told:
            told.add(one.method)
            made_with = with_field(ask, tank, one, METHOD_OF.get(one.method))
            if made_with is not None:
                yield made_with


def _number(ask: Ask, tank: TankState, one: Quantity, kind: Kind) -> FieldSpec:
    placed = tank.fill.latest(one.field) if tank.fill else None
    last = getattr(placed.event, one.field) if placed else None
    return number_field(ask, one.field, tr(one.label), kind, last, hint=" ")


def _choice(ask: Ask, one: Quantity, *, aside: bool) -> FieldSpec:
    seen = tuple((choice.value, tr(label)) for choice, (label, _) in one.choices.items())
    return choice_field(ask, one.field, tr(one.label), seen, aside=aside)


def _build(texts: Texts) -> ReadingTaken:
    values: dict[str, Any] = {
        one.field: texts.number(one.field, one.kind) for one in NUMBERS if one.kind is not None
    }
    values |= {
        one.field: next((choice for choice in one.choices if choice == texts.text(one.field)), None)
        for one in ON_THE_SHEET
        if one.kind is None
    }
    values |= {one.field: read_method(texts, one) for one in METHODS}
    measured = (one.field for one in ON_THE_SHEET if values[one.field] is not None)
    made_with = read_made_with(texts, measured)
    return ReadingTaken(
        at=texts.at(),
        by=texts.ask.person.initials,
        tank=texts.tank,
        second=texts.second,
        made_with=made_with or UNSET,
        reagents=read_reagents(texts.ask, made_with) or UNSET,
        **values,
    )
