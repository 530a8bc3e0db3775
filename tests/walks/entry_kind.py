"""Walks a sample, as DEVELOPERS.md adds it, through all that an entry passes.

Run by ``tests/test_walkthroughs.py`` with a copy of the program before the program on the path.
"""

import io
import sys
from typing import Any

from msgspec.structs import replace
from pypdf import PdfReader
from PySide6.QtWidgets import QApplication

from tests.shed import CHAIN, Shed
from washmon.gui.context import UserContext
from washmon.gui.entry.ask import Ask
from washmon.gui.entry.entry_list import correctable
from washmon.gui.entry.forms import build, sheet_for
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.gui.logbook.shift_tables import listing
from washmon.line.check import check
from washmon.line.events import Corrected, Event
from washmon.line.fold import fold
from washmon.line.journal import Entry, encode
from washmon.line.kinds import EntryKind, entry_kind, menu_words
from washmon.line.message import Message, say
from washmon.reports.cells import written
from washmon.reports.printed import printed
from washmon.reports.record_lists import LISTS
from washmon.reports.tables import ACTIONS
from washmon.rules.event_text import event_text
from washmon.sessions.file import compose, parse
from washmon.sessions.telling import tell
from washmon.units import UnitSystem

PERSON = UserContext("TK", UnitSystem.METRIC)
KIND = EntryKind("sample")
SAID = "Sample of tank 1: bottle 7-A, for North lab"


def plainly(message: Message) -> str:
    return say(message, UnitSystem.METRIC)


def entered(shed: Shed) -> Event:
    """Find it in the menu, type it, and let the checks look at it."""
    assert menu_words(KIND) == "Sample for a laboratory"
    ask = Ask(shed.shift, PERSON, shed.now)
    assert [one.key for one in sheet_for(KIND, ask).fields_of("1")] == ["bottle", "laboratory"]
    event: Any = build(KIND, Typed("1", {"bottle": "7-A", "laboratory": "North lab"}), ask)
    assert entry_kind(event) is KIND
    assert check(shed.shift, event, shed.now).faults == ()
    bare, nowhere = replace(event, bottle=" "), replace(event, tank=9)
    assert [one.field for one in check(shed.shift, bare, shed.now).faults] == ["bottle"]
    assert [one.field for one in check(shed.shift, nowhere, shed.now).faults] == ["tank"]
    return event  # type: ignore[no-any-return]


def corrected(shed: Shed, entry: Entry) -> None:
    """Pick it from the list of corrections and correct it on its own sheet."""
    assert entry in [one for one, _ in correctable(shed.shift)]
    ask = Ask(shed.shift, PERSON, shed.now, correcting=entry)
    values = {one.key: one.value for one in sheet_for(KIND, ask).fields_of("1")}
    assert values["bottle"] == "7-A"
    typed = values | {"bottle": "7-B", "why": "misread", "never": "right"}
    correction = build(KIND, Typed("1", typed), ask)
    assert isinstance(correction, Corrected)
    assert check(shed.shift, correction, shed.now).faults == ()
    shed.tell(correction)


def shown(shed: Shed) -> None:
    """Look for it in Logbook, CSV and print, as it was and as it is."""
    now = SAID.replace("7-A", "7-B")
    listed = [
        [cell.text for cell in row] for row in listing(LISTS["actions"], shed.shift, PERSON).rows
    ]
    assert ["Sample", now] in [row[1:3] for row in listed]
    told = " ".join(cell.text for cell in listing(LISTS["corrections"], shed.shift, PERSON).rows[0])
    assert SAID in told
    assert now in told
    columns = [one.name for one in ACTIONS.columns]
    rows = [
        dict(zip(columns, (written(one.cell(line)) for one in ACTIONS.columns), strict=True))
        for line in ACTIONS.rows(shed.shift)
    ]
    sample = next(row for row in rows if row["action"] == "sample")
    assert (sample["words"], sample["original"], sample["tank"]) == (now, SAID, "1")
    pages = PdfReader(io.BytesIO(printed(shed.shift))).pages
    paper = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert now in paper


def kept(shed: Shed) -> None:
    """Write it into a session file, read it back, fold and tell it."""
    entries = shed.shift.entries
    rows = [(one.seq, one.recorded_at, encode(one.event), one.hash) for one in entries]
    session = parse(compose(CHAIN, rows, "A title", ""), "shift.washshift")
    assert fold(CHAIN, session.entries) == shed.shift
    said = [tell(one.event, shed.shift.setup).said(plainly) for one in session.entries]
    assert SAID.replace("tank 1", "tank 1 First dunk") in said


def main() -> None:
    QApplication(sys.argv[:1])
    shed = Shed()
    shed.fill()
    event = entered(shed)
    assert event_text(event, shed.shift.setup, PERSON.say) == SAID
    corrected(shed, shed.tell(event))
    shown(shed)
    kept(shed)


if __name__ == "__main__":
    main()
