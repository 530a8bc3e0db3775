"""Signatures: what they cover, what reopens a review, and who may give them."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.line.signed import Signing, faults
from tests.shed import a_setup
from washmon.line.check import check
from washmon.line.events import (
    Checked,
    Corrected,
    Decision,
    Event,
    HoldReleased,
    LotSent,
    NoteWritten,
    ShiftEnded,
    ShiftReviewed,
    ShiftSigned,
    ShiftStarted,
)
from washmon.line.flag_events import FlagsChanged
from washmon.line.fold import fold
from washmon.line.journal import Entry, extend
from washmon.line.record import INSTRUMENTS, missing
from washmon.line.setup import Person, Role
from washmon.line.signing import SigningStage, role_fault, signing
from washmon.line.state import ShiftState
from washmon.store.shift import ShiftFold


@pytest.fixture
def shed() -> Signing:
    return Signing().start().end()


def doubts(shed: Signing, event: ShiftSigned | ShiftReviewed) -> list[str]:
    return [doubt.text for doubt in check(shed.shift, event, shed.now).doubts]


def test_a_record_goes_from_running_over_signed_to_reviewed() -> None:
    shed = Signing().start()
    assert signing(shed.shift).stage is SigningStage.RUNNING
    shed.end()
    assert signing(shed.shift).stage is SigningStage.UNSIGNED
    assert faults(shed, shed.signature()) == []
    assert doubts(shed, shed.signature()) == []
    shed.tell(shed.signature())
    assert signing(shed.shift).stage is SigningStage.SIGNED
    assert faults(shed, shed.review()) == []
    shed.tell(shed.review())
    now = signing(shed.shift)
    assert now.stage is SigningStage.REVIEWED
    assert now.torn == ()
    assert now.signed is not None
    assert now.reviewed is not None
    assert (now.signed.event.by, now.reviewed.event.by) == ("RM", "BO")


def test_a_running_shift_is_not_signed() -> None:
    shed = Signing().start()
    assert faults(shed, shed.signature()) == ["The shift is still running: end it, then sign it."]


def test_a_review_comes_after_a_signature(shed: Signing) -> None:
    (fault,) = faults(shed, shed.review())
    assert fault.startswith("Nobody who led the shift has signed it yet")


def test_nobody_signs_what_they_have_not_seen(shed: Signing) -> None:
    seen = shed.signature()
    shed.tell(NoteWritten(at=shed.now, by="TK", text="one more thing"))
    (fault,) = faults(shed, seen)
    assert fault.startswith("Something was entered since this was read")
    assert faults(shed, shed.signature()) == []


def test_a_shift_is_not_signed_twice_for_nothing(shed: Signing) -> None:
    shed.tell(shed.signature())
    assert faults(shed, shed.signature("BO", Role.MANAGER)) != []
    shed.tell(shed.review())
    assert faults(shed, shed.review()) != []
    assert faults(shed, shed.signature()) != []


def test_a_correction_after_signing_reopens_the_review_and_stays_visible(shed: Signing) -> None:
    shed.tell(shed.signature())
    shed.tell(shed.review())
    corrected = shed.correct(5)
    now = signing(shed.shift)
    assert now.stage is SigningStage.CHANGED
    assert now.corrected_at == (corrected.seq,)
    shed.tell(shed.review())
    again = signing(shed.shift)
    assert again.stage is SigningStage.REVIEWED
    assert again.corrected_at == (corrected.seq,)


def test_who_led_the_shift_may_sign_again_which_reopens_the_review_too(shed: Signing) -> None:
    shed.tell(shed.signature())
    shed.tell(shed.review())
    shed.correct(5)
    assert faults(shed, shed.signature()) == []
    shed.tell(shed.signature())
    assert signing(shed.shift).stage is SigningStage.SIGNED


def test_what_the_rules_journal_afterwards_changes_nothing(shed: Signing) -> None:
    shed.tell(shed.signature())
    shed.tell(FlagsChanged(at=shed.now, by="rules", upto=3))
    assert signing(shed.shift).stage is SigningStage.SIGNED


def test_where_a_lot_went_is_told_later_and_nobody_reads_the_shift_again(shed: Signing) -> None:
    shed.tell(shed.signature())
    shed.tell(shed.review())
    sent = LotSent(at=shed.now, by="TK", lot="L-0507-1", to="a market")
    told = shed.wait(60 * 24).tell(sent)
    now = signing(shed.shift)
    assert now.stage is SigningStage.REVIEWED
    assert now.later == (told,)  # it stays visible that it came after
    assert now.reopened == ()
    assert stage_in_the_list(shed) is SigningStage.REVIEWED
    assert faults(shed, shed.review("JK")) == [
        "This shift is reviewed, and nothing was entered since."
    ]


def test_where_a_lot_went_leaves_a_signed_shift_to_be_reviewed_with_others(shed: Signing) -> None:
    shed.tell(shed.signature())
    shed.tell(LotSent(at=shed.now, by="TK", lot="L-0507-1", to="a market"))
    assert signing(shed.shift).stage is SigningStage.SIGNED
    assert stage_in_the_list(shed) is SigningStage.SIGNED
    assert faults(shed, replace(shed.review(), together=True)) == []


def test_what_was_sent_in_spite_of_a_doubt_and_a_correction_of_it_are_read(shed: Signing) -> None:
    shed.tell(shed.signature())
    doubted = ("Batches of lot L-0507-1 are on hold.",)
    held = LotSent(at=shed.now, by="TK", lot="L-0507-1", to="a market", doubts=doubted)
    entry = shed.tell(held)
    assert signing(shed.shift).stage is SigningStage.CHANGED
    assert stage_in_the_list(shed) is SigningStage.CHANGED
    shed.tell(shed.signature())
    assert signing(shed.shift).stage is SigningStage.SIGNED
    shed.tell(Corrected(at=shed.now, by="TK", entry=entry.seq, reason="another lot"))
    assert signing(shed.shift).stage is SigningStage.CHANGED
    assert stage_in_the_list(shed) is SigningStage.CHANGED


def stage_in_the_list(shed: Signing) -> SigningStage:
    """How far the Logbook's list says that the shift has come."""
    row = ShiftFold(shed.shift.chain).then(shed.shift.entries).row()
    assert row is not None
    assert (row.signatures > 0) is (row.stage is not SigningStage.CHANGED)
    return row.stage


