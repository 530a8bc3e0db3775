"""Which fields are asked for, and what their texts become: without a window."""

import dataclasses
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import START, Shed, a_peracetic_setup, a_setup, a_tank
from washmon.chemistry.acid import AcidKind
from washmon.gui.context import UserContext
from washmon.gui.entry.ask import Ask, kind_for
from washmon.gui.entry.forms import build, sheet_for
from washmon.gui.kit.sheet_spec import FieldSpec, SheetSpec
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.line.check import check
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    Correctable,
    Corrected,
    DoseAdded,
    HoldPlaced,
    Method,
    NoteWritten,
    ReadingTaken,
    SecondSwapped,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flags import Amount, StepKind
from washmon.line.kinds import EntryKind, entry_kind
from washmon.line.plan import Plan
from washmon.line.setup import Acid, LabelBasis, Look, TemperatureRule, TemperatureRuleKind
from washmon.planning.advice import Advice
from washmon.units import UnitSystem


def ask(shed: Shed, taste: UnitSystem = UnitSystem.METRIC, point: str = ".", **what: Any) -> Ask:
    person = UserContext("TK", taste, point)
    return dataclasses.replace(Ask(shed.shift, person, shed.now, shed.look()), **what)


def keys(spec: SheetSpec, tank: int = 1) -> list[str]:
    return [field.key for field in spec.fields_of(str(tank))]


def field(spec: SheetSpec, key: str, tank: int = 1) -> FieldSpec:
    return next(one for one in spec.fields_of(str(tank)) if one.key == key)


def made(kind: EntryKind, asked: Ask, tank: str = "1", **texts: str) -> object:
    return build(kind, Typed(tank, texts), asked)


@pytest.fixture
def shed() -> Shed:
    """A shift with water in both tanks, measured."""
    one = Shed()
    for tank in (1, 2):
        one.fill(tank)
    one.wait(10)
    for tank in (1, 2):
        one.read(tank, 50, ph=7.0)
    one.wait(10)
    return one


def test_a_reading_asks_only_for_what_the_tank_uses() -> None:
    rule = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.0)
    plain = a_tank(1, "Plain", turbidity_max_ntu=None, look_limit=None)
    full = a_tank(2, "Full", temperature_rule=rule)
    total = replace(full.chlorine, label_basis=LabelBasis.TOTAL)
    shed = Shed(a_setup(plain, replace(full, chlorine=total), a_tank(3, "x", look_limit=None)))
    spec = sheet_for(EntryKind.READING, ask(shed))
    assert keys(spec, 1) == ["fac_mg_l", "fac_method", "ph", "ph_method"]
    assert set(keys(spec, 2)) - set(keys(spec, 1)) == {
        "turbidity_ntu",
        "look",
        "water_c",
        "pulp_c",
        "total_mg_l",
    }
    assert "turbidity_ntu" in keys(spec, 3)
    assert "look" not in keys(spec, 3)


def test_more_asks_for_every_value_a_reading_can_have(shed: Shed) -> None:
    spec = sheet_for(EntryKind.READING, ask(shed), more=True)
    of_peracetic = {"paa_mg_l", "paa_method", "peroxide_mg_l"}
    values = set(ReadingTaken.__struct_fields__) - {"by", "tank", "second", "doubts"}
    values -= of_peracetic | {"made_with", "reagents"}  # which is chosen where the method is
    assert set(keys(spec)) == values
    assert len(keys(spec)) == len(values)


def test_a_tank_of_peracetic_acid_is_asked_for_it_and_never_for_chlorine() -> None:
    shed = Shed(a_peracetic_setup())
    shed.fill()
    assert keys(sheet_for(EntryKind.READING, ask(shed)))[:2] == ["paa_mg_l", "paa_method"]
    spec = sheet_for(EntryKind.READING, ask(shed), more=True)
    assert {"peroxide_mg_l", "ph"} < set(keys(spec))
    assert not {"fac_mg_l", "total_mg_l"} & set(keys(spec))
    dose = sheet_for(EntryKind.DOSE, ask(shed))
    assert "Never with hypochlorite" in dose.note


def test_the_last_values_stand_there_greyed_not_typed(shed: Shed) -> None:
    spec = sheet_for(EntryKind.READING, ask(shed))
    assert (field(spec, "fac_mg_l").last, field(spec, "fac_mg_l").value) == ("50", "")


