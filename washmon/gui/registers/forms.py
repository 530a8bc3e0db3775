"""The forms of what is registered: which fields each has, and what their texts make."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from msgspec.structs import replace

from washmon.chemistry.acid import is_solid as is_solid_acid
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.file_asking import FileField
from washmon.gui.kit.form_fields import ChoiceField, FormField, ListField, ManyField, TextField
from washmon.gui.registers.written import Written
from washmon.line.check_registers import LONGEST_NAME
from washmon.line.flags import Amount
from washmon.line.product import is_solid
from washmon.line.quantities import NUMBERS
from washmon.line.register_state import Stock
from washmon.line.registers import (
    Container,
    Device,
    DeviceKind,
    Pack,
    PackKind,
    Paper,
    PaperKind,
    Registers,
    Thing,
    full_name,
)
from washmon.line.setup import Acid, Sanitizer
from washmon.units import Kind, symbol

Rows = list[tuple[FormField, ...]]
_ML_PER_L = 1000.0


@dataclass(frozen=True, slots=True)
class About:
    """What a form is about: a thing that is changed, or none; and what is known beside it."""

    person: UserContext
    stock: Stock
    today: date
    thing: Thing | None = None

    def shown(self, value: float | None, kind: Kind) -> str:
        """Return an amount as it would be typed."""
        return "" if value is None else self.person.show(value, kind)


@dataclass(frozen=True, slots=True)
class ThingForm:
    """A kind of thing: what it is called, its fields, and what is made of them."""

    kind: type[Thing]
    name: str
    plural: str
    fields: Callable[[About], Rows]
    read: Callable[[Written, About], Thing]


def forms() -> dict[str, ThingForm]:
    """Return the forms, by a key, in the order in which they are offered."""
    return {
        "instrument": ThingForm(
            Device, tr("Instrument"), tr("Instruments"), _device_fields, _read_device
        ),
        "pack": ThingForm(Pack, tr("Pack"), tr("Packs"), _pack_fields, _read_pack),
        "container": ThingForm(
            Container, tr("Container"), tr("Containers"), _container_fields, _read_container
        ),
        "paper": ThingForm(Paper, tr("Paper"), tr("Papers"), _paper_fields, _read_paper),
    }


def form_of(thing: Thing) -> ThingForm:
    """Return the form that a thing is changed with."""
    return next(one for one in forms().values() if isinstance(thing, one.kind))


def key_for(thing: Thing, known: Registers) -> str:
    """Return a key for something new: what it is called, as far as nothing else has that."""
    name, count = full_name(thing) or "?", 1
    key = name
    while known.thing(key) is not None:
        count += 1
        key = f"{name} ({count})"
    return key


def _was(about: About, name: str) -> str:
    """Return what a thing says in a field, as a form shows it."""
    value = getattr(about.thing, name, None)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return ",".join(value)
    return "" if value is None else str(value)


def _text(about: About, key: str, label: str, hint: str = "") -> TextField:
    return TextField(key, label, value=_was(about, key), hint=hint)


def _day(about: About, key: str, label: str, hint: str = "") -> TextField:
    return TextField(key, label, value=_was(about, key), hint=hint, example=tr("year-month-day"))


def _measures(about: About) -> ManyField:
    names = ((one.field, tr(one.name)) for one in NUMBERS)
    choices = tuple(
        (key, name if name == "pH" else f"{name[:1].upper()}{name[1:]}") for key, name in names
    )
    return ManyField("measures", tr("What it measures"), choices, value=_was(about, "measures"))


# Instruments.


def _device_fields(about: About) -> Rows:
    kinds = (
        (DeviceKind.METER.value, tr("Meter or probe")),
        (DeviceKind.KIT.value, tr("Kit, read by eye")),
    )
    days = tr("Empty: it needs no check.")
    return [
        (
            _text(about, "name", tr("Name, as hands call it")),
            _text(about, "serial", tr("Serial number")),
        ),
        (ChoiceField("kind", tr("Kind"), kinds, value=_was(about, "kind") or "meter"),),
        (_measures(about),),
        (
            _text(about, "check_days", tr("Days between two checks"), days),
            _day(about, "checked_on", tr("Last passed a check on")),
        ),
    ]


def _read_device(written: Written, about: About) -> Thing:
    old = about.thing if isinstance(about.thing, Device) else None
    known = old or Device(key="", name="")
    return replace(
        known,
        name=written.text("name"),
        serial=written.text("serial"),
        kind=DeviceKind(written.text("kind") or DeviceKind.METER),
        measures=written.many("measures"),
        check_days=written.count("check_days"),
        checked_on=written.day("checked_on"),
    )


# Packs.


def _pack_fields(about: About) -> Rows:
    kinds = ((PackKind.STRIPS.value, tr("Test strips")), (PackKind.REAGENT.value, tr("Reagent")))
    opened = _day(about, "opened_on", tr("Opened on"))
    if about.thing is None:
        opened.put(about.today.isoformat())
    return [
        (_text(about, "name", tr("Name, as hands call it")), _text(about, "lot", tr("Lot"))),
        (ChoiceField("kind", tr("Kind"), kinds, value=_was(about, "kind") or "test strips"),),
        (_measures(about),),
        (opened, _day(about, "use_by", tr("Use by"))),
    ]


def _read_pack(written: Written, about: About) -> Thing:
    old = about.thing if isinstance(about.thing, Pack) else None
    return replace(
        old or Pack(key="", name=""),
        name=written.text("name"),
        lot=written.text("lot"),
        kind=PackKind(written.text("kind") or PackKind.STRIPS),
        measures=written.many("measures"),
        opened_on=written.day("opened_on"),
        use_by=written.day("use_by"),
    )


# Containers.


def _products(about: About) -> dict[str, Sanitizer | Acid]:
    setup = about.stock.setup
    if setup is None:
        return {}
    found: dict[str, Sanitizer | Acid] = {one.key: one for one in setup.sanitizers}
    return found | {one.key: one for one in setup.acids}


def _solid(product: Sanitizer | Acid | None) -> bool:
    if isinstance(product, Acid):
        return is_solid_acid(product.kind)
    return product is not None and is_solid(product)


def _container_fields(about: About) -> Rows:
    old = about.thing if isinstance(about.thing, Container) else None
    products = _products(about)
    first = old.product if old is not None else next(iter(products), "")
    offered = tuple((key, one.name) for key, one in products.items())
    opened = _day(about, "opened_on", tr("Opened on"))
    if old is None:
        opened.put(about.today.isoformat())
    unit, grams = (symbol(kind, about.person.taste) for kind in (Kind.VOLUME, Kind.MASS))
    hint = tr("A bare number counts in {unit}; of a solid in {grams}.", unit=unit, grams=grams)
    full = TextField(
        "full",
        tr("Holds when full"),
        value=_amount(about, None if old is None else old.full),
        hint=hint,
    )
    more = TextField(
        "reorder_at",
        tr("Order more at"),
        value=_reorder(about, old),
        hint=tr("Of all containers of this product together."),
    )
    rows: Rows = [
        (ListField("product", tr("Product"), offered, value=first),),
        (_text(about, "name", tr("Name, as hands call it")), _text(about, "lot", tr("Lot"))),
        (opened, _day(about, "use_by", tr("Use by"))),
        (full, more),
    ]
    strength = TextField(
        "strength",
        tr("Strength on its label"),
        value=f"{old.strength:g}" if old is not None and old.strength is not None else "",
        hint=tr("Counted as the set-up counts it."),
    )
    if old is None:
        return [*rows, (strength,)]
    left = TextField("left", tr("Left in it now"), value=_amount(about, about.stock.left(old)))
    return [*rows, (strength, left)]


def _amount(about: About, amount: Amount | None) -> str:
    if amount is None:
        return ""
    if amount.unit == "mL":
        return about.shown(amount.value / _ML_PER_L, Kind.VOLUME)
    return about.shown(amount.value, Kind.MASS)


def _reorder(about: About, old: Container | None) -> str:
    if old is None or old.reorder_at is None:
        return ""
    unit = "g" if _solid(_products(about).get(old.product)) else "mL"
    return _amount(about, Amount(old.reorder_at, unit))


def _read_amount(written: Written, key: str, *, solid: bool) -> float | None:
    """Return an amount in g, or in mL."""
    found = written.number(key, Kind.MASS if solid else Kind.VOLUME)
    return found if found is None or solid else found * _ML_PER_L


def _read_container(written: Written, about: About) -> Thing:
    old = about.thing if isinstance(about.thing, Container) else None
    product = written.text("product")
    solid = _solid(_products(about).get(product))
    full = _read_amount(written, "full", solid=solid)
    known = old or Container(key="", name="", product="")
    made = replace(
        known,
        product=product,
        name=written.text("name") or _name_of(about, product),
        lot=written.text("lot"),
        opened_on=written.day("opened_on"),
        use_by=written.day("use_by"),
        full=None if full is None else Amount(full, "g" if solid else "mL"),
        strength=written.number("strength", Kind.PERCENT),
        reorder_at=_read_amount(written, "reorder_at", solid=solid),
    )
    if old is None or written.text("left") == _amount(about, about.stock.left(old)):
        return made
    left = _read_amount(written, "left", solid=solid)
    if left is None or made.full is None:
        return made
    if left > made.full.value:
        written.faults["left"] = tr("That is more than it holds when full: look at both again.")
    poured = about.stock.registers.drawn.get(old.key, 0.0) + about.stock.drawn.get(old.key, 0.0)
    return replace(made, otherwise=made.full.value - poured - left)


def _name_of(about: About, product: str) -> str:
    found = _products(about).get(product)
    return "" if found is None else found.name


# Papers.


def _paper_fields(about: About) -> Rows:
    kinds = tuple((one.value, tr(one.value)) for one in PaperKind)
    rows: Rows = [
        (
            ListField("kind", tr("Kind"), kinds, value=_was(about, "kind")),
            _day(about, "review_on", tr("Review it on"), tr("Empty: no review is planned.")),
        ),
        (_text(about, "name", tr("Name, as it is to be found by")),),
    ]
    if about.thing is not None:
        return rows
    hint = tr("A document or picture, 20 MB at the most. A copy is kept; the file may go.")
    return [(FileField("file", tr("File"), tr("Choose a file"), hint=hint),), *rows]


def _read_paper(written: Written, about: About) -> Thing:
    """Return a paper; of a new one ``file`` is the whole path, and its content still unknown."""
    kind = written.text("kind")
    if not kind:
        written.faults["kind"] = tr("Say what it is.")
    path = written.text("file")
    old = about.thing if isinstance(about.thing, Paper) else None
    if old is None and not path:
        written.faults["file"] = tr("Choose a file.")
    known = old or Paper(key="", name="", kind=PaperKind.OTHER, sha256="", size=0, file=path)
    return replace(
        known,
        kind=PaperKind(kind or PaperKind.OTHER),
        name=written.text("name") or Path(path).stem[:LONGEST_NAME],
        review_on=written.day("review_on"),
    )
