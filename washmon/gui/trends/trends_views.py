"""What the Trends page draws and lists, in the reader's language and units.

Checks in time: the crew's share as a chart, each person's in the list under it.
"""

from collections.abc import Sequence
from typing import NamedTuple

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.control_view import ControlLevel, ControlPanel, ControlPoint, ControlView
from washmon.gui.logbook.logbook_words import DASH, day, percent
from washmon.gui.logbook.table import Cell, Listing
from washmon.reports.control import FEWEST, ControlLimits, RuleSet, chart
from washmon.reports.punctuality import NOBODY, Punctual
from washmon.reports.trends import TrendPoint, TrendQuantity
from washmon.units import MINUS, Kind

WEEKS, USED, COSTS, CHECKS = "weeks", "used", "costs", "checks"
"""Stand beside the quantities: what each week came to."""


class Shown(NamedTuple):
    """A chart, what is listed under it, and the shift behind each row (empty for none)."""

    view: ControlView
    listing: Listing
    chains: tuple[str, ...] = ()
    remark: str = ""


def quantity_names() -> dict[str, str]:
    """Return what can be charted, in the order in which it is offered."""
    return {
        TrendQuantity.REDOSE_LOW: tr("Lows before re-doses"),
        TrendQuantity.PH: tr("pH, median of a shift"),
        TrendQuantity.LOST_PER_KG: tr("Lost per kilogram"),
        TrendQuantity.LOST_PER_BATCH: tr("Lost per batch"),
        TrendQuantity.DOSES: tr("Doses in a shift"),
        WEEKS: tr("Weeks: time in limits, flags"),
        USED: tr("Weeks: chemicals and water"),
        COSTS: tr("Weeks: cost"),
        CHECKS: tr("Weeks: checks in time"),
    }


def rule_names() -> dict[str, str]:
    """Return the sets of run rules."""
    return {
        RuleSet.WESTERN_ELECTRIC: tr("Western Electric, four rules"),
        RuleSet.NELSON: tr("Nelson, eight tests"),
        RuleSet.LIMITS: tr("Only three sigma"),
    }


def unit(quantity: TrendQuantity, *, line: bool = False) -> str:
    """Return what a quantity is counted in; of a whole line what is lost is in mg."""
    return {
        TrendQuantity.REDOSE_LOW: "ppm",
        TrendQuantity.PH: "pH",
        TrendQuantity.LOST_PER_KG: tr("mg per kg") if line else tr("ppm per kg"),
        TrendQuantity.LOST_PER_BATCH: tr("mg per batch") if line else tr("ppm per batch"),
        TrendQuantity.DOSES: tr("doses"),
    }[quantity]


class Figures(NamedTuple):
    """How the values of a chart are written: ``unit`` in words, for a reader."""

    quantity: TrendQuantity
    unit: str
    person: UserContext

    def show(self, value: float) -> str:
        """Return a value without its unit."""
        decimals = 1
        if self.quantity is TrendQuantity.PH:
            decimals = 2
        elif self.quantity is TrendQuantity.LOST_PER_KG:
            decimals = 3 if abs(value) < 1 else 2
        elif self.quantity is TrendQuantity.LOST_PER_BATCH:
            decimals = 2 if abs(value) < 100 else 0
        return self._written(value, decimals)

    def lag(self, value: float) -> str:
        """Return how far points follow one another, from −1 to 1."""
        return self._written(value, 2).replace("-", MINUS)

    def _written(self, value: float, decimals: int) -> str:
        return f"{value:.{decimals}f}".replace(".", self.person.decimal_point)


def control(figures: Figures, points: Sequence[TrendPoint], rules: RuleSet, of: str) -> Shown:
    """Return the chart of a quantity; ``of`` names line and tank."""
    heads = (tr("Shift"), tr("Value"), tr("What stands out"))
    title = f"{quantity_names()[figures.quantity]}, {figures.unit}"
    if not points:
        nothing = tr("No shift of these days tells anything about this here.")
        return Shown(ControlView(nothing=nothing), Listing(heads, ()))
    found = chart([point.value for point in points], rules)
    caption = "  ·  ".join(part for part in (of, title, _independence(found, figures)) if part)
    broken = _broken(found)
    panels = [_individuals(title, points, found, figures)]
    if found is not None:
        panels.append(_ranges(points, found, figures))
    order = sorted(broken, reverse=True)
    rows = tuple(
        (
            Cell(day(points[at].at)),
            Cell(figures.show(points[at].value), number=True),
            Cell("; ".join(broken[at])),
        )
        for at in order
    )
    view = ControlView(tuple(panels), caption=caption)
    chains = tuple(points[at].chain for at in order)
    return Shown(view, Listing(heads, rows), chains, _remark(points, found, figures))


def _broken(found: ControlLimits | None) -> dict[int, list[str]]:
    """Return by the number of a point what it breaks, in words."""
    words: dict[int, list[str]] = {}
    if found is not None:
        for one in found.broken:
            words.setdefault(one.at, []).append(tr(one.rule.words))
        for at in found.broken_ranges:
            words.setdefault(at, []).append(tr("a step beyond the limit of ranges"))
    return words


