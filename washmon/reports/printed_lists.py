"""The lists of a shift's record on paper: verdicts in bold and in words, and what explains them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from washmon.line.message import Message, say
from washmon.line.state import ShiftState
from washmon.reports import record_lists, tables
from washmon.reports.measured import made_with
from washmon.reports.paper import Bold, Sheet
from washmon.reports.printed_words import UNWATCHED, moment, tank_name
from washmon.reports.record_columns import (
    CellVerdict,
    Medium,
    RecordCell,
    RecordList,
    Teller,
    laid_out,
)
from washmon.rules.catalogue import title_of
from washmon.units import Kind, UnitSystem, show

R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class PaperVoice:
    """Plain English in the units of the paper."""

    taste: UnitSystem
    decimal_point: str = "."

    def say(self, message: Message) -> str:
        """Return a sentence."""
        return say(message, self.taste)

    def show(self, value: float, kind: Kind) -> str:
        """Return a value with its unit."""
        return show(value, kind, self.taste)


def _listing(
    sheet: Sheet, listed: RecordList[R], rows: Sequence[R], shift: ShiftState, taste: UnitSystem
) -> None:
    teller = Teller(shift, PaperVoice(taste))
    columns, cells = laid_out(listed, rows, teller, Medium.PAPER)
    sheet.listing(
        [one.short or one.head for one in columns],
        [one.width for one in columns],
        [[_printed(cell) for cell in row] for row in cells],
    )


def _printed(cell: RecordCell) -> str:
    words = cell.words if cell.paper is None else cell.paper
    return Bold(words) if cell.verdict not in {None, CellVerdict.WATCH} else words


def _list(
    sheet: Sheet, listed: RecordList[Any], shift: ShiftState, taste: UnitSystem, nothing: str = ""
) -> bool:
    """Print a list under its heading, or that there is none; return whether there is."""
    sheet.heading(listed.title)
    rows = listed.rows(shift)
    if rows:
        _listing(sheet, listed, rows, shift, taste)
    else:
        sheet.say(nothing or listed.nothing)
    return bool(rows)


def readings(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print the readings; quantities that nobody measured have no column."""
    listed = record_lists.READINGS
    if not _list(sheet, listed, shift, taste):
        return
    sheet.say("CRITICAL, OVER, LOW and HIGH say how a value stood to the limits above.")
    if any(any(made_with(line).values()) for line in listed.rows(shift)):
        sheet.say(
            "UNFIT: what is in its limits by an instrument or pack that was known to be unfit when "
            "it was used proves no good water, and counts as not known."
        )


def actions(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print what was done, noted and decided; here signatures and corrections, too."""
    sheet.heading(record_lists.ACTIONS.title)
    _listing(sheet, record_lists.ACTIONS, [*tables.ACTIONS.rows(shift)], shift, taste)


def batches(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print the batches, lot by lot."""
    sheet.heading("Batches by lot")
    found = record_lists.BATCHES.rows(shift)
    if not found:
        sheet.say(record_lists.BATCHES.nothing)
        return
    for lot in dict.fromkeys(one.line.event.lot for one in found):
        mine = [one for one in found if one.line.event.lot == lot]
        kg = sum(one.line.event.weight_kg or 0.0 for one in mine)
        weight = f", {show(kg, Kind.PRODUCE_MASS, taste)} weighed" if kg else ""
        count = "1 batch" if len(mine) == 1 else f"{len(mine)} batches"
        sheet.say(f"Lot {lot}: {count}{weight}", bold=True)
        _listing(sheet, record_lists.BATCHES, mine, shift, taste)
    if any(one.ct_mg_min_l is not None for one in found):
        sheet.say(
            "CT: hypochlorous acid times the time in the water, mg min/L, by the last readings "
            "before the batch."
        )
    if any(one.breach is not None for one in found):
        sheet.say("SHORT and CRITICAL say how the time in the water stood to the limits above.")
    if any(one.hold is not None for one in found):
        sheet.say(
            "Chance: how likely a held batch was washed in less than the critical low, as "
            "estimated when the hold was placed."
        )


def lots(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print where each lot came from, and where it was sent."""
    if found := record_lists.LOTS.rows(shift):
        sheet.heading("Lots: one step back, and one forward")
        _listing(sheet, record_lists.LOTS, found, shift, taste)


def holds(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print the holds with what was decided."""
    _list(sheet, record_lists.HOLDS, shift, taste)


def corrections(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print every correction: what stood there, what stands there now, who, when and why."""
    _list(sheet, record_lists.CORRECTIONS, shift, taste)


def flags(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print what the rules said, in the order in which it came up."""
    unwatched = UNWATCHED if shift.started.imported else ""
    if _list(sheet, record_lists.FLAGS, shift, taste, unwatched):
        _shelved(sheet, shift)


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
