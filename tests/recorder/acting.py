"""A shed in which people act by their roles and PINs."""

from pathlib import Path

from msgspec.structs import replace

from tests.recorder.recorder_bench import Bench
from tests.shed import a_setup
from washmon.line.events import (
    BatchWashed,
    Corrected,
    Decision,
    HoldPlaced,
    HoldReleased,
    TankFilled,
)
from washmon.line.journal import SITE
from washmon.line.message import say
from washmon.line.setup import LineSetup, Person, Role
from washmon.line.site_events import PinSet, SetupSaved
from washmon.recorder import Answer, Refused, Saved
from washmon.units import UnitSystem

PIN = "rake 22"


def managed() -> LineSetup:
    setup = a_setup()
    more = (
        Person(initials="BO", name="B. O.", role=Role.MANAGER),
        Person(initials="LU", name="L. U.", role=Role.LINE_WORKER),
    )
    return replace(setup, people=(*setup.people, *more))


class Shed(Bench):
    """A shift with a batch on hold; RM supervises, BO manages, TK and LU work the line."""

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        self.setup = managed()
        self.enter(SetupSaved(at=self.now, by="BO", setup=self.setup))
        self.chain = self.start_shift(self.setup)
        filled = TankFilled(at=self.now, by="RM", tank=1, volume_l=500)
        batch = BatchWashed(at=self.now, by="TK", tanks=(1,), lot="L-1")
        self.seqs = [self.saved(self.enter(one, sure=True)) for one in (filled, batch)]
        hold = HoldPlaced(at=self.now, by="TK", tank=1, batches=(self.seqs[1],), reason="low")
        self.hold = self.saved(self.enter(hold, sure=True))

    def with_pins(self, kept: str, *people: str) -> None:
        for who in ("BO", *people):
            person = self.setup.person(who)
            assert person is not None
            event = PinSet(at=self.now, by="BO", who=who, hash=kept, role=person.role)
            self.recorder.read(
                lambda store, event=event: store.append(SITE, [event], self.now)  # type: ignore[misc]
            ).result(10)

    def saved(self, answer: Answer) -> int:
        assert isinstance(answer, Saved), answer
        return answer.entry.seq

    def released(self, by: str, pin: str = "") -> Answer:
        event = HoldReleased(
            at=self.now,
            by=by,
            hold=self.hold,
            decision=Decision.DISCARD,
            reason="lot L-1 dumped",
            found="tank 1 low",
            water="dosed 40 mL",
            prevention="check every 20 min",
        )
        return self.enter(event, sure=True, pin=pin)

    def gone(self, seq: int, by: str, pin: str = "") -> Answer:
        event = Corrected(at=self.now, by=by, entry=seq, reason="mistake", instead=None)
        return self.enter(event, sure=True, pin=pin)

    def save(self, by: str, pin: str = PIN, **changes: object) -> Answer:
        changed = replace(self.setup, **changes)
        return self.enter(SetupSaved(at=self.now, by=by, setup=changed), pin=pin)


def why(answer: Answer) -> str:
    assert isinstance(answer, Refused), answer
    return " ".join(say(fault.message, UnitSystem.METRIC) for fault in answer.faults)
