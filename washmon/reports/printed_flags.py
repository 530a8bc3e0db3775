"""The flags of a printed shift record, and which of them were put aside for a while."""

from collections.abc import Sequence

from washmon.line.message import say
from washmon.line.state import FlagRecord, ShiftState
from washmon.reports.paper import Bold, Sheet
from washmon.reports.printed_words import UNWATCHED, moment, tank_name
from washmon.reports.record_view import flag_rows
from washmon.rules.catalogue import title_of
from washmon.units import UnitSystem


def flags(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print what the rules said, in the order in which it came up."""
    sheet.heading("Flags")
    records = flag_rows(shift)
    if not records:
        sheet.say(UNWATCHED if shift.started.imported else "No flag came up.")
        return
    rows = [_flag(shift, record, taste) for record in records]
    heads = ("Raised", "Tank", "Level", "Flag", "Seen", "Cleared", "Why")
    sheet.listing(heads, (1.3, 1.8, 1.1, 2.7, 1.8, 1.6, 9), rows)
    _shelved(sheet, shift)


def _flag(shift: ShiftState, record: FlagRecord, taste: UnitSystem) -> Sequence[str]:
    flag, seen = record.flag, record.acknowledged
    level = flag.level.value
    return (
        moment(shift, record.raised_at),
        tank_name(shift, flag.tank),
        Bold(level.upper()) if level == "stop" else level,
        say(flag.title, taste),
        f"{moment(shift, seen.at)} {seen.by}" if seen else "–",
        moment(shift, record.cleared_at) if record.cleared_at else "not cleared",
        " ".join(say(part, taste) for part in (flag.why, *flag.more)),
    )


def _shelved(sheet: Sheet, shift: ShiftState) -> None:
    """Print which flags were put aside for a while, if any were; they stayed raised."""
    if not shift.shelved:
        return
    sheet.say("Shelved for a while (raised all the same):")
    rows = [
        (
            moment(shift, one.placed.at),
            tank_name(shift, one.placed.tank),
            title_of(one.placed.rule),
            moment(shift, one.placed.until),
            f"{moment(shift, one.over)} {one.back_by}" if one.over else "–",
            one.placed.by,
            one.placed.reason,
        )
        for one in shift.shelvings
    ]
    heads = ("Shelved", "Tank", "Flag", "Until", "Back before", "By", "Why")
    sheet.listing(heads, (1.5, 2.2, 3.6, 1.6, 1.8, 1, 6), rows)
