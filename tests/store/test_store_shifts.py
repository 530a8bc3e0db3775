from datetime import timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.store.conftest import Sql
from tests.store.shed import (
    batch,
    ended,
    line_setup,
    minutes,
    note,
    run_shift,
    started,
)
from washmon.line.events import (
    BatchWashed,
    ClockChanged,
    Corrected,
    Decision,
    Event,
    HoldPlaced,
    HoldReleased,
    NoteWritten,
)
from washmon.line.fold import fold
from washmon.line.journal import SITE, extend
from washmon.line.site_events import SetupSaved
from washmon.store import Store, StoreBug, SummaryRows
from washmon.store.projecting import Projections
from washmon.store.shift import ShiftFold


@pytest.fixture
def store(where: str) -> Store:
    return Store.open(where)


def hold(at: float) -> HoldPlaced:
    return HoldPlaced(at=minutes(at), by="RM", tank=1, batches=(1,), reason="low chlorine")


def release(at: float, place: int) -> HoldReleased:
    return HoldReleased(
        at=minutes(at), by="RM", hold=place, decision=Decision.WASH_AGAIN, reason="washed again"
    )


def correction(at: float, place: int, instead: BatchWashed | HoldPlaced | None) -> Corrected:
    return Corrected(at=minutes(at), by="RM", entry=place, reason="typed wrong", instead=instead)


def test_the_list_tells_a_running_shift_in_one_line(store: Store) -> None:
    with store:
        *_, last = store.append("a", [started(), batch(1), hold(2)], minutes(2))
        (row,) = store.shifts()
        assert (row.chain, row.site, row.line) == ("a", "Quiet Hollow", "Leaf line")
        assert (row.commodity, row.supervisor, row.lots) == ("baby chard", "RM", "LB-0507-3")
        assert (row.started_at, row.ended_at) == (minutes(0), None)
        assert (row.open_holds, row.entries, row.head) == (1, 3, last.hash)
        assert (row.practice, row.after) == (False, None)


def test_the_list_follows_each_entry_also_after_a_restart(where: str) -> None:
    with Store.open(where) as store:
        store.append("a", [started(), batch(1), hold(2)], minutes(2))
    with Store.open(where) as store:
        store.append("a", [release(5, 2), batch(6, "LB-0507-9"), ended(9)], minutes(9))
        (row,) = store.shifts()
        assert (row.open_holds, row.entries, row.ended_at) == (0, 6, minutes(9))
        assert row.lots == "LB-0507-3, LB-0507-9"


def test_a_corrected_lot_and_a_withdrawn_hold_leave_the_list(store: Store) -> None:
    with store:
        store.append("a", [started(), batch(1, "TYPO"), hold(2)], minutes(2))
        store.append("a", [correction(3, 1, batch(1, "LB-0507-4"))], minutes(3))
        store.append("a", [correction(4, 2, None)], minutes(4))
        (row,) = store.shifts()
        assert (row.lots, row.open_holds) == ("LB-0507-3, LB-0507-4", 0)


@given(st.data())
def test_open_holds_and_lots_agree_with_the_fold_of_the_line(data: st.DataObject) -> None:
    events: list[Event] = [started()]
    for place in range(1, data.draw(st.integers(1, 12)) + 1):
        earlier = data.draw(st.integers(1, place))
        lot = data.draw(st.sampled_from("XYZ"))
        choices: list[Event] = [
            hold(place),
            release(place, earlier),
            batch(place, lot),
            correction(place, min(earlier, place - 1), None),
            correction(place, min(earlier, place - 1), hold(place)),
            correction(place, min(earlier, place - 1), batch(place, lot)),
        ]
        # The start of the shift (place 0) is never corrected.
        events.append(data.draw(st.sampled_from(choices[:3] if place == 1 else choices)))
    entries = [entry for entry, _ in extend("a", None, events, minutes(0))]
    row = ShiftFold("a").then(entries).row()
    state = fold("a", entries)
    assert row is not None
    assert row.open_holds == len(state.open_holds)
    assert set(row.lots.split(", ")) == set(state.lot_codes)


def test_shifts_are_found_by_line_and_by_the_moment_they_began(store: Store) -> None:
    with store:
        for count, line in enumerate(("Leaf line", "Root flume", "Leaf line", "Leaf line")):
            store.append(f"s{count}", [started(60 * count, line=line)], minutes(60 * count))
        assert [row.chain for row in store.shifts()] == ["s3", "s2", "s1", "s0"]
        assert [row.chain for row in store.shifts(newest_first=False)] == ["s0", "s1", "s2", "s3"]
        assert [row.chain for row in store.shifts(line="Leaf line", limit=2)] == ["s3", "s2"]
        between = store.shifts(since=minutes(60), until=minutes(180), newest_first=False)
        assert [row.chain for row in between] == ["s1", "s2"]


def test_shifts_are_ordered_by_the_moment_not_by_the_clock_on_the_wall(store: Store) -> None:
    east, west = timezone(timedelta(hours=9)), timezone(timedelta(hours=-7))
    with store:
        for chain, at, zone in (("first", 0, east), ("second", 10, west)):
            moment = minutes(at).astimezone(zone)
            start = started(at)
            event = type(start)(at=moment, by="RM", setup=start.setup, lots=start.lots)
            store.append(chain, [event], moment)
        rows = store.shifts(newest_first=False)
        assert [row.chain for row in rows] == ["first", "second"]
        assert rows[0].started_at.utcoffset() == timedelta(hours=9)


