"""A shift that can be signed, and who may."""

from msgspec.structs import replace

from tests.gui.logbook.past import days_ago
from tests.shed import Shed, a_setup
from washmon.gui.context import UserContext as Reader
from washmon.line.events import (
    Checked,
    ShiftEnded,
)
from washmon.line.fold import fold
from washmon.line.record import INSTRUMENTS
from washmon.line.setup import LineSetup, Person, Role
from washmon.line.state import ShiftState
from washmon.units import UnitSystem

PIN = "rake 22"


BOSS = Reader("BO", UnitSystem.METRIC)


def with_a_boss() -> LineSetup:
    setup = a_setup()
    boss = Person(initials="BO", name="B. O.", role=Role.MANAGER)
    return replace(setup, people=(*setup.people, boss))


def whole_shift(*, checked: bool = True) -> ShiftState:
    shed = Shed(with_a_boss(), start=days_ago(1))
    shed.fill()
    shed.dose()
    shed.wait(6).read(fac=50, ph=7.0)
    shed.wash(4)
    shed.wait(5).read(fac=46, ph=7.1)
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    checks = (Checked(item=INSTRUMENTS, done=checked),)
    first, *rest = shed.shift.entries
    started = replace(shed.shift.started, checks=checks)
    return fold(shed.shift.chain, [replace(first, event=started), *rest])
