"""Walks dissolved oxygen, as DEVELOPERS.md adds it, through all that shows a reading.

Run by ``tests/test_walkthroughs.py`` with a copy of the program before the program on the path.
"""

import io
import sys

from msgspec.structs import replace
from pypdf import PdfReader
from PySide6.QtWidgets import QApplication

from tests.gui.board.scenes import see
from tests.shed import Shed
from washmon.gui.board.presenter import present
from washmon.gui.context import UserContext
from washmon.gui.entry.ask import Ask
from washmon.gui.entry.forms import build, sheet_for
from washmon.gui.help_page import HelpPage
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.gui.kit.text import Text
from washmon.gui.logbook.shift_tables import listing
from washmon.line.check import check
from washmon.line.events import Corrected, ReadingTaken
from washmon.line.journal import decode, encode
from washmon.line.kinds import EntryKind
from washmon.reports.cells import written
from washmon.reports.printed import printed
from washmon.reports.record_lists import LISTS
from washmon.reports.tables import READINGS
from washmon.rules.event_text import event_text
from washmon.sessions.imported.log import parse_log
from washmon.sessions.imported.log_columns import guess
from washmon.units import UnitSystem

FIELD = "oxygen_mg_l"
PERSON = UserContext("TK", UnitSystem.METRIC)


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


def entered(shed: Shed) -> ReadingTaken:
    """Type oxygen alone into the sheet, and let the checks look at it."""
    ask = Ask(shed.shift, PERSON, shed.now)
    assert FIELD not in [one.key for one in sheet_for(EntryKind.READING, ask).fields_of("1")]
    more = sheet_for(EntryKind.READING, ask, more=True).fields_of("1")
    assert next(one.label for one in more if one.key == FIELD) == "Dissolved oxygen"
    event = build(EntryKind.READING, Typed("1", {FIELD: "8.2"}), ask)
    assert isinstance(event, ReadingTaken)
    assert getattr(event, FIELD) == 8.2
    verdict = check(shed.shift, event, shed.now)
    assert (verdict.faults, verdict.doubts) == ((), ())
    faults = check(shed.shift, replace(event, **{FIELD: 90.0}), shed.now).faults
    assert [fault.field for fault in faults] == [FIELD]
    assert decode(encode(event)) == event
    return event


def on_screen(shed: Shed, event: ReadingTaken) -> None:
    """Look for it in the line that was saved, on the panel, in the Logbook and in Help."""
    said = plain(event_text(event, shed.shift.setup, PERSON.say))
    assert said == "Reading tank 1: dissolved oxygen 8.2 ppm", said
    panel = present(see(shed), PERSON).panels[0]
    assert ("Oxygen", "8.2 ppm") in [(one.name, plain(one.text)) for one in panel.values]
    listed = listing(LISTS["readings"], shed.shift, PERSON)
    at = listed.heads.index("Oxygen")
    assert "8.2 ppm" in [plain(row[at].text) for row in listed.rows]
    page = HelpPage()
    words = [one.text() for one in page.findChildren(Text)]
    assert "Dissolved oxygen" in words


def in_files(shed: Shed) -> None:
    """Look for it on paper, in the CSV file and in a spreadsheet that is imported."""
    pages = PdfReader(io.BytesIO(printed(shed.shift))).pages
    paper = plain(" ".join(page.extract_text() for page in pages))
    assert "Oxygen" in paper
    assert "8.2 ppm" in paper
    names = [one.name for one in READINGS.columns]
    own = [names.index(FIELD), names.index(f"original_{FIELD}")]
    assert names.index("second_fill") < min(own)
    rows = READINGS.rows(shed.shift)
    cells = [[written(READINGS.columns[at].cell(line)) for at in own] for line in rows]
    assert cells == [["", ""], ["7.4", "8.2"]]
    log = parse_log("log.csv", b"Date,Time,ppm,Dissolved oxygen ppm\n1,2,3,4\n")
    assert list(guess(log, shed.shift.setup).values())[2:] == ["free chlorine", "dissolved oxygen"]


def corrected(shed: Shed, event: ReadingTaken, seq: int) -> None:
    """Correct it, and look for both values."""
    right = replace(event, **{FIELD: 7.4})
    wrong = Corrected(at=shed.now, by="TK", entry=seq, reason="misread", instead=right)
    assert check(shed.shift, wrong, shed.now).faults == ()
    shed.tell(wrong)
    told = " ".join(
        plain(cell.text) for cell in listing(LISTS["corrections"], shed.shift, PERSON).rows[0]
    )
    assert "8.2 ppm" in told
    assert "7.4 ppm" in told


def main() -> None:
    QApplication(sys.argv[:1])
    shed = Shed()
    shed.fill()
    shed.fill(2)
    shed.wait(20).read(2, 50, ph=7.0)
    event = entered(shed)
    seq = shed.tell(event).seq
    on_screen(shed, event)
    corrected(shed, event, seq)
    in_files(shed)


if __name__ == "__main__":
    main()
