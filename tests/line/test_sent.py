"""Where batches went: what an entry is about, what speaks against it, what nobody told."""

from msgspec.structs import replace

from tests.shed import Shed
from washmon.line.check import check
from washmon.line.events import BatchWashed, Corrected, Decision, HoldReleased, LotSent
from washmon.line.journal import Entry
from washmon.line.sent import NOT_RECORDED, untold, went


class Packing(Shed):
    """A shed that tells where its lots go."""

    def wash_lot(self, lot: str) -> Entry:
        self.wait(2)
        return self.tell(BatchWashed(at=self.now, by="RM", tanks=(1,), lot=lot))

    def sent(self, to: str, lot: str = "L-1") -> LotSent:
        return LotSent(at=self.now, by="RM", lot=lot, to=to)

    def send(self, to: str, lot: str = "L-1") -> Entry:
        return self.wait(1).tell(self.sent(to, lot))


def shed() -> Packing:
    made = Packing()
    made.fill()
    made.dose()
    made.wait(6).read(fac=50, ph=7.0)
    return made


def words(made: Packing) -> list[str]:
    return list(went(made.shift).values())


def said(made: Packing, event: LotSent) -> tuple[list[str], list[str]]:
    verdict = check(made.shift, event, made.now)
    return [one.message.text for one in verdict.faults], [one.text for one in verdict.doubts]


def test_an_entry_is_about_the_batches_before_it_that_nobody_told_of() -> None:
    made = shed()
    made.wash_lot("L-1")
    made.wash_lot("L-2")
    made.wash_lot("l-1 ")
    made.send("Green market")
    made.wash_lot("L-1")
    assert words(made) == ["Green market", NOT_RECORDED, "Green market", NOT_RECORDED]
    assert untold(made.shift) == ("L-2", "L-1")
    made.tell(replace(made.sent("Load 7"), reference="D-19"))
    assert words(made)[-1] == "Load 7 (D-19)"
    assert untold(made.shift) == ("L-2",)


def test_a_second_entry_without_new_batches_says_that_they_were_parted() -> None:
    made = shed()
    made.wash_lot("L-1")
    made.send("Green market")
    made.send("School kitchen")
    made.wash_lot("L-1")
    assert words(made) == ["Green market; School kitchen", NOT_RECORDED]


def test_a_correction_moves_and_a_withdrawal_takes_back() -> None:
    made = shed()
    made.wash_lot("L-1")
    first = made.send("Green market")
    instead = made.sent("School kitchen")
    fixed = Corrected(at=made.now, by="RM", entry=first.seq, reason="mixed up", instead=instead)
    assert check(made.shift, fixed, made.now).faults == ()
    made.tell(fixed)
    assert words(made) == ["School kitchen"]
    made.tell(Corrected(at=made.now, by="RM", entry=first.seq, reason="came back"))
    assert words(made) == [NOT_RECORDED]


def test_what_was_discarded_went_nowhere_and_is_not_missed() -> None:
    made = shed()
    batch = made.wash_lot("L-1")
    hold = made.hold(batch.seq)
    made.tell(
        HoldReleased(at=made.now, by="RM", hold=hold.seq, decision=Decision.DISCARD, reason="bad")
    )
    assert words(made) == ["discarded"]
    assert untold(made.shift) == ()


def test_what_can_not_be_is_refused_and_held_product_is_asked_about() -> None:
    made = shed()
    early = made.sent("Green market")
    batch = made.wash_lot("L-1")
    assert said(made, early)[0] == [
        "The first batch of lot {lot} was washed at {time}: check the time."
    ]
    assert said(made, made.sent("Green market", "L-9"))[0] == [
        "No batch of lot {lot} was washed here."
    ]
    assert said(made, made.sent("  "))[0] != []
    assert said(made, replace(made.sent("Green market"), sent_kg=0.0))[0] == [
        "A weight is more than nothing: enter it again."
    ]
    assert said(made, made.sent("Green market")) == ([], [])
    made.wash_lot("L-1")  # one of two is held
    made.hold(batch.seq)
    faults, doubts = said(made, made.sent("Green market"))
    assert faults == []
    assert "what is held stays here" in doubts[0]
