"""The readings of a printed shift record, each judged against the limits of its tank."""

from washmon.line.events import ReadingTaken
from washmon.line.judging import LimitKind
from washmon.line.message import say
from washmon.line.state import ShiftState
from washmon.reports.lines import Line, lines
from washmon.reports.measured import Measured, MeasuredColumn, made_with, measured_columns
from washmon.reports.paper import Bold, Sheet
from washmon.reports.printed_words import moment, remark, tank_name
from washmon.units import UnitSystem, show

_BEFORE = (("No.", 0.9), ("Time", 1.5), ("Tank", 2.2))
_AFTER = (("Made with", 3.2), ("By", 0.9), ("Remark", 3.2))
_MAY_BE_EMPTY = {"Made with", "Remark"}
_WORDS = {
    LimitKind.CRITICAL_LOW: "CRITICAL",
    LimitKind.PH_CRITICAL: "CRITICAL",
    LimitKind.LABEL: "OVER LABEL",
    LimitKind.TOTAL: "OVER LABEL",
    LimitKind.LEGAL: "OVER LEGAL",
    LimitKind.PEROXIDE: "OVER LEGAL",
}
"""Of the limits that are more than an operating low or high."""


def readings(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print the readings; quantities that nobody measured have no column."""
    sheet.heading("Readings")
    found = lines(shift, ReadingTaken)
    if not found:
        sheet.say("Nothing was measured.")
        return
    columns = measured_columns(found)
    heads = (*_BEFORE, *((one.head, one.width) for one in columns), *_AFTER)
    rows = [_row(line, columns, taste) for line in found]
    kept = [
        at
        for at, (head, _) in enumerate(heads)
        if head not in _MAY_BE_EMPTY or any(row[at] for row in rows)
    ]
    sheet.listing(
        [heads[at][0] for at in kept],
        [heads[at][1] for at in kept],
        [[row[at] for at in kept] for row in rows],
    )
    sheet.say("CRITICAL, OVER, LOW and HIGH say how a value stood to the limits above.")
    if any(any(made_with(line).values()) for line in found):
        sheet.say(
            "UNFIT: what is in its limits by an instrument or pack that was known to be unfit when "
            "it was used proves no good water, and counts as not known."
        )


def _row(
    line: Line[ReadingTaken], columns: list[MeasuredColumn], taste: UnitSystem
) -> tuple[str, ...]:
    event, name = line.event, tank_name(line.shift, line.event.tank)
    return (
        str(line.seq),
        moment(line.shift, event.at),
        f"{name}, second fill" if event.second else name,
        *(_cell(column.of(line), taste) for column in columns),
        _made_with(line),
        event.by,
        remark(line),
    )


def _made_with(line: Line[ReadingTaken]) -> str:
    """Return instruments and packs, with a word on each that was not fit for use."""
    told = made_with(line)
    text = ", ".join(name if why is None else f"{name}, UNFIT: {why}" for name, why in told.items())
    return Bold(text) if any(told.values()) else text


def _cell(found: list[Measured], taste: UnitSystem) -> str:
    """Return what was measured, with a word on the limit that it does not keep, if any."""
    text = ", ".join(_words(one, taste) for one in found)
    return Bold(text) if any(one.breach is not None for one in found) else text


def _words(one: Measured, taste: UnitSystem) -> str:
    said = say(one.told, taste) if one.kind is None else show(float(one.value), one.kind, taste)
    if one.method is not None:
        said = f"{said}, {one.method}"
    if one.breach is None:
        return said
    word = _WORDS.get(one.breach.which, "LOW" if one.breach.is_under else "HIGH")
    return f"{said}, {word}"
