"""What each week came to: time in limits and flags, what was used, what it cost."""

from collections.abc import Sequence

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.control_view import Bar, BarPanel, ControlPanel, ControlPoint, ControlView
from washmon.gui.logbook.logbook_words import DASH, cost_words, percent
from washmon.gui.logbook.table import Cell, Listing, Row
from washmon.gui.trends.trends_views import Shown
from washmon.line.flags import Amount
from washmon.reports.costs import Cost
from washmon.reports.trends import WATER, Spent, Week, currencies
from washmon.rules.catalogue import title_of
from washmon.units import Kind, in_taste, symbol

_FLAGS = 4
_MISSING = "?"
"""Stands over a bar that not everything is in."""


def by_week(weeks: Sequence[Week], person: UserContext, of: str) -> Shown:
    """Return the share of time in limits week by week, with what was used and flagged."""
    heads = (
        tr("Week of"),
        tr("Shifts"),
        tr("In limits"),
        tr("Not known"),
        tr("Water"),
        tr("Added"),
        tr("Flags, most often first"),
    )
    if not weeks:
        return _no_shift(heads)
    rows = tuple(_week(week, person) for week in reversed(weeks))
    title = tr("Time within limits, % of the time in use")
    drawn = tuple(
        ControlPoint(
            None if week.within is None else week.within * 100,
            week.monday.isoformat(),
            "" if week.within is None else f"{week.monday.isoformat()}  {percent(week.within)}",
        )
        for week in weeks
    )
    told = any(point.y is not None for point in drawn)
    panels = (ControlPanel(title, drawn, y_from=0.0, y_to=100.0),) if told else ()
    nothing = tr("Nothing was measured in these days.")
    return Shown(ControlView(panels, nothing, f"{of}  ·  {title}"), Listing(heads, rows))


def _week(week: Week, person: UserContext) -> tuple[Cell, ...]:
    flags = [f"{tr(title_of(rule))} {count}" for rule, count in week.flags[:_FLAGS]]
    return (
        Cell(week.monday.isoformat()),
        Cell(str(week.shifts), number=True),
        Cell(DASH if week.within is None else percent(week.within), number=True),
        Cell(DASH if week.unknown is None else percent(week.unknown), number=True),
        Cell(person.show(week.water_l, Kind.VOLUME), number=True),
        Cell("; ".join(f"{_amount(amount, person)} {name}" for name, amount in week.used)),
        Cell("; ".join(flags)),
    )


def _amount(amount: Amount, person: UserContext) -> str:
    kind = Kind.SMALL_VOLUME if amount.unit == "mL" else Kind.MASS
    return person.show(amount.value, kind)


def used_by_week(weeks: Sequence[Week], person: UserContext, of: str) -> Shown:
    """Return how much of each product, and of water, went into the tanks week by week."""
    products = list(dict.fromkeys(_product(one) for week in weeks for one in week.used))
    heads = (tr("Week of"), tr("Shifts"), tr("Water"), *(name for name, _ in products), "")
    if not weeks:
        return _no_shift(heads)
    panels = [
        panel
        for unit_, kind in (("mL", Kind.VOLUME), ("g", Kind.PRODUCE_MASS))
        if (panel := _chemicals(weeks, unit_, kind, person)) is not None
    ]
    panels.append(_water(weeks, person))
    rows = tuple(_used_row(week, products, person) for week in reversed(weeks))
    caption = f"{of}  ·  {tr('What went into the tanks, week by week')}"
    return Shown(ControlView(tuple(panels), caption=caption), Listing(heads, rows))


def _product(used: tuple[str, Amount]) -> tuple[str, str]:
    name, amount = used
    return name, amount.unit


def _chemicals(
    weeks: Sequence[Week], unit: str, kind: Kind, person: UserContext
) -> BarPanel | None:
    """Return the panel of all liquids, or of all solids; None where there are none."""
    names = tuple(
        sorted({name for week in weeks for name, amount in week.used if amount.unit == unit})
    )
    if not names:
        return None
    bars = []
    for week in weeks:
        amounts = {name: amount for name, amount in week.used if amount.unit == unit}
        parts = tuple(
            in_taste(amounts[name].value / 1000, kind, person.taste) if name in amounts else 0.0
            for name in names
        )
        said = [f"{_amount(amount, person)} {name}" for name, amount in amounts.items()]
        bars.append(Bar(parts, week.monday.isoformat(), _hint(week, said)))
    what = tr("Liquids added") if unit == "mL" else tr("Solids added")
    return BarPanel(f"{what}, {symbol(kind, person.taste)}", names, tuple(bars))