def test_a_decision_on_a_hold_reopens_the_review_as_well() -> None:
    shed = Signing().start()
    hold = shed.hold(5)
    shed.tell(ShiftEnded(at=shed.now, by="RM", holds_to="TK"))
    shed.tell(shed.signature())
    decision = HoldReleased(
        at=shed.now, by="TK", hold=hold.seq, decision=Decision.DISCARD, reason="old"
    )
    shed.tell(decision)
    assert signing(shed.shift).stage is SigningStage.CHANGED
    assert signing(shed.shift).corrected_at == ()


@given(st.integers(0, 7))
def test_signatures_are_torn_even_if_the_whole_chain_was_forged_to_fit(place: int) -> None:
    shed = Signing().start().end()
    shed.tell(shed.signature())
    shed.tell(shed.review())
    entries = list(shed.shift.entries)
    assert place < len(entries) - 2
    torn = signing(fold(shed.shift.chain, forged_at(entries, place))).torn
    assert torn == (len(entries) - 2, len(entries) - 1)


@given(st.lists(st.sampled_from(["sign", "review", "note", "correct", "rules"]), max_size=9))
def test_a_record_counts_as_reviewed_only_while_a_review_covers_all_of_it(
    doings: list[str],
) -> None:
    shed = Signing().start().end()
    for doing in doings:
        choices: dict[str, Event] = {
            "sign": shed.signature(),
            "review": shed.review(),
            "note": NoteWritten(at=shed.now, by="TK", text="late"),
            "correct": Corrected(at=shed.now, by="TK", entry=5, reason="never happened"),
            "rules": FlagsChanged(at=shed.now, by="rules", upto=3),
        }
        event = choices[doing]
        if doing == "rules" or not check(shed.shift, event, shed.now).faults:
            shed.tell(event)
    by_people = [one.event for one in shed.shift.entries if not isinstance(one.event, FlagsChanged)]
    now = signing(shed.shift)
    assert (now.stage is SigningStage.REVIEWED) == isinstance(by_people[-1], ShiftReviewed)
    assert (now.stage is SigningStage.SIGNED) == isinstance(by_people[-1], ShiftSigned)
    assert (now.stage is SigningStage.UNSIGNED) == (now.signed is None)
    assert now.torn == ()
    places = [one.seq for one in shed.shift.entries if isinstance(one.event, ShiftSigned)]
    corrections = [one.seq for one in shed.shift.entries if isinstance(one.event, Corrected)]
    assert list(now.corrected_at) == [at for at in corrections if places and at > places[0]]


def forged_at(entries: list[Entry], place: int) -> list[Entry]:
    """Change an entry and make all hashes after it fit again."""
    made: list[Entry] = []
    for entry in entries:
        event = entry.event
        if entry.seq == place:
            event = replace(event, at=event.at + timedelta(seconds=1))
        last = made[-1] if made else None
        made += [one for one, _ in extend("shift-test", last, [event], entry.recorded_at)]
    return made


def test_a_review_of_ones_own_signature_is_doubted(shed: Signing) -> None:
    shed.tell(shed.signature("BO", Role.MANAGER))
    assert any("a review by somebody else" in doubt for doubt in doubts(shed, shed.review()))
    assert doubts(shed, shed.review("OTHER")) == [
        doubt for doubt in doubts(shed, shed.review()) if "somebody else" not in doubt
    ]


@pytest.mark.parametrize("role", Role)
def test_supervisors_and_managers_sign_and_only_managers_review(shed: Signing, role: Role) -> None:
    who = Person(initials="XY", name="X. Y.", role=role)
    signs = role_fault(who, replace(shed.signature("XY"), role=role)) is None
    reviews = role_fault(who, replace(shed.review("XY"), role=role)) is None
    assert signs == (role in {Role.SUPERVISOR, Role.MANAGER})
    assert reviews == (role is Role.MANAGER)


