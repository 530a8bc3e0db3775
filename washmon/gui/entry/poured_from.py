"""Which container a dose is poured from: remembered, else the one to be used first."""

from msgspec import UNSET, UnsetType

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.made_with import turn_key
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.line.events import AcidAdded, DoseAdded
from washmon.line.registers import Container, full_name
from washmon.line.registry import drawn_in, poured_in
from washmon.units import Kind

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
