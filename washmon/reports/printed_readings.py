"""The readings of a printed shift record, each judged against the limits of its tank."""

from collections.abc import Callable

from washmon.line.events import ReadingTaken
from washmon.line.judging import LimitKind, judge_reading
from washmon.line.setup import Tank
from washmon.line.state import ShiftState
from washmon.reports.lines import Line, lines
from washmon.reports.paper import Bold, Sheet
from washmon.reports.printed_words import moment, remark, tank_name, value
from washmon.units import Kind, UnitSystem, show


def readings(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print the readings; quantities that nobody measured have no column."""
    sheet.heading("Readings")
    found = lines(shift, ReadingTaken)
    if not found:
        sheet.say("Nothing was measured.")
        return
    columns = [one for one in _READINGS if any(one[2](line, taste) for line in found)]
    rows = [[cell(line, taste) for _, _, cell in columns] for line in found]
    sheet.listing([one[0] for one in columns], [one[1] for one in columns], rows)
    sheet.say("CRITICAL, OVER, LOW and HIGH say how a value stood to the limits above.")


def _level(field: str) -> Callable[[Line[ReadingTaken], UnitSystem], str]:
    def cell(line: Line[ReadingTaken], taste: UnitSystem) -> str:
        level: float | None = getattr(line.event, field)
        if level is None:
            return ""
        method = line.event.paa_method if field == "paa_mg_l" else line.event.fac_method
        text = f"{show(level, Kind.CONCENTRATION, taste)}, {method}"
        return _judged(text, field, line)

    return cell


def _judged(text: str, field: str, line: Line[ReadingTaken]) -> str:
    """Return what was measured with a word on the limit that it does not keep, if any."""
    spec = _spec(line)
    breach = None if spec is None else judge_reading(line.event, spec).get(field)
    if breach is None:
        return text
    word = _WORDS.get(breach.which, "LOW" if breach.is_under else "HIGH")
    return Bold(f"{text}, {word}")


_WORDS = {
    LimitKind.CRITICAL_LOW: "CRITICAL",
    LimitKind.PH_CRITICAL: "CRITICAL",
    LimitKind.LABEL: "OVER LABEL",
    LimitKind.TOTAL: "OVER LABEL",
    LimitKind.LEGAL: "OVER LEGAL",
    LimitKind.PEROXIDE: "OVER LEGAL",
}
"""Of the limits that are more than an operating low or high."""


def _water_of(line: Line[ReadingTaken], taste: UnitSystem) -> str:
    del taste
    name = tank_name(line.shift, line.event.tank)
    return f"{name}, second fill" if line.event.second else name


def _spec(line: Line[ReadingTaken]) -> Tank | None:
    tanks = line.shift.tanks
    return next((tank.spec for tank in tanks if tank.number == line.event.tank), None)


def _ph(line: Line[ReadingTaken], taste: UnitSystem) -> str:
    if line.event.ph is None:
        return ""
    return _judged(show(line.event.ph, Kind.PH, taste), "ph", line)


def _cloudy(line: Line[ReadingTaken], taste: UnitSystem) -> str:
    card = f"card {line.event.look}" if line.event.look else ""
    said = (
        (value(line.event.turbidity_ntu, Kind.TURBIDITY, taste), "turbidity_ntu"),
        (card, "look"),
    )
    judged = [_judged(text, field, line) for text, field in said if text]
    text = ", ".join(judged)
    return Bold(text) if any(isinstance(one, Bold) for one in judged) else text


def _plain(field: str, kind: Kind) -> Callable[[Line[ReadingTaken], UnitSystem], str]:
    def cell(line: Line[ReadingTaken], taste: UnitSystem) -> str:
        text = value(getattr(line.event, field), kind, taste)
        return _judged(text, field, line) if text else text

    return cell


_READINGS: tuple[tuple[str, float, Callable[[Line[ReadingTaken], UnitSystem], str]], ...] = (
    ("No.", 0.9, lambda line, _: str(line.seq)),
    ("Time", 1.5, lambda line, _: moment(line.shift, line.event.at)),
    ("Tank", 2.2, _water_of),
    ("Free chlorine", 3.3, _level("fac_mg_l")),
    ("Total", 1.7, _plain("total_mg_l", Kind.CONCENTRATION)),
    ("Peracetic acid", 3.3, _level("paa_mg_l")),
    ("Peroxide", 2.0, _plain("peroxide_mg_l", Kind.CONCENTRATION)),
    ("pH", 1.5, _ph),
    ("Cloudiness", 1.8, _cloudy),
    ("Water", 1.1, _plain("water_c", Kind.TEMPERATURE)),
    ("Pulp", 1.1, _plain("pulp_c", Kind.TEMPERATURE)),
    ("ORP", 1.3, _plain("orp_mv", Kind.POTENTIAL)),
    ("By", 0.9, lambda line, _: line.event.by),
    ("Remark", 3.2, lambda line, _: remark(line)),
)