def test_a_decimal_comma_and_us_units_are_read(shed: Shed) -> None:
    asked = ask(shed, UnitSystem.US, ",")
    read = made(EntryKind.READING, asked, fac_mg_l="48", ph="7,1", water_c="50", look="faint")
    assert isinstance(read, ReadingTaken)
    assert (read.ph, read.look, read.by) == (7.1, Look.FAINT, "TK")
    # 50 °F is 10 °C: NIST SP 811, Appendix B.
    assert read.water_c == pytest.approx(10.0)
    faults = made(EntryKind.READING, asked, ph="7.1")
    assert isinstance(faults, dict)
    assert "decimals as in 1,5" in faults["ph"]


@pytest.mark.parametrize("text", ["abc", "48 °C", "1/0", "1.234.567", "-5", "9" * 30])
def test_every_text_that_is_no_level_has_its_sentence(shed: Shed, text: str) -> None:
    faults = made(EntryKind.READING, ask(shed), fac_mg_l=text, ph="7")
    assert isinstance(faults, dict)
    assert list(faults) == ["fac_mg_l"]
    assert faults["fac_mg_l"]


@pytest.mark.parametrize(
    ("text", "minutes_ago"),
    [("", 0), ("5", 5), ("1 h", 60), ("07:05", 15), ("7.05", 15), ("7,05", 15)],
)
def test_when_it_happened_is_minutes_ago_or_a_time(
    shed: Shed, text: str, minutes_ago: float
) -> None:
    read = made(EntryKind.READING, ask(shed), ph="7", at=text)
    assert isinstance(read, ReadingTaken)
    assert read.at == shed.now - timedelta(minutes=minutes_ago)


def test_a_night_shift_may_write_a_time_of_the_evening_before() -> None:
    shed = Shed(start=START.replace(hour=22))
    shed.fill()
    shed.wait(130)
    read = made(EntryKind.READING, ask(shed), ph="7", at="23:50")
    assert isinstance(read, ReadingTaken)
    assert read.at == START.replace(hour=23, minute=50)


@pytest.mark.parametrize("text", ["25:10", "7:99", "soon", "99999999999"])
def test_a_time_that_is_none_has_its_sentence(shed: Shed, text: str) -> None:
    faults = made(EntryKind.READING, ask(shed), ph="7", at=text)
    assert isinstance(faults, dict)
    assert list(faults) == ["at"]


def test_a_batch_offers_the_lots_of_the_shift_with_the_last_one_kept(shed: Shed) -> None:
    for code in ("L-2", "L-3", "L-1"):
        shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot=code))
        shed.wait(1)
    spec = sheet_for(EntryKind.BATCH, ask(shed))
    lot = field(spec, "lot")
    assert {key for key, _ in lot.choices} == {"L-1", "L-2", "L-3"}
    assert lot.last == "L-1"


def test_a_kept_lot_stays_in_sight_among_many(shed: Shed) -> None:
    for number in range(2, 12):
        shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot=f"L-{number}"))
    shed.wait(1)
    shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot="L-1"))
    lot = field(sheet_for(EntryKind.BATCH, ask(shed)), "lot")
    assert len(lot.choices) == 5
    assert lot.last == "L-1"
    assert "L-1" in dict(lot.choices)


def test_contact_time_is_asked_for_only_where_a_tank_has_one() -> None:
    timed = Shed(a_setup(a_tank(1, "x")))
    untimed = Shed(a_setup(a_tank(1, "x", contact_s=None)))
    assert "contact_s" in keys(sheet_for(EntryKind.BATCH, ask(timed)))
    assert "contact_s" not in keys(sheet_for(EntryKind.BATCH, ask(untimed)))
    assert "contact_s" in keys(sheet_for(EntryKind.BATCH, ask(untimed), more=True))


def test_a_bare_amount_is_in_the_measure_that_is_pressed(shed: Shed) -> None:
    asked = ask(shed, UnitSystem.US)
    dose = made(EntryKind.DOSE, asked, amount="2¼", unit="tsp")
    assert isinstance(dose, DoseAdded)
    # 1 US teaspoon is 4.92892159375 mL: NIST Handbook 44, Appendix C.
    assert dose.amount.value == pytest.approx(2.25 * 4.92892159375)
    assert dose.as_entered == "2¼ tsp"


def test_the_measures_offered_are_those_the_shed_owns() -> None:
    shed = Shed(a_setup(measures=("teaspoon", "cup", "kitchen_scale")))
    shed.fill()
    unit = field(sheet_for(EntryKind.DOSE, ask(shed)), "unit")
    assert sorted(key for key, _ in unit.choices) == ["cup", "mL", "tsp"]


