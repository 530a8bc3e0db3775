"""What a binder says of the registers: instruments with their checks, packs, containers, papers."""

from collections.abc import Iterator, Sequence
from datetime import date

from washmon.line.events import InstrumentChecked
from washmon.line.flags import Level
from washmon.line.instruments import MEASURES
from washmon.line.papers_asked import answers
from washmon.line.quantities import BY_FIELD
from washmon.line.register_state import Stock
from washmon.line.registers import Container, Device, Pack, Paper, full_name
from washmon.line.state import ShiftState
from washmon.reports.binder_sheet import BinderSheet
from washmon.reports.paper import Bold
from washmon.reports.register_table import RegisterStanding, said_of, standings
from washmon.units import UnitSystem, show

Row = tuple[str, ...]
_STATES = {Level.STOP: "DO NOT USE", Level.ACT: "TO DO", Level.WATCH: "soon", None: "in order"}


def checks_of(shift: ShiftState) -> tuple[Row, ...]:
    """Return the checks of instruments in a shift, corrections applied."""
    checks = sorted((one for _, one in shift.verified), key=lambda one: one.at)
    return tuple(_check(one) for one in checks)


def _check(one: InstrumentChecked) -> Row:
    kind, taste = MEASURES[one.instrument].kind, UnitSystem.METRIC
    shown = ["" if it is None else show(it, kind, taste) for it in (one.standard, one.found)]
    name = str(one.which or one.instrument.value)
    fit = "fit" if one.fit else Bold("UNFIT")
    return (f"{one.at:%Y-%m-%d %H:%M}", name, *shown, "yes" if one.adjusted else "no", fit, one.by)


def instruments(sheet: BinderSheet, stock: Stock, today: date, checks: tuple[Row, ...]) -> None:
    """Print the instruments, and their checks in the period."""
    rows = [
        (
            row.thing.name,
            row.thing.serial,
            _measured(row.thing),
            "" if row.thing.check_days is None else str(row.thing.check_days),
            _day(row.thing.checked_on),
            _day(row.thing.due_on),
            *_state(row),
        )
        for row in _of(stock, today, Device)
        if isinstance(row.thing, Device)
    ]
    heads = ("Instrument", "Serial", "Measures", "Days", "Checked", "Due", "State", "Why")
    _list(sheet, heads, (3, 2.4, 3.4, 1.1, 2.2, 2.2, 1.9, 4), rows, "No instrument is registered.")
    sheet.say("Checks in this period", bold=True)
    told = ("Checked", "Instrument", "Standard", "Showed", "Set right", "Fit", "By")
    _list(sheet, told, (3, 4, 2, 2, 1.6, 1.6, 1), checks, "No instrument was checked.")


def supplies(sheet: BinderSheet, stock: Stock, today: date) -> None:
    """Print packs and containers with what is left of them."""
    packs = [
        (full_name(one.thing), one.thing.kind, _day(one.thing.opened_on), _day(one.thing.use_by),
         *_state(one))
        for one in _of(stock, today, Pack)
        if isinstance(one.thing, Pack)
    ]  # fmt: skip
    heads = ("Pack, lot", "Kind", "Opened", "Use by", "State", "Why")
    _list(sheet, heads, (4, 2.4, 2.2, 2.2, 2, 5), packs, "No pack is registered.")
    sheet.say("Containers", bold=True)
    rows = [
        (full_name(one.thing), _product(one.thing, stock), _day(one.thing.opened_on),
         _day(one.thing.use_by), _amount(one.thing, stock), *_state(one))
        for one in _of(stock, today, Container)
        if isinstance(one.thing, Container)
    ]  # fmt: skip
    told = ("Container, lot", "Product", "Opened", "Use by", "Left", "State", "Why")
    _list(sheet, told, (3.4, 3, 2.2, 2.2, 2, 2, 4.4), rows, "No container is registered.")


def papers(sheet: BinderSheet, stock: Stock, today: date) -> None:
    """Print the papers with the SHA-256 of their files, and what is asked for and still lacking."""
    filed = [(one, one.thing) for one in _of(stock, today, Paper) if isinstance(one.thing, Paper)]
    rows = [(it.name, it.kind, _day(it.review_on), *_state(one)) for one, it in filed]
    heads = ("Paper", "Kind", "Review", "State", "Why")
    _list(sheet, heads, (5, 3, 2.2, 2, 6), rows, "No paper is filed.")
    if filed:
        sheet.say("Their files, as they lie in the ZIP under papers", bold=True)
        files = [
            (it.name, it.file, it.sha256)
            if it.sha256 not in stock.missing
            else (it.name, Bold("NOT THERE"), it.sha256)
            for _, it in filed
        ]
        sheet.listing(("Paper", "File", "SHA-256"), (3.6, 3.6, 10.8), files)
    sheet.say("What 21 CFR 112.50 and 117.190 ask to be kept, and where it is", bold=True)
    asked = [
        (
            one.asked.clause,
            ", ".join(filter(None, (one.asked.asks, one.asked.only_if))),
            "; ".join((*(paper.name for paper in one.papers), one.asked.here)).strip("; "),
            _lacking(one.lacks, one.late, one.asked.only_if),
        )
        for one in answers(stock.registers, today, stock.missing)
    ]
    sheet.listing(("21 CFR", "Asked for", "Where it is", "State"), (3.4, 6, 5, 2), asked)


def _lacking(lacks: bool, late: bool, only_if: str) -> str:  # noqa: FBT001 - two facts of a row
    if late:
        return Bold("REVIEW OVERDUE")
    if not lacks:
        return "there"
    return "not here" if only_if else Bold("LACKING")


def _of(stock: Stock, today: date, kind: type) -> Iterator[RegisterStanding]:
    return (row for row in standings(stock, today) if isinstance(row.thing, kind))


def _state(row: RegisterStanding) -> tuple[str, str]:
    if row.thing.retired_on is not None:
        return "retired", said_of(row)
    word = _STATES[row.state.level]
    pressing = row.state.level in {Level.STOP, Level.ACT}
    return Bold(word) if pressing else word, said_of(row)


def _measured(device: Device) -> str:
    return ", ".join(BY_FIELD[one].name for one in device.measures if one in BY_FIELD)


def _product(one: Container, stock: Stock) -> str:
    setup = stock.setup
    found = None if setup is None else setup.sanitizer(one.product) or setup.acid(one.product)
    return one.product if found is None else found.name


def _amount(one: Container, stock: Stock) -> str:
    left = stock.left(one)
    return "not told" if left is None else f"{left.value:.0f} {left.unit}"


def _day(day: date | None) -> str:
    return "" if day is None else day.isoformat()


def _list(
    sheet: BinderSheet, heads: Row, shares: tuple[float, ...], rows: Sequence[Row], nothing: str
) -> None:
    if rows:
        sheet.listing(heads, shares, rows)
    else:
        sheet.say(nothing)
