"""What a reading is made with: one choice for each quantity, remembered, among what is registered.

Where nothing is registered, a reading asks only by which method it was made.

Which container a dose is poured from: remembered, else the one to be used first.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import UNSET, UnsetType

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.sheet_form import Pairs
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.line.events import AcidAdded, DoseAdded, Method, ReadingTaken
from washmon.line.fitness import Why, method_of_thing, unfit_now, unfit_words
from washmon.line.quantities import METHODS, QUANTITIES, HowMeasured, Quantity
from washmon.line.registers import Container, Device, Measuring, full_name, is_reagent, labels
from washmon.line.registry import drawn_in, poured_in
from washmon.line.state import TankState
from washmon.units import Kind

_THING, _WITH = "thing:", "with:"


def turn_key() -> str:
    """Return the key that turns the choice to the next one, wherever the keyboard is."""
    return tr("PgDn")


def with_field(
    ask: Ask, tank: TankState, one: Quantity, method: HowMeasured | None
) -> FieldSpec | None:
    """Return the choice of what a quantity is made with; nothing where there is none to make."""
    things = _things(ask, one.field)
    if method is None:
        return _choice(ask, f"{_WITH}{one.field}", one, things, ()) if len(things) > 1 else None
    generic = (
        (Method.STRIP.value, tr("Strip")),
        (Method.KIT.value, tr("Kit")),
        (Method.METER.value, tr("Meter")),
    )
    if not things:
        last = _last_method(ask, tank, one, method)
        return FieldSpec(
            method.field, tr(method.label), kind=Fill.CHOICE, choices=generic, last=last, aside=True
        )
    covered = {method_of_thing(thing).value for thing in things}
    old = ask.old
    if isinstance(old, ReadingTaken) and one.field not in (old.made_with or {}):
        covered.discard(str(ask.was(method.field)))
    others = tuple((key, words) for key, words in generic if key not in covered)
    return _choice(ask, method.field, one, things, others, method=method)


def unfit_note(ask: Ask, tank: TankState) -> str:
    """Return what is told before a reading of a tank is saved: what is chosen and not fit."""
    said = []
    for one in QUANTITIES:
        things = _things(ask, one.field)
        if not things or not one.asked(tank.spec):
            continue
        chosen = _chosen(ask, one, things, (), None)
        thing = next((it for it in things if f"{_THING}{it.key}" == chosen), None)
        why = None if thing is None else _why(ask, thing)
        if thing is not None and why is not None:
            said.append(ask.person.say(unfit_words(thing, why)))
    if said:
        said.append(tr("What it reads proves no good water."))
    return " ".join(dict.fromkeys(said))


def read_method(texts: Texts, method: HowMeasured) -> Method:
    """Return by which method something was measured, by what was chosen."""
    text = texts.text(method.field)
    thing = _by_key(texts.ask, text)
    return (
        texts.one_of(method.field, Method, method.usual)
        if thing is None
        else method_of_thing(thing)
    )


def read_made_with(texts: Texts, measured: Iterable[str]) -> dict[str, str]:
    """Return by field what was measured with what is registered."""
    return dict(_made_with(texts, set(measured)))


def read_reagents(ask: Ask, made_with: Mapping[str, str]) -> dict[str, str]:
    """Return by field the reagent that an instrument used; a correction keeps what it says."""
    if isinstance(ask.old, ReadingTaken):
        return {key: one for key, one in (ask.old.reagents or {}).items() if key in made_with}
    registers = ask.shift.registers
    used = {
        field: registers.reagent_for(field)
        for field, key in made_with.items()
        if isinstance(registers.thing(key), Device)
    }
    return {field: pack.key for field, pack in used.items() if pack is not None}


def _made_with(texts: Texts, measured: set[str]) -> Iterator[tuple[str, str]]:
    ask = texts.ask
    old = ask.old.made_with or {} if isinstance(ask.old, ReadingTaken) else {}
    for one in QUANTITIES:
        if one.field not in measured:
            continue
        things = _things(ask, one.field)
        text = texts.text(one.method or f"{_WITH}{one.field}")
        if one.method or text:
            thing = _by_key(ask, text)
            if thing is not None:
                yield one.field, thing.key
        elif ask.correcting is not None:
            if one.field in old:
                yield one.field, old[one.field]
        elif len(things) == 1:
            yield one.field, things[0].key


def _things(ask: Ask, field: str) -> list[Measuring]:
    """Return what may be chosen for a quantity, and what a corrected reading was made with."""
    registers, old = ask.shift.registers, ask.old
    found = registers.measuring(field)
    if any(isinstance(one, Device) for one in found):  # which use the reagents
        found = [one for one in found if not is_reagent(one)]
    if isinstance(old, ReadingTaken) and field in (old.made_with or {}):
        was = registers.thing((old.made_with or {})[field])
        if isinstance(was, Measuring) and was not in found:
            found.append(was)
    return found


def _by_key(ask: Ask, text: str) -> Measuring | None:
    if not text.startswith(_THING):
        return None
    thing = ask.shift.registers.thing(text.removeprefix(_THING))
    return thing if isinstance(thing, Measuring) else None


def _why(ask: Ask, thing: Measuring) -> Why | None:
    return unfit_now(ask.shift, thing, ask.now)


def _choice(
    ask: Ask,
    key: str,
    one: Quantity,
    things: Sequence[Measuring],
    others: Pairs,
    *,
    method: HowMeasured | None = None,
) -> FieldSpec:
    named = dict(labels(ask.shift.registers))
    marks = {
        Why.FAILED: tr("unfit"),
        Why.OVERDUE: tr("check overdue"),
        Why.UNCHECKED: tr("never checked"),
        Why.PAST: tr("past its date"),
    }
    choices = []
    for thing in things:
        why = _why(ask, thing)
        name = named[thing]
        choices.append((f"{_THING}{thing.key}", f"{name} – {marks[why]}" if why in marks else name))
    label = tr(method.label) if method is not None else tr("{what} with", what=tr(one.label))
    return FieldSpec(
        key,
        label,
        kind=Fill.CHOICE,
        choices=(*choices, *others),
        last=_chosen(ask, one, things, others, method),
        hint=turn_key() if len(choices) + len(others) > 1 else "",
        aside=True,
    )


def _chosen(
    ask: Ask,
    one: Quantity,
    things: Sequence[Measuring],
    others: Pairs,
    method: HowMeasured | None,
) -> str:
    """Return what was chosen last, in this shift or one before, else the first that is fit."""
    offered = {thing.key for thing in things}
    old = ask.old
    last = old if isinstance(old, ReadingTaken) else _newest(ask, one)
    if last is not None:
        key = (last.made_with or {}).get(one.field, "")
        if key in offered:
            return f"{_THING}{key}"
        said = "" if method is None else str(getattr(last, method.field))
        if not key and said in dict(others):
            return said
    key = ask.shift.registers.made_with.get(one.field, "")
    fit = [thing.key for thing in things if _why(ask, thing) is None]
    first = key if key in offered else (*fit, *(thing.key for thing in things))[0]
    return f"{_THING}{first}"


def _newest(ask: Ask, one: Quantity) -> ReadingTaken | None:
    readings = [
        placed.event
        for tank in ask.shift.tanks
        for fill in tank.every_fill
        for placed in fill.readings
        if one.of(placed.event) is not None
    ]
    return max(readings, key=lambda reading: reading.at, default=None)


def _last_method(ask: Ask, tank: TankState, one: Quantity, method: HowMeasured) -> str:
    """Return by which method a tank was measured last, or what is usual."""
    if (old := ask.was(method.field)) is not None:
        return str(old)
    readings = [placed.event for fill in tank.fills for placed in fill.readings]
    measured = (reading for reading in reversed(readings) if one.of(reading) is not None)
    last = next(measured, None)
    return str(method.usual if last is None else getattr(last, method.field))


METHOD_OF = {one.field: one for one in METHODS}


_FIELD = "container"
_ML_PER_L = 1000.0


def container_field(ask: Ask, product: str) -> FieldSpec | None:
    """Return the choice of a container; nothing where there is none to make."""
    offered = _offered(ask, product)
    if len(offered) < 2:
        return None
    drawn = drawn_in(ask.shift)
    return FieldSpec(
        _FIELD,
        tr("Poured from"),
        kind=Fill.CHOICE,
        choices=tuple((one.key, _words(ask, one, drawn.get(one.key, 0.0))) for one in offered),
        last=_usual(ask, product, offered),
        hint=turn_key(),
        aside=True,
    )


def read_container(texts: Texts, product: str) -> str | UnsetType:
    """Return the key of the container, where one of the product is registered."""
    ask = texts.ask
    offered = _offered(ask, product)
    if key := texts.text(_FIELD):
        return key
    if isinstance(ask.old, DoseAdded | AcidAdded):
        return ask.old.container
    return _usual(ask, product, offered) if offered else UNSET


def _offered(ask: Ask, product: str) -> list[Container]:
    """Return the containers of a product, and the one that a corrected dose came from."""
    found = ask.shift.registers.holding(product)
    old = ask.was(_FIELD)
    was = ask.shift.registers.thing(str(old)) if old else None
    return [*found, was] if isinstance(was, Container) and was not in found else found


def _usual(ask: Ask, product: str, offered: list[Container]) -> str:
    if old := ask.was(_FIELD):
        return str(old)
    keys = [one.key for one in offered]
    poured = [one for one in poured_in(ask.shift) if one.product == product]
    last = max(poured, key=lambda event: event.at, default=None)
    return str(last.container) if last is not None and last.container in keys else keys[0]


def _words(ask: Ask, one: Container, drawn: float) -> str:
    left = ask.shift.registers.left(one, drawn)
    if left is None:
        return full_name(one)
    kind = Kind.MASS if left.unit == "g" else Kind.VOLUME
    amount = left.value if left.unit == "g" else left.value / _ML_PER_L
    return tr("{name}, {left} left", name=full_name(one), left=ask.person.show(amount, kind))