def test_the_sheet_opens_in_the_unit_that_was_advised_or_else_last_used() -> None:
    shed = Shed(a_setup(measures=("teaspoon", "cup")))
    shed.fill(1)
    shed.fill(2)

    def unit(tank: int) -> str:
        spec = sheet_for(EntryKind.ACID, ask(shed, tank=tank))
        fields = {one.key: one for one in spec.fields_of(str(tank))}
        return fields["unit"].last

    assert unit(1) == "tsp"
    amount = Amount(118.0, "mL")
    for written, used in (("½ cup", "cup"), ("2 cups", "cup"), ("118 mL", "mL"), ("1cup", "cup")):
        acid = AcidAdded(
            at=shed.now, by="RM", tank=1, product="vinegar", amount=amount, as_entered=written
        )
        shed.wait(1).tell(acid)
        assert (unit(1), unit(2)) == (used, used)  # of another tank where nothing is known of it
    shed.tell(replace(acid, tank=2, as_entered="3 tsp"))
    assert (unit(1), unit(2)) == ("cup", "tsp")
    shed.wait(10).read(1, 20, ph=7.0)
    flag = shed.flag("chlorine-critical")
    assert flag is not None
    spec = sheet_for(EntryKind.DOSE, ask(shed, flag=flag))
    advised = field(spec, "amount").hint.rsplit(" ", 1)[1]
    assert field(spec, "unit").last == advised


def test_a_solid_acid_is_weighed() -> None:
    citric = Acid(key="vinegar", name="citric acid", kind=AcidKind.CITRIC, strength_pct=100.0)
    shed = Shed(a_setup(acids=(citric,)))
    shed.fill()
    acid = made(EntryKind.ACID, ask(shed), amount="20", unit="g")
    assert isinstance(acid, AcidAdded)
    assert acid.amount == Amount(20.0, "g")
    faults = made(EntryKind.ACID, ask(shed), amount="1/2 cup")
    assert isinstance(faults, dict)
    assert "a weight is needed" in faults["amount"]


def test_no_sheet_ever_asks_for_hypochlorite_and_acid_together(shed: Shed) -> None:
    for kind, other in ((EntryKind.DOSE, "vinegar"), (EntryKind.ACID, "hypochlorite")):
        spec = sheet_for(kind, ask(shed), more=True)
        labels = [one.label for tank in spec.tanks for one in spec.fields_of(tank.key)]
        assert other not in labels
        assert "chlorine gas" in spec.note


def test_a_tank_without_an_acid_says_so() -> None:
    shed = Shed(a_setup(a_tank(1, "x", acid=None)))
    shed.fill()
    faults = made(EntryKind.ACID, ask(shed), amount="20 mL")
    assert isinstance(faults, dict)
    assert "no acid" in faults[""]
    note = sheet_for(EntryKind.ACID, ask(shed)).note
    assert note == "No tank has an acid in the set-up: add one there first."


def test_the_first_water_is_a_filling_and_a_part_can_be_exchanged_later(shed: Shed) -> None:
    empty = Shed()
    which = field(sheet_for(EntryKind.WATER, ask(empty)), "which")
    assert [key for key, _ in which.choices] == ["full"]
    filled = made(EntryKind.WATER, ask(shed), which="full", volume_l="0.4 m3")
    assert isinstance(filled, TankFilled)
    assert filled.volume_l == pytest.approx(400.0)
    part = made(EntryKind.WATER, ask(shed), which="part", volume_l="50 gal")
    assert isinstance(part, WaterExchanged)
    # 1 US gallon is 3.785411784 L: NIST SP 811, Appendix B.
    assert part.volume_l == pytest.approx(50 * 3.785411784)


def test_a_plan_that_asks_to_drain_fills_in_how_much(shed: Shed) -> None:
    shed.read(1, 150)
    step = shed.look().tank(1).plan.now
    assert step.kind is StepKind.LOWER
    spec = sheet_for(EntryKind.WATER, ask(shed, tank=1, done=True))
    assert field(spec, "which").last == "part"
    # From 150 to the target of 50 mg/L two thirds of 500 L must go: mass balance.
    assert field(spec, "volume_l").value == "333"
    assert kind_for(step) is EntryKind.WATER


def test_batches_since_the_last_good_check_can_be_held_before_any_is_bad(shed: Shed) -> None:
    shed.wash(2)
    shed.wait(1)
    shed.read(1, 45)
    since = [entry.seq for entry in shed.wash(3)]
    batches = field(sheet_for(EntryKind.HOLD, ask(shed)), "batches")
    assert [int(seq) for seq in batches.last.split(",")] == since
    assert "good check (3)" in dict(batches.choices)[batches.last]


