"""A shift with lots that came from somewhere and went somewhere."""

from datetime import timedelta

from msgspec.structs import replace

from tests.shed import START, Shed
from washmon.line.events import BatchWashed, LotSent, ShiftEnded
from washmon.line.fold import fold
from washmon.line.setup import Lot
from washmon.line.state import ShiftState


def a_shift(
    lot: str = "L-1", *, days: int = 0, to: str = "Green market", source: str = ""
) -> ShiftState:
    shed = Shed(start=START + timedelta(days=days))
    shed.fill()
    shed.dose()
    shed.wait(6).read(fac=50, ph=7.0)
    for code in (lot, "other", lot):
        shed.wait(2)
        shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot=code, weight_kg=12.5))
    if to:
        sent = LotSent(at=shed.now, by="RM", lot=lot, to=to, reference="D-7", sent_kg=20.0)
        shed.wait(1).tell(sent)
    shed.wait(2)
    shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot=lot))
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    first, *rest = shed.shift.entries
    named = (Lot(code=lot, produce="baby chard", source=source),)
    return fold(
        shed.shift.chain, [replace(first, event=replace(shed.shift.started, lots=named)), *rest]
    )
