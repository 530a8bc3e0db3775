"""Whole simulated shifts: a record that the real fold takes, with the truth beside it."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from tests.sessions.practice.pools import in_plain_loops
from tests.simulated.shift import CHAIN, Simulated, simulated_shift
from tests.some import some
from washmon.line.check import check
from washmon.line.events import AcidAdded, BatchWashed, DoseAdded, Method, ReadingTaken, ShiftEnded
from washmon.line.fold import begin, fold, step
from washmon.line.journal import encode, verify
from washmon.line.reading import PADS_MG_L
from washmon.line.validate import faults
from washmon.sessions.practice.parameters import Dirtiness, PracticeError, parameters
from washmon.sessions.practice.practice_setup import practice_setup

COMMODITIES = sorted(parameters().commodity)


@pytest.mark.parametrize("commodity", COMMODITIES)
@pytest.mark.parametrize("method", list(Method))
def test_a_shift_is_a_record_like_any_other(commodity: str, method: Method) -> None:
    shift = simulated_shift(11, commodity=commodity, method=method)
    rows = [(one.seq, one.recorded_at, encode(one.event), one.hash) for one in shift.entries]
    assert verify(CHAIN, rows) == len(shift.entries)
    state = begin(CHAIN, shift.entries[0])
    for entry in shift.entries[1:]:
        assert not check(state, entry.event, entry.recorded_at).faults
        state = step(state, entry)
    assert state == fold(CHAIN, shift.entries)
    assert isinstance(shift.entries[-1].event, ShiftEnded)
    assert state.tanks[0].batches > 20
    assert state.started.practice


@pytest.mark.parametrize("commodity", COMMODITIES)
def test_the_set_up_of_a_simulated_shift_has_no_faults(commodity: str) -> None:
    assert faults(practice_setup(commodity)) == []


def test_the_same_arguments_give_the_same_shift() -> None:
    assert simulated_shift(2, ahead=5) == simulated_shift(2, ahead=5)
    assert simulated_shift(2).entries != simulated_shift(3).entries


def test_strips_are_read_by_their_pads() -> None:
    readings = [
        entry.event.fac_mg_l
        for entry in simulated_shift(1, method=Method.STRIP).entries
        if isinstance(entry.event, ReadingTaken)
    ]
    assert set(readings) <= set(PADS_MG_L)
    assert len(set(readings)) > 1


def test_hypochlorite_and_acid_never_go_into_a_tank_in_one_step() -> None:
    for seed in range(8):
        shift = simulated_shift(seed, dirtiness=Dirtiness.DIRTY)
        mix = timedelta(minutes=shift.setup.tanks[0].mix_minutes)
        last: dict[int, DoseAdded | AcidAdded] = {}
        for entry in shift.entries:
            event = entry.event
            if isinstance(event, DoseAdded | AcidAdded):
                before = last.get(event.tank)
                if before is not None and type(before) is not type(event):
                    assert event.at - before.at >= mix
                last[event.tank] = event


def test_readings_lie_about_the_truth_of_their_time() -> None:
    shift = simulated_shift(5, tanks=1)
    ratios = []
    for entry in shift.entries:
        event = entry.event
        if isinstance(event, ReadingTaken) and event.fac_mg_l:
            near = min(shift.truth, key=lambda one: abs(shift.at(one.minutes) - event.at))
            ratios.append(event.fac_mg_l / near.level_mg_l)
    ratios.sort()
    assert 0.85 < ratios[len(ratios) // 2] < 1.15


def test_dirtier_produce_takes_more_hypochlorite() -> None:
    def doses(dirtiness: Dirtiness) -> int:
        shifts = [simulated_shift(seed, dirtiness=dirtiness) for seed in range(5)]
        return sum(isinstance(one.event, DoseAdded) for shift in shifts for one in shift.entries)

    assert doses(Dirtiness.CLEAN) < doses(Dirtiness.USUAL) < doses(Dirtiness.MUDDY)


def test_batches_ahead_are_those_that_come_to_pass_while_nobody_acts() -> None:
    seen = crossed = 0
    for seed in range(12):
        shift = simulated_shift(seed, ahead=40, tanks=1)
        limit = shift.setup.tanks[0].chlorine.low_mg_l
        levels = {one.seq: one.free_mg_l for one in shift.batches}
        for ahead in shift.ahead:
            low = 40.0 if ahead.low_batches is None else ahead.low_batches
            assert (low == 0.0) == (ahead.free_mg_l < limit)
            assert low <= (41.0 if ahead.critical_batches is None else ahead.critical_batches)
            for number, level in enumerate(untouched(shift, ahead.seq, levels)[1:], start=1):
                seen += 1
                assert (level >= limit) == (number <= low)
                if level < limit:
                    crossed += 1
                    break
    assert seen > 50
    assert crossed > 3


def untouched(shift: Simulated, seq: int, levels: dict[int, float]) -> list[float]:
    """Return what batches met after an entry, up to the first addition or new water."""
    found = []
    for entry in shift.entries[seq + 1 :]:
        if isinstance(entry.event, BatchWashed):
            found.append(levels[entry.seq])
        else:
            break
    return found


@pytest.mark.benchmark_ratio
def test_ten_shifts_take_as_long_as_some_plain_loops() -> None:
    def ten() -> None:
        for seed in range(10):
            simulated_shift(seed, method=Method.STRIP if seed % 2 else Method.KIT)

    assert in_plain_loops(ten) < 60


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: simulated_shift(1, commodity="coal"), "no practice line for coal"),
        (lambda: simulated_shift(1, tanks=0), "no practice line"),
        (lambda: simulated_shift(1, hours=0.0), "up to 24 hours"),
        (lambda: simulated_shift(1, hours=float("nan")), "up to 24 hours"),
    ],
)
def test_an_impossible_shift_is_refused(make: Callable[[], Simulated], words: str) -> None:
    with pytest.raises(PracticeError, match=words):
        make()


def test_levels_of_a_shift_stay_plausible() -> None:
    def extremes(shift: Simulated) -> tuple[float, float]:
        return min(t.level_mg_l for t in shift.truth), max(t.level_mg_l for t in shift.truth)

    for commodity in COMMODITIES:
        shift = simulated_shift(13, commodity=commodity)
        low, high = extremes(shift)
        assert low >= 0.0
        assert high < shift.setup.tanks[0].chlorine.label_max_mg_l * 1.2
        assert all(6.0 < one.ph < 9.5 for one in some(shift.truth))