def test_what_was_read_on_a_hold_is_what_is_held(shed: Shed) -> None:
    seqs = tuple(entry.seq for entry in shed.wash(3))
    spec = sheet_for(EntryKind.HOLD, ask(shed))
    chosen = field(spec, "batches").last
    shed.wash(1)
    hold = made(EntryKind.HOLD, ask(shed), batches=chosen, reason="glass")
    assert isinstance(hold, HoldPlaced)
    assert hold.batches == seqs


def test_every_entry_that_can_be_corrected_comes_back_unchanged(shed: Shed) -> None:
    (seq,) = (entry.seq for entry in shed.wash(1, contact_s=61.7))
    entries = [
        shed.read(1, 48.37, ph=7.123, turbidity_ntu=5.55, water_c=9.87, pulp_c=14.2, orp_mv=681.4),
        shed.tell(replace(shed.dose().event, as_entered="2¼ tsp", amount=Amount(11.1, "mL"))),
        shed.tell(replace(shed.acid().event, as_entered="60 mL")),
        shed.fill(1, 498.7),
        shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=100.4)),
        shed.tell(NoteWritten(at=shed.now, by="RM", text="pump is loud", tank=2)),
        shed.hold(seq),
        next(entry for entry in shed.shift.entries if entry.seq == seq),
        shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(2,), lot="L-7", weight_kg=12.345)),
    ]
    for taste in UnitSystem:
        for entry in entries:
            asked = ask(shed, taste, ",", correcting=entry)
            kind = entry_kind(entry.event)
            spec = sheet_for(kind, asked)
            texts = {
                one.key: one.value or (one.last if one.choices else "")
                for one in spec.fields_of(spec.tank)
            }
            again = build(kind, Typed(spec.tank, texts | {"why": "looked again"}), asked)
            assert isinstance(again, Corrected), (entry, again)
            assert again.instead == replace(entry.event, by="TK")


def test_a_note_is_on_the_line_unless_a_tank_was_pressed(shed: Shed) -> None:
    note = made(EntryKind.NOTE, ask(shed), text="swept", tank="line")
    assert isinstance(note, NoteWritten)
    assert note.tank is None
    assert field(sheet_for(EntryKind.NOTE, ask(shed, tank=2)), "tank").last == "2"


def test_a_decision_without_an_open_hold_says_that_there_is_none(shed: Shed) -> None:
    assert "No hold is open" in sheet_for(EntryKind.RELEASE, ask(shed)).note


def test_no_decision_is_ever_taken_for_granted(shed: Shed) -> None:
    (batch,) = shed.wash(1)
    held = shed.hold(batch.seq)
    faults = made(EntryKind.RELEASE, ask(shed), hold=str(held.seq), reason="seen")
    assert isinstance(faults, dict)
    # The corrective action is told in four parts: 21 CFR 120.10.
    assert list(faults) == ["decision", "found", "water", "prevention"]


_TEXTS = st.one_of(
    st.text(max_size=12),
    st.floats().map(str),
    st.integers().map(str),
    st.sampled_from(["1/2 cup", "½", "7,1", "1e400", "nan", "-0", "9" * 40, "23:59", "٣", "²"]),
)


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_whatever_is_typed_becomes_an_entry_that_can_be_checked_or_sentences(
    data: st.DataObject,
) -> None:
    shed = Shed()
    shed.fill()
    shed.fill(2)
    (batch,) = shed.wash(1)
    shed.hold(batch.seq)
    entered = [entry for entry in shed.shift.entries if isinstance(entry.event, Correctable)]
    correcting = data.draw(st.sampled_from([None, *entered]))
    kinds = [kind for kind in EntryKind if kind is not EntryKind.CORRECTION]
    kind = entry_kind(correcting.event) if correcting else data.draw(st.sampled_from(kinds))
    asked = ask(shed, data.draw(st.sampled_from(UnitSystem)), ",", correcting=correcting)
    spec = sheet_for(kind, asked, more=True)
    tank = spec.tank or "1"
    texts = {
        one.key: data.draw(st.sampled_from([key for key, _ in one.choices]))
        if one.choices
        else data.draw(_TEXTS)
        for one in spec.fields_of(tank)
    }
    result = build(kind, Typed(tank, texts), asked)
    if isinstance(result, dict):
        assert result
        assert all(result.values())
    else:
        check(shed.shift, result, shed.now)


