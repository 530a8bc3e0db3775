"""What the Trends page draws and lists, in the reader's language and units."""

from collections.abc import Sequence
from typing import NamedTuple

from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.gui.kit.control_view import ControlLevel, ControlPanel, ControlPoint, ControlView
from washmon.gui.logbook.table import Cell, Listing
from washmon.gui.logbook.words import DASH, day, percent
from washmon.line.flags import Amount
from washmon.reports.control import FEWEST, Chart, RuleSet, chart
from washmon.reports.trends import Quantity, TrendPoint, Week
from washmon.rules import all_rules
from washmon.units import Kind

WEEKS = "weeks"
"""Stands beside the quantities: time in limits, water, chemicals and flags by week."""


class Shown(NamedTuple):
    """A chart, what is listed under it, and the shift behind each row (empty for none)."""

    view: ControlView
    listing: Listing
    chains: tuple[str, ...] = ()
    remark: str = ""


def quantity_names() -> dict[str, str]:
    """Return what can be charted, in the order in which it is offered."""
    return {
        Quantity.REDOSE_LOW: tr("Lows before re-doses"),
        Quantity.PH: tr("pH, median of a shift"),
        Quantity.LOST_PER_KG: tr("Lost per kilogram"),
        Quantity.LOST_PER_BATCH: tr("Lost per batch"),
        Quantity.DOSES: tr("Doses in a shift"),
        WEEKS: tr("Week by week"),
    }


def rule_names() -> dict[str, str]:
    """Return the sets of run rules."""
    return {
        RuleSet.WESTERN_ELECTRIC: tr("Western Electric, four rules"),
        RuleSet.NELSON: tr("Nelson, eight tests"),
        RuleSet.LIMITS: tr("Only three sigma"),
    }


def unit(quantity: Quantity) -> str:
    """Return what a quantity is counted in."""
    return {
        Quantity.REDOSE_LOW: "ppm",
        Quantity.PH: "pH",
        Quantity.LOST_PER_KG: tr("ppm per kg"),
        Quantity.LOST_PER_BATCH: tr("ppm per batch"),
        Quantity.DOSES: tr("doses"),
    }[quantity]


def _value(value: float, quantity: Quantity) -> str:
    decimals = {Quantity.PH: 2, Quantity.LOST_PER_KG: 3, Quantity.LOST_PER_BATCH: 2}
    return f"{value:.{decimals.get(quantity, 1)}f}"


def control(
    quantity: Quantity, points: Sequence[TrendPoint], rules: RuleSet, person: Person, of: str
) -> Shown:
    """Return the chart of a quantity; ``of`` names line and tank."""
    heads = (tr("Shift"), tr("Value"), tr("What stands out"))
    title = f"{quantity_names()[quantity]}, {unit(quantity)}"
    caption = f"{of}  ·  {title}"
    if not points:
        nothing = tr("No shift of these days tells anything about this tank here.")
        return Shown(ControlView(nothing=nothing), Listing(heads, ()))
    found = chart([point.value for point in points], rules)
    broken = _broken(found)
    panels = [_individuals(title, quantity, points, found, person)]
    if found is not None:
        panels.append(_ranges(quantity, points, found, person))
    order = sorted(broken, reverse=True)
    rows = tuple(
        (
            Cell(day(points[at].at)),
            Cell(_shown(points[at].value, quantity, person), number=True),
            Cell("; ".join(broken[at])),
        )
        for at in order
    )
    view = ControlView(tuple(panels), caption=caption)
    chains = tuple(points[at].chain for at in order)
    return Shown(view, Listing(heads, rows), chains, _remark(points, found))


def _shown(value: float, quantity: Quantity, person: Person) -> str:
    return _value(value, quantity).replace(".", person.decimal_point)


def _broken(found: Chart | None) -> dict[int, list[str]]:
    """Return by the number of a point what it breaks, in words."""
    words: dict[int, list[str]] = {}
    if found is not None:
        for one in found.broken:
            words.setdefault(one.at, []).append(tr(one.rule.words))
        for at in found.broken_ranges:
            words.setdefault(at, []).append(tr("a step beyond the limit of ranges"))
    return words


