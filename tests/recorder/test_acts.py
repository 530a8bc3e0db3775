"""Who may do what once PINs are in use: asked by the recorder of whatever is entered.

The table is common practice, no published source.
"""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.recorder.acting import PIN, Shed, managed, why
from washmon.line.events import (
    BatchWashed,
    Event,
    HandedOver,
    HoldPlaced,
    Method,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
)
from washmon.line.gate import TABLE, Act, acts_of_set_up
from washmon.line.setup import LineSetup, Lot, Role, RuleOff
from washmon.recorder import Saved


@pytest.fixture
def shed(tmp_path: Path) -> Iterator[Shed]:
    shed = Shed(tmp_path / "shed.db")
    yield shed
    shed.recorder.close()


def test_without_pins_initials_stand_as_ever(shed: Shed) -> None:
    assert isinstance(shed.released("RM"), Saved)
    shed.now += timedelta(minutes=10)
    assert isinstance(shed.gone(shed.seqs[1], "LU"), Saved)
    assert isinstance(shed.enter(HandedOver(at=shed.now, by="TK", to="BO")), Saved)
    assert isinstance(shed.save("TK", people=shed.setup.people[:2]), Saved)


def test_product_is_released_by_who_may_with_their_pin(shed: Shed, kept: str) -> None:
    shed.with_pins(kept, "RM", "TK")
    assert "PIN" in why(shed.released("RM"))
    assert "not the PIN of RM" in why(shed.released("RM", "rake 23"))
    assert "supervisor" in why(shed.released("TK", PIN))
    assert isinstance(shed.released("RM", PIN), Saved)


def test_no_correction_frees_product_without_a_pin(shed: Shed, kept: str) -> None:
    shed.with_pins(kept, "RM", "TK")
    assert "does not take batches out of a hold" in why(shed.gone(shed.hold, "TK", PIN))
    (batch,) = shed.seqs[1:]
    assert why(shed.gone(batch, "TK", PIN)) == (  # though it is fresh, and his own
        "Only a supervisor or a manager decides about held product."
    )
    assert why(shed.gone(batch, "RM")) == "Enter your PIN."
    assert isinstance(shed.gone(batch, "RM", PIN), Saved)


def test_the_newest_entry_of_ones_own_is_undone_without_a_pin_for_two_minutes(
    shed: Shed, kept: str
) -> None:
    shed.with_pins(kept, "RM", "TK")
    first, second = (
        shed.saved(shed.enter(NoteWritten(at=shed.now, by="TK", text=text))) for text in "ab"
    )
    shed.enter(NoteWritten(at=shed.now, by="RM", text="meanwhile"))
    assert why(shed.gone(first, "TK")) == "Enter your PIN."  # not the newest
    assert "LU has no PIN yet" in why(shed.gone(second, "LU", PIN))
    shed.now += timedelta(minutes=2)
    assert isinstance(shed.gone(second, "TK"), Saved)
    third = shed.saved(shed.enter(NoteWritten(at=shed.now, by="TK", text="c")))
    shed.now += timedelta(minutes=2, seconds=1)
    assert why(shed.gone(third, "TK")) == "Enter your PIN."
    assert isinstance(shed.gone(third, "TK", PIN), Saved)


def test_what_somebody_else_entered_is_corrected_by_who_leads(shed: Shed, kept: str) -> None:
    shed.with_pins(kept, "RM", "TK", "LU")
    note = shed.saved(shed.enter(NoteWritten(at=shed.now, by="LU", text="a")))
    assert why(shed.gone(note, "TK", PIN)) == (
        "Only a supervisor or a manager corrects what somebody else entered."
    )
    assert isinstance(shed.gone(note, "RM", PIN), Saved)


def test_a_shift_is_handed_over_with_a_pin(shed: Shed, kept: str) -> None:
    shed.with_pins(kept, "RM", "TK")
    over = HandedOver(at=shed.now, by="RM", to="BO")
    assert why(shed.enter(over)) == "Enter your PIN."
    assert "supervisor" in why(shed.enter(replace(over, by="TK"), pin=PIN))
    assert isinstance(shed.enter(over, pin=PIN), Saved)