def test_the_role_in_a_signature_is_the_persons_own(shed: Signing) -> None:
    who = Person(initials="XY", name="X. Y.", role=Role.SUPERVISOR)
    assert role_fault(who, shed.signature("XY", Role.MANAGER)) is not None
    assert role_fault(None, shed.signature("XY")) is not None


def lacks(shift: ShiftState) -> list[str]:
    return [message.text for message in missing(shift)]


def test_a_finished_shift_lacks_nothing(shed: Signing) -> None:
    assert lacks(shed.shift) == []


def restarted(shed: Signing, **changes: object) -> ShiftState:
    first, *rest = shed.shift.entries
    assert isinstance(first.event, ShiftStarted)
    return fold(shed.shift.chain, [replace(first, event=replace(first.event, **changes)), *rest])


@pytest.mark.parametrize(
    ("field", "says"),
    [
        ("site", "The set-up does not name the site."),
        ("location", "The set-up does not say where the site is."),
        ("line", "The set-up does not name the line."),
    ],
)
def test_a_place_that_nobody_named_is_missed(shed: Signing, field: str, says: str) -> None:
    """21 CFR 112.161(a)(1)(i) and (iv)."""
    assert says in lacks(restarted(shed, setup=a_setup(**{field: " "})))


def test_produce_that_nobody_described_is_missed(shed: Signing) -> None:
    """21 CFR 112.161(a)(1)(iii)."""
    assert lacks(restarted(shed, setup=a_setup(commodity=""), lots=())) == [
        "Nothing says what lot {lot} is."
    ]


def test_a_stranger_in_the_record_is_missed(shed: Signing) -> None:
    """21 CFR 112.161(a)(4)."""
    shed.tell(NoteWritten(at=shed.now, by="ZZ", text="who am I"))
    assert "{who} (entry {entry}) is not in the set-up." in lacks(shed.shift)


def test_instruments_that_nobody_checked_are_missed(shed: Signing) -> None:
    """21 CFR 117.190(a)(2), verification; 112.46(c), an adequate method."""
    said = "Nobody ticked that strips and meter were checked."
    assert said in lacks(restarted(shed, checks=()))
    assert said in lacks(restarted(shed, checks=(Checked(item=INSTRUMENTS, done=False),)))


def test_water_that_nobody_measured_is_missed() -> None:
    """21 CFR 112.46(c) and 112.50(b)(11)."""
    shed = Signing().start()
    shed.fill(2)
    shed.wash(1, tanks=(2,))
    shed.wash(1)
    found = lacks(shed.end().shift)
    assert "The sanitizer of {tank} was never measured." in found
    assert "The pH of {tank} was never measured." in found
    assert "{tank} was not measured after its last batch." in found


def test_stops_and_holds_that_are_open_are_named() -> None:
    """21 CFR 117.150 and 112.50(b)(7)."""
    shed = Signing().start()
    shed.wait(3).read(fac=10, ph=7.0)
    shed.look()
    shed.hold(5)
    shed.tell(ShiftEnded(at=shed.now, by="RM", holds_to="TK"))
    shed.look()
    found = lacks(shed.shift)
    assert "A stop on {tank} was never cleared." in found
    assert "The hold of entry {entry} is open, with {who}." in found


def test_the_check_list_of_the_program_has_the_item_that_the_record_looks_for() -> None:
    from washmon.gui.shift.start import items  # noqa: PLC0415 - the only use of Qt here

    assert any(item.casefold().startswith(INSTRUMENTS) for item, _ in items())


def test_the_last_batches_of_a_fill_that_was_drained_are_missed_too(shed: Signing) -> None:
    going = Signing().start()
    going.wash(2)
    going.fill()
    going.wait(6).read(fac=50, ph=7.0)
    text = "{tank} was not measured between its last batch and the water change of {time}."
    assert text in lacks(going.end().shift)
    assert text not in lacks(shed.shift)


def test_batches_in_new_water_that_was_never_measured_are_missed() -> None:
    shed = Signing().start()
    shed.fill()
    shed.wash()
    assert "{tank} was not measured after its last batch." in lacks(shed.end().shift)


def test_a_stop_on_a_tank_that_is_not_there_is_told_by_its_number() -> None:
    shed = Signing().start()
    shed.read(fac=5)
    (flag, *_) = shed.look().flags
    strange = replace(flag, tank=9)
    shed.tell(FlagsChanged(at=shed.now, by="rules", upto=shed.shift.last_seq, raised=(strange,)))
    messages = [one for one in missing(shed.end().shift) if "stop" in one.text]
    assert any(one.values["tank"] == "9" for one in messages)


def test_what_a_shift_ended_with_in_spite_of_asking_is_said_to_who_signs() -> None:
    shed = Signing().start()
    said = "One batch is in question and not on hold: hold it first."
    shed.tell(ShiftEnded(at=shed.now, by="RM", doubts=(said,)))
    assert said in [one.values.get("doubt") for one in missing(shed.shift)]
