"""What a reading is made with: chosen once, remembered, turned with one key, told where unfit."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.gui.entry.bench import Bench
from tests.gui.stand import Key
from tests.shed import START
from washmon.gui.entry.entry_list import EntryList
from washmon.gui.entry.round import Round
from washmon.gui.logbook.shift_tables import listing
from washmon.line.events import Corrected, InstrumentChecked, Method, ReadingTaken, RegistersTold
from washmon.line.kinds import EntryKind
from washmon.line.registers import Device, Pack, PackKind, Thing
from washmon.reports.record_lists import LISTS

TODAY = START.date()
METER = Device(
    key="Meter A", name="Meter A", serial="0417", measures=("ph",), check_days=7, checked_on=TODAY
)
OTHER = replace(METER, key="Meter B", name="Meter B", serial="0533")
STRIPS = Pack(key="Strips 12", name="Strips", lot="12", measures=("fac_mg_l",))
DROPS = Device(key="Drops", name="Drops", kind="kit", measures=("fac_mg_l",))  # type: ignore[arg-type]


def register(bench: Bench, *things: Thing) -> None:
    def tell(store: object) -> object:
        told = RegistersTold(at=bench.now, by="RM", things=things)
        return store.append(bench.shift.chain, [told], bench.now)  # type: ignore[attr-defined]

    seq = bench.shift.last_seq
    bench.client.recorder.read(tell).result(10)
    bench.client.recorder.look_again().result(10)
    bench.qtbot.waitUntil(lambda: bench.shift.last_seq > seq)


def read(bench: Bench, *turns: Key) -> ReadingTaken:
    bench.open(EntryKind.READING)
    bench.press("1", "48", Key.Key_Return, *turns, "7.1", Key.Key_Return)
    with bench.saving():
        bench.press(Key.Key_Return)
    bench.wait(5)
    return bench.last(ReadingTaken)


def test_what_is_registered_is_named_without_one_more_press(bench: Bench) -> None:
    register(bench, METER, STRIPS)
    assert read(bench).made_with == {"fac_mg_l": "Strips 12", "ph": "Meter A"}


def test_one_key_turns_the_choice_and_the_next_reading_remembers_it(bench: Bench) -> None:
    register(bench, METER, OTHER, STRIPS, DROPS)
    first = read(bench, Key.Key_PageDown)
    assert first.made_with == {"fac_mg_l": "Strips 12", "ph": "Meter B"}
    assert read(bench).made_with == first.made_with
    bench.open(EntryKind.READING)
    bench.press("2", Key.Key_PageDown, "48", Key.Key_Return, "7.1", Key.Key_Return)
    with bench.saving():
        bench.press(Key.Key_Return)
    last = bench.last(ReadingTaken)
    assert last.made_with == {"fac_mg_l": "Drops", "ph": "Meter B"}
    assert last.fac_method is Method.KIT


def test_what_is_not_registered_can_be_said_still(bench: Bench) -> None:
    register(bench, STRIPS)
    bench.open(EntryKind.READING, tank=1)
    field = bench.sheet.field("fac_method")
    assert [words for _, words in field.spec.choices] == ["Strips", "Kit", "Meter"]
    field.put("meter")
    bench.press("48", Key.Key_Return, Key.Key_Return)
    with bench.saving():
        bench.press(Key.Key_Return)
    last = bench.last(ReadingTaken)
    assert (last.made_with or {}, last.fac_method) == ({}, Method.METER)


def test_what_is_unfit_is_told_on_the_sheet_and_marked_in_every_list(bench: Bench) -> None:
    register(bench, replace(METER, checked_on=TODAY - timedelta(days=30)))
    bench.open(EntryKind.READING, tank=1)
    assert bench.sheet.note.text() == (
        "Meter A is overdue for its check. What it reads proves no good water."
    )
    assert "Meter A – check overdue" in [
        words for _, words in bench.sheet.field("ph_method").spec.choices
    ]
    bench.entry.shut()
    read(bench)
    listed = listing(LISTS["readings"], bench.shift, bench.person)
    assert listed.rows[-1][listed.heads.index("Made with")].text == "Meter A: check overdue"
    entries: EntryList = bench.entry.list
    entries.open(bench.shift, bench.person)
    assert "(not fit: Meter A, check overdue)" in entries.list.item(0).text()


def test_a_correction_keeps_what_the_reading_was_made_with(bench: Bench) -> None:
    register(bench, METER, STRIPS)
    read(bench)
    register(bench, replace(STRIPS, retired_on=TODAY), OTHER)
    wrong = next(
        one
        for one in reversed(bench.shift.entries)
        if one.event.by == "RM" and isinstance(one.event, ReadingTaken)
    )
    bench.open(EntryKind.CORRECTION, correcting=wrong)
    bench.sheet.field("fac_mg_l").put("49")
    bench.sheet.field("why").put("misread")
    with bench.saving():
        bench.sheet.save.click()
    instead = bench.last(Corrected).instead
    assert isinstance(instead, ReadingTaken)
    assert (instead.fac_mg_l, instead.made_with) == (
        49.0,
        {"fac_mg_l": "Strips 12", "ph": "Meter A"},
    )


def test_a_check_names_the_instrument_that_it_is_of(bench: Bench) -> None:
    register(bench, METER, OTHER)
    bench.open(EntryKind.INSTRUMENT)
    labels = [tank.label for tank in bench.sheet.spec.tanks]
    assert labels == ["Meter A", "Meter B", "Chlorine kit or meter", "ORP probe", "Test strips"]
    bench.sheet.field("found").put("7.02")
    bench.sheet.field("standard").put("7")
    with bench.saving():
        bench.sheet.save.click()
    assert bench.last(InstrumentChecked).which == "Meter A"


def test_a_round_names_what_it_is_made_with_and_tells_what_is_unfit(bench: Bench) -> None:
    register(bench, replace(METER, checked_on=None), STRIPS)
    made = Round(bench.client, bench.window)
    made.open(bench.snapshot, bench.person)
    assert "Meter A was never checked" in made.sheet.note.text()
    made.sheet.field("1:fac_mg_l").put("48")
    with bench.qtbot.waitSignals([made.saved, bench.client.snapshot_changed]):
        made.sheet.save.click()
    assert bench.last(ReadingTaken).made_with == {"fac_mg_l": "Strips 12"}


def test_without_registers_the_sheet_is_as_it_was(bench: Bench) -> None:
    bench.open(EntryKind.READING, tank=1)
    spec = bench.sheet.field("fac_method").spec
    assert (spec.last, spec.hint) == ("strip", "")
    assert bench.sheet.note.text() == ""


@pytest.mark.parametrize("key", ["ph_method", "fac_method"])
def test_a_choice_of_one_needs_no_key(bench: Bench, key: str) -> None:
    register(bench, METER)
    bench.open(EntryKind.READING, tank=1)
    assert bench.sheet.field(key).spec.hint == ("PgDn" if key == "ph_method" else "")


def test_an_instrument_names_the_reagent_that_was_opened_last(bench: Bench) -> None:
    old = Pack(
        key="R 1", name="R", lot="1", kind=PackKind.REAGENT, measures=("fac_mg_l",),
        opened_on=TODAY - timedelta(days=90),
    )  # fmt: skip
    register(bench, DROPS, old, replace(old, key="R 2", lot="2", opened_on=TODAY), METER)
    bench.open(EntryKind.READING, tank=1)
    choice = bench.sheet.field("fac_method")
    assert [words for _, words in choice.spec.choices] == ["Drops", "Strip", "Meter"]
    choice.put("thing:Drops")
    bench.press("48", Key.Key_Return, Key.Key_Return)
    with bench.saving():
        bench.press(Key.Key_Return)
    last = bench.last(ReadingTaken)
    assert last.made_with == {"fac_mg_l": "Drops"}
    assert last.reagents == {"fac_mg_l": "R 2"}
