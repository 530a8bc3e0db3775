"""What a summary says of the signatures under a shift."""

from datetime import timedelta

from tests.shed import Shed
from washmon.line.events import NoteWritten, ShiftEnded, ShiftReviewed, ShiftSigned
from washmon.line.setup import Role
from washmon.line.signing import SigningStage
from washmon.reports.cells import Cell
from washmon.reports.summary import read_summary, summary_bodies
from washmon.reports.summing import summarize
from washmon.reports.tables import ACTIONS, SUMMARIES


def cells(shed: Shed) -> dict[str, Cell]:
    summary = summarize(shed.shift)[0]
    return {column.name: column.cell(summary) for column in SUMMARIES.columns}


def sign(shed: Shed) -> None:
    head = shed.shift.entries[-1].hash
    shed.tell(ShiftSigned(at=shed.now, by="RM", role=Role.SUPERVISOR, covers=head))


def test_the_summary_says_who_signed_and_reviewed_and_with_which_hash_it_ends() -> None:
    shed = Shed()
    shed.fill()
    assert cells(shed)["signing"] is SigningStage.RUNNING
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    assert cells(shed)["signing"] is SigningStage.UNSIGNED
    sign(shed)
    shed.now += timedelta(minutes=5)
    head = shed.shift.entries[-1].hash
    shed.tell(ShiftReviewed(at=shed.now, by="BO", role=Role.MANAGER, covers=head))
    found = cells(shed)
    assert found["signing"] is SigningStage.REVIEWED
    assert (found["signed_by"], found["reviewed_by"]) == ("RM", "BO")
    assert found["reviewed_at"] == shed.now
    assert found["journal_hash"] == shed.shift.entries[-1].hash
    shed.tell(NoteWritten(at=shed.now, by="TK", text="one more thing"))
    assert cells(shed)["signing"] is SigningStage.CHANGED


def test_a_kept_summary_of_before_signatures_still_reads() -> None:
    shed = Shed()
    body = summary_bodies(summarize(shed.shift))[0][1]
    old = body[: body.index(',"signing"')] + body[body.index("}", body.index('"head"')) :]
    kept = read_summary(old)
    assert kept is not None
    assert kept.shift.signing is SigningStage.UNSIGNED


def test_signatures_are_among_the_actions() -> None:
    shed = Shed()
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    sign(shed)
    last = list(ACTIONS.rows(shed.shift))[-1]
    said = {column.name: column.cell(last) for column in ACTIONS.columns}
    assert (said["action"], said["by"]) == ("signature", "RM")
    assert said["words"] == "Shift signed by RM: supervisor"