def _independence(found: ControlLimits | None, figures: Figures) -> str:
    """Say in the picture itself whether the points suit such a chart."""
    if found is None or found.lag is None:
        return ""
    said = tr(
        "({lag}; chance: ±{chance})", lag=figures.lag(found.lag), chance=figures.lag(found.chance)
    )
    if found.follows is None:
        return tr("points do not seem to follow one another {lag}", lag=said)
    return tr("POINTS FOLLOW ONE ANOTHER {lag}", lag=said)


def _remark(points: Sequence[TrendPoint], found: ControlLimits | None, figures: Figures) -> str:
    if found is None:
        if len(points) == 1:
            return tr("1 point: limits need at least {least}.", least=FEWEST)
        return tr("{count} points: limits need at least {least}.", count=len(points), least=FEWEST)
    if found.follows is not None:
        return tr(
            "These points follow one another ({share}): either something changed for good, or the "
            "limits are not to be trusted.",
            share=figures.lag(found.follows),
        )
    return ""


def _individuals(
    title: str, points: Sequence[TrendPoint], found: ControlLimits | None, figures: Figures
) -> ControlPanel:
    levels: tuple[ControlLevel, ...] = ()
    keys: dict[int, list[str]] = {}
    if found is not None:
        for one in found.broken:
            keys.setdefault(one.at, []).append(one.rule.key)
        levels = (
            _level(found.high, tr("upper limit"), figures),
            _level(found.centre, tr("mean"), figures, dashed=True),
            _level(found.low, tr("lower limit"), figures),
        )
    drawn = tuple(
        _point(point, point.value, figures, tuple(keys.get(at, ())))
        for at, point in enumerate(points)
    )
    return ControlPanel(title, drawn, levels)


def _ranges(points: Sequence[TrendPoint], found: ControlLimits, figures: Figures) -> ControlPanel:
    drawn = tuple(
        _point(point, size, figures, ("R",) if at in found.broken_ranges else ())
        for at, (point, size) in enumerate(zip(points[1:], found.ranges, strict=True), 1)
    )
    levels = (
        _level(found.range_high, tr("upper limit"), figures),
        _level(found.mean_range, tr("mean"), figures, dashed=True),
    )
    return ControlPanel(tr("Step from the point before"), drawn, levels, y_from=0.0)


def _level(value: float, words: str, figures: Figures, *, dashed: bool = False) -> ControlLevel:
    return ControlLevel(value, f"{words} {figures.show(value)}", dashed)


def _point(
    point: TrendPoint, value: float, figures: Figures, rules: tuple[str, ...]
) -> ControlPoint:
    said = [day(point.at), f"{figures.show(value)} {figures.unit}"]
    if point.rests_on is not None:
        some, whole = point.rests_on
        said.append(tr("from {some} of {whole} batches", some=some, whole=whole))
    if point.imported:
        said.append(tr("imported"))
    return ControlPoint(value, f"{point.at:%Y-%m-%d}", "  ".join(said), rules, point.imported)


def weighed_words(known: int, shifts: int) -> str:
    """Say from how many shifts a value by the kilogram is; empty where from all."""
    if known == shifts:
        return ""
    return tr(
        "This is from {known} of {shifts} shifts: in the others not each batch was weighed.",
        known=known,
        shifts=shifts,
    )


def checks_by_week(found: Sequence[Punctual], person: UserContext, of: str) -> Shown:
    """Return the share of due checks that were taken in time; no person has a line of their own."""
    heads = (
        tr("Week of"),
        tr("Who"),
        tr("Checks due"),
        tr("In time"),
        tr("Median of the late"),
        "",
    )
    if not found:
        nothing = tr("No check came due in these days.")
        return Shown(ControlView(nothing=nothing), Listing(heads, ()))
    title = tr("Checks taken in time by everybody, % of those that came due")
    mondays = list(dict.fromkeys(one.monday for one in found))
    points = []
    for monday in mondays:
        mine = [one for one in found if one.monday == monday]
        due, good = sum(one.due for one in mine), sum(one.in_time for one in mine)
        text = tr("{week}  {good} of {due} in time", week=monday.isoformat(), good=good, due=due)
        points.append(ControlPoint(good / due * 100, monday.isoformat(), text))
    newest_first = sorted(mondays, reverse=True)
    rows = tuple(
        _row(one, person) for monday in newest_first for one in found if one.monday == monday
    )
    panel = ControlPanel(title, tuple(points), y_from=0.0, y_to=100.0)
    note = tr("for coaching, not for blame")
    return Shown(
        ControlView((panel,), caption=f"{of}  ·  {title}  ·  {note}"), Listing(heads, rows)
    )


def _row(one: Punctual, person: UserContext) -> tuple[Cell, ...]:
    late = DASH if one.late_min is None else person.show(one.late_min, Kind.TIME)
    return (
        Cell(one.monday.isoformat()),
        Cell(tr("nobody took it") if one.by == NOBODY else one.by),
        Cell(str(one.due), number=True),
        Cell(f"{one.in_time} ({percent(one.in_time / one.due)})", number=True),
        Cell(tr("{late} late", late=late) if one.late_min is not None else DASH, number=True),
        Cell(),
    )