def a_shed_with_a_second_fill() -> Shed:
    """Return a shift whose tank 1 is low beside a second fill that has no dose yet."""
    shed = Shed(a_setup(replace(a_tank(1, "First"), second_volume_l=400.0), a_tank(2, "Other")))
    shed.fill(1)
    shed.wait(10).read(1, 30, ph=7.0, method=Method.KIT)
    shed.fill(1, 400.0, second=True)
    return shed


def test_each_water_is_offered_the_dose_that_it_needs_itself() -> None:
    asked = ask(a_shed_with_a_second_fill())
    spec = sheet_for(EntryKind.DOSE, asked)
    assert [tank.key for tank in spec.tanks] == ["1", "2", "1+"]
    (in_use,) = [one for one in spec.fields_of("1") if one.key == "amount"]
    (beside,) = [one for one in spec.fields_of("1+") if one.key == "amount"]
    # By mass balance: 500 L from 30 to 50 mg/L take 80 mL of 125 g/L, 400 L from none take 160 mL;
    # the plan may go on towards the operating high of 75.
    assert 80 <= float(in_use.last) <= 180
    assert 160 <= float(beside.last) <= 240
    dose = made(EntryKind.DOSE, asked, tank="1+", amount="160", unit="mL")
    assert isinstance(dose, DoseAdded)
    assert (dose.tank, dose.second, dose.amount) == (1, True, Amount(160.0, "mL"))


def test_a_second_fill_is_measured_with_what_is_measured_with_in_its_tank() -> None:
    spec = sheet_for(EntryKind.READING, ask(a_shed_with_a_second_fill()))
    (method,) = [one for one in spec.fields_of("1+") if one.key == "fac_method"]
    (level,) = [one for one in spec.fields_of("1+") if one.key == "fac_mg_l"]
    assert (method.last, level.last) == ("kit", "")  # the 30 was read in other water


def test_the_step_of_a_second_fill_opens_its_own_sheet_with_its_own_amount() -> None:
    shed = a_shed_with_a_second_fill()
    shed.read(1, 50, ph=7.0, turbidity_ntu=70.0)
    said = shed.look().tank(1)
    assert said.second is not None
    step = said.second.step
    assert step is not None
    assert (step.kind, step.second) == (StepKind.DOSE, True)
    advice = Advice(tanks=(replace(said, plan=Plan(tank=1, now=step)),))
    asked = ask(shed, tank=1, done=True, advice=advice)
    spec = sheet_for(EntryKind.DOSE, asked)
    assert spec.tank == "1+"
    (amount,) = [one for one in spec.fields_of("1+") if one.key == "amount"]
    (other,) = [one for one in spec.fields_of("1") if one.key == "amount"]
    assert 160 <= float(amount.value) <= 240  # 400 L from none: mass balance, as above
    assert other.value == ""


def test_what_was_done_to_a_second_fill_is_corrected_as_such() -> None:
    shed = a_shed_with_a_second_fill()
    entry = shed.dose(1, 150, second=True)
    asked = ask(shed, correcting=entry)
    spec = sheet_for(EntryKind.DOSE, asked)
    assert spec.tank == "1+"
    right = made(EntryKind.DOSE, asked, tank="1+", amount="160", unit="mL", why="misread")
    assert isinstance(right, Corrected)
    assert isinstance(right.instead, DoseAdded)
    assert (right.instead.second, right.instead.amount.value) == (True, 160.0)


def test_a_swap_is_offered_first_and_takes_no_volume() -> None:
    shed = a_shed_with_a_second_fill()
    asked = ask(shed)
    spec = sheet_for(EntryKind.WATER, asked)
    which = next(one for one in spec.fields_of("1") if one.key == "which")
    assert [key for key, _ in which.choices] == ["swap", "full", "part"]
    assert which.last == "full"  # it is not ready
    swap = made(EntryKind.WATER, asked, which="swap")
    assert isinstance(swap, SecondSwapped)
    refused = made(EntryKind.WATER, asked, which="swap", volume_l="300")
    assert isinstance(refused, dict)
    assert set(refused) == {"volume_l"}
    filled = made(EntryKind.WATER, asked, tank="1+", which="full")
    assert filled == TankFilled(at=shed.now, by="TK", tank=1, volume_l=400.0, second=True)
    entry = shed.swap()
    corrected = sheet_for(EntryKind.WATER, ask(shed, correcting=entry))
    assert [one.key for one in corrected.fields_of("1")] == ["which", "at", "never", "why"]
