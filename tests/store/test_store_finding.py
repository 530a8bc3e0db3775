"""The Logbook's filters, on a file and on a server."""

from collections.abc import Iterator
from itertools import product
from typing import cast

import pytest
from msgspec.structs import replace

from tests.store.conftest import Sql
from tests.store.shed import batch, ended, line_setup, minutes, note, run_shift, started
from washmon.line.event_base import RULES, Signature
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    Corrected,
    DoseAdded,
    Event,
    HandedOver,
    HoldPlaced,
    LotSent,
    NoteWritten,
    ReadingTaken,
    ShiftReviewed,
    ShiftSigned,
)
from washmon.line.flag_events import FlagsChanged
from washmon.line.flags import Amount
from washmon.line.fold import fold
from washmon.line.journal import Entry, extend
from washmon.line.setup import Role
from washmon.line.signing import signing
from washmon.store import LotBatch, NameKind, Store, SummaryRows, Wanted, searching
from washmon.store.shift import ShiftFold

ML = Amount(92.0, "mL")


@pytest.fixture
def store(where: str) -> Iterator[Store]:
    with Store.open(where) as store:
        yield store


def chains(store: Store, wanted: Wanted) -> list[str]:
    return [row.chain for row in store.shifts(newest_first=False, **wanted)]


def reading(at: float, fac: float | None = 50, ph: float | None = 7.0) -> ReadingTaken:
    return ReadingTaken(at=minutes(at), by="RM", tank=1, fac_mg_l=fac, ph=ph)


def test_a_shift_is_found_by_everybody_who_entered_something(store: Store) -> None:
    run_shift(store, "a")
    run_shift(store, "b", 60, (NoteWritten(at=minutes(62), by="TK", text="late"),))
    run_shift(store, "c", 120, (HandedOver(at=minutes(122), by="RM", to="JO"),))
    assert chains(store, {"person": "RM"}) == ["a", "b", "c"]
    assert chains(store, {"person": " tk"}) == ["b"]
    assert chains(store, {"person": "JO"}) == ["c"]
    assert chains(store, {"person": "rules"}) == []
    assert store.names(NameKind.PERSON) == ["JO", "RM", "TK"]
    assert store.names(NameKind.PERSON, "t") == ["TK"]
    assert store.names(NameKind.PERSON, limit=2) == ["JO", "RM"]


def test_a_lot_leads_to_its_shifts_tanks_and_batches(store: Store) -> None:
    run_shift(store, "a")
    run_shift(store, "b", 60, (batch(62, "lb-0507-9"), batch(63, "LB-0507-9")))
    run_shift(store, "c", 120)
    (found,) = store.find_lot("  LB-0507-9 ")
    assert (found.shift.chain, found.tanks) == ("b", (1,))
    assert found.batches == (
        LotBatch(2, batch(62, "lb-0507-9")),
        LotBatch(3, batch(63, "LB-0507-9")),
    )
    assert [one.shift.chain for one in store.find_lot("LB-0507-3")] == ["c", "b", "a"]
    assert store.find_lot("LB") == []
    assert store.names(NameKind.LOT, "lb-0507") == ["LB-0507-3", "lb-0507-9"]


def test_a_lot_that_was_only_named_at_the_start_is_found_without_batches(store: Store) -> None:
    store.append("a", [started(), ended(9)], minutes(9))
    (found,) = store.find_lot("LB-0507-3")
    assert (found.shift.chain, found.tanks, found.batches) == ("a", (), ())


def test_a_mistyped_lot_is_no_longer_found_once_it_is_corrected(store: Store, by_hand: Sql) -> None:
    run_shift(store, "a", 0, (batch(2, "TYPO"), batch(3, "TYPO")))
    right = batch(2, "LB-0507-4")
    for place, instead in ((2, right), (3, None)):
        assert chains(store, {"lot": "typo"}) == ["a"]
        event = Corrected(at=minutes(9), by="RM", entry=place, reason="typed", instead=instead)
        store.append("a", [event], minutes(9))
    assert chains(store, {"lot": "typo"}) == []
    (found,) = store.find_lot("LB-0507-4")
    assert found.batches == (LotBatch(2, right),)
    assert by_hand("SELECT count(*) FROM mention WHERE key = 'typo'") == [(0,)]
    assert store.compare_projections() == []