def _water(weeks: Sequence[Week], person: UserContext) -> BarPanel:
    bars = tuple(
        Bar(
            (in_taste(week.water_l, Kind.VOLUME, person.taste),),
            week.monday.isoformat(),
            _hint(week, [person.show(week.water_l, Kind.VOLUME)]),
        )
        for week in weeks
    )
    title = f"{tr('Water, filled and exchanged')}, {symbol(Kind.VOLUME, person.taste)}"
    return BarPanel(title, (tr("Water"),), bars)


def _used_row(week: Week, products: Sequence[tuple[str, str]], person: UserContext) -> Row:
    amounts = {_product(one): one[1] for one in week.used}
    return (
        Cell(week.monday.isoformat()),
        Cell(str(week.shifts), number=True),
        Cell(person.show(week.water_l, Kind.VOLUME), number=True),
        *(
            Cell(_amount(amounts[one], person) if one in amounts else DASH, number=True)
            for one in products
        ),
        Cell(),
    )


def cost_by_week(weeks: Sequence[Week], person: UserContext, of: str) -> Shown:
    """Return what each week cost, by product; what has no price is said, never counted as 0."""
    if not weeks:
        return _no_shift((tr("Week of"), tr("Shifts"), tr("Cost")))
    names = list(dict.fromkeys(one.name for week in weeks for one in week.spent))
    names.sort(key=lambda name: (name == WATER, name))
    said = currencies(weeks)
    heads = (tr("Week of"), tr("Shifts"), tr("Cost"), *(_called(name) for name in names), "")
    rows = tuple(_cost_row(week, names, said, person) for week in reversed(weeks))
    if not said:
        nothing = tr(
            "No price was in the set-up of these shifts. Prices are written in the set-up, beside "
            "each product and with the place; they count from the next shift on."
        )
        return Shown(ControlView(nothing=nothing), Listing(heads, rows))
    title = tr("Cost, {currency}", currency=said[0])
    bars = tuple(_cost_bar(week, names, said[0], person) for week in weeks)
    panel = BarPanel(title, tuple(_called(name) for name in names), bars)
    remark = ""
    if any(bar.mark for bar in bars):
        remark = tr("Where a ? stands, something had no price: that week cost more than is drawn.")
    if len(said) > 1:
        others = ", ".join(said[1:])
        remark = tr("Cost in {others} is only listed.", others=others) + f" {remark}".rstrip()
    view = ControlView((panel,), caption=f"{of}  ·  {title}")
    return Shown(view, Listing(heads, rows), remark=remark)


def _called(name: str) -> str:
    return tr("Water") if name == WATER else name


def _cost_bar(week: Week, names: Sequence[str], currency: str, person: UserContext) -> Bar:
    mine = {one.name: one for one in week.spent if one.currency == currency}
    parts = tuple(mine[name].cost.known if name in mine else 0.0 for name in names)
    total = week.cost(currency)
    said = [cost_words(total, currency, person)]
    said += [
        f"{_called(one.name)} {cost_words(one.cost, currency, person)}" for one in mine.values()
    ]
    return Bar(parts, week.monday.isoformat(), _hint(week, said), "" if total.whole else _MISSING)


def _cost_row(week: Week, names: Sequence[str], said: Sequence[str], person: UserContext) -> Row:
    totals = [
        cost_words(week.cost(currency), currency, person)
        for currency in said
        if any(one.currency == currency for one in week.spent)
    ]
    return (
        Cell(week.monday.isoformat()),
        Cell(str(week.shifts), number=True),
        Cell("; ".join(totals) or (tr("not known") if week.spent else DASH), number=True),
        *(Cell(_cost_cell(week, name, person), number=True) for name in names),
        Cell(),
    )


def _cost_cell(week: Week, name: str, person: UserContext) -> str:
    mine = [one for one in week.spent if one.name == name]
    priced: list[Spent] = [one for one in mine if one.currency]
    if not mine:
        return DASH
    if not priced:
        return tr("not known")
    whole = len(priced) == len(mine)
    return "; ".join(
        cost_words(Cost(one.cost.known, whole and one.cost.whole), one.currency, person)
        for one in priced
    )


def _hint(week: Week, said: Sequence[str]) -> str:
    return "  ".join([week.monday.isoformat(), "; ".join(said)])


def _no_shift(heads: tuple[str, ...]) -> Shown:
    return Shown(ControlView(nothing=tr("No shift began in these days.")), Listing(heads, ()))
