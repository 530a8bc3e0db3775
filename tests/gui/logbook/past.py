"""Past shifts in a database, told through the invented shed."""

from datetime import datetime, timedelta

from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.line.events import (
    BatchWashed,
    Checked,
    Corrected,
    HandedOver,
    Method,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
)
from washmon.line.flag_events import Acknowledged
from washmon.line.fold import fold
from washmon.line.setup import LineSetup, Look, Stage
from washmon.line.state import ShiftState
from washmon.recorder.summaries import file_away
from washmon.store.store import Store


def three_tanks() -> LineSetup:
    """Return a line of two dunks and a rinse."""
    return a_setup(
        a_tank(1, "First dunk"),
        a_tank(2, "Second dunk"),
        a_tank(3, "Rinse", Stage.RINSE, volume_l=380.0),
    )


def quiet_shift(start: datetime = START) -> Shed:
    """A shift without trouble: one tank filled, measured, some batches."""
    shed = Shed(start=start)
    shed.fill()
    shed.dose()
    shed.wait(6).read(fac=50, ph=7.0)
    shed.wash(4)
    shed.wait(5).read(fac=46, ph=7.1)
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    return shed


def troubled_shift(start: datetime = START, *, hours: int = 2) -> Shed:
    """A shift with low readings, doses, acid, an open hold, a correction and a hand-over."""
    shed = Shed(three_tanks(), start=start)
    for tank in (1, 2, 3):
        shed.fill(tank)
        shed.dose(tank, 210)
    for tank in (1, 2, 3):
        shed.wait(4).read(tank, 52, method=Method.METER, ph=7.0, water_c=9.0)
    for hour in range(hours):
        _an_hour(shed, hour)
    wrong = shed.wait(2).read(2, 480, method=Method.METER, ph=7.2)
    right = ReadingTaken(
        at=wrong.event.at, by="RM", tank=2, fac_mg_l=48, fac_method=Method.METER, ph=7.2
    )
    shed.tell(
        Corrected(at=shed.now, by="TK", entry=wrong.seq, reason="a 0 too many", instead=right)
    )
    shed.tell(NoteWritten(at=shed.now, by="TK", text="Crates from the north field are muddy"))
    shed.look()
    shed.wait(10).tell(ShiftEnded(at=shed.now, by="TK", holds_to="TK"))
    return shed


def _an_hour(shed: Shed, hour: int) -> None:
    for _ in range(8):
        shed.wait(3)
        batch = BatchWashed(at=shed.now, by="RM", tanks=(1, 2, 3), lot="L-1", weight_kg=11.5)
        washed = shed.tell(batch)
    shed.wait(2).read(1, 22 if hour == 0 else 30, method=Method.METER, ph=7.3, look=Look.FAINT)
    shed.wait(1).read(2, 44, method=Method.METER, ph=7.8)
    advice = shed.look()
    if hour == 0:
        shed.hold(washed.seq, washed.seq - 1)
        flag = advice.flags[0]
        shed.tell(Acknowledged(at=shed.now, by="RM", tank=flag.tank, rule=flag.rule))
        shed.tell(HandedOver(at=shed.now, by="RM", to="TK"))
    shed.wait(2).dose(1, 95)
    shed.wait(1).acid(2, 40)
    shed.wait(6).read(1, 55, method=Method.METER, ph=7.1)
    shed.wait(1).read(2, 43, method=Method.METER, ph=7.3)
    shed.wait(1).read(3, 47, method=Method.METER, ph=7.1)
    shed.look()


def with_checks(shed: Shed, *, missed: bool = False) -> ShiftState:
    """Return the shift as if its check list had been filled in."""
    items = ("tanks cleaned", "potable water", "strips in date", "protective gear", "label read")
    checks = tuple(
        Checked(item=item, done=not (missed and item == "strips in date")) for item in items
    )
    first, *rest = shed.shift.entries
    started = replace(shed.shift.started, checks=checks)
    return fold(shed.shift.chain, [replace(first, event=started), *rest])


def keep(store: Store, shift: ShiftState, chain: str) -> str:
    """Journal a told shift under another name, with its summary if it ended."""
    for entry in shift.entries:
        store.append(chain, [entry.event], entry.recorded_at)
    kept = fold(chain, store.entries(chain))
    if kept.ended is not None:
        file_away(store, kept)
    return chain


def days_ago(days: int) -> datetime:
    """Return START moved into the past."""
    return START - timedelta(days=days)
