"""A shift that is signed and reviewed."""

from datetime import timedelta

from msgspec.structs import replace

from tests.shed import Shed
from washmon.line.check import check
from washmon.line.events import (
    Checked,
    Corrected,
    ReadingTaken,
    ShiftEnded,
    ShiftReviewed,
    ShiftSigned,
)
from washmon.line.fold import begin
from washmon.line.journal import Entry, extend
from washmon.line.record import INSTRUMENTS
from washmon.line.setup import Role


class Signing(Shed):
    """A shed that can sign."""

    def start(self) -> "Signing":
        checks = (Checked(item=INSTRUMENTS, done=True),)
        started = replace(self.shift.started, checks=checks)
        ((self._last, _),) = extend(self.shift.chain, None, [started], self.now)
        self.shift = begin(self.shift.chain, self._last)
        self.fill()
        self.dose()
        self.wait(6).read(fac=50, ph=7.0)
        self.wash(3)
        self.wait(5).read(fac=46, ph=7.1)
        return self

    def end(self) -> "Signing":
        self.wait(2).tell(ShiftEnded(at=self.now, by="RM"))
        return self

    @property
    def head(self) -> str:
        return self.shift.entries[-1].hash

    def signature(self, by: str = "RM", role: Role = Role.SUPERVISOR) -> ShiftSigned:
        return ShiftSigned(at=self.now, by=by, role=role, covers=self.head)

    def review(self, by: str = "BO") -> ShiftReviewed:
        return ShiftReviewed(at=self.now, by=by, role=Role.MANAGER, covers=self.head)

    def correct(self, entry: int) -> Entry:
        right = ReadingTaken(at=self.now - timedelta(minutes=5), by="RM", tank=1, fac_mg_l=40, ph=7)
        wrong = Corrected(at=self.now, by="TK", entry=entry, reason="misread", instead=right)
        return self.wait(5).tell(wrong)


def faults(shed: Signing, event: ShiftSigned | ShiftReviewed) -> list[str]:
    return [fault.message.text for fault in check(shed.shift, event, shed.now).faults]
