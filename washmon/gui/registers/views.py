"""The registers as a list, what presses first; and the checks of an instrument as a chart."""

from collections.abc import Sequence

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.control_view import ControlLevel, ControlPanel, ControlPoint, ControlView
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Tone
from washmon.gui.logbook.logbook_words import LOOKS
from washmon.gui.logbook.table import Cell, Listing, Row
from washmon.line.events import InstrumentChecked
from washmon.line.instruments import MEASURES
from washmon.line.quantities import BY_FIELD
from washmon.line.register_state import State, Stock
from washmon.line.registers import Container, Device, Pack, Paper, Thing, full_name
from washmon.units import Kind, in_taste, symbol

Standing = tuple[Thing, State]


def listed(things: Sequence[Standing], stock: Stock, person: UserContext) -> Listing:
    """List things with their state, in the order given."""
    heads = (tr("State"), tr("Name"), tr("Kind"), tr("About it"), tr("How it stands"))
    return Listing(heads, tuple(_row(thing, state, stock, person) for thing, state in things))


def _row(thing: Thing, state: State, stock: Stock, person: UserContext) -> Row:
    said = " ".join(person.say(message) for message in state.words)
    gone = thing.retired_on is not None
    tone = Tone.SOFT if gone else Tone.PLAIN
    return (
        _mark(state, gone=gone),
        Cell(full_name(thing), tone),
        Cell(kind_word(thing), tone),
        Cell(about(thing, stock, person), Tone.SOFT),
        Cell(said, tone),
    )


def _mark(state: State, *, gone: bool) -> Cell:
    if gone:
        return Cell(tr("retired"), Tone.SOFT)
    if state.level is None:
        return Cell(tr("in order"), look=MarkState.IN_LIMITS)
    look = LOOKS[state.level]
    words = {
        MarkState.STOP: tr("do not use"),
        MarkState.ACT: tr("to do"),
        MarkState.WATCH: tr("soon"),
    }
    return Cell(words[look], look.tone, look)


def kind_word(thing: Thing) -> str:
    """Return what a thing is."""
    match thing:
        case Device(kind=kind):
            return tr(kind.value)
        case Pack(kind=pack):
            return tr(pack.value)
        case Container():
            return tr("container")
        case Paper(kind=paper):
            return tr(paper.value)


def about(thing: Thing, stock: Stock, person: UserContext) -> str:
    """Return what is to be known of a thing beside its name and state."""
    match thing:
        case Device():
            said = [_measured(thing.measures)]
            if thing.check_days is not None:
                daily = thing.check_days == 1
                every = tr("checked every day") if daily else tr("checked every {days} days")
                said.append(every.format(days=thing.check_days))
            if thing.checked_on is not None:
                said.append(tr("last on {day}", day=thing.checked_on.isoformat()))
        case Pack():
            said = [_measured(thing.measures), _opened(thing)]
        case Container():
            said = [_product(thing, stock), _opened(thing), _full(thing, person)]
        case Paper():
            said = [thing.file, tr("{size} kB", size=-(-thing.size // 1000))]
    return ", ".join(one for one in said if one)


def _measured(fields: tuple[str, ...]) -> str:
    return ", ".join(tr(BY_FIELD[one].name) for one in fields if one in BY_FIELD)


def _opened(thing: Pack | Container) -> str:
    if thing.opened_on is None:
        return ""
    return tr("opened {day}", day=thing.opened_on.isoformat())


def _product(one: Container, stock: Stock) -> str:
    setup = stock.setup
    found = None if setup is None else setup.sanitizer(one.product) or setup.acid(one.product)
    return one.product if found is None else found.name


def _full(one: Container, person: UserContext) -> str:
    if one.full is None:
        return ""
    if one.full.unit == "mL":
        return tr("{amount} when full", amount=person.show(one.full.value / 1000, Kind.VOLUME))
    return tr("{amount} when full", amount=person.show(one.full.value, Kind.MASS))


def checks_chart(
    thing: Device | Pack, checks: Sequence[InstrumentChecked], person: UserContext
) -> ControlView:
    """Return how far an instrument was off at each of its checks, the oldest first."""
    measured = [one for one in checks if one.found is not None and one.standard is not None]
    if not measured:
        return ControlView(nothing=tr("No check of {name} was entered yet.", name=thing.name))
    bound = MEASURES[measured[-1].instrument]
    kind = bound.kind
    taste = person.taste
    points = []
    for one in measured:
        off = in_taste(one.found or 0.0, kind, taste) - in_taste(one.standard or 0.0, kind, taste)
        text = tr(
            "{found} in {standard}, {by}",
            found=person.show(one.found or 0.0, kind),
            standard=person.show(one.standard or 0.0, kind),
            by=one.by,
        )
        rules = () if one.fit else (tr("unfit"),)
        points.append(ControlPoint(off, one.at.date().isoformat(), text, rules))
    unit = symbol(kind, taste)
    title = tr("What it showed less its standard, {unit}", unit=unit or tr(bound.name))
    panel = ControlPanel(title, tuple(points), (ControlLevel(0.0, tr("standard"), dashed=True),))
    return ControlView((panel,), caption=full_name(thing))
