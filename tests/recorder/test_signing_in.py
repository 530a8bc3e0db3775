"""Signatures and PINs through the recorder: who is let in, and what is journaled of it."""

from collections.abc import Iterator
from datetime import timedelta
from itertools import count
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.recorder.signers import Signers, with_a_boss
from tests.shed import START
from washmon.line.events import Event, NoteWritten, ShiftSigned
from washmon.line.gate import Gate
from washmon.line.journal import Entry
from washmon.line.pins import hash_pin
from washmon.line.setup import Role
from washmon.line.signing import SigningStage
from washmon.line.site_events import PinMistaken, PinReset, PinSet, SetupSaved
from washmon.recorder import Answer, Doubtful, Recorder, Refused, Saved
from washmon.store.store import Store

RIGHT = "rake 22"


@pytest.fixture(scope="module")
def kept() -> str:
    return hash_pin(RIGHT)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Signers]:
    bench = Signers(tmp_path / "shed.db")
    yield bench
    bench.recorder.close()


def said(answer: Answer) -> list[tuple[str, str]]:
    assert isinstance(answer, Refused), answer
    return [(fault.field, fault.message.text) for fault in answer.faults]


def test_a_shed_without_pins_signs_with_initials(bench: Signers) -> None:
    assert isinstance(bench.sign(), Saved)
    assert isinstance(bench.review(), Saved)
    assert bench.stage() is SigningStage.REVIEWED


def test_what_the_record_lacks_is_asked_once_and_kept_with_the_signature(bench: Signers) -> None:
    signature = ShiftSigned(at=bench.now, by="RM", role=Role.SUPERVISOR, covers=bench.head())
    answer = bench.give(signature, sure=False)
    assert isinstance(answer, Doubtful)
    assert [doubt.text for doubt in answer.doubts] == [
        "Nobody ticked that strips and meter were checked."
    ]
    saved = bench.give(signature)
    assert isinstance(saved, Saved)
    assert isinstance(saved.entry.event, ShiftSigned)
    assert saved.entry.event.doubts == ("Nobody ticked that strips and meter were checked.",)


def test_the_logbook_finds_what_is_unsigned(bench: Signers) -> None:
    def unsigned() -> list[str]:
        found = bench.recorder.read(lambda store: store.shifts(unsigned=True)).result(10)
        return [row.chain for row in found]

    assert unsigned() == [bench.chain]
    bench.sign()
    assert unsigned() == []
    bench.give(NoteWritten(at=bench.now, by="TK", text="one more thing"))
    assert unsigned() == [bench.chain]
    bench.review()
    assert unsigned() == []


def test_a_line_worker_does_not_sign_and_a_supervisor_does_not_review(bench: Signers) -> None:
    assert said(bench.sign("TK", Role.LINE_WORKER))[0][0] == "by"
    assert said(bench.sign("TK", Role.SUPERVISOR))[0][0] == "by"
    bench.sign()
    assert said(bench.review("RM"))[0][0] == "by"


def test_a_promotion_counts_from_the_set_up_of_today(bench: Signers) -> None:
    setup = with_a_boss()
    people = (*setup.people[:1], replace(setup.people[1], role=Role.MANAGER), setup.people[2])
    bench.enter(SetupSaved(at=bench.now, by="BO", setup=replace(setup, people=people)))
    assert isinstance(bench.sign("TK", Role.MANAGER), Saved)


def test_once_a_pin_is_set_nobody_signs_without_one(bench: Signers, kept: str) -> None:
    assert isinstance(bench.set_pin("BO", kept), Saved)
    assert said(bench.sign()) == [("by", "{who} has no PIN yet: choose one in the menu.")]
    assert isinstance(bench.set_pin("RM", kept, pin=RIGHT), Saved)
    assert said(bench.sign()) == [("pin", "Enter your PIN.")]
    assert said(bench.sign(pin="rake 23")) == [("pin", "This is not the PIN of {who}.")]
    assert isinstance(bench.sign(pin=RIGHT), Saved)


def test_only_hashes_are_in_the_database(bench: Signers, kept: str) -> None:
    bench.set_pin("BO", kept)
    bench.sign("BO", Role.MANAGER, pin="wrong guess")
    bench.recorder.close()
    for file in bench.path.parent.iterdir():
        assert RIGHT.encode() not in file.read_bytes()
        assert b"wrong guess" not in file.read_bytes()
    bench.reopen()


def test_wrong_tries_are_journaled_and_slow_down_over_a_restart(bench: Signers, kept: str) -> None:
    bench.set_pin("BO", kept)
    for _ in range(3):
        assert said(bench.sign("BO", Role.MANAGER, pin="nope"))[0][0] == "pin"
    assert [event.by for event in bench.site() if isinstance(event, PinMistaken)] == ["BO"] * 3
    (waits,) = said(bench.sign("BO", Role.MANAGER, pin=RIGHT))
    assert waits[1].startswith("Too many wrong PINs")
    bench.reopen()
    assert said(bench.sign("BO", Role.MANAGER, pin=RIGHT)) == [waits]
    bench.now += timedelta(minutes=2)
    assert isinstance(bench.sign("BO", Role.MANAGER, pin=RIGHT), Saved)