def test_practice_can_be_listed_apart_and_never_counts_as_running_or_last(store: Store) -> None:
    with store:
        run_shift(store, "real")
        before = store.last_shift_head()
        store.append("game", [started(60, practice=True, after=before)], minutes(60))
        assert store.last_shift_head() == before
        assert store.running_shift() is None
        assert [row.chain for row in store.shifts(practice=True)] == ["game"]
        assert [row.chain for row in store.shifts(practice=False)] == ["real"]
        assert len(store.shifts()) == 2


def test_the_running_shift_is_the_one_that_has_not_ended(store: Store) -> None:
    with store:
        assert store.running_shift() is None
        store.append("a", [started()], minutes(0))
        assert store.running_shift() == "a"
        store.append("a", [ended(9)], minutes(9))
        assert store.running_shift() is None


def test_the_next_shift_follows_the_last_one_even_when_the_clock_went_back(store: Store) -> None:
    with store:
        assert store.last_shift_head() is None
        run_shift(store, "late", at=600)
        run_shift(store, "early", at=0)
        assert store.last_shift_head() == ("early", store.head("early"))
        run_shift(store, "next", at=60)
        assert store.shifts(line="Leaf line")[1].after == ("early", store.head("early"))
        assert store.verify() == []


def test_rebuilt_projections_equal_the_kept_ones(store: Store, by_hand: Sql) -> None:
    with store:
        for count in range(5):
            run_shift(store, f"s{count}", 60 * count, (hold(60 * count + 2), batch(60 * count + 3)))
        store.append("s1", [release(900, 2), note(901)], minutes(901))
        store.append(SITE, [SetupSaved(at=minutes(0), by="RM", setup=line_setup())], minutes(0))
        tables = ("SELECT * FROM shift ORDER BY 1", "SELECT * FROM mention ORDER BY 1, 2, 3, 4, 5")
        kept, before = store.shifts(), [by_hand(table) for table in tables]
        store.rebuild_projections()
        assert store.shifts() == kept
        assert [by_hand(table) for table in tables] == before
        assert [len(rows) for rows in before] == [5, 5 * 5]


def test_summaries_are_due_from_the_end_of_a_shift_and_after_each_late_entry(store: Store) -> None:
    with store:
        store.append("a", [started(), batch(1)], minutes(1))
        assert store.shifts_without_summary() == []
        store.append("a", [ended(9)], minutes(9))
        assert store.shifts_without_summary() == ["a"]
        store.save_summaries("a", [(2, '{"two":2}'), (1, '{"one":1}')])
        assert store.shifts_without_summary() == []
        assert store.summaries(["a", "b"]) == [("a", 1, '{"one":1}'), ("a", 2, '{"two":2}')]
        store.append("a", [note(20)], minutes(20))
        assert store.shifts_without_summary() == ["a"]
        store.save_summaries("a", [(1, "{}")])
        assert store.summaries(["a"]) == [("a", 1, "{}")]
        store.rebuild_projections()
        assert store.shifts_without_summary() == ["a"]


def test_a_summary_of_no_shift_is_a_bug(store: Store) -> None:
    with store, pytest.raises(StoreBug, match="no shift ghost"):
        store.save_summaries("ghost", [(1, "{}")])


def test_the_newest_set_up_of_each_line_is_kept_at_hand(store: Store) -> None:
    def saved(at: float, line: str, by: str) -> SetupSaved:
        return SetupSaved(at=minutes(at), by=by, setup=line_setup(line))

    with store:
        assert store.latest_setup() is None
        assert store.setups() == []
        for at, line in enumerate(("Leaf line", "Root flume", "Leaf line")):
            store.append(SITE, [saved(at, line, "RM")], minutes(at))
        store.append(SITE, [NoteWritten(at=minutes(3), by="RM", text="paint the shed")], minutes(3))
        assert store.latest_setup() == line_setup("Leaf line")
        assert [(one.line, one.saved_at) for one in store.setups()] == [
            ("Leaf line", minutes(2)),
            ("Root flume", minutes(1)),
        ]
        assert store.shifts() == []


@pytest.mark.parametrize("hours", [-1, 1])
def test_all_that_is_found_of_a_shift_stands_at_its_new_time_once_the_clock_was_set(
    store: Store, hours: int
) -> None:
    with store:
        run_shift(store, "a")
        changed = ClockChanged(at=minutes(10), by="RM", by_s=3600 * hours)
        store.append("a", [changed], minutes(10))
        assert store.compare_projections() == []
        (row,) = store.shifts()
        assert row.started_at == minutes(60 * hours)
        assert len(store.shifts(person="RM", since=minutes(60 * hours))) == 1
        assert store.shifts(person="RM", until=minutes(60 * hours)) == []


def test_a_list_that_is_made_anew_keeps_the_summaries_that_are_up_to_date(store: Store) -> None:
    with store:
        for chain, at in (("a", 0), ("b", 60), ("c", 120)):
            run_shift(store, chain, at)
            store.save_summaries(chain, [(1, chain)], SummaryRows("form", 1, chain))
        store.append("b", [note(200)], minutes(200))
        assert store._writing is not None
        connection = store._writing.connection
        with connection.begin():
            assert Projections(store.place, connection).rebuild() == 2
        assert store.shifts_without_summary() == ["b"]
        assert [row.body for row in store.summaries(["a", "b", "c"])] == ["a", "b", "c"]
        assert {*store.summary_rows(["a", "b", "c"], "form")} == {"a", "c"}
        assert store.compare_projections() == []
