"""A pause stands in every form of the record, and comes back from a session file."""

import io

from pypdf import PdfReader

from tests.shed import CHAIN, Shed, in_a_line
from washmon.gui.context import UserContext
from washmon.gui.logbook.shift_tables import listing
from washmon.line.events import LinePaused, LineResumed
from washmon.line.fold import fold
from washmon.line.journal import encode
from washmon.reports.printed import printed
from washmon.reports.record_lists import LISTS
from washmon.reports.tables import ACTIONS
from washmon.sessions.file import compose, parse
from washmon.units import UnitSystem


def paused() -> Shed:
    shed = Shed()
    shed.fill()
    shed.wait(10).read(1, 50, ph=7.0)
    shed.wait(5).tell(LinePaused(at=shed.now, by="RM", reason="belt torn"))
    shed.wait(45).tell(LineResumed(at=shed.now, by="TK"))
    return shed


def test_the_list_the_paper_and_the_csv_tell_a_pause() -> None:
    shed = paused()
    rows = listing(LISTS["actions"], shed.shift, UserContext("RM", UnitSystem.METRIC)).rows
    listed = [[cell.text for cell in row[1:4]] for row in rows][-2:]
    assert listed == [
        ["Pause of the line", "Line paused: belt torn", "RM"],
        ["Line goes on", "Line goes on", "TK"],
    ]
    pages = PdfReader(io.BytesIO(printed(shed.shift))).pages
    words = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "07:15 Line paused: belt torn RM" in words
    assert "08:00 Line goes on TK" in words
    columns = {column.name: column.cell for column in ACTIONS.columns}
    lines = list(ACTIONS.rows(shed.shift))[-2:]
    assert [columns["action"](line) for line in lines] == ["line paused", "line resumed"]
    assert columns["text"](lines[0]) == "belt torn"


def test_a_pause_is_a_sentence() -> None:
    shed = paused()
    pause, going_on = (entry.event for entry in shed.shift.entries[-2:])
    setup = shed.shift.setup
    assert in_a_line(pause, setup) == "Line paused: belt torn"
    assert in_a_line(going_on, setup) == "Line goes on"


def test_a_session_file_brings_a_pause_back() -> None:
    shift = paused().shift
    rows = [(one.seq, one.recorded_at, encode(one.event), one.hash) for one in shift.entries]
    session = parse(compose(CHAIN, rows, "A break"), "a.washshift")
    assert fold(CHAIN, session.entries).pauses == shift.pauses
    assert len(shift.pauses) == 1