def test_a_try_while_waiting_is_not_even_looked_at(bench: Signers, kept: str) -> None:
    bench.set_pin("BO", kept)
    for _ in range(9):
        bench.sign("BO", Role.MANAGER, pin="nope")
    assert sum(isinstance(event, PinMistaken) for event in bench.site()) == 3


def test_a_manager_resets_a_pin_and_its_owner_chooses_anew(bench: Signers, kept: str) -> None:
    bench.set_pin("BO", kept)
    bench.set_pin("RM", kept, pin=RIGHT)
    reset = PinReset(at=bench.now, by="BO", who="RM")
    assert said(bench.give(reset, "nope"))[0][0] == "pin"
    assert said(bench.give(replace(reset, by="TK"), RIGHT))[0][0] == "by"
    assert isinstance(bench.give(reset, RIGHT), Saved)
    assert any(
        isinstance(event, PinReset) and (event.who, event.role) == ("RM", Role.SUPERVISOR)
        for event in bench.site()
    )
    assert said(bench.sign(pin=RIGHT))[0][0] == "by"
    assert isinstance(bench.set_pin("RM", kept, by="RM"), Saved)
    assert isinstance(bench.sign(pin=RIGHT), Saved)


def test_a_role_changed_in_the_set_up_does_not_sign_before_a_manager_agreed(
    bench: Signers, kept: str
) -> None:
    bench.set_pin("BO", kept)
    bench.set_pin("TK", kept, pin=RIGHT)
    setup = with_a_boss()
    people = (*setup.people[:1], replace(setup.people[1], role=Role.MANAGER), setup.people[2])
    promoted = SetupSaved(at=bench.now, by="BO", setup=replace(setup, people=people))
    assert said(bench.give(replace(promoted, by="TK"), RIGHT))[0][0] == "by"
    assert said(bench.give(promoted))[0][0] == "pin"
    assert isinstance(bench.give(promoted, RIGHT), Saved)
    (refusal,) = said(bench.sign("TK", Role.MANAGER, pin=RIGHT))
    assert refusal[1].startswith("The role of {who} was changed after the PIN was set")
    assert said(bench.give(PinReset(at=bench.now, by="TK", who="BO"), RIGHT))[0][0] == "by"
    bench.give(PinReset(at=bench.now, by="BO", who="TK"), RIGHT)
    bench.set_pin("TK", kept, by="TK")
    assert isinstance(bench.sign("TK", Role.MANAGER, pin=RIGHT), Saved)


def test_pins_do_not_travel_with_a_shift(bench: Signers, kept: str) -> None:
    bench.set_pin("BO", kept)
    bench.sign("BO", Role.MANAGER, pin=RIGHT)

    def bodies(store: Store) -> bytes:
        return b"".join(row.body for row in store.rows(bench.chain))

    assert b"argon2" not in bench.recorder.read(bodies).result(10)


def test_a_clock_that_is_moved_before_each_try_lifts_no_wait(kept: str) -> None:
    known = [Entry(0, START, PinSet(at=START, by="BO", who="BO", hash=kept, role=Role.MANAGER), "")]
    moved = (START + timedelta(hours=2 * turn) for turn in count())
    tries: list[Event] = []
    gate = Gate(lambda: known, tries.append, lambda: next(moved), lambda: 17.0)
    setup = with_a_boss()
    saved = SetupSaved(at=START, by="BO", setup=setup)
    for turn in range(30):
        fault = gate.saver_fault(saved, f"guess {turn}")
        assert fault is not None
    assert len(tries) == 3  # and the rest was not judged at all
    assert gate.saver_fault(saved, RIGHT) is not None


def test_a_window_that_only_reads_judges_no_pin(bench: Signers, kept: str) -> None:
    bench.set_pin("BO", kept)
    with Store.open(bench.path, read_only=True) as store:
        reader = Recorder(store, lambda _: None, clock=bench.clock, tick_s=3600)
        reader.start()
        for pin in (RIGHT, "nope"):
            fault = reader.vouch("BO", pin).result(10)
            assert fault is not None
            assert "This window only reads" in fault.message.text
        reader.close()


def gate_of(kept: str, tries: list[Event], *, judges: bool = True) -> Gate:
    known = [Entry(0, START, PinSet(at=START, by="BO", who="BO", hash=kept, role=Role.MANAGER), "")]
    return Gate(lambda: known, tries.append, lambda: START, judges=judges)


def test_a_manager_is_taken_for_one_by_the_right_pin_alone(kept: str) -> None:
    gate, setup = gate_of(kept, []), with_a_boss()
    given = (("BO", "nope"), ("BO", RIGHT), ("RM", ""))
    faults = [gate.manager_fault(setup, *who) for who in given]
    assert [one and one.field for one in faults] == ["pin", None, "by"]


def test_a_gate_that_only_reads_takes_no_pin_and_journals_no_try(kept: str) -> None:
    tries: list[Event] = []
    gate = gate_of(kept, tries, judges=False)
    for pin in ("nope", RIGHT):
        fault = gate.manager_fault(with_a_boss(), "BO", pin)
        assert fault is not None
        assert "This window only reads" in fault.message.text
    assert tries == []