def test_a_product_is_produce_or_a_chemical_that_was_added(store: Store) -> None:
    dose = DoseAdded(at=minutes(2), by="RM", tank=1, product="jug", amount=ML)
    acid = AcidAdded(at=minutes(62), by="RM", tank=1, product="vinegar", amount=ML)
    run_shift(store, "a", 0, (dose,))
    run_shift(store, "b", 60, (acid,))
    assert chains(store, {"product": "Baby  Chard"}) == ["a", "b"]
    assert chains(store, {"product": "jug"}) == ["a"]
    assert chains(store, {"product": "vinegar"}) == ["b"]  # by its key: the set-up has no name
    assert store.names(NameKind.PRODUCE) == ["baby chard"]
    assert store.names(NameKind.CHEMICAL) == ["Jug", "vinegar"]


def test_open_holds_unsigned_and_line_narrow_the_list_together(store: Store) -> None:
    hold = HoldPlaced(at=minutes(2), by="RM", tank=1, batches=(1,), reason="low chlorine")
    run_shift(store, "a", 0, (hold,))
    run_shift(store, "b", 60)
    store.append("c", [started(120, line="Root flume"), hold], minutes(122))
    assert chains(store, {"open_holds": True}) == ["a", "c"]
    assert chains(store, {"unsigned": True}) == ["a", "b"]  # c has not ended
    assert chains(store, {"open_holds": True, "unsigned": True}) == ["a"]
    assert chains(store, {"open_holds": True, "line": "Root flume"}) == ["c"]
    assert chains(store, {"open_holds": True, "since": minutes(1)}) == ["c"]
    assert chains(store, {"open_holds": False, "unsigned": False}) == ["a", "b", "c"]


@pytest.mark.parametrize(
    ("event", "outside", "critical"),
    [
        # The limits of tests/store/shed.py: critical 25, low 35, high 75 mg/L; pH 6.5 to 7.5.
        (reading(2), 0, 0),
        (reading(2, 35, 6.5), 0, 0),
        (reading(2, 75, 7.5), 0, 0),
        (reading(2, 34.9), 0, 0),  # written as 35
        (reading(2, 34.4), 1, 0),
        (reading(2, 75.6), 1, 0),
        (reading(2, None, 7.6), 1, 0),
        (reading(2, 50, 6.4), 1, 0),
        (reading(2, 25), 1, 0),
        (reading(2, 24.4), 1, 1),
        (reading(2, None, None), 0, 0),
        (ReadingTaken(at=minutes(2), by="RM", tank=9, fac_mg_l=0), 0, 0),  # no such tank
    ],
)
def test_readings_out_of_limits_are_counted(
    store: Store, event: ReadingTaken, outside: int, critical: int
) -> None:
    run_shift(store, "a", 0, (event,))
    (row,) = store.shifts()
    assert (row.outside, row.critical) == (outside, critical)
    assert chains(store, {"out_of_limits": True}) == ["a"] * outside
    event_at = Corrected(at=minutes(9), by="RM", entry=2, reason="strip misread")
    store.append("a", [event_at], minutes(9))
    assert store.shifts()[0].outside == 0


class Signed(Signature, frozen=True, kw_only=True, tag="signed for the test"):
    """A signature as a later version may have one."""


def fold_of(*events: Event) -> ShiftFold:
    return ShiftFold("a").then(entry for entry, _ in extend("a", None, events, minutes(0)))


def sign(fold: ShiftFold, covers: str | None = None) -> ShiftFold:
    assert fold.head is not None
    event = Signed(at=minutes(20), by="RM", covers=fold.head.hash if covers is None else covers)
    # No event of this version is a signature yet.
    entry = Entry(fold.head.seq + 1, minutes(20), cast("Event", event), f"hash {fold.head.seq}")
    return fold.then([entry])


def signatures(fold: ShiftFold) -> int:
    row = fold.row()
    assert row is not None
    return row.signatures


def test_signatures_count_until_something_else_is_entered() -> None:
    shift = fold_of(started(), ended(9))
    assert signatures(shift) == 0
    signed = sign(shift)
    assert signatures(signed) == 1
    assert signatures(sign(signed)) == 2
    late = Entry(9, minutes(30), note(30), "later")
    assert signatures(sign(signed).then([late])) == 0
    assert signatures(sign(sign(signed).then([late]))) == 1


