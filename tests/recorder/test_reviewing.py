"""Which shifts wait for a review, and the days that a review says it took."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.recorder.signers import Signers, with_a_boss
from washmon.line.events import NoteWritten, ShiftReviewed, ShiftSigned
from washmon.line.fold import fold
from washmon.line.setup import Role
from washmon.line.signing import SigningStage
from washmon.line.site_events import SetupSaved
from washmon.line.working_days import WEEK, WorkCalendar
from washmon.recorder import Refused, Saved
from washmon.recorder.reviewing import Waiting, waiting
from washmon.reports.binder_leaves import leaf_of
from washmon.reports.summing import summarize
from washmon.reports.tables import SUMMARIES


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Signers]:
    bench = Signers(tmp_path / "shed.db")
    yield bench
    bench.recorder.close()


def queue(bench: Signers) -> tuple[Waiting, ...]:
    return bench.recorder.read(lambda store: waiting(store, bench.now)).result(10)


def with_calendar(bench: Signers, calendar: WorkCalendar) -> None:
    setup = replace(with_a_boss(), calendar=calendar)
    assert isinstance(bench.enter(SetupSaved(at=bench.now, by="BO", setup=setup)), Saved)


def test_what_is_not_reviewed_waits_signed_or_not(bench: Signers) -> None:
    bench.now += timedelta(days=4)  # from a Thursday to the Monday after
    (one,) = queue(bench)
    assert (one.row.chain, one.row.stage, one.days) == (bench.chain, SigningStage.UNSIGNED, 2)
    bench.sign()
    bench.now += timedelta(days=7)
    (one,) = queue(bench)
    assert (one.row.stage, one.days) == (SigningStage.SIGNED, 7)
    bench.review()
    assert queue(bench) == ()
    bench.now += timedelta(days=30)
    bench.give(NoteWritten(at=bench.now, by="TK", text="found in a drawer"))
    (one,) = queue(bench)
    assert (one.row.stage, one.days) == (SigningStage.CHANGED, 0)


def test_the_days_are_the_recorders_by_the_calendar_of_now(bench: Signers) -> None:
    bench.sign()
    bench.now += timedelta(days=8)  # Thursday to Friday of the next week
    with_calendar(bench, WorkCalendar(worked=WEEK[:6], closed=(date(2026, 5, 14),)))
    (one,) = queue(bench)
    assert one.days == 6  # Friday, Saturday, Monday to Wednesday, Friday
    claimed = ShiftReviewed(at=bench.now, by="BO", role=Role.MANAGER, covers=bench.head(), days=1)
    answer = bench.give(claimed)
    assert isinstance(answer, Saved)
    assert isinstance(answer.entry.event, ShiftReviewed)
    assert answer.entry.event.days == 6
    with_calendar(bench, WorkCalendar())  # changes nothing of what was reviewed
    shift = fold(bench.chain, bench.recorder.read(lambda s: s.entries(bench.chain)).result(10))
    cells = {one.name: one.cell(summarize(shift)[0]) for one in SUMMARIES.columns}
    assert cells["review_working_days"] == 6
    assert leaf_of(shift, bench.now).review[4:] == ("6", "in time")


def test_a_binder_counts_what_waits_by_the_calendar_it_is_given(bench: Signers) -> None:
    shift = fold(bench.chain, bench.recorder.read(lambda s: s.entries(bench.chain)).result(10))
    at = bench.now + timedelta(days=13)
    assert leaf_of(shift, at).review[4] == "9"
    assert leaf_of(shift, at, WorkCalendar(worked=WEEK)).review[4:] == ("13", "NOT REVIEWED, LATE")
    assert leaf_of(shift, at, WorkCalendar(worked=WEEK[:1])).review[4] == "2"


def test_the_recorder_signs_none_in_a_lot_that_deviates(bench: Signers) -> None:
    bench.give(ShiftSigned(at=bench.now, by="RM", role=Role.SUPERVISOR, covers=bench.head()))
    review = ShiftReviewed(
        at=bench.now, by="BO", role=Role.MANAGER, covers=bench.head(), together=True
    )
    answer = bench.give(review)  # nobody ticked that strips and meter were checked
    assert isinstance(answer, Refused)
    assert answer.faults[0].message.text.startswith("Something in this shift deviates")
