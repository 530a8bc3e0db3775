import sqlite3
from pathlib import Path
from typing import get_args

import pytest
from msgspec.structs import replace

from tests.some import some
from tests.store.shed import minutes, note, run_shift, started
from washmon.line.event_base import Anchoring
from washmon.line.events import Event
from washmon.line.journal import SITE, link
from washmon.line.site_events import BackupRestored, CourseSet
from washmon.line.training import Course
from washmon.store import Damaged, JournalFault, Store, journal_check


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Three shifts that follow each other, of five entries each."""
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        for count, chain in enumerate(("mon", "tue", "wed")):
            run_shift(store, chain, 60 * count, (note(60 * count + 2), note(60 * count + 3)))
    return path


def tampered(path: Path, *sql: str) -> list[JournalFault]:
    db = sqlite3.connect(path)
    guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in guards:
        db.execute(f"DROP TRIGGER {name}")
    for statement in sql:
        db.execute(statement)
    for _, guard in guards:  # so that they tell nothing
        db.execute(guard)
    db.commit()
    db.close()
    with Store.open(path, read_only=True) as store:
        return store.verify()


def test_an_untouched_database_has_no_fault(path: Path) -> None:
    assert tampered(path) == []


@pytest.mark.parametrize("place", [0, 2, 4])
def test_one_changed_byte_is_found_at_its_place(path: Path, place: int) -> None:
    flip = "body = CAST(replace(CAST(body AS TEXT), 'RM', 'RN') AS BLOB)"
    (fault,) = tampered(path, f"UPDATE journal SET {flip} WHERE chain||seq = 'tue{place}'")  # noqa: S608 - our own words
    assert (fault.chain, fault.seq) == ("tue", place)
    assert "changed after it was written" in str(fault)


def test_a_changed_time_of_writing_is_found(path: Path) -> None:
    (fault,) = tampered(
        path,
        "UPDATE journal SET recorded_at = replace(recorded_at, '2026', '2025') "
        "WHERE chain = 'mon' AND seq = 3",
    )
    assert (fault.chain, fault.seq) == ("mon", 3)


@pytest.mark.parametrize("what", ["recorded_at = 'noon'", "recorded_at = 7", "body = 7"])
def test_nonsense_in_an_entry_is_found(path: Path, what: str) -> None:
    (fault,) = tampered(path, f"UPDATE journal SET {what} WHERE chain||seq = 'wed1'")  # noqa: S608 - our own words
    assert (fault.chain, fault.seq) == ("wed", 1)


def test_a_removed_entry_is_found(path: Path) -> None:
    (fault,) = tampered(path, "DELETE FROM journal WHERE chain = 'tue' AND seq = 2")
    assert (fault.chain, fault.seq) == ("tue", 2)
    assert "missing" in str(fault)


def test_an_entry_that_was_put_in_is_found(path: Path) -> None:
    (fault,) = tampered(
        path,
        "UPDATE journal SET seq = 9 WHERE chain = 'tue' AND seq = 4",
        "INSERT INTO journal SELECT chain, 4, recorded_at, body, hash FROM journal "
        "WHERE chain = 'tue' AND seq = 3",
        "UPDATE journal SET seq = 5 WHERE chain = 'tue' AND seq = 9",
    )
    assert (fault.chain, fault.seq) == ("tue", 4)


def test_swapped_entries_are_found(path: Path) -> None:
    (fault,) = tampered(
        path,
        "UPDATE journal SET seq = 9 WHERE chain = 'tue' AND seq = 2",
        "UPDATE journal SET seq = 2 WHERE chain = 'tue' AND seq = 3",
        "UPDATE journal SET seq = 3 WHERE chain = 'tue' AND seq = 9",
    )
    assert (fault.chain, fault.seq) == ("tue", 2)


def test_an_entry_moved_to_another_shift_is_found(path: Path) -> None:
    faults = tampered(path, "UPDATE journal SET chain = 'mon', seq = 5 WHERE chain||seq = 'tue4'")
    assert ("mon", 5) in [(fault.chain, fault.seq) for fault in faults]


def test_a_removed_shift_is_named_by_the_one_that_followed_it(path: Path) -> None:
    faults = tampered(
        path,
        "DELETE FROM journal WHERE chain = 'tue'",
        "DELETE FROM shift WHERE chain = 'tue'",
    )
    assert [str(fault) for fault in faults] == [
        "Shift tue is missing: shift wed was started after it."
    ]


def test_a_cut_end_is_named_by_the_shift_that_followed_it(path: Path) -> None:
    faults = tampered(
        path,
        "DELETE FROM journal WHERE chain = 'tue' AND seq = 4",
        "UPDATE shift SET entries = 4, head = (SELECT hash FROM journal WHERE chain||seq = 'tue3') "
        "WHERE chain = 'tue'",
    )
    assert [(fault.chain, fault.seq) for fault in faults] == [("tue", 4)]
    assert "The end of shift tue is missing" in str(faults[0])


def test_the_last_shift_or_its_end_is_missed_by_the_list_of_shifts(path: Path) -> None:
    (cut,) = tampered(path, "DELETE FROM journal WHERE chain = 'wed' AND seq > 2")
    assert (cut.chain, cut.seq) == ("wed", 3)
    (gone,) = tampered(path, "DELETE FROM journal WHERE chain = 'wed'")
    assert str(gone) == "Shift wed is in the list, but its entries are gone."


def test_entries_after_the_end_of_a_shift_break_no_link(path: Path) -> None:
    with Store.open(path) as store:
        store.append("mon", [note(500, "released next day")], minutes(500))
        assert store.verify() == []


def test_a_file_with_holes_in_it_gets_a_clear_sentence(path: Path) -> None:
    with Store.open(path) as store:
        many = [note(600, "x" * 500) for _ in range(200)]
        store.append("wed", many, minutes(600))
    whole = bytearray(path.read_bytes())
    for page in range(10, len(whole) // 4096):
        whole[page * 4096 : page * 4096 + 2048] = b"\xa5" * 2048
    path.write_bytes(whole)
    with Store.open(path, read_only=True) as store:
        (fault,) = store.verify()
        assert "is damaged" in str(fault)
        with pytest.raises(Damaged, match="go on with a backup"):
            store.entries("wed")


def test_a_file_that_was_cut_off_gets_a_clear_sentence(path: Path) -> None:
    with Store.open(path) as store:
        store.append("wed", [note(600, "x" * 500) for _ in range(200)], minutes(600))
    whole = path.read_bytes()
    with Store.open(path, read_only=True) as opened_before:
        path.write_bytes(whole[: 8 * 4096])
        (fault,) = opened_before.verify()
        assert "is damaged" in str(fault)
    for read_only in (True, False):
        with pytest.raises(Damaged, match="go on with a backup"):
            Store.open(path, read_only=read_only)
    assert path.read_bytes() == whole[: 8 * 4096]


def test_unreadable_times_get_a_clear_sentence(path: Path) -> None:
    tampered(path, "UPDATE journal SET recorded_at = 'noon' WHERE chain = 'mon' AND seq = 1")
    with Store.open(path) as store, pytest.raises(Damaged, match="shift mon"):
        store.entries("mon")


def test_a_shift_by_itself_misses_its_end_by_the_shift_that_was_started_after_it(
    path: Path,
) -> None:
    tampered(
        path,
        "DELETE FROM journal WHERE chain = 'tue' AND seq = 4",
        "UPDATE shift SET entries = 4, head = (SELECT hash FROM journal WHERE chain||seq = 'tue3') "
        "WHERE chain = 'tue'",
    )
    with Store.open(path, read_only=True) as store:
        faults = {chain: store.unsound(chain) for chain in ("mon", "tue")}
    assert [fault.chain for fault in faults["tue"]] == ["tue"]
    assert "wed" in str(faults["tue"][0])
    assert faults["mon"] == []


def test_a_guard_that_was_taken_off_is_put_back_as_it_was_and_no_other_is_touched(
    path: Path,
) -> None:
    db = sqlite3.connect(path)
    known = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
    before = db.execute(known).fetchall()
    lost = before[0][0]
    db.execute(f"DROP TRIGGER {lost}")
    db.commit()
    with Store.open(path) as store:
        assert store._writing is not None
        assert store._writing.guards_lost == (lost,)
    assert db.execute(known).fetchall() == before
    db.close()


def test_an_entry_that_is_no_text_is_judged_by_its_hash_alone(path: Path) -> None:
    """Whoever forges hashes that fit stops no look at what comes after."""
    with Store.open(path, read_only=True) as store:
        *_, before, last = store.rows("wed")
    body = last.body.replace(b"RM", b"\xff\xff")
    forged = link(before.hash, "wed", last.seq, last.recorded_at, body)
    place = f"WHERE chain = 'wed' AND seq = {last.seq}"
    faults = tampered(
        path,
        f"UPDATE journal SET body = X'{body.hex()}', hash = '{forged}' {place}",  # noqa: S608 - ours
        f"UPDATE shift SET head = '{forged}' WHERE chain = 'wed'",  # noqa: S608 - ours
    )
    assert faults == []


@pytest.mark.parametrize("column", ["recorded_at", "hash"])
def test_a_text_that_is_none_is_named_at_its_place(path: Path, column: str) -> None:
    change = f"{column} = CAST(X'FFFE' || {column} AS TEXT)"
    (fault,) = tampered(path, f"UPDATE journal SET {change} WHERE chain||seq = 'tue2'")  # noqa: S608 - ours
    assert (fault.chain, fault.seq) == ("tue", 2)


def test_where_a_text_of_the_list_is_none_the_file_is_called_damaged(path: Path) -> None:
    faults = tampered(path, "UPDATE shift SET head = CAST(X'FFFE' AS TEXT) WHERE chain = 'tue'")
    assert [fault.chain for fault in faults] == ["tue"]
    with Store.open(path, read_only=True) as store:
        (alone,) = store.unsound("tue")
    assert alone.chain == "tue"


@pytest.fixture
def anchored(tmp_path: Path) -> Path:
    """Shift a, and three entries of others that say where it ended when they were written."""
    path = tmp_path / "anchored.db"
    with Store.open(path) as store:
        run_shift(store, "a")
        ends = (("a", store.rows("a")[1].hash), ("a", store.rows("a")[2].hash))
        for chain, at, end in (("b", 60, ends[1]), ("c", 30, ends[1]), ("d", 90, ends[0])):
            begin = replace(started(at), anchors=(end,))
            store.append(chain, [note(at), begin], minutes(at))
    return path


def test_it_is_told_from_which_entry_on_others_are_anchored(path: Path, anchored: Path) -> None:
    with Store.open(path, read_only=True) as store:
        assert store.look().anchored_from is None
    with Store.open(anchored, read_only=True) as store:
        found = store.look()
    assert found.faults == ()
    assert found.anchored_from == ("c", 1, minutes(30).isoformat())


def test_what_others_say_was_there_is_missed_once(anchored: Path) -> None:
    """With a list of shifts that was made to fit."""
    cut = "DELETE FROM journal WHERE chain = 'a' AND seq > {}"
    last = "SELECT hash FROM journal WHERE chain = 'a' AND seq = {0}"
    forget = f"UPDATE shift SET entries = {{0}} + 1, head = ({last}) WHERE chain = 'a'"  # noqa: S608 - ours
    after = "entry 1 of shift {} was written after them."
    end_gone = tampered(anchored, cut.format(1), forget.format(1))
    assert [(str(one), one.chain, one.seq) for one in end_gone] == [
        (f"Entries of shift a are missing or were changed: {after.format('b')}", "a", 2)
    ]
    more_gone = tampered(anchored, cut.format(0), forget.format(0))
    assert [(str(one), one.seq) for one in more_gone] == [
        (f"Entries of shift a are missing or were changed: {after.format(chain)}", 1)
        for chain in "bd"
    ]
    all_gone = tampered(anchored, cut.format(-1), "DELETE FROM shift WHERE chain = 'a'")
    assert [(str(one), one.chain, one.seq) for one in all_gone] == [
        (f"All entries of shift a are missing or were changed: {after.format('b')}", "a", None)
    ]


@pytest.mark.parametrize(("told", "seq"), [(4, 4), (7, 5)])
def test_a_list_that_counts_otherwise_is_told_at_the_first_place_that_is_amiss(
    path: Path, told: int, seq: int
) -> None:
    (fault,) = tampered(path, f"UPDATE shift SET entries = {told} WHERE chain = 'wed'")  # noqa: S608 - ours
    assert str(fault).startswith(f"Shift wed has 5 entries, the list of shifts says {told}")
    assert (fault.chain, fault.seq) == ("wed", seq)


def test_a_file_whose_tables_were_given_other_triggers_is_told(path: Path) -> None:
    with sqlite3.connect(path) as db:
        db.execute("CREATE TRIGGER odd AFTER INSERT ON shift BEGIN SELECT 1; END")
        db.execute("DROP TRIGGER journal_never_updated")
    db.close()
    with Store.open(path, read_only=True) as store:
        lost, odd = store.verify()
    assert "taken off or changed (journal_never_updated)" in str(lost)
    assert "not washmon's (odd)" in str(odd)


def test_of_one_shift_only_its_own_faults_are_told(path: Path) -> None:
    tampered(path, "UPDATE journal SET body = X'7B7D' WHERE chain = 'mon' AND seq = 1")
    with Store.open(path, read_only=True) as store:
        assert [(one.chain, one.seq) for one in store.unsound("mon")] == [("mon", 1)]
        assert store.unsound("tue") == store.unsound("wed") == []


def test_who_asks_to_stop_is_heeded_before_the_next_shift(path: Path) -> None:
    tampered(path, "UPDATE journal SET body = X'7B7D' WHERE seq = 1")
    asked: list[int] = []

    def after(shifts: int) -> bool:
        asked.append(1)
        return len(asked) > shifts

    with Store.open(path, read_only=True) as store:
        for shifts, names in ((0, []), (1, ["mon"]), (2, ["mon", "tue"])):
            asked.clear()
            found = [one.chain for one in store.verify(lambda: after(shifts))]  # noqa: B023 - used at once
            assert found == names
        asked.clear()
        assert list(store.compare_projections(lambda: after(0))) == []
        assert len(asked) == 1


SITE_ANCHORS: list[Event] = [
    BackupRestored(at=minutes(60), by="RM", backup="shed.db"),
    CourseSet(at=minutes(60), by="RM", course=Course(scenarios=("Wash water",))),
]


@pytest.mark.parametrize("event", SITE_ANCHORS, ids=lambda one: type(one).__name__)
def test_what_any_entry_of_the_site_says_was_there_is_missed(tmp_path: Path, event: Event) -> None:
    path = tmp_path / "anchored.db"
    with Store.open(path) as store:
        run_shift(store, "a")
        anchors = (("a", store.rows("a")[-1].hash),)
        store.append(SITE, [replace(event, anchors=anchors)], minutes(60))
        assert store.verify() == []
    gone = "DELETE FROM {} WHERE chain = 'a'"
    (fault,) = tampered(path, gone.format("journal"), gone.format("shift"))
    assert str(fault).startswith("All entries of shift a are missing or were changed")


def test_every_kind_of_entry_that_may_anchor_others_is_looked_at() -> None:
    for kind in some([kind for kind in get_args(Event) if issubclass(kind, Anchoring)]):
        assert f'{{"event":"{kind.__struct_config__.tag}"'.encode() in journal_check._ANCHORING
