"""A hold is stamped with its chances as it is taken in, and placed whatever comes of that."""

import pytest
from msgspec.structs import replace

from tests.recorder.recorder_bench import LONG, Bench
from washmon.line.events import BatchWashed, Corrected, Event, HoldPlaced, Limit, TankFilled
from washmon.recorder import Refused, Saved


def bad_check(bench: Bench) -> tuple[str, tuple[int, ...]]:
    """Wash six batches between a good check and a bad one; the forecast has heard of all."""
    chain = bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    bench.read(50)
    seqs = []
    for _ in range(6):
        answer = bench.enter(BatchWashed(at=bench.now, by="RM", tanks=(1,), lot="L-1"))
        assert isinstance(answer, Saved)
        seqs.append(answer.entry.seq)
    bench.read(12)
    return chain, tuple(seqs)


def stored(bench: Bench, event: Event, chain: str | None = None) -> Event:
    answer = bench.enter(event, sure=True, chain=chain)
    assert isinstance(answer, Saved)
    return answer.entry.event


def hold(bench: Bench, seqs: tuple[int, ...]) -> HoldPlaced:
    return HoldPlaced(at=bench.now, by="RM", tank=1, batches=seqs, reason="too low")


def looked_ahead(bench: Bench) -> None:
    snapshot = bench.snapshots.get(timeout=LONG)
    while 1 not in snapshot.forecasts or snapshot.forecasts[1].readings < 2:
        snapshot = bench.snapshots.get(timeout=LONG)


def test_a_hold_is_stored_with_what_the_forecast_tells_of_each_batch(bench: Bench) -> None:
    _, seqs = bad_check(bench)
    looked_ahead(bench)
    told = stored(bench, replace(hold(bench, seqs), chances=(0.5,) * 6, failed=(Limit.PH,)))
    assert isinstance(told, HoldPlaced)
    below = bench.latest().forecasts[1].below
    assert told.chances == tuple(round(below[seq], 3) for seq in seqs)
    assert told.chances != (0.5,) * 6
    assert told.failed == (Limit.LOW,)


def test_chances_that_do_not_fit_are_refused_before_anything_is_stamped(bench: Bench) -> None:
    _, seqs = bad_check(bench)
    answer = bench.enter(replace(hold(bench, seqs), chances=(0.5,)))
    assert isinstance(answer, Refused)
    assert [fault.field for fault in answer.faults] == ["chances"]


def test_a_correction_of_a_hold_keeps_the_chances_it_was_placed_with(bench: Bench) -> None:
    _, seqs = bad_check(bench)
    looked_ahead(bench)
    placed = bench.enter(hold(bench, seqs[:4]))
    assert isinstance(placed, Saved)
    assert isinstance(placed.entry.event, HoldPlaced)
    bench.read(11)
    fix = Corrected(
        at=bench.now,
        by="RM",
        entry=placed.entry.seq,
        reason="two more",
        instead=hold(bench, seqs),
    )
    fixed = stored(bench, fix)
    assert isinstance(fixed, Corrected)
    assert isinstance(fixed.instead, HoldPlaced)
    assert fixed.instead.chances[:4] == placed.entry.event.chances
    assert len(fixed.instead.chances) == 6


def test_where_the_forecast_fails_the_bridge_tells(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ArithmeticError("no forecast today")

    monkeypatch.setattr("washmon.forecast.forecast_cache.ForecastCache.renew", fails)
    _, seqs = bad_check(bench)
    told = stored(bench, hold(bench, seqs))
    assert isinstance(told, HoldPlaced)
    chances = [chance for chance in told.chances if chance is not None]
    assert len(chances) == 6
    assert chances == sorted(chances)


def test_a_fault_in_the_estimate_is_told_and_the_hold_is_placed_without(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ArithmeticError("no estimate today")

    monkeypatch.setattr("washmon.recorder.stamping.estimated", fails)
    _, seqs = bad_check(bench)
    told = stored(bench, replace(hold(bench, seqs), chances=(0.5,) * 6))
    assert told == hold(bench, seqs)
    trouble = bench.latest().trouble
    assert trouble is not None
    assert "no estimate today" in str(trouble.values)


def test_a_hold_right_after_the_program_began_is_stamped_by_its_readings(bench: Bench) -> None:
    chain, seqs = bad_check(bench)
    bench.reopen()
    told = stored(bench, hold(bench, seqs), chain)
    assert isinstance(told, HoldPlaced)
    assert len(told.chances) == 6
