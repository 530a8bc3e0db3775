"""What a shift began with stands in its own journal, so a replay begins with it, too."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.recorder.recorder_bench import LONG, Bench
from tests.shed import a_setup
from washmon.forecast.learning import learned_from
from washmon.forecast.shift import forecast_shift
from washmon.line.events import (
    BatchWashed,
    DoseAdded,
    Event,
    Method,
    ReadingTaken,
    ShiftEnded,
    TankFilled,
)
from washmon.line.flags import Amount
from washmon.line.fold import fold
from washmon.line.learned import UsualLearned
from washmon.line.setup import LineSetup
from washmon.line.state import ShiftState
from washmon.sessions.file import compose, parse
from washmon.sessions.player import Player
from washmon.store.store import Store


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    bench = Bench(tmp_path / "shed.db")
    yield bench
    bench.recorder.close()


def wash(bench: Bench, levels: tuple[float, ...], by: str = "RM") -> None:
    """Fill, dose, and wash four batches before each reading."""
    acts: list[Event] = [
        TankFilled(at=bench.now, by=by, tank=1, volume_l=500),
        DoseAdded(at=bench.now, by=by, tank=1, product="bleach", amount=Amount(240, "mL")),
    ]
    for act in acts:
        bench.enter(act, sure=True)
    for level in levels:
        bench.now += timedelta(minutes=8)
        strip = ReadingTaken(
            at=bench.now, by=by, tank=1, fac_mg_l=level, fac_method=Method.STRIP, ph=7.0
        )
        bench.enter(strip, sure=True)
        for _ in range(4):
            bench.now += timedelta(minutes=4)
            batch = BatchWashed(at=bench.now, by=by, tanks=(1,), lot="L-1", weight_kg=12.0)
            bench.enter(batch, sure=True)


def a_past_day(bench: Bench) -> None:
    bench.start_shift()
    wash(bench, (50.0, 25.0, 10.0, 0.0))
    bench.enter(ShiftEnded(at=bench.now, by="RM"), sure=True)
    bench.now += timedelta(hours=12)


def taught(bench: Bench) -> ShiftState:
    """Wait until what was learned stands in the journal."""
    while True:
        shift = bench.latest().shift
        if shift is not None and shift.learned:
            return shift
        bench.snapshots.get(timeout=LONG)


def kept(store: Store, chain: str) -> list[UsualLearned]:
    return [one.event for one in store.entries(chain) if isinstance(one.event, UsualLearned)]


def test_a_session_file_alone_replays_what_the_live_shift_began_with(bench: Bench) -> None:
    """Seed for seed: estimates, look ahead and chances are the same numbers."""
    a_past_day(bench)
    past = [(row.chain, bench.store.entries(row.chain)) for row in bench.store.shifts()]
    chain = bench.start_shift()
    taught(bench)
    wash(bench, (50.0, 25.0))
    live = bench.latest()
    while 1 not in live.forecasts or live.forecasts[1].at != bench.now:
        live = bench.snapshots.get(timeout=LONG)
    session = parse(compose(chain, bench.store.rows(chain), "A day"), "shift.washshift")
    again = fold(chain, session.entries)
    assert live.forecasts[1] == forecast_shift(again, bench.now)[1]
    older = [one for one in session.entries if not isinstance(one.event, UsualLearned)]
    unkept = fold(chain, older)
    assert live.forecasts[1] == forecast_shift(unkept, bench.now, priors=learned_from(past))[1]
    assert live.forecasts[1] != forecast_shift(unkept, bench.now)[1]  # as an older file replays
    player = Player(session)
    player.seek(1.0)
    assert player.snapshot.forecasts[1] == live.forecasts[1]


def test_what_was_learned_is_kept_once_and_taken_up_again(bench: Bench) -> None:
    a_past_day(bench)
    chain = bench.start_shift()
    wash(bench, (50.0,))
    before = taught(bench)
    bench.reopen()
    bench.now += timedelta(minutes=4)
    wash(bench, (50.0,))
    again = taught(bench)
    assert again.learned == before.learned
    (event,) = kept(bench.store, chain)
    assert event.shifts == (bench.store.shifts()[1].chain,)
    assert {row.partition(" ")[0] for row in event.taught[0].rows[8:]} == {
        "person",
        "lot",
        "produce",
    }
    assert bench.store.verify() == []


@pytest.mark.parametrize("since", [None, date(2030, 1, 1)])
def test_the_first_shift_and_one_that_may_learn_nothing_keep_nothing(
    bench: Bench, since: date | None
) -> None:
    if since is not None:
        a_past_day(bench)
    setup: LineSetup = replace(a_setup(), learned_since=since)
    chain = bench.start_shift(setup)
    wash(bench, (50.0,))
    snapshot = bench.snapshots.get(timeout=LONG)
    while 1 not in snapshot.forecasts or snapshot.shift is None or snapshot.shift.chain != chain:
        snapshot = bench.snapshots.get(timeout=LONG)
    assert kept(bench.store, chain) == []