def _remark(points: Sequence[TrendPoint], found: Chart | None) -> str:
    if found is None:
        return tr("{count} points: limits need at least {least}.", count=len(points), least=FEWEST)
    if found.follows is not None:
        return tr(
            "These points follow one another ({share}): the limits are not to be trusted.",
            share=f"{found.follows:.2f}",
        )
    return ""


def _individuals(
    title: str,
    quantity: Quantity,
    points: Sequence[TrendPoint],
    found: Chart | None,
    person: Person,
) -> ControlPanel:
    levels: tuple[ControlLevel, ...] = ()
    keys: dict[int, list[str]] = {}
    if found is not None:
        for one in found.broken:
            keys.setdefault(one.at, []).append(one.rule.key)
        levels = (
            _level(found.high, tr("upper limit"), quantity, person),
            _level(found.centre, tr("mean"), quantity, person, dashed=True),
            _level(found.low, tr("lower limit"), quantity, person),
        )
    drawn = tuple(
        _point(point, point.value, quantity, person, tuple(keys.get(at, ())))
        for at, point in enumerate(points)
    )
    return ControlPanel(title, drawn, levels)


def _ranges(
    quantity: Quantity, points: Sequence[TrendPoint], found: Chart, person: Person
) -> ControlPanel:
    drawn = tuple(
        _point(point, size, quantity, person, ("R",) if at in found.broken_ranges else ())
        for at, (point, size) in enumerate(zip(points[1:], found.ranges, strict=True), 1)
    )
    levels = (
        _level(found.range_high, tr("upper limit"), quantity, person),
        _level(found.mean_range, tr("mean"), quantity, person, dashed=True),
    )
    return ControlPanel(tr("Step from the point before"), drawn, levels, y_from=0.0)


def _level(
    value: float, words: str, quantity: Quantity, person: Person, *, dashed: bool = False
) -> ControlLevel:
    return ControlLevel(value, f"{words} {_shown(value, quantity, person)}", dashed)


def _point(
    point: TrendPoint, value: float, quantity: Quantity, person: Person, rules: tuple[str, ...]
) -> ControlPoint:
    said = [day(point.at), f"{_shown(value, quantity, person)} {unit(quantity)}"]
    if point.imported:
        said.append(tr("imported"))
    return ControlPoint(value, f"{point.at:%Y-%m-%d}", "  ".join(said), rules, point.imported)


def by_week(weeks: Sequence[Week], person: Person, of: str) -> Shown:
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
        nothing = tr("No shift began in these days.")
        return Shown(ControlView(nothing=nothing), Listing(heads, ()))
    titles = {rule.id: rule.title for rule in all_rules()}
    rows = tuple(_week(week, person, titles) for week in reversed(weeks))
    title = tr("Time within limits, % of the time in use")
    drawn = tuple(
        ControlPoint(
            week.within * 100,
            week.monday.isoformat(),
            f"{week.monday.isoformat()}  {percent(week.within)}",
        )
        for week in weeks
        if week.within is not None
    )
    panels = (ControlPanel(title, drawn, y_from=0.0, y_to=100.0),) if drawn else ()
    nothing = tr("Nothing was measured in these days.")
    return Shown(ControlView(panels, nothing, f"{of}  ·  {title}"), Listing(heads, rows))


def _week(week: Week, person: Person, titles: dict[str, str]) -> tuple[Cell, ...]:
    flags = [f"{tr(titles.get(rule, rule))} {count}" for rule, count in week.flags[:_FLAGS]]
    return (
        Cell(week.monday.isoformat()),
        Cell(str(week.shifts), number=True),
        Cell(DASH if week.within is None else percent(week.within), number=True),
        Cell(DASH if week.unknown is None else percent(week.unknown), number=True),
        Cell(person.show(week.water_l, Kind.VOLUME), number=True),
        Cell("; ".join(f"{_amount(amount, person)} {name}" for name, amount in week.used)),
        Cell("; ".join(flags)),
    )


_FLAGS = 4


def _amount(amount: Amount, person: Person) -> str:
    kind = Kind.SMALL_VOLUME if amount.unit == "mL" else Kind.MASS
    return person.show(amount.value, kind)
