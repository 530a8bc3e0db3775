"""Checks in time: the crew's share as a chart, each person's in the list under it."""

from collections.abc import Sequence

from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.gui.kit.control_view import ControlPanel, ControlPoint, ControlView
from washmon.gui.logbook.logbook_words import DASH, percent
from washmon.gui.logbook.table import Cell, Listing
from washmon.gui.trends.trends_views import Shown
from washmon.reports.punctuality import NOBODY, Punctual
from washmon.units import Kind


def checks_by_week(found: Sequence[Punctual], person: Person, of: str) -> Shown:
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


def _row(one: Punctual, person: Person) -> tuple[Cell, ...]:
    late = DASH if one.late_min is None else person.show(one.late_min, Kind.TIME)
    return (
        Cell(one.monday.isoformat()),
        Cell(tr("nobody took it") if one.by == NOBODY else one.by),
        Cell(str(one.due), number=True),
        Cell(f"{one.in_time} ({percent(one.in_time / one.due)})", number=True),
        Cell(tr("{late} late", late=late) if one.late_min is not None else DASH, number=True),
        Cell(),
    )
