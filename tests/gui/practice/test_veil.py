"""What is kept from a trainee."""

import pytest

from tests.gui.board.scenes import a_troubled_shed
from tests.some import some
from washmon.line.flags import Condition
from washmon.planning.advice import advise
from washmon.planning.snapshot import Snapshot
from washmon.sessions.practice.veil import Showing, veiled


@pytest.fixture
def snapshot() -> Snapshot:
    shed = a_troubled_shed()
    shift = shed.shift
    return Snapshot(now=shed.now, setup=shift.setup, shift=shift, advice=advise(shift, shed.now))


def test_all_is_shown_where_advice_is_on(snapshot: Snapshot) -> None:
    assert veiled(snapshot, Showing.ON) is snapshot


def test_nothing_of_flags_steps_and_forecasts_is_shown_where_it_is_off(snapshot: Snapshot) -> None:
    seen = veiled(snapshot, Showing.OFF)
    assert snapshot.advice.flags
    assert seen.advice.flags == ()
    assert seen.forecasts == {}
    assert {tank.condition for tank in seen.advice.tanks} == {Condition.UNKNOWN}
    assert all(tank.step.amount is None for tank in some(seen.advice.tanks))
    assert seen.shift is snapshot.shift