def test_a_signature_under_something_else_does_not_count() -> None:
    assert signatures(sign(fold_of(started(), ended(9)), covers="of another day")) == 0


def _given(kind: str, head: Entry, at: float) -> Event:
    """Return one thing that may happen to a shift that has ended."""
    covers = head.hash if kind in {"sign", "review"} else "something else"
    if kind in {"sign", "torn"}:
        return ShiftSigned(at=minutes(at), by="RM", role=Role.SUPERVISOR, covers=covers)
    if kind == "review":
        return ShiftReviewed(at=minutes(at), by="BO", role=Role.MANAGER, covers=covers)
    if kind == "rules":
        return FlagsChanged(at=minutes(at), by=RULES, upto=head.seq)
    return note(at)


@pytest.mark.parametrize("turns", range(5))
def test_the_list_knows_how_far_signing_has_come_whatever_was_entered(turns: int) -> None:
    for kinds in product(("sign", "review", "torn", "rules", "note"), repeat=turns):
        entries = [entry for entry, _ in extend("a", None, [started(), ended(9)], minutes(0))]
        for at, kind in enumerate(kinds, 10):
            event = _given(kind, entries[-1], at)
            entries += [entry for entry, _ in extend("a", entries[-1], [event], minutes(at))]
        row = ShiftFold("a").then(entries).row()
        assert row is not None
        assert row.stage is signing(fold("a", entries)).stage, kinds


def test_what_was_signed_waits_for_a_review_and_again_after_a_late_entry(store: Store) -> None:
    def sign_as(kind: type[ShiftSigned | ShiftReviewed], chain: str, at: float) -> None:
        role = Role.MANAGER if kind is ShiftReviewed else Role.SUPERVISOR
        covers = store.head(chain) or ""
        given = kind(at=minutes(at), by="RM", role=role, covers=covers)
        store.append(chain, [given], minutes(at))

    for turn, chain in enumerate("abcd"):
        run_shift(store, chain, 60 * turn)
    for chain in "bcd":
        sign_as(ShiftSigned, chain, 300)
    for chain in "cd":
        sign_as(ShiftReviewed, chain, 310)
    store.append("d", [note(320)], minutes(320))
    assert chains(store, {"unsigned": True}) == ["a", "d"]
    assert chains(store, {"unreviewed": True}) == ["b", "d"]
    assert [row.stage.value for row in store.shifts(newest_first=False)] == [
        "unsigned",
        "signed",
        "reviewed",
        "changed since",
    ]
    kept = store.shifts()
    store.rebuild_projections()
    assert store.shifts() == kept
    assert store.compare_projections() == []


def test_rows_that_were_kept_are_those_of_the_shift_as_it_stands(store: Store) -> None:
    run_shift(store, "a")
    rows = SummaryRows("2:columns", 1, 'a,"=1+1\r\n",1\r\n')
    store.save_summaries("a", [(1, "{}")], rows)
    assert store.summary_rows(["a", "gone"], "2:columns") == {"a": rows}
    assert store.summary_rows(["a"], "3:other columns") == {}
    store.append("a", [note(99)], minutes(99))
    assert store.summary_rows(["a"], "2:columns") == {}
    store.save_summaries("a", [(1, "{}")], SummaryRows("2:columns", 1, "a NUL \0"))
    assert store.summary_rows(["a"], "2:columns") == {}  # no server could keep it


