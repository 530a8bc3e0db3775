"""The record of a shift in parts, each with the rows in it that deviate."""

from typing import NamedTuple

from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.gui.logbook import shift_tables
from washmon.gui.logbook.table import Listing
from washmon.line.deviating import Deviations, asked_for_an_act
from washmon.line.events import ReadingTaken
from washmon.line.kinds import LISTED_ACTIONS
from washmon.line.state import ShiftState
from washmon.reports.lines import lines
from washmon.reports.record_view import batch_rows, flag_rows


class Part(NamedTuple):
    """All rows of one kind; ``deviating`` are the places of those that deviate."""

    key: str
    words: str
    listing: Listing
    deviating: tuple[int, ...]


def parts_of(shift: ShiftState, found: Deviations, person: Person) -> tuple[Part, ...]:
    """Return the parts of a record, as the Logbook lists them."""
    readings = [line.seq in found.readings for line in lines(shift, ReadingTaken)]
    batches = [row.line.seq in found.batches for row in batch_rows(shift)]
    actions = [line.seq in found.actions for line in lines(shift, *LISTED_ACTIONS)]
    flags = [asked_for_an_act(record) for record in flag_rows(shift)]
    holds = shift_tables.holds(shift, person)
    corrections = shift_tables.corrections(shift, person)
    return (
        _part("holds", tr("Holds"), holds, [True] * len(holds.rows)),
        _part("readings", tr("Readings"), shift_tables.readings(shift, person), readings),
        _part("flags", tr("Flags"), shift_tables.flags(shift, person), flags),
        _part("corrections", tr("Corrections"), corrections, [True] * len(corrections.rows)),
        _part("batches", tr("Batches"), shift_tables.batches(shift, person), batches),
        _part("actions", tr("Actions and notes"), shift_tables.actions(shift, person), actions),
    )


def _part(key: str, words: str, listing: Listing, deviates: list[bool]) -> Part:
    return Part(key, words, listing, tuple(at for at, one in enumerate(deviates) if one))
