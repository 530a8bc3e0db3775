"""How what is registered stands on a day: what presses first, and why.

The days ahead on which something is told are common practice, no published source.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import date, timedelta

from msgspec import Struct

from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.flags import Amount, Level
from washmon.line.message import Figure, Message
from washmon.line.registers import Container, Device, Pack, Paper, Registers, Thing
from washmon.line.setup import LineSetup
from washmon.units import Kind

_CHECK_AHEAD = 0.2
"""Of the interval between two checks; a day at the least."""
_SAME = 1e-9
_PACK_AHEAD = timedelta(days=14)
_REVIEW_AHEAD = timedelta(days=30)


class State(Struct, frozen=True):
    """How a thing stands: ``level`` is None where nothing presses; sentences say why."""

    level: Level | None
    words: tuple[Message, ...]


class Stock(Struct, frozen=True, kw_only=True):
    """What a state is seen by: the registers, what a running shift drew, and the set-up."""

    registers: Registers
    drawn: Mapping[str, float] = {}
    setup: LineSetup | None = None
    missing: frozenset[str] = frozenset()
    """SHA-256 of the papers whose content is not where it should be."""

    def left(self, one: Container) -> Amount | None:
        """Return what is left in a container, the running shift's doses counted in."""
        return self.registers.left(one, self.drawn.get(one.key, 0.0))


Told = tuple[Level | None, Message]


def state_of(thing: Thing, stock: Stock, today: date) -> State:
    """Return how a thing stands on a day."""
    if thing.retired_on is not None:
        return State(None, (Message("Retired on {day}.", {"day": thing.retired_on.isoformat()}),))
    told = [*_TELL[type(thing)](thing, stock, today)]
    levels = [level for level, _ in told if level is not None]
    worst = max(levels, key=lambda level: level.rank, default=None)
    told.sort(key=lambda one: -1 if one[0] is None else one[0].rank, reverse=True)
    return State(worst, tuple(message for _, message in told))


def worst_first(stock: Stock, today: date) -> list[tuple[Thing, State]]:
    """Return all that is registered with its state: what presses first, what is retired last."""
    found = [(one, state_of(one, stock, today)) for one in stock.registers.things]

    def place(one: tuple[Thing, State]) -> tuple[bool, int, int, str]:
        thing, state = one
        pressing = -1 if state.level is None else state.level.rank
        retired, name = thing.retired_on is not None, thing.name.casefold()
        return retired, -pressing, _ORDER[type(thing)], name

    return sorted(found, key=place)


def pressing(stock: Stock, today: date) -> Iterator[tuple[Thing, Message]]:
    """Yield what is to be told before a shift: what is not fit, and what is to be ordered."""
    for thing, state in worst_first(stock, today):
        is_supply = isinstance(thing, Container) and state.level is Level.WATCH
        if not isinstance(thing, Paper) and (is_supply or state.level in {Level.STOP, Level.ACT}):
            yield thing, state.words[0]


def _day(level: Level | None, text: str, day: date) -> Told:
    return level, Message(text, {"day": day.isoformat()})


def _device(one: Device, _stock: Stock, today: date) -> Iterator[Told]:
    if one.unfit_since is not None:
        yield _day(Level.STOP, "Unfit by its check of {day}.", one.unfit_since)
        return
    if one.check_days is None:
        return
    if one.due_on is None:
        yield Level.ACT, Message("Never checked: check it before it is used.")
        return
    ahead = timedelta(days=max(1, int(one.check_days * _CHECK_AHEAD)))
    if one.due_on < today:
        yield _day(Level.ACT, "Its check is overdue: it was due by {day}.", one.due_on)
    elif one.due_on <= today + ahead:
        yield _day(Level.WATCH, "Its check is due by {day}.", one.due_on)
    else:
        yield _day(None, "Checked; due again by {day}.", one.due_on)


def _pack(one: Pack, _stock: Stock, today: date) -> Iterator[Told]:
    if one.unfit_since is not None:
        yield _day(Level.STOP, "Unfit by its check of {day}.", one.unfit_since)
    if one.use_by is None:
        yield None, Message("No day is told until which it is good.")
    elif one.use_by < today:
        yield _day(Level.STOP, "Past its date: it was good until {day}.", one.use_by)
    elif one.unfit_since is not None:
        return
    elif one.use_by <= today + _PACK_AHEAD:
        yield _day(Level.WATCH, "Use it first: it is good until {day}.", one.use_by)
    else:
        yield _day(None, "Good until {day}.", one.use_by)


def _container(one: Container, stock: Stock, today: date) -> Iterator[Told]:
    left, together = stock.left(one), stock.registers.holding(one.product)
    if one.use_by is not None and one.use_by < today:
        yield _day(Level.ACT, "Past its date: it was good until {day}.", one.use_by)
    if left is not None and left.value <= 0:
        yield Level.WATCH, Message("Empty by what was poured: retire it, or say what is left.")
    elif left is not None:
        yield None, Message("{left} left.", {"left": _figure(left)})
    known = [amount.value for amount in map(stock.left, together) if amount is not None]
    if one.reorder_at is not None and known and sum(known) <= one.reorder_at:
        yield Level.WATCH, Message("Order more: little of it is left in all.")
    if len(together) > 1 and together[0].key == one.key:
        yield None, Message("Use this one first.")
    yield from _strength(one, stock)


def _strength(one: Container, stock: Stock) -> Iterator[Told]:
    """Yield that a dose is worked out with another strength than the container has."""
    product = None
    if stock.setup is not None:
        product = stock.setup.sanitizer(one.product) or stock.setup.acid(one.product)
    told = getattr(product, "strength", None) or getattr(product, "strength_pct", None)
    if one.strength is not None and told is not None and abs(one.strength - told) > _SAME:
        per_litre = getattr(product, "basis", None) is StrengthBasis.G_PER_L_AVAILABLE_CHLORINE
        unit = "g/L" if per_litre else "%"
        yield (
            Level.WATCH,
            Message(
                "Its label says {here}, the set-up {there}: doses go by the set-up.",
                {"here": f"{one.strength:g} {unit}", "there": f"{told:g} {unit}"},
            ),
        )


def _paper(one: Paper, stock: Stock, today: date) -> Iterator[Told]:
    if one.sha256 in stock.missing:
        yield Level.ACT, Message("Its file is missing or was changed: file it again.")
    if one.review_on is None:
        yield None, Message("No review is planned.")
    elif one.review_on < today:
        yield _day(Level.ACT, "Its review is overdue: it was due by {day}.", one.review_on)
    elif one.review_on <= today + _REVIEW_AHEAD:
        yield _day(Level.WATCH, "Review it by {day}.", one.review_on)
    else:
        yield _day(None, "To be reviewed by {day}.", one.review_on)


def _figure(amount: Amount) -> Figure:
    if amount.unit == "mL":
        return Figure(amount.value / 1000, Kind.VOLUME)
    return Figure(amount.value, Kind.MASS)


_TELL: dict[type, Callable[..., Iterator[Told]]] = {
    Device: _device,
    Pack: _pack,
    Container: _container,
    Paper: _paper,
}
_ORDER = {kind: at for at, kind in enumerate(_TELL)}