HOSTILE = [
    "x" * 10_000,
    "=cmd|'/C calc'!A0",
    "'; DROP TABLE journal; --",
    "100 % \\ %s {0} \r\n\t\u202egnp.\u2028",
    "nul \0 nul",
    "\U0001f955 Señor Ñandú ß",
]


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_any_text_can_be_written_listed_and_found(store: Store, text: str) -> None:
    begin = started(line=text)
    events: list[Event] = [
        type(begin)(at=begin.at, by=text, setup=line_setup(text), lots=begin.lots),
        batch(1, text),
        note(2, text),
        ended(9),
    ]
    store.append("a", events, minutes(9))
    assert [entry.event for entry in store.entries("a")] == events
    assert chains(store, {"line": text, "person": text, "lot": text}) == ["a"]
    (found,) = store.find_lot(text)
    assert found.batches == (LotBatch(1, batch(1, text)),)
    store.rebuild_projections()
    assert store.compare_projections() == []
    assert store.verify() == []


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE shift SET open_holds = 7 WHERE chain = 'a'",
        "UPDATE shift SET supervisor = 'XX' WHERE chain = 'a'",
        "DELETE FROM shift WHERE chain = 'a'",
        "DELETE FROM mention WHERE chain = 'a' AND what = 'lot'",
        "UPDATE mention SET key = 'other' WHERE chain = 'a' AND what = 'person'",
        "UPDATE mention SET name = 'other' WHERE chain = 'a' AND what = 'person'",
        "UPDATE mention SET started_us = started_us + 1 WHERE chain = 'a' AND what = 'lot'",
    ],
)
def test_projections_that_differ_are_found_and_made_anew(
    store: Store, by_hand: Sql, sql: str
) -> None:
    run_shift(store, "a")
    run_shift(store, "b", 60)
    assert store.compare_projections() == []
    by_hand(sql)
    (fault,) = store.compare_projections()
    assert fault.chain == "a"
    assert "made anew" in str(fault)
    store.rebuild_projections()
    assert store.compare_projections() == []


def test_names_of_a_shift_that_never_was_are_found_and_removed(store: Store, by_hand: Sql) -> None:
    run_shift(store, "a")
    by_hand("INSERT INTO mention SELECT what, tank, key, started_us, 'ghost', name FROM mention")
    (fault,) = store.compare_projections()
    assert fault.chain == "ghost"
    store.rebuild_projections()
    assert store.compare_projections() == []


@pytest.mark.parametrize("size", [1, 2, 3, 7, 8])
def test_lists_are_the_same_however_many_are_asked_for_at_once(
    store: Store, monkeypatch: pytest.MonkeyPatch, size: int
) -> None:
    """Three of the shifts began in the same moment."""
    monkeypatch.setattr(searching, "_PAGE", size)
    for count, at in enumerate((0, 60, 60, 60, 120, 180, 240)):
        run_shift(store, f"shift {6 - count}", float(at))
    every = [row.chain for row in store.shifts(newest_first=False)]
    assert len(every) == 7
    assert [row.chain for row in store.iter_shifts()] == every
    assert [row.chain for row in store.iter_shifts(newest_first=True)] == every[::-1]
    for chain in every:
        rows = SummaryRows("form", 1, chain)
        store.save_summaries(chain, [(2, f"{chain} 2"), (1, f"{chain} 1")], rows)
    mixed = [every[3], *every[:3], *every[4:]]
    summaries = [(row.chain, row.tank, row.body) for row in store.summaries(mixed)]
    assert summaries == [(chain, tank, f"{chain} {tank}") for chain in mixed for tank in (1, 2)]
    assert {chain: rows.text for chain, rows in store.summary_rows(mixed, "form").items()} == {
        chain: chain for chain in every
    }


def test_a_name_that_is_taken_back_takes_no_other_along(store: Store) -> None:
    """The same word for a lot, a customer and produce, in two tanks and two shifts at once."""
    word = "Rose"
    washed = BatchWashed(at=minutes(1), by="RM", tanks=(1, 2), lot=word)
    for chain in ("a", "b"):
        events: list[Event] = [
            started(),
            washed,
            replace(washed, tanks=(2, 3)),
            replace(washed, lot="Daisy"),
            LotSent(at=minutes(2), by="RM", lot="Daisy", to=word),
        ]
        store.append(chain, events, minutes(3))

    def take_back(place: int, instead: BatchWashed | None = None) -> None:
        event = Corrected(at=minutes(4), by="RM", entry=place, reason="typed", instead=instead)
        store.append("a", [event], minutes(4))
        assert store.compare_projections() == []

    def tanks(chain: str) -> tuple[int, ...]:
        return next(one.tanks for one in store.find_lot(word) if one.shift.chain == chain)

    assert tanks("a") == tanks("b") == (1, 2, 3)
    take_back(1)
    assert (tanks("a"), tanks("b")) == ((2, 3), (1, 2, 3))
    take_back(2, replace(washed, lot="Tulip"))
    assert chains(store, {"lot": word}) == ["b"]
    assert chains(store, {"recipient": word}) == ["a", "b"]
    assert chains(store, {"lot": "Tulip"}) == ["a"]
    assert chains(store, {"lot": "Daisy"}) == ["a", "b"]
    take_back(4)
    assert chains(store, {"recipient": word}) == ["b"]