def test_readings_batches_and_holds_ask_nobody_for_a_pin(shed: Shed, kept: str) -> None:
    shed.with_pins(kept)
    entries: list[Event] = [
        ReadingTaken(at=shed.now, by="LU", tank=1, fac_mg_l=50, fac_method=Method.KIT, ph=7.0),
        BatchWashed(at=shed.now, by="LU", tanks=(1,), lot="L-1"),
        HoldPlaced(at=shed.now, by="LU", tank=1, batches=(shed.seqs[1],), reason="again"),
    ]
    assert [type(shed.enter(one, sure=True)) for one in entries] == [Saved] * 3


def lowered(setup: LineSetup, to_mg_l: float) -> tuple[object, ...]:
    first, *rest = setup.tanks
    chlorine = replace(first.chlorine, critical_low_mg_l=to_mg_l)
    return (replace(first, chlorine=chlorine), *rest)


def test_no_line_worker_lowers_a_limit_or_takes_the_manager_out(shed: Shed, kept: str) -> None:
    shed.with_pins(kept, "RM", "TK")
    lower = lowered(shed.setup, 5.0)
    assert "Only a" in why(shed.save("TK", tanks=lower))
    assert why(shed.save("RM", tanks=lower)).startswith("Only a manager changes limits")
    off = (RuleOff(rule="rinse-carry", reason="fed from the wash"),)
    assert why(shed.save("RM", rules_off=off)).startswith("Only a manager changes limits")
    without = tuple(one for one in shed.setup.people if one.initials != "BO")
    assert why(shed.save("RM", people=without)).startswith("Only a manager changes who")
    assert why(shed.save("BO", people=without)).startswith("Nobody takes away")
    assert isinstance(shed.save("BO", tanks=lower), Saved)


def test_a_supervisor_saves_what_is_no_limit(shed: Shed, kept: str) -> None:
    shed.with_pins(kept, "RM")
    (bleach, *_) = shed.setup.sanitizers
    assert isinstance(shed.save("RM", sanitizers=(replace(bleach, strength=10.0),)), Saved)


def test_nobody_changes_their_own_role_and_one_manager_with_a_pin_stays(
    shed: Shed, kept: str
) -> None:
    shed.with_pins(kept)
    people = {one.initials: one for one in shed.setup.people}
    demoted = replace(people["BO"], role=Role.SUPERVISOR)
    assert why(shed.save("BO", people=tuple({**people, "BO": demoted}.values()))).startswith(
        "Nobody takes away or changes their own role"
    )
    second = replace(people["TK"], role=Role.MANAGER)  # who has no PIN yet
    assert isinstance(shed.save("BO", people=tuple({**people, "TK": second}.values())), Saved)


def test_another_line_is_set_up_by_a_manager_who_stays_on_it(shed: Shed, kept: str) -> None:
    shed.with_pins(kept, "RM")
    assert "Only a manager" in why(shed.save("RM", line="Root flume"))
    alone = tuple(one for one in shed.setup.people if one.initials != "BO")
    assert isinstance(shed.save("BO", line="Root flume"), Saved)
    assert why(shed.save("BO", line="Third line", people=alone)) == "BO is not in the set-up."


def test_a_shift_runs_on_the_set_up_that_was_signed_for(shed: Shed, kept: str) -> None:
    shed.with_pins(kept)
    other = replace(shed.setup, line="Leaf line", tanks=lowered(shed.setup, 5.0))
    lots = (Lot(code="L-1", produce="chard"),)
    shed.enter(ShiftEnded(at=shed.now, by="RM", holds_to="RM"), sure=True)
    start = ShiftStarted(at=shed.now, by="RM", setup=other, lots=lots)
    assert why(shed.enter(start)).startswith("The set-up was changed, or never saved")
    assert isinstance(shed.enter(replace(start, setup=shed.setup)), Saved)


def test_the_table_has_each_act_and_what_saving_comes_to_is_told() -> None:
    assert set(TABLE) == set(Act)
    setup = managed()
    assert list(acts_of_set_up(setup, setup)) == [Act.SET_UP]
    assert list(acts_of_set_up(None, setup)) == [Act.SET_UP, Act.LIMITS, Act.PEOPLE]
    renamed = tuple(replace(tank, name=f"{tank.name} A") for tank in setup.tanks)
    assert list(acts_of_set_up(setup, replace(setup, tanks=renamed))) == [Act.SET_UP]
    stricter = replace(setup.margins, act_ph=7.8)
    assert Act.LIMITS in acts_of_set_up(setup, replace(setup, margins=stricter))
