"""A form: which fields a kind of entry has for a tank, and the event that their texts make."""

from collections.abc import Callable
from dataclasses import dataclass

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.texts import Texts
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.line.events import Event
from washmon.line.state import TankState
from washmon.units import Kind, symbol

Fields = tuple[FieldSpec, ...]
Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class OneTankForm:
    """An entry on one tank; ``more`` are the fields behind "More…"."""

    title: str
    fields: Callable[[Ask, TankState], Fields]
    build: Callable[[Texts], Event]
    more: Callable[[Ask, TankState], Fields] | None = None
    note: Callable[[Ask], str] | None = None
    second: Callable[[TankState], bool] | None = None
    """Whether it may be about the second fill of a tank; ``None``: never."""
    beside: Callable[[Ask, TankState], str] | None = None
    """A note on the tank that is chosen."""


@dataclass(frozen=True, slots=True)
class LineForm:
    """An entry on the whole line."""

    title: str
    fields: Callable[[Ask], Fields]
    build: Callable[[Texts], Event]
    more: Callable[[Ask], Fields] | None = None
    note: Callable[[Ask], str] | None = None
    save: str = ""
    confirm: Callable[[Ask, Event], str] | None = None
    """What is asked before it is sent, such as of somebody else."""
    confirmed: str = ""
    """The word on the button that says yes to it."""


@dataclass(frozen=True, slots=True)
class PickForm:
    """An entry on one of a few things that are picked like a tank: key, name, fields of each."""

    title: str
    picks: Callable[[Ask], tuple[tuple[str, str, Fields], ...]]
    picked: Callable[[Ask], str]
    build: Callable[[Texts], Event]
    note: Callable[[Ask], str] | None = None


Form = OneTankForm | LineForm | PickForm


def second_waits(tank: TankState) -> bool:
    """Tell whether there is a second fill beside a tank, to which something may be done."""
    return tank.second is not None


def number_field(
    ask: Ask,
    key: str,
    label: str,
    kind: Kind,
    last: float | None = None,
    *,
    value: float | None = None,
    required: bool = False,
    aside: bool = False,
    hint: str = "",
) -> FieldSpec:
    """Return a field for an amount: ``last`` stands there greyed, ``value`` as if typed."""
    return FieldSpec(
        key,
        label,
        symbol(kind, ask.person.taste),
        last=ask.shown(last, kind),
        required=required,
        aside=aside,
        hint=hint,
        value=ask.shown_old(key, kind) or ask.shown(value, kind),
    )


def choice_field(
    ask: Ask,
    key: str,
    label: str,
    choices: Pairs,
    last: str = "",
    *,
    required: bool = False,
    aside: bool = False,
) -> FieldSpec:
    """Return a field with toggles; ``last`` is pressed unless a corrected entry says otherwise."""
    old = ask.was(key)
    return FieldSpec(
        key,
        label,
        kind=Fill.CHOICE,
        choices=choices,
        last=str(old) if old is not None else last,
        required=required,
        aside=aside,
    )


def text_field(
    ask: Ask, key: str, label: str, *, value: str = "", required: bool = False, aside: bool = False
) -> FieldSpec:
    """Return a field for words."""
    return FieldSpec(
        key,
        label,
        kind=Fill.TEXT,
        required=required,
        aside=aside,
        value=str(ask.was(key) or "") or value,
    )
