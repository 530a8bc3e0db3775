"""The recorder, without a window: saved first, judged second."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from queue import SimpleQueue
from typing import Any

import pytest
from msgspec.structs import replace

from tests.recorder.recorder_bench import LONG, Bench
from tests.shed import START, a_setup
from washmon.forecast.prior import Prior
from washmon.line.events import (
    BatchWashed,
    Corrected,
    Decision,
    Event,
    HoldPlaced,
    HoldReleased,
    Instrument,
    InstrumentChecked,
    Method,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
)
from washmon.line.fold import fold
from washmon.line.journal import SITE, Entry
from washmon.line.message import say
from washmon.line.setup import Lot
from washmon.line.site_events import SetupSaved
from washmon.line.state import ShiftState
from washmon.planning import advice as advice_module
from washmon.planning.advice import Advice
from washmon.planning.snapshot import Mode, Snapshot
from washmon.recorder import Doubtful, Failed, Recorder, Refused, Saved
from washmon.recorder.past import past_shifts
from washmon.recorder.summaries import differing_summaries
from washmon.recorder.troubles import REMARKED
from washmon.store.errors import DiskFull
from washmon.store.store import Store
from washmon.units import UnitSystem


def test_an_entry_is_on_the_disk_when_it_is_answered_as_saved(bench: Bench) -> None:
    chain = bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    answer = bench.read(50)
    assert isinstance(answer, Saved)
    with Store.open(bench.path, read_only=True) as other:
        assert other.entries(chain)[answer.entry.seq] == answer.entry
        assert other.verify() == []


def test_flags_are_journaled_after_the_entry_that_raised_them(bench: Bench) -> None:
    chain = bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    answer = bench.read(30)
    assert isinstance(answer, Saved)
    snapshot = bench.latest()
    assert snapshot.shift is not None
    assert [record.flag.rule for record in snapshot.shift.open_flags] == ["chlorine-low"]
    assert snapshot.shift.looked_upto == answer.entry.seq
    assert snapshot.shift == fold(chain, bench.store.entries(chain))


def test_a_shift_is_taken_up_where_it_was_left(bench: Bench) -> None:
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    bench.read(48)
    before = bench.latest().shift
    bench.reopen()
    assert bench.latest().shift == before


def test_what_the_rules_missed_in_a_crash_is_caught_up_at_the_next_start(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))

    def dies(*_: object) -> None:
        raise RuntimeError("the engine fell over")

    with monkeypatch.context() as broken:
        broken.setattr("washmon.recorder.recorder.advise", dies)
        answer = bench.read(30)
    assert isinstance(answer, Saved)
    bench.reopen()
    shift = bench.latest().shift
    assert shift is not None
    assert shift.tanks[0].fills[0].readings[-1].event.fac_mg_l == 30
    assert [record.flag.rule for record in shift.open_flags] == ["chlorine-low"]


def test_an_unlikely_number_is_asked_about_once_then_kept_with_its_doubt(bench: Bench) -> None:
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    reading = ReadingTaken(at=bench.now, by="RM", tank=1, ph=4.0)
    answer = bench.enter(reading)
    assert isinstance(answer, Doubtful)
    answer = bench.enter(reading, sure=True)
    assert isinstance(answer, Saved)
    assert isinstance(answer.entry.event, ReadingTaken)
    assert "unusual" in answer.entry.event.doubts[0]


def test_nonsense_is_refused_and_nothing_is_written(bench: Bench) -> None:
    chain = bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    before = len(bench.store.entries(chain))
    answer = bench.enter(ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=5000.0))
    assert isinstance(answer, Refused)
    assert answer.faults[0].field == "fac_mg_l"
    assert len(bench.store.entries(chain)) == before


def test_a_full_disk_is_told_and_the_next_entry_goes_through(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))

    def full(*_: object) -> None:
        raise DiskFull("The disk is full: free some space, then enter it again.")

    with monkeypatch.context() as broken:
        broken.setattr(bench.store, "append", full)
        answer = bench.read(48)
        assert isinstance(answer, Failed)
        assert bench.latest().trouble is not None
    assert isinstance(bench.read(48), Saved)
    assert bench.latest().trouble is None


def test_a_shift_needs_a_valid_set_up_and_ends_before_the_next(bench: Bench) -> None:
    bad = a_setup(people=())
    answer = bench.enter(
        ShiftStarted(at=bench.now, by="RM", setup=bad, lots=(Lot(code="L", produce="x"),))
    )
    assert isinstance(answer, Refused)
    bench.start_shift()
    again = bench.enter(
        ShiftStarted(at=bench.now, by="RM", setup=a_setup(), lots=(Lot(code="L", produce="x"),))
    )
    assert isinstance(again, Refused)


def test_an_ended_shift_has_its_summary_and_names_the_one_before(bench: Bench) -> None:
    first = bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    bench.now += timedelta(hours=1)
    assert isinstance(bench.enter(ShiftEnded(at=bench.now, by="RM")), Saved)
    assert bench.store.shifts_without_summary() == []
    bench.now += timedelta(hours=1)
    second = bench.start_shift()
    started = bench.store.entries(second)[0].event
    assert isinstance(started, ShiftStarted)
    assert started.after == (first, bench.store.head(first))


def test_a_shift_whose_batches_in_question_are_not_on_hold_ends_only_after_asking(
    bench: Bench,
) -> None:
    chain = bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    bench.read(50)
    for _ in range(2):
        bench.now += timedelta(minutes=2)
        bench.enter(BatchWashed(at=bench.now, by="RM", tanks=(1,), lot="L-1"))
    bench.now += timedelta(minutes=2)
    bench.read(5)
    end = ShiftEnded(at=bench.now, by="RM")
    asked = bench.enter(end)
    assert isinstance(asked, Doubtful)
    said = "2 batches are in question and not on hold: hold them first."
    assert [say(doubt, UnitSystem.METRIC) for doubt in asked.doubts] == [said]
    bench.enter(end, sure=True)
    (ended,) = (one.event for one in bench.store.entries(chain) if type(one.event) is ShiftEnded)
    assert ended.doubts == (said,)


def test_a_hold_can_be_decided_after_its_shift_has_ended(bench: Bench) -> None:
    chain = bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    bench.read(50)
    batch = bench.enter(BatchWashed(at=bench.now, by="RM", tanks=(1,), lot="L-1"))
    assert isinstance(batch, Saved)
    hold = bench.enter(
        HoldPlaced(at=bench.now, by="RM", tank=1, batches=(batch.entry.seq,), reason="in doubt")
    )
    assert isinstance(hold, Saved)
    assert isinstance(bench.enter(ShiftEnded(at=bench.now, by="RM", holds_to="TK")), Saved)
    bench.start_shift()
    answer = bench.enter(
        HoldReleased(
            at=bench.now,
            by="RM",
            hold=hold.entry.seq,
            decision=Decision.DISCARD,
            reason="the batch of lot L-1 was thrown away",
            found="read at 50 ppm, in doubt all the same",
            water="checked, and used no more",
            prevention="checked more often",
        ),
        chain=chain,
    )
    assert isinstance(answer, Saved)
    assert fold(chain, bench.store.entries(chain)).open_holds == ()
    assert bench.store.shifts_without_summary() == []


def test_a_correction_changes_the_state_and_keeps_the_entry(bench: Bench) -> None:
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    wrong = bench.read(30)
    assert isinstance(wrong, Saved)
    assert isinstance(wrong.entry.event, ReadingTaken)
    right = ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=50, fac_method=Method.KIT)
    answer = bench.enter(
        Corrected(at=bench.now, by="RM", entry=wrong.entry.seq, reason="misread", instead=right)
    )
    assert isinstance(answer, Saved)
    shift = bench.latest().shift
    assert shift is not None
    assert shift.open_flags == ()
    assert shift.tanks[0].fills[0].readings[0].event.fac_mg_l == 50
    assert wrong.entry in shift.entries


def test_a_second_program_can_only_look_and_sees_what_comes(bench: Bench) -> None:
    bench.start_shift()
    seen: SimpleQueue[Snapshot] = SimpleQueue()
    looker = Recorder(
        Store.open(bench.path, read_only=True), seen.put, clock=bench.clock, tick_s=3600
    )
    looker.start()
    assert seen.get(timeout=LONG).mode is Mode.READ_ONLY
    answer = looker.enter(NoteWritten(at=bench.now, by="RM", text="hello")).result(LONG)
    assert isinstance(answer, Failed)
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    while not seen.empty():
        seen.get()
    looker.look_again().result(LONG)
    shift = seen.get(timeout=LONG).shift
    assert shift is not None
    assert len(shift.tanks[0].fills) == 1
    looker.close()


def test_a_set_up_is_journaled_and_the_newest_is_offered(bench: Bench) -> None:
    for line in ("Leaf line", "Root line"):
        setup = a_setup(line=line)
        assert isinstance(bench.enter(SetupSaved(at=bench.now, by="RM", setup=setup)), Saved)
    newest = bench.latest().setup
    assert newest is not None
    assert newest.line == "Root line"


def test_rules_are_asked_only_after_the_commit(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    chain = bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    seen: list[int] = []
    real = advice_module.advise

    def spying(shift: ShiftState, now: datetime, **more: Any) -> Advice:
        with Store.open(bench.path, read_only=True) as other:
            seen.append(len(other.entries(chain)))
        return real(shift, now, **more)

    monkeypatch.setattr("washmon.recorder.recorder.advise", spying)
    answer = bench.read(48)
    assert isinstance(answer, Saved)
    assert seen[0] > answer.entry.seq


def test_the_forecast_follows_the_entry_and_takes_no_part_in_its_answer(bench: Bench) -> None:
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    bench.read(48)
    snapshot = bench.snapshots.get(timeout=LONG)
    while 1 not in snapshot.forecasts:
        snapshot = bench.snapshots.get(timeout=LONG)
    assert snapshot.shift is not None
    assert snapshot.shift.tank(1).fill is not None
    ahead = snapshot.forecasts[1]
    assert ahead.level.low < 48 < ahead.level.high


def test_the_forecast_begins_once_the_entry_is_drawn(tmp_path: Path) -> None:
    snapshots: SimpleQueue[Snapshot] = SimpleQueue()
    store = Store.open(tmp_path / "drawn.db")
    recorder = Recorder(store, snapshots.put, clock=lambda: START, tick_s=3600, ahead_s=3600)
    recorder.start()
    lots = (Lot(code="L-1", produce="chard"),)
    events: list[Event] = [ShiftStarted(at=START, by="RM", setup=a_setup(), lots=lots)]
    events += [TankFilled(at=START, by="RM", tank=tank, volume_l=500) for tank in (1, 2)]
    for event in events:
        assert isinstance(recorder.enter(event).result(LONG), Saved)
    assert not any(snapshots.get_nowait().forecasts for _ in range(snapshots.qsize()))
    recorder.note_drawn()
    while not (snapshot := snapshots.get(timeout=LONG)).forecasts:
        pass
    assert set(snapshot.forecasts) == {1, 2}
    recorder.close()


def test_a_fault_in_the_forecast_is_told_and_loses_no_entry(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ArithmeticError("no forecast today")

    monkeypatch.setattr("washmon.forecast.forecast_cache.ForecastCache.renew", fails)
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    assert isinstance(bench.read(20), Saved)
    snapshot = bench.snapshots.get(timeout=LONG)
    while snapshot.trouble is None:
        snapshot = bench.snapshots.get(timeout=LONG)
    assert "no forecast today" in str(snapshot.trouble.values)
    assert {flag.rule for flag in snapshot.advice.flags} >= {"chlorine-critical"}
    assert isinstance(bench.read(21), Saved)


def test_past_shifts_of_the_line_say_what_is_usual_of_its_produce(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[int] = []

    def learned(shifts: list[ShiftState]) -> dict[int, Prior]:
        told.append(len(shifts))
        return {}

    monkeypatch.setattr("washmon.forecast.learning.prior_from", learned)
    bench.start_shift()
    bench.now += timedelta(minutes=5)
    bench.enter(ShiftEnded(at=bench.now, by="RM"))
    bench.now += timedelta(minutes=5)
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    snapshot = bench.snapshots.get(timeout=LONG)
    while 1 not in snapshot.forecasts:
        snapshot = bench.snapshots.get(timeout=LONG)
    assert told[-1] == 1


def test_past_shifts_are_those_before_the_oldest_first_and_no_practice(bench: Bench) -> None:
    begun = []
    for practice in (False, True, False, False):
        lots = (Lot(code="L-1", produce="chard"),)
        start = ShiftStarted(at=bench.now, by="RM", setup=a_setup(), lots=lots, practice=practice)
        saved = bench.enter(start)
        assert isinstance(saved, Saved)
        begun.append((saved.chain, start))
        bench.now += timedelta(minutes=5)
        bench.enter(ShiftEnded(at=bench.now, by="RM"))
        bench.now += timedelta(minutes=5)
    found = past_shifts(bench.store, *begun[2])
    assert [chain for chain, _ in found] == [begun[0][0]]
    found = past_shifts(bench.store, *begun[3])
    assert [chain for chain, _ in found] == [begun[0][0], begun[2][0]]


def test_past_shifts_that_tell_nothing_are_told_of_once_and_the_forecast_goes_on(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> ShiftState:
        raise ArithmeticError("a torn page")

    bench.start_shift()
    bench.now += timedelta(minutes=5)
    bench.enter(ShiftEnded(at=bench.now, by="RM"))
    bench.now += timedelta(minutes=5)
    monkeypatch.setattr("washmon.forecast.learning.fold", fails)
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    snapshot, told = bench.snapshots.get(timeout=LONG), []
    while 1 not in snapshot.forecasts:
        snapshot = bench.snapshots.get(timeout=LONG)
        told += [snapshot.trouble] if snapshot.trouble else []
    assert "a torn page" in str(told[0].values)
    assert "what is usual" in told[0].text
    assert len(set(map(str, told))) == 1
    bench.now += REMARKED
    bench.read(48)
    assert bench.latest().trouble is None


def test_a_reading_window_sees_the_end_of_the_shift(bench: Bench) -> None:
    bench.start_shift()
    seen: SimpleQueue[Snapshot] = SimpleQueue()
    looker = Recorder(
        Store.open(bench.path, read_only=True), seen.put, clock=bench.clock, tick_s=3600
    )
    looker.start()
    seen.get(timeout=LONG)
    assert isinstance(bench.enter(ShiftEnded(at=bench.now, by="RM")), Saved)
    looker.look_again().result(LONG)
    shift = seen.get(timeout=LONG).shift
    while not seen.empty():
        shift = seen.get().shift
    assert shift is not None
    assert shift.ended is not None
    looker.close()


def test_an_entry_that_another_program_made_is_seen_with_the_next_one(bench: Bench) -> None:
    chain = bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    other = ReadingTaken(at=bench.now, by="TK", tank=1, fac_mg_l=12, fac_method=Method.KIT, ph=7.0)
    bench.recorder.read(lambda store: store.append(chain, [other], bench.now)).result(LONG)
    assert isinstance(bench.enter(NoteWritten(at=bench.now, by="RM", text="hello")), Saved)
    shift = bench.latest().shift
    assert shift is not None
    assert shift.tanks[0].fills[0].readings[0].event.fac_mg_l == 12
    assert "chlorine-critical" in {record.flag.rule for record in shift.open_flags}


def test_an_entry_stays_saved_when_folding_it_fails(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    chain = bench.start_shift()

    def dies(*_: object) -> None:
        raise RuntimeError("the fold fell over")

    with monkeypatch.context() as broken:
        broken.setattr("washmon.recorder.recorder.step", dies)
        answer = bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    assert isinstance(answer, Saved)
    assert answer.entry in bench.store.entries(chain)


def test_a_shift_does_not_start_in_the_future(bench: Bench) -> None:
    lots = (Lot(code="L-1", produce="chard"),)
    start = ShiftStarted(at=bench.now + timedelta(days=400), by="RM", setup=a_setup(), lots=lots)
    assert isinstance(bench.enter(start), Refused)


def test_nothing_waits_for_a_recorder_that_is_closed(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "shed.db")
    bench.recorder.close()
    with pytest.raises(RuntimeError, match="closed"):
        bench.recorder.read(lambda store: store.path).result(LONG)


def test_a_doubt_about_a_correction_is_kept_with_what_it_says(bench: Bench) -> None:
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    wrong = bench.read(50)
    assert isinstance(wrong, Saved)
    right = ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=50, fac_method=Method.KIT, ph=4.0)
    correction = Corrected(
        at=bench.now, by="RM", entry=wrong.entry.seq, reason="misread", instead=right
    )
    assert isinstance(bench.enter(correction), Doubtful)
    answer = bench.enter(correction, sure=True)
    assert isinstance(answer, Saved)
    assert isinstance(answer.entry.event, Corrected)
    assert isinstance(answer.entry.event.instead, ReadingTaken)
    assert answer.entry.event.instead.doubts


def test_a_check_of_the_meter_is_remembered_in_the_set_up_of_the_next_shift(bench: Bench) -> None:
    bench.enter(SetupSaved(at=bench.now, by="RM", setup=a_setup()))
    bench.start_shift(a_setup())
    bench.enter(NoteWritten(at=bench.now, by="RM", text="all well"))
    before = len(bench.store.entries(SITE))
    check = InstrumentChecked(
        at=bench.now, by="TK", instrument=Instrument.PH_METER, standard=7.0, found=7.0
    )
    assert isinstance(bench.enter(check), Saved)
    (added,) = bench.store.entries(SITE)[before:]
    assert isinstance(added.event, SetupSaved)
    assert (added.event.by, added.event.setup.meter_checked_on) == ("TK", START.date())
    latest = bench.latest()
    assert latest.setup == added.event.setup
    assert isinstance(bench.enter(check), Saved)
    assert len(bench.store.entries(SITE)) == before + 1  # that told nothing new


def test_an_instrument_left_unfit_is_remembered_until_a_check_that_it_passes(bench: Bench) -> None:
    def left() -> list[str]:
        setup = bench.latest().setup
        assert setup is not None
        return [one.instrument for one in setup.instruments_unfit]

    bench.enter(SetupSaved(at=bench.now, by="RM", setup=a_setup()))
    bench.start_shift(a_setup())
    failed = InstrumentChecked(
        at=bench.now, by="TK", instrument=Instrument.PH_METER, standard=7.0, found=8.0, fit=False
    )
    bench.enter(failed)
    assert left() == ["pH meter"]
    bench.enter(ShiftEnded(at=bench.now, by="RM"), sure=True)
    setup = bench.latest().setup
    bench.now += timedelta(days=1)
    bench.start_shift(setup)
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    told = bench.latest().advice.tank(1)
    assert "instrument-unfit" in [flag.rule for flag in (*told.flags, *told.notes)]
    passed = replace(failed, at=bench.now, found=7.0, fit=True)
    assert isinstance(bench.enter(passed), Saved)
    assert left() == []
    told = bench.latest().advice.tank(1)
    assert "instrument-unfit" not in [flag.rule for flag in (*told.flags, *told.notes)]


def test_what_another_writer_saved_of_the_set_up_is_kept_when_a_check_is_remembered(
    bench: Bench,
) -> None:
    bench.enter(SetupSaved(at=bench.now, by="RM", setup=a_setup()))
    bench.start_shift(a_setup())
    theirs = a_setup(location="Bay 3", meter_check_days=14)
    other = a_setup(line="Root line")
    saved = [SetupSaved(at=bench.now, by="RM", setup=one) for one in (theirs, other)]
    bench.recorder.read(lambda store: store.append(SITE, saved, bench.now)).result(LONG)
    check = InstrumentChecked(
        at=bench.now, by="TK", instrument=Instrument.PH_METER, standard=7.0, found=7.0
    )
    assert isinstance(bench.enter(check), Saved)
    added = bench.store.entries(SITE)[-1].event
    assert isinstance(added, SetupSaved)
    assert added.setup == replace(theirs, meter_checked_on=START.date())
    assert bench.latest().setup == added.setup


def test_a_check_that_the_next_shift_cannot_be_told_of_is_judged_and_shown_all_the_same(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    append = bench.store.append

    def refuses(chain: str, events: Sequence[Event], at: datetime) -> tuple[Entry, ...]:
        if chain == SITE:
            raise DiskFull("The disk is full.")
        return append(chain, events, at)

    bench.enter(SetupSaved(at=bench.now, by="RM", setup=a_setup()))
    bench.start_shift(a_setup())
    bench.latest()
    monkeypatch.setattr(bench.store, "append", refuses)
    check = InstrumentChecked(
        at=bench.now, by="TK", instrument=Instrument.PH_METER, standard=7.0, found=7.0
    )
    assert isinstance(bench.enter(check), Saved)
    shown = bench.snapshots.get(timeout=LONG)
    assert shown.shift is not None
    assert [one for _, one in shown.shift.verified] == [check]
    assert shown.trouble is not None
    assert say(shown.trouble, UnitSystem.METRIC) == "The disk is full."


def test_the_summary_of_a_shift_that_ends_with_flags_up_agrees_with_its_journal(
    bench: Bench,
) -> None:
    bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    bench.read(30)
    assert [flag.rule for flag in bench.latest().advice.flags] == ["chlorine-low"]
    bench.enter(ShiftEnded(at=bench.now, by="RM"))
    shift = bench.latest().shift
    assert shift is not None
    (record,) = shift.closed_flags
    assert record.flag.rule == "chlorine-low"  # cleared by the end
    assert bench.recorder.read(lambda store: [*differing_summaries(store)]).result(LONG) == []


def test_a_database_that_is_taken_away_is_told_at_the_next_tick_and_entries_go_on(
    bench: Bench,
) -> None:
    chain = bench.start_shift()
    bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500))
    assert bench.latest().trouble is None
    bench.path.unlink()
    trouble = bench.latest().trouble
    assert trouble is not None
    assert "shed.db is no longer in its place" in say(trouble, UnitSystem.METRIC)
    answer = bench.read(50)
    assert isinstance(answer, Saved)
    assert bench.latest().trouble is not None
    bench.reopen()
    assert answer.entry in bench.store.entries(chain)
    assert bench.latest().trouble is None


def test_chance_that_repeats_itself_begins_no_shift_on_anothers_chain(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    chances = iter(("0000000000", "0000000000", "1111111111"))
    monkeypatch.setattr("washmon.recorder.starting.secrets.token_hex", lambda _: next(chances))
    first = bench.start_shift()
    bench.enter(ShiftEnded(at=START, by="RM"), sure=True)
    second = bench.start_shift()  # in the same microsecond, as after a clock was set back
    assert (first[-16:], second[-16:]) == ("-line-0000000000", "-line-1111111111")
    assert bench.recorder.read(lambda store: store.verify()).result(LONG) == []
