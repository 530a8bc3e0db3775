"""What touched a lot: its water from the filling to the reading after, and its holds."""

from tests.shed import Shed
from washmon.line.events import BatchWashed, Decision, HoldReleased
from washmon.reports.lot_trace import touching


def wash(shed: Shed, lot: str) -> None:
    shed.wait(1)
    shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot=lot))


def test_a_lot_has_its_batches_their_water_and_what_was_decided() -> None:
    shed = Shed()
    shed.fill(1)
    shed.fill(2)  # the lot does not go through it
    shed.wait(1).read(1, 50, ph=7.0)
    shed.wait(1).read(2, 50, ph=7.0)
    wash(shed, "L-1")
    shed.wait(1).dose(1, 90)
    wash(shed, "L-2")
    wash(shed, "L-1")
    shed.wait(1).read(1, 20, ph=7.0)  # what the last batch came out of
    shed.wait(1).read(1, 19, ph=7.0)
    shed.wait(1).dose(1, 200)
    batches = [one.seq for one in shed.shift.tank(1).washed if one.event.lot == "L-1"]
    hold = shed.hold(batches[1])
    shed.wait(1).tell(
        HoldReleased(
            at=shed.now, by="RM", hold=hold.seq, decision=Decision.WASH_AGAIN, reason="again"
        )
    )
    shed.wait(1).fill(1)  # new water
    shed.wait(1).read(1, 55, ph=7.0)
    told = [
        (type(line.event).__name__, getattr(line.event, "fac_mg_l", None))
        for line in touching(shed.shift, set(batches))
    ]
    assert told == [
        ("TankFilled", None),
        ("ReadingTaken", 50),
        ("BatchWashed", None),
        ("DoseAdded", None),
        ("BatchWashed", None),
        ("ReadingTaken", 20),
        ("HoldPlaced", None),
        ("HoldReleased", None),
    ]


def test_a_lot_that_was_never_washed_was_touched_by_nothing() -> None:
    shed = Shed()
    shed.fill(1)
    shed.wait(1).read(1, 50, ph=7.0)
    assert touching(shed.shift, set()) == []
