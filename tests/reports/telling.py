"""Hypothesis: shifts as they may go, told through the invented shed."""

from datetime import timedelta
from typing import Any

from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from tests.strategies import of
from washmon.line.events import (
    BatchWashed,
    Corrected,
    Decision,
    HoldReleased,
    InstrumentChecked,
    ReadingTaken,
    ShiftEnded,
    WaterExchanged,
)
from washmon.line.flag_events import FlagShelved, FlagUnshelved
from washmon.line.state import ShiftState

LEVELS = st.one_of(st.none(), st.floats(0, 120))
ACIDITIES = st.one_of(st.none(), st.floats(4, 10))
DEEDS = ["fill", "read", "read", "read", "wash", "dose", "acid", "exchange", "hold", "release"]
DEEDS += ["fix", "try instrument", "shelve"]
SECOND = ["second", "swap"]


@st.composite
def told_shifts(draw: st.DrawFn, *, second: bool = False, looked: bool = True) -> ShiftState:
    """A shift of one or two tanks, in whole seconds, sometimes ended, with the rules looking on.

    With ``second``, second fills are made ready and swapped in, too; without ``looked`` the rules
    look away, for what does not depend on them.
    """
    deeds = st.sampled_from([*DEEDS, *SECOND] if second else DEEDS)
    minutes = draw(st.sampled_from([None, 5.0, 12.0]))
    tanks = [a_tank(n, f"Tank {n}", check_minutes=minutes, second_volume_l=400.0) for n in (1, 2)]
    shed = Shed(a_setup(*tanks))
    for number in (1, 2):
        shed.fill(number)
    for deed in draw(st.lists(deeds, max_size=18)):
        shed.now += timedelta(seconds=draw(st.integers(0, 600)))
        _do(draw, shed, deed, draw(st.sampled_from([1, 1, 2])))
        if looked and draw(st.booleans()):
            shed.look()
    if draw(st.booleans()):
        shed.now += timedelta(seconds=draw(st.integers(0, 900)))
        shed.tell(ShiftEnded(at=shed.now, by="RM", holds_to="TK"))
    return shed.shift


def _do(draw: st.DrawFn, shed: Shed, deed: str, tank: int) -> None:
    match deed:
        case "fill":
            shed.fill(tank)
        case "read":
            shed.tell(_reading(draw, shed, tank))
        case "wash":
            weight = draw(st.one_of(st.none(), st.floats(1, 40)))
            shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(tank,), lot="L-1", weight_kg=weight))
        case "dose":
            shed.dose(tank, draw(st.floats(1, 300)))
        case "acid":
            shed.acid(tank)
        case "exchange":
            shed.tell(WaterExchanged(at=shed.now, by="RM", tank=tank, volume_l=100.0))
        case "hold" if shed.shift.tank(tank).washed:
            shed.hold(shed.shift.tank(tank).washed[-1].seq, tank=tank)
        case "release" if shed.shift.open_holds:
            _release(draw, shed)
        case "fix":
            _correct(draw, shed, tank)
        case _:
            _do_beside(draw, shed, deed, tank)


def _do_beside(draw: st.DrawFn, shed: Shed, deed: str, tank: int) -> None:
    match deed:
        case "second":
            _make_second_ready(draw, shed, tank)
        case "swap" if shed.shift.tank(tank).second is not None:
            shed.swap(tank)
        case "try instrument":
            tried: InstrumentChecked = draw(of(InstrumentChecked))
            shed.tell(replace(tried, at=shed.now, by="TK"))
        case "shelve" if shed.shift.open_flags:
            _shelve(draw, shed)


def _make_second_ready(draw: st.DrawFn, shed: Shed, tank: int) -> None:
    shed.fill(tank, 400.0, second=True)
    shed.dose(tank, draw(st.floats(1, 300)), second=True)
    shed.tell(replace(_reading(draw, shed, tank), second=True))


def _shelve(draw: st.DrawFn, shed: Shed) -> None:
    flag = draw(st.sampled_from(shed.shift.open_flags)).flag
    key: dict[str, Any] = {"at": shed.now, "by": "TK", "tank": flag.tank, "rule": flag.rule}
    until = shed.now + timedelta(minutes=draw(st.integers(1, 60)))
    shed.tell(FlagShelved(**key, until=until, reason="seen", level=flag.level))
    if draw(st.booleans()):
        shed.tell(FlagUnshelved(**key))


def _release(draw: st.DrawFn, shed: Shed) -> None:
    decision = draw(st.sampled_from(Decision))
    hold = shed.shift.open_holds[0].seq
    shed.tell(HoldReleased(at=shed.now, by="RM", hold=hold, decision=decision, reason="seen"))


def _reading(draw: st.DrawFn, shed: Shed, tank: int) -> ReadingTaken:
    values: dict[str, Any] = {"fac_mg_l": draw(LEVELS), "ph": draw(ACIDITIES)}
    return ReadingTaken(at=shed.now, by="RM", tank=tank, **values)


def _correct(draw: st.DrawFn, shed: Shed, tank: int) -> None:
    entries = [entry for entry in shed.shift.entries if isinstance(entry.event, ReadingTaken)]
    if not entries:
        return
    entry = draw(st.sampled_from(entries))
    earlier_s = draw(st.integers(0, int((entry.event.at - START).total_seconds())))
    at = entry.event.at - timedelta(seconds=earlier_s)
    instead = draw(st.one_of(st.none(), st.just(replace(_reading(draw, shed, tank), at=at))))
    shed.tell(Corrected(at=shed.now, by="TK", entry=entry.seq, reason="misread", instead=instead))
