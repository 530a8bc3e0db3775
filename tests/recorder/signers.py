"""A shed in which people sign with PINs."""

from datetime import timedelta
from pathlib import Path

from msgspec.structs import replace

from tests.recorder.recorder_bench import Bench
from tests.shed import a_setup
from washmon.line.events import Event, ShiftEnded, ShiftReviewed, ShiftSigned
from washmon.line.fold import fold
from washmon.line.journal import SITE
from washmon.line.setup import LineSetup, Person, Role
from washmon.line.signing import SigningStage, signing
from washmon.line.site_events import PinSet, SetupSaved
from washmon.recorder import Answer


def with_a_boss() -> LineSetup:
    setup = a_setup()
    boss = Person(initials="BO", name="B. O.", role=Role.MANAGER)
    return replace(setup, people=(*setup.people, boss))


class Signers(Bench):
    """An ended shift to sign."""

    def __init__(self, path: Path) -> None:
        super().__init__(path)
        setup = with_a_boss()
        self.enter(SetupSaved(at=self.now, by="BO", setup=setup))
        self.chain = self.start_shift(setup)
        self.now += timedelta(minutes=5)
        self.enter(ShiftEnded(at=self.now, by="RM"))

    def give(self, event: Event, pin: str = "", *, sure: bool = True) -> Answer:
        waiting = self.recorder.enter(event, chain=self.chain, sure=sure, pin=pin)
        return waiting.result(10)

    def sign(self, by: str = "RM", role: Role = Role.SUPERVISOR, pin: str = "") -> Answer:
        return self.give(ShiftSigned(at=self.now, by=by, role=role, covers=self.head()), pin)

    def review(self, by: str = "BO", pin: str = "") -> Answer:
        signature = ShiftReviewed(at=self.now, by=by, role=Role.MANAGER, covers=self.head())
        return self.give(signature, pin)

    def set_pin(self, who: str, kept: str, *, by: str = "BO", pin: str = "") -> Answer:
        return self.give(PinSet(at=self.now, by=by, who=who, hash=kept), pin)

    def head(self) -> str:
        return self.recorder.read(lambda store: store.head(self.chain)).result(10) or ""

    def site(self) -> list[Event]:
        return [one.event for one in self.recorder.read(lambda s: s.entries(SITE)).result(10)]

    def stage(self) -> SigningStage:
        chain = self.chain
        return signing(fold(chain, self.recorder.read(lambda s: s.entries(chain)).result(10))).stage
