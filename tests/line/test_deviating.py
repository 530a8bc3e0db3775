"""What of a shift its reviewer must have seen, and that it is never signed in a lot."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.line.signed import Signing, faults
from washmon.line.deviating import Deviations, deviations
from washmon.line.events import (
    Event,
    Instrument,
    InstrumentChecked,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    TankFilled,
)
from washmon.line.fold import step
from washmon.line.journal import extend
from washmon.line.signing import days_to_review, waits_since
from washmon.reports.lines import lines
from washmon.reports.measured import limits_not_kept


def late(shed: Signing, event: Event) -> None:
    ((shed._last, _),) = extend(
        shed.shift.chain, shed._last, [event], shed.now + timedelta(minutes=16)
    )
    shed.shift = step(shed.shift, shed._last)
    shed.wait(17)


def low(shed: Signing) -> None:
    shed.wait(1).read(fac=30, ph=7.0)


def fallen(shed: Signing) -> None:
    low(shed)
    shed.look()


def short(shed: Signing) -> None:
    shed.wash(1, contact_s=20)
    shed.wait(1).read(fac=46, ph=7.0)


def doubted(shed: Signing) -> None:
    shed.tell(replace(NoteWritten(at=shed.now, by="RM", text="x")))
    filled = TankFilled(at=shed.now, by="RM", tank=2, volume_l=400, doubts=("That is little.",))
    shed.tell(filled)


def written_late(shed: Signing) -> None:
    late(shed, ReadingTaken(at=shed.now, by="RM", tank=1, fac_mg_l=46, ph=7.0))


def unfit(shed: Signing) -> None:
    shed.tell(InstrumentChecked(at=shed.now, by="RM", instrument=Instrument.PH_METER, fit=False))


def corrected(shed: Signing) -> None:
    reading = next(one for one in shed.shift.entries if isinstance(one.event, ReadingTaken))
    shed.correct(reading.seq)


@pytest.mark.parametrize(
    ("happens", "where"),
    [
        (low, {"readings"}),
        (fallen, {"readings", "flags"}),
        (short, {"batches"}),
        (doubted, {"actions"}),
        (written_late, {"readings"}),
        (unfit, {"actions", "said"}),
        (corrected, {"readings", "corrections"}),
        (lambda shed: shed.wash(1), {"said"}),
    ],
)
def test_what_deviates_is_found_and_keeps_a_shift_out_of_a_lot(
    happens: Callable[[Signing], object], where: set[str]
) -> None:
    shed = Signing().start()
    assert not deviations(shed.shift)
    happens(shed)
    shed.end()
    found = deviations(shed.shift)
    said = {name for name in Deviations.__struct_fields__ if getattr(found, name)}
    assert said == where
    shed.tell(shed.signature())
    assert faults(shed, shed.review()) == []
    assert faults(shed, replace(shed.review(), together=True)) == [
        (
            "Something in this shift deviates, or came after its signature: read it, and sign "
            "it by itself."
        )
    ]


def test_where_nothing_deviates_it_may_be_signed_with_others() -> None:
    shed = Signing().start().end()
    shed.tell(shed.signature())
    assert faults(shed, replace(shed.review(), together=True)) == []
    read = replace(shed.review(), together=True)
    shed.tell(NoteWritten(at=shed.now, by="RM", text="one more thing"))
    assert "look again" in faults(shed, read)[0]
    assert "deviates" in faults(shed, replace(shed.review(), together=True))[0]


def test_readings_that_deviate_are_those_that_the_logbook_marks() -> None:
    shed = Signing().start()
    for fac, ph in ((20, 7.0), (36, 7.9), (80, 7.0), (50, 7.0), (110, 6.2)):
        shed.wait(3).read(fac=fac, ph=ph)
    marked = {line.seq for line in lines(shed.shift, ReadingTaken) if limits_not_kept(line)}
    assert deviations(shed.shift).readings == marked
    assert len(marked) == 4


def test_a_shift_waits_from_its_end_and_after_a_review_from_what_came_later() -> None:
    shed = Signing().start()
    assert waits_since(shed.shift) is None
    shed.end()
    ended = shed.now
    assert waits_since(shed.shift) == ended
    shed.wait(60).tell(shed.signature())
    shed.wait(60).tell(NoteWritten(at=shed.now, by="RM", text="late"))
    assert waits_since(shed.shift) == ended
    shed.tell(shed.review())
    assert waits_since(shed.shift) is None
    shed.wait(9000).tell(NoteWritten(at=shed.now, by="RM", text="later still"))
    assert waits_since(shed.shift) == shed.now


def test_the_days_of_the_first_review_stand_whatever_comes_after() -> None:
    shed = Signing().start().end()  # on a Thursday
    shed.tell(shed.signature())
    assert days_to_review(shed.shift) is None
    shed.wait(5 * 24 * 60).tell(shed.review())
    assert days_to_review(shed.shift) == 3  # Friday, Monday, Tuesday
    shed.wait(5 * 24 * 60).tell(replace(shed.review(), days=6))
    assert days_to_review(shed.shift) == 3
    told = Signing().start().end()
    told.tell(replace(told.review(), days=6))
    assert days_to_review(told.shift) == 6
    assert ShiftEnded is not None
