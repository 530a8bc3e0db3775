"""What is registered, and what a shift does to it: through the recorder, on a real database."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.recorder.acting import PIN, Shed
from tests.shed import START
from washmon.line.events import (
    Corrected,
    DoseAdded,
    Instrument,
    InstrumentChecked,
    RegistersTold,
    ShiftEnded,
)
from washmon.line.flags import Amount
from washmon.line.journal import SITE
from washmon.line.registers import Container, Device, Pack, Registers, Thing
from washmon.line.registry import registers_of
from washmon.line.site_events import SetupSaved, ThingRegistered
from washmon.recorder import Answer, Refused, Saved

METER = Device(key="Meter A", name="Meter A", serial="0417", measures=("ph",), check_days=7)
DRUM = Container(key="Drum 7", name="Drum", lot="7", product="bleach", full=Amount(20_000, "mL"))


@pytest.fixture
def shed(tmp_path: Path) -> Iterator[Shed]:
    made = Shed(tmp_path / "shed.db")
    yield made
    made.recorder.close()


def register(shed: Shed, thing: Thing, by: str = "RM", pin: str = "") -> Answer:
    return shed.enter(ThingRegistered(at=shed.now, by=by, what=thing), pin=pin)


def registers(shed: Shed) -> Registers:
    return shed.recorder.read(lambda store: registers_of(store.entries(SITE))).result(10)


def test_what_is_registered_is_told_to_the_running_shift_and_kept_for_the_next(shed: Shed) -> None:
    assert isinstance(register(shed, METER), Saved)
    entries = shed.recorder.read(lambda store: store.entries(shed.chain)).result(10)
    told = [one.event for one in entries if isinstance(one.event, RegistersTold)]
    assert [one.things for one in told] == [(METER,)]
    assert registers(shed).things == (METER,)


def test_the_next_shift_begins_with_what_is_in_use(shed: Shed) -> None:
    register(shed, METER)
    register(shed, replace(METER, key="Old", name="Old", retired_on=START.date()))
    shed.saved(shed.enter(ShiftEnded(at=shed.now, by="RM", holds_to="RM"), sure=True))
    shed.now += timedelta(hours=1)
    chain = shed.start_shift(shed.setup)
    first = shed.recorder.read(lambda store: store.entries(chain)).result(10)[0].event
    assert first.registers.things == (METER,)  # type: ignore[union-attr]


def test_a_check_is_remembered_of_the_instrument_that_it_names(shed: Shed) -> None:
    register(shed, METER)
    check = InstrumentChecked(
        at=shed.now,
        by="TK",
        instrument=Instrument.PH_METER,
        standard=7.0,
        found=7.05,
        which="Meter A",
    )
    seq = shed.saved(shed.enter(check))
    (meter,) = registers(shed).things
    assert meter == replace(METER, checked_on=START.date())
    setup = shed.recorder.read(lambda store: store.latest_setup()).result(10)
    assert setup is not None
    assert setup.meter_checked_on is None  # that is of a meter which nobody named
    shed.enter(Corrected(at=shed.now, by="TK", entry=seq, reason="the other one"))
    assert registers(shed).things == (METER,)


def test_a_dose_draws_a_container_down_and_a_correction_gives_it_back(shed: Shed) -> None:
    register(shed, DRUM)
    dose = DoseAdded(
        at=shed.now, by="TK", tank=1, product="bleach", amount=Amount(80, "mL"), container="Drum 7"
    )
    seqs = [shed.saved(shed.enter(dose, sure=True)) for _ in range(2)]
    shed.saved(shed.enter(ShiftEnded(at=shed.now, by="RM", holds_to="RM"), sure=True))
    known = registers(shed)
    assert known.left(DRUM) == Amount(20_000 - 160, "mL")
    correction = Corrected(at=shed.now, by="TK", entry=seqs[0], reason="entered twice")
    shed.saved(shed.enter(correction, chain=shed.chain, sure=True))
    assert registers(shed).left(DRUM) == Amount(20_000 - 80, "mL")


@pytest.mark.parametrize(
    ("thing", "field"),
    [
        (replace(METER, name=" "), "name"),
        (replace(METER, measures=()), "measures"),
        (replace(METER, measures=("warp",)), "measures"),
        (replace(METER, check_days=0), "check_days"),
        (replace(METER, checked_on=START.date() + timedelta(days=2)), "checked_on"),
        (replace(METER, name="n" * 61), "name"),
        (replace(DRUM, product="ink"), "product"),
        (replace(DRUM, full=Amount(float("nan"), "mL")), "full"),
        (replace(DRUM, otherwise=float("inf")), "left"),
    ],
)
def test_what_can_not_be_is_refused_beside_its_field(shed: Shed, thing: Thing, field: str) -> None:
    answer = register(shed, thing)
    assert isinstance(answer, Refused)
    assert [one.field for one in answer.faults] == [field]
    assert registers(shed).things == ()


def test_two_of_one_name_and_mark_are_told_apart_first(shed: Shed) -> None:
    register(shed, METER)
    answer = register(shed, replace(METER, key="other", name="meter a"))
    assert isinstance(answer, Refused)
    assert isinstance(register(shed, replace(METER, key="other", serial="0418")), Saved)


def test_with_pins_anybody_opens_a_pack_but_a_leader_changes_what_is_registered(
    shed: Shed,
    kept: str,
) -> None:
    shed.with_pins(kept, "RM", "TK")
    pack = Pack(key="Strips 1", name="Strips", lot="1", measures=("fac_mg_l",))
    assert isinstance(register(shed, pack, by="TK"), Saved)
    later = replace(pack, use_by=START.date() + timedelta(days=400))
    refused = register(shed, later, by="TK", pin=PIN)
    assert isinstance(refused, Refused)
    assert [one.field for one in refused.faults] == ["by"]
    assert isinstance(register(shed, METER, by="RM"), Refused)
    assert isinstance(register(shed, METER, by="RM", pin=PIN), Saved)
    assert isinstance(register(shed, later, by="RM", pin=PIN), Saved)


def test_saving_the_set_up_leaves_the_registers_alone(shed: Shed) -> None:
    register(shed, METER)
    shed.enter(SetupSaved(at=shed.now, by="BO", setup=shed.setup))
    assert registers(shed).things == (METER,)
