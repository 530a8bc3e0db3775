"""A shift goes to somebody who may lead it, who is read what is open and takes it over."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from tests.gui.entry.bench import Bench
from tests.shed import a_setup
from washmon.gui.kit.buttons import ChoiceRow
from washmon.line.events import BatchWashed, DoseAdded, HandedOver, HoldPlaced, TankFilled
from washmon.line.flags import Amount
from washmon.line.kinds import EntryKind
from washmon.line.setup import LineSetup, Person, Role


def a_shed(role: Role) -> LineSetup:
    setup = a_setup()
    return replace(setup, people=(*setup.people, Person(initials="JO", name="J. O.", role=role)))


@pytest.fixture
def bench(qtbot: QtBot, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Bench]:
    made = Bench(qtbot, tmp_path, a_shed(getattr(request, "param", Role.SUPERVISOR)))
    made.begin()
    made.tell(TankFilled(at=made.now, by="RM", tank=1, volume_l=500.0))
    yield made
    made.close()


def test_the_next_one_is_read_what_is_open_and_takes_it_over(bench: Bench) -> None:
    batch = bench.tell(BatchWashed(at=bench.now, by="RM", tanks=(1,), lot="L-1"))
    bench.tell(HoldPlaced(at=bench.now, by="RM", tank=1, batches=(batch.seq,), reason="a splinter"))
    bench.tell(
        DoseAdded(
            at=bench.now,
            by="RM",
            tank=1,
            product="bleach",
            amount=Amount(200.0, "mL"),
            as_entered="200 mL",
        )
    )
    bench.qtbot.waitUntil(
        lambda: any(one.plan.wait_until is not None for one in bench.snapshot.advice.tanks)
    )
    bench.open(EntryKind.HAND_OVER)
    said = bench.sheet.note.text()
    assert "On hold: Tank 1, one batch, 07:00 (a splinter)." in said
    assert "Waits for mixing: tank 1 until 07:0" in said
    row = bench.sheet.field("to").input
    assert isinstance(row, ChoiceRow)
    assert row._keys == ("JO",)  # TK is a line worker
    bench.sheet.field("to").put("JO")
    bench.sheet.save.click()
    assert bench.sheet.doubted
    asked = bench.sheet.message.words.text()
    assert asked.startswith("JO, you take this shift over. On hold: Tank 1")
    assert bench.sheet.anyway.label == "I take it over"
    bench.sheet.save.click()  # the resting finger goes back
    assert not bench.sheet.doubted
    assert bench.shift.in_charge == "RM"
    bench.sheet.save.click()
    with bench.saving():
        bench.sheet.anyway.click()
    over = bench.last(HandedOver)
    assert (over.to, over.confirmed) == ("JO", True)
    assert bench.shift.in_charge == "JO"


@pytest.mark.parametrize("bench", [Role.LINE_WORKER], indirect=True)
def test_a_line_worker_is_not_handed_the_shift_alone(bench: Bench) -> None:
    bench.open(EntryKind.HAND_OVER)
    assert "a line worker leads no shift alone" in bench.sheet.note.text()
    bench.sheet.save.click()
    assert bench.sheet.field("to").fault.text
    assert bench.shift.in_charge == "RM"
