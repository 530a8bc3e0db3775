"""What an entry is asked about at the very edge, and what a plan, a product and a set-up tell.

Where no source is named, the numbers are common practice, no published source.
"""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.line.calculated import TRADE, result
from tests.shed import START, Shed, a_peracetic_setup, a_setup, a_tank
from washmon.chemistry.hypochlorite import StrengthBasis, caustic_per_mol, typical_density_kg_l
from washmon.chemistry.neutralising import Neutraliser
from washmon.line.calculations import CALCULATIONS
from washmon.line.calculations.asking import is_asked
from washmon.line.check import check
from washmon.line.check_training import course_faults, sign_off_faults
from washmon.line.deviating import Deviations
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    ClockChanged,
    DoseAdded,
    Event,
    HandedOver,
    HoldPlaced,
    Instrument,
    InstrumentChecked,
    LinePaused,
    LineResumed,
    Method,
    NoteWritten,
    ReadingTaken,
    SecondSwapped,
    TankFilled,
)
from washmon.line.fill_water import FillWater
from washmon.line.finding import Fault, second_at
from washmon.line.fitness import as_checked, checked_as, marked_anew, method_of_thing, unfit_now
from washmon.line.flag_events import FlagShelved
from washmon.line.flags import Amount, Level, StepKind
from washmon.line.gate import Gate
from washmon.line.judging import Breach, LimitKind, under_target
from washmon.line.learned import LearnedTank, UsualLearned
from washmon.line.message import Message, say
from washmon.line.mixing import verifies
from washmon.line.pins import hash_pin
from washmon.line.plan import Plan
from washmon.line.practice_events import BehindTheScenes
from washmon.line.product import caustic_of
from washmon.line.registers import Device, DeviceKind, Pack, PackKind
from washmon.line.setup import Person, Role, Sanitizer, SanitizerKind
from washmon.line.site_events import PinMistaken, PinSet, SetupSaved
from washmon.line.strength import label_strength, strength_on
from washmon.line.training import Course, Register, Signed, Trained
from washmon.units import Kind, UnitSystem

TODAY = START.date()


def plain(*messages: Message) -> str:
    said = " ".join(say(message, UnitSystem.METRIC) for message in messages)
    return said.replace("\N{NO-BREAK SPACE}", " ")


def doubts(shed: Shed, event: Event) -> str:
    return plain(*check(shed.shift, event, shed.now).doubts)


def faults(shed: Shed, event: Event) -> list[str]:
    return [one.field for one in check(shed.shift, event, shed.now).faults]


def good(*tanks: int) -> Shed:
    shed = Shed()
    for tank in tanks or (1,):
        shed.fill(tank)
        shed.dose(tank, ml=200)
    shed.wait(6)
    for tank in tanks or (1,):
        shed.read(tank, 50, ph=7.0)
    return shed


def test_a_line_may_go_on_in_the_minute_in_which_it_was_paused() -> None:
    shed = good()
    shed.tell(LinePaused(at=shed.now, by="RM", reason="x"))
    assert faults(shed, LineResumed(at=shed.now, by="RM")) == []
    assert faults(shed, LineResumed(at=shed.now - timedelta(seconds=1), by="RM")) == ["at"]


@pytest.mark.parametrize(("total", "asked"), [(50.0, False), (49.0, True), (51.0, False)])
def test_free_chlorine_may_be_all_of_the_total(total: float, *, asked: bool) -> None:
    shed = good()
    reading = ReadingTaken(at=shed.now, by="RM", tank=1, fac_mg_l=50.0, total_mg_l=total)
    assert ("which it includes" in doubts(shed, reading)) is asked


def test_a_dose_in_the_minute_of_the_reading_before_explains_a_rise() -> None:
    for dosed in (False, True):
        shed = good()
        shed.wait(1).read(1, 30, ph=7.0)
        if dosed:
            shed.dose(ml=160)
        shed.wait(9)
        reading = ReadingTaken(
            at=shed.now, by="RM", tank=1, fac_mg_l=70.0, ph=7.0, fac_method=Method.KIT
        )
        assert ("70 ppm" in doubts(shed, reading)) is not dosed


@pytest.mark.parametrize(
    ("kg", "volume"),
    # 0.003 to 0.2 kg per litre: of the smaller tank at least, of the larger at most.
    [(100.0, ""), (101.0, "500 L"), (0.6, ""), (0.5, "200 L")],
)
def test_a_weight_is_held_against_the_smallest_and_the_largest_of_its_tanks(
    kg: float, volume: str
) -> None:
    shed = Shed(a_setup(a_tank(1, "Large"), a_tank(2, "Small", volume_l=200.0)))
    for tank in (1, 2):
        shed.fill(tank)
        shed.read(tank, 50, ph=7.0)
    batch = BatchWashed(at=shed.now, by="RM", tanks=(1, 2), lot="L-1", weight_kg=kg)
    said = doubts(shed, batch)
    assert ("unusual weight" in said) is bool(volume)
    assert f"for {volume} of water" in said or not volume


@pytest.mark.parametrize(
    ("ph", "words"),
    [
        (7.0, ""),
        (6.99, "The last pH is 6.99, under the target of 7.0: acid lowers it further."),
        (6.0, "The last pH is 6.0, under the target of 7.0: acid lowers it further."),
        (5.99, "The last pH is 5.99: acid makes chlorine gas of it."),
    ],
)
def test_acid_is_asked_about_under_the_target_and_more_under_ph_six(ph: float, words: str) -> None:
    shed = good()
    shed.wait(9).read(1, 50, ph=ph)
    shed.read(1, 50)  # says nothing of pH
    acid = AcidAdded(at=shed.now, by="RM", tank=1, product="vinegar", amount=Amount(5, "mL"))
    said = doubts(shed, acid)
    assert ("The last pH is" in said) is bool(words)
    assert words in said
    late = replace(acid, at=shed.now - timedelta(minutes=1))
    assert "The last pH is" not in doubts(shed, late)  # it was read only after that


def test_a_flag_is_shelved_for_longer_than_no_time_and_for_an_hour_at_most() -> None:
    shed = good()
    shed.wait(1).read(1, 30, ph=7.0)
    shed.look()
    for minutes, refused in ((0.0, True), (0.1, False), (60.0, False), (60.1, True)):
        event = FlagShelved(
            at=shed.now,
            by="RM",
            tank=1,
            rule="chlorine-low",
            level=Level.ACT,
            until=shed.now + timedelta(minutes=minutes),
            reason="a kit is fetched",
        )
        assert (faults(shed, event) == ["until"]) is refused, minutes


@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({}, []),
        ({"scenarios": ()}, ["scenarios"]),
        ({"scenarios": ("a", "a")}, ["scenarios"]),
        ({"scenarios": tuple(f"s{at}" for at in range(30))}, []),
        ({"scenarios": tuple(f"s{at}" for at in range(31))}, ["scenarios"]),
        ({"pass_mark": 1.0}, []),
        ({"pass_mark": 0.9}, ["pass_mark"]),
        ({"pass_mark": 100.0}, []),
        ({"pass_mark": 100.1}, ["pass_mark"]),
        ({"months": 1}, []),
        ({"months": 0}, ["months"]),
        ({"months": 120}, []),
        ({"months": 121}, ["months"]),
    ],
)
def test_what_a_course_may_be(changes: dict[str, object], fields: list[str]) -> None:
    course = replace(Course(scenarios=("a",), pass_mark=70.0, months=12), **changes)
    assert [one.field for one in course_faults(course)] == fields


TRAINED = Trained(
    attempt="x", head="h", advice="on", person="Zoe", scenario="a", score=70.0, on=TODAY
)


@pytest.mark.parametrize(
    ("changes", "by", "fields"),
    [
        ({}, "Bo", []),
        ({"person": " "}, "Bo", ["person"]),
        ({}, " zoe", ["by"]),
        ({"score": 0.0}, "Bo", []),
        ({"score": -0.1}, "Bo", ["score"]),
        ({"score": 100.0}, "Bo", []),
        ({"score": 100.1}, "Bo", ["score"]),
        ({"attempt": "old"}, "Bo", ["attempt"]),
    ],
)
def test_what_may_be_signed_off(changes: dict[str, object], by: str, fields: list[str]) -> None:
    known = Register(signed=(Signed(replace(TRAINED, attempt="old"), "Bo", TODAY),))
    assert [one.field for one in sign_off_faults(replace(TRAINED, **changes), by, known)] == fields


# -- second fills and marks ------------------------------------------------------------------------


def test_no_second_fill_is_missed_beside_the_time_where_one_waits_by_now() -> None:
    tank = a_tank(1, "Only", second_volume_l=400.0)
    shed = Shed(a_setup(tank))
    shed.fill()
    found = second_at(shed.shift, 1, shed.now)
    assert isinstance(found, Fault)
    assert found.field == "tank"
    shed.wait(5).fill(1, 400.0, second=True)
    early = second_at(shed.shift, 1, shed.now - timedelta(minutes=1))
    assert isinstance(early, Fault)
    assert early.field == "at"
    assert not isinstance(second_at(shed.shift, 1, shed.now), Fault)
    shed.wait(5).tell(SecondSwapped(at=shed.now, by="RM", tank=1))
    gone = second_at(shed.shift, 1, shed.now)
    assert isinstance(gone, Fault)
    assert gone.field == "tank"
    assert not isinstance(second_at(shed.shift, 1, shed.now - timedelta(minutes=1)), Fault)
    unknown = second_at(shed.shift, 7, shed.now)
    assert isinstance(unknown, Fault)
    assert unknown.field == "tank"


STRIPS = Pack(key="S", name="Strips", measures=("fac_mg_l",))
METER = Device(key="A", name="Meter A", measures=("fac_mg_l",), checked_on=TODAY, check_days=7)


def checked(shed: Shed, *, fit: bool) -> InstrumentChecked:
    return InstrumentChecked(
        at=shed.now,
        by="RM",
        instrument=Instrument.CHLORINE,
        standard=50.0,
        found=50.0 if fit else 90.0,
        fit=fit,
        which="A",
    )


def test_a_late_check_marks_what_was_read_in_every_water_there_was() -> None:
    tank = a_tank(1, "Only", second_volume_l=400.0)
    shed = Shed(a_setup(tank), registers=(METER,))
    shed.fill()
    made = {"fac_mg_l": "A"}
    shed.wait(2).read(1, 50, ph=7.0, made_with=made)
    for _ in range(2):  # the first second fill is let go unused
        shed.wait(1).fill(1, 400.0, second=True)
        shed.wait(1).read(1, 50, ph=7.0, made_with=made, second=True)
    early = checked(Shed(start=START + timedelta(minutes=1)), fit=False)
    shed.tell(early)
    (only,) = shed.shift.tank(1).every_fill[:1]
    assert [len(fill.unvouched) for fill in shed.shift.tank(1).every_fill] == [1, 1, 1]
    assert not verifies(only.readings[0], only, "fac_mg_l", tank)


def test_an_instrument_is_as_its_newest_check_of_the_shift_left_it() -> None:
    shed = Shed(registers=(METER,))
    assert as_checked(shed.shift, METER) == METER
    shed.wait(1).tell(checked(shed, fit=False))
    assert as_checked(shed.shift, METER) == replace(METER, unfit_since=TODAY)
    assert unfit_now(shed.shift, METER, shed.now) is not None  # in this very minute
    assert unfit_now(shed.shift, METER, shed.now - timedelta(seconds=1)) is None
    late = replace(checked(shed, fit=True), at=START + timedelta(seconds=30))
    shed.tell(late)  # entered after the one that failed, but made before it
    assert as_checked(shed.shift, METER).unfit_since == TODAY
    tomorrow = shed.wait(24 * 60)
    shed.tell(checked(tomorrow, fit=True))
    day = TODAY + timedelta(days=1)
    assert as_checked(shed.shift, METER) == replace(METER, checked_on=day)
    pack = Pack(key="A", name="Strips", measures=("fac_mg_l",), unfit_since=TODAY)
    assert as_checked(shed.shift, pack) == replace(pack, unfit_since=None)


@pytest.mark.parametrize(("minutes", "tells"), [(24.0, True), (25.0, False)])
def test_an_answer_of_the_water_counts_for_half_an_hour(minutes: float, *, tells: bool) -> None:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(1, 50, method=Method.METER, ph=8.3, ph_method=Method.METER)
    shed.wait(6).acid(ml=300)
    shed.wait(minutes).read(1, 50, method=Method.METER, ph=7.3, ph_method=Method.METER)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    known = FillWater(shed.shift.setup, tank.spec, tank.fill).alkalinity
    assert (known is not None) is tells


# -- PINs ------------------------------------------------------------------------------------------


class Site:
    """The chain of a site, with a clock and a watch that a test sets."""

    def __init__(self) -> None:
        self.shed = Shed(a_setup(people=(*a_setup().people, BOSS)))
        self.elapsed_s = 100.0
        self.gate = Gate(
            lambda: self.shed.shift.entries,
            self.shed.tell,
            lambda: self.shed.now,
            lambda: self.elapsed_s,
        )
        for who, role in (("BO", Role.MANAGER), ("RM", Role.SUPERVISOR)):
            self.shed.tell(PinSet(at=START, by="BO", who=who, hash=KEPT, role=role))

    def saved(self, by: str, pin: str) -> str:
        setup = replace(self.shed.shift.setup, site="Another")
        self.shed.tell(SetupSaved(at=START, by="BO", setup=self.shed.shift.setup))
        fault = self.gate.saver_fault(SetupSaved(at=self.shed.now, by=by, setup=setup), pin)
        return "" if fault is None else plain(fault.message)


BOSS = Person(initials="BO", name="B. O.", role=Role.MANAGER)
PIN = "rake 22"
KEPT = hash_pin(PIN)


def test_who_has_no_pin_yet_saves_nothing_once_there_are_pins() -> None:
    site = Site()
    assert site.saved("RM", PIN) == ""
    assert "TK has no PIN yet" in site.saved("TK", PIN)
    assert "XX is not in the set-up" in site.saved("XX", PIN)


def test_setting_the_clock_back_lifts_no_wait() -> None:
    site = Site()
    for _ in range(3):
        assert "not the PIN" in site.saved("RM", "wrong")
    wrong = [one for one in site.shed.shift.entries if isinstance(one.event, PinMistaken)]
    assert len(wrong) == 3
    site.shed.wait(-24 * 60)
    site.elapsed_s += 30.0
    assert "Too many wrong PINs" in site.saved("RM", PIN)
    site.elapsed_s += 31.0
    assert site.saved("RM", PIN) == ""


# -- plans, products, set-ups ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("feed", "kind", "stops"),
    [
        (True, StepKind.DOSE, False),
        (False, StepKind.LOOK, False),
        (False, StepKind.DOSE, True),
        (True, StepKind.LOOK, False),
    ],
)
def test_a_plan_says_where_nothing_is_washed_meanwhile(
    feed: bool,  # noqa: FBT001 - a case
    kind: StepKind,
    *,
    stops: bool,
) -> None:
    step = good().plan().now
    plan = Plan(tank=3, now=replace(step, kind=kind), feed=feed)
    said = [plain(part) for part in plan.parts]
    assert said[0] == "tank 3 now"
    assert (said[-1] == "nothing is washed meanwhile") is stops


BLEACH = a_setup().sanitizers[0]


def test_caustic_is_known_of_a_liquid_whose_data_sheet_told_it() -> None:
    assert caustic_of(None) is None
    assert caustic_of(BLEACH) is None
    told = replace(BLEACH, caustic_pct=0.5)
    # By hand: 0.5 % of 1.17 kg/L are 5.85 g, 0.146 mol (40.0 g/mol), to 125 g, 1.763 mol of Cl2.
    assert caustic_of(told) == pytest.approx(0.146 / 1.763, rel=5e-3)
    usual = typical_density_kg_l(125.0, StrengthBasis.G_PER_L_AVAILABLE_CHLORINE)
    unknown = replace(told, density_kg_l=None)
    assert caustic_of(unknown) == caustic_per_mol(0.5, usual, 125.0)
    assert caustic_of(replace(told, kind=SanitizerKind.CALCIUM)) is None
    assert caustic_of(replace(told, strength=None)) is None


GRANULES = Sanitizer(
    key="x",
    name="granules",
    kind=SanitizerKind.CALCIUM,
    strength=65.0,
    basis=StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE,
)


def test_a_label_is_read_in_grams_of_a_litre_or_a_kilogram() -> None:
    assert label_strength(BLEACH) == pytest.approx(125.0)
    assert label_strength(GRANULES) == pytest.approx(650.0)
    assert label_strength(a_peracetic_setup().sanitizers[0]) == pytest.approx(168.0)  # 15 % x 1.12


def test_a_strength_is_as_sure_as_its_label_or_its_test_and_less_as_it_ages() -> None:
    fresh = strength_on(BLEACH, TODAY)
    assert (fresh.best, fresh.error, fresh.tested, fresh.days) == (125.0, 0.1, False, None)
    made = replace(BLEACH, made_on=TODAY - timedelta(days=30), storage_c=30.0)
    aged = strength_on(made, TODAY)
    assert aged.best == pytest.approx(94.6, abs=0.1)  # Adam & Gordon (1999), by hand
    # What was lost, 24.3 %, adds to the 10 % of the label as errors do.
    assert aged.error == pytest.approx(0.263, abs=1e-3)
    assert aged.share == pytest.approx(0.757, abs=1e-3)
    assert (aged.undecayed, aged.label, aged.days, aged.storage_c) == (125.0, 125.0, 30, 30.0)
    tested = replace(made, tested_g_l=100.0)
    for on, found in ((None, 100.0), (TODAY, 100.0), (TODAY + timedelta(days=1), 94.6)):
        assert strength_on(replace(tested, tested_on=on), TODAY).best == pytest.approx(found, 1e-3)
    assert strength_on(replace(tested, tested_on=TODAY), TODAY).error == 0.05
    opened = replace(BLEACH, opened_on=TODAY - timedelta(days=30), storage_c=30.0)
    assert strength_on(opened, TODAY).best == pytest.approx(94.6, abs=0.1)
    assert strength_on(replace(made, made_on=TODAY + timedelta(days=1)), TODAY).best == 125.0
    assert strength_on(made, None).best == 125.0
    for celsius, ages in ((-20.0, True), (-20.1, False), (60.0, True), (60.1, False)):
        there = strength_on(replace(made, storage_c=celsius), TODAY)
        assert (there.days is not None) is ages
    usual = strength_on(replace(made, storage_c=None), TODAY)
    assert usual.storage_c == 20.0
    old = replace(made, made_on=TODAY - timedelta(days=3650))
    ancient = replace(made, made_on=TODAY - timedelta(days=3660))
    assert strength_on(ancient, TODAY).best == strength_on(old, TODAY).best
    assert strength_on(old, TODAY).error == 0.5


@pytest.mark.parametrize("which", LimitKind)
def test_a_lowest_limit_is_one_that_a_value_is_under(which: LimitKind) -> None:
    breach = Breach(which=which, value=1.0, limit=2.0, kind=Kind.COUNT)
    lowest = {"critical low", "operating low", "pH low", "water temperature"}
    assert breach.is_under is (which.value in lowest | {"contact time", "critical contact time"})


def test_the_density_is_asked_for_where_a_percent_counts_by_weight() -> None:
    rise = next(one for one in CALCULATIONS if one.key == "rise")
    density = next(field for field in rise.fields if field.key == "density")
    by_weight = {"basis": "weight_pct_naocl"}
    assert is_asked(density, rise.fields, by_weight)
    assert not is_asked(density, rise.fields, {**by_weight, "solid": "yes"})
    assert not is_asked(density, rise.fields, {"basis": "trade_pct"})


def test_what_a_dose_does_to_the_ph_cites_where_that_comes_from() -> None:
    water = {"volume": "500", "from": "0", "to": "100", **TRADE}
    plain_dose = result("dose", water).sources
    with_ph = result("dose", {**water, "ph": "7.2", "alkalinity": "60"}).sources
    assert with_ph[: len(plain_dose)] == plain_dose
    added = with_ph[len(plain_dose) :]
    for source, words in zip(added, ("Stumm & Morgan", "Morris", "value from memory"), strict=True):
        assert words in source


def test_a_level_at_its_target_is_not_under_it() -> None:
    tank = a_tank(1, "Only")
    assert [under_target(level, tank) for level in (49.0, 50.0, 51.0)] == [True, False, False]


@pytest.mark.parametrize(
    ("product", "unit", "words"),
    [
        (BLEACH, "g", "hypochlorite is a liquid: give its amount as a volume."),
        (GRANULES, "mL", "granules is a solid: give its amount as a weight."),
    ],
)
def test_a_liquid_is_measured_and_a_solid_weighed(
    product: Sanitizer, unit: str, words: str
) -> None:
    shed = Shed(a_setup(a_tank(1, "Only", sanitizer=product.key), sanitizers=(product,)))
    shed.fill()
    dose = DoseAdded(at=shed.now, by="RM", tank=1, product=product.key, amount=Amount(5.0, unit))
    (fault,) = check(shed.shift, dose, shed.now).faults
    assert plain(fault.message) == words
    other = replace(dose, amount=Amount(0.5, "mL" if unit == "g" else "g"))
    assert faults(shed, other) == []
    for nothing in (0.0, -1.0, float("inf")):
        assert faults(shed, replace(other, amount=replace(other.amount, value=nothing))) == [
            "amount"
        ]


@pytest.mark.parametrize("value", [0.0, 14.0])
def test_a_standard_may_be_at_the_end_of_what_is_possible(value: float) -> None:
    event = InstrumentChecked(
        at=START, by="RM", instrument=Instrument.PH_METER, standard=value, found=value
    )
    assert faults(Shed(), event) == []
    beyond = replace(event, found=value + (0.1 if value else -0.1))
    assert faults(Shed(), beyond) == ["found"]


def test_what_a_set_up_knows_answers_the_calculator() -> None:
    known = {one.key: one.known for one in CALCULATIONS}
    setup, acid = a_setup(), a_peracetic_setup()
    assert known["acid"](setup, setup.tanks[0])["kind"] == "vinegar"
    assert known["acid"](setup, setup.tanks[0])["strength"] == 5.0
    assert "kind" not in known["acid"](setup, replace(setup.tanks[0], acid=None))
    assert known["peracetic"](setup, setup.tanks[0]) == {"volume": 500.0}
    told = known["peracetic"](acid, acid.tanks[0])
    assert told == {
        "volume": 500.0,
        "to": 50.0,
        "paa": 15.0,
        "peroxide": 10.0,
        "hedp": 0.6,
        "density": 1.12,
    }
    for key in ("dose", "alkalinity", "container"):
        assert known[key](acid, acid.tanks[0]).keys() & {"strength", "basis"} == set()
        assert known[key](setup, replace(setup.tanks[0], sanitizer="lye")).get("strength") is None
    solid = replace(setup, sanitizers=(replace(GRANULES, key="bleach"),))
    assert "basis" not in known["alkalinity"](solid, solid.tanks[0])
    assert known["alkalinity"](setup, setup.tanks[0])["strength"] == 12.5
    made = replace(setup.sanitizers[0], made_on=TODAY)
    aged = replace(setup, sanitizers=(made,))
    assert known["container"](aged, aged.tanks[0])["made"] == TODAY
    assert known["dose"](setup, setup.tanks[0])["strength"] == 12.5


@pytest.mark.parametrize("seconds", [60, 61])
def test_a_clock_may_be_a_minute_ahead_and_no_more(seconds: int) -> None:
    shed = good()
    note = NoteWritten(at=shed.now + timedelta(seconds=seconds), by="RM", text="x")
    assert faults(shed, note) == ([] if seconds == 60 else ["at"])


@pytest.mark.parametrize(
    ("to", "words"),
    [
        ("XX", "XX is not in the set-up."),
        ("", "– is not in the set-up."),
        ("TK", "TK is a line worker: a shift is led by a supervisor or a manager."),
        ("RM", ""),
    ],
)
def test_a_shift_is_handed_to_somebody_who_may_lead_it(to: str, words: str) -> None:
    shed = good()
    found = check(shed.shift, HandedOver(at=shed.now, by="RM", to=to), shed.now).faults
    assert plain(*(one.message for one in found)) == words


def test_only_practice_has_anything_behind_the_scenes() -> None:
    shed = good()
    event = BehindTheScenes(at=shed.now, by="RM", hint="x")
    practice = replace(shed.shift, started=replace(shed.shift.started, practice=True))
    assert [one.field for one in check(shed.shift, event, shed.now).faults] == [""]
    assert check(practice, event, shed.now).faults == ()


@pytest.mark.parametrize(
    ("chances", "fields"),
    [
        ((), []),
        ((0.0, 1.0), []),
        ((None, 0.5), []),
        ((0.5,), ["chances"]),
        ((0.5, 1.01), ["chances"]),
        ((-0.01, 0.5), ["chances"]),
    ],
)
def test_a_hold_has_a_chance_for_each_of_its_batches_or_none(
    chances: tuple[float | None, ...], fields: list[str]
) -> None:
    shed = good()
    seqs = tuple(entry.seq for entry in shed.wash(2))
    hold = HoldPlaced(
        at=shed.now, by="RM", tank=1, batches=seqs, reason="cold water", chances=chances
    )
    assert faults(shed, hold) == fields
    assert faults(shed, replace(hold, batches=(), chances=())) == ["batches"]
    assert faults(shed, replace(hold, batches=(0,), chances=())) == ["batches"]
    assert faults(shed, replace(hold, tank=7, chances=())) == ["tank"]


def test_a_clock_that_was_set_by_a_second_moves_what_was_before_by_a_second() -> None:
    shed = good()
    note = shed.tell(NoteWritten(at=shed.now, by="RM", text="x"))
    for by_s in (1, -1):
        shed.tell(ClockChanged(at=shed.now, by="RM", by_s=by_s))
        moved = next(one for one in shed.shift.entries if one.seq == note.seq)
        expected = {1: 1, -1: 0}[by_s]
        assert moved.event.at == note.event.at + timedelta(seconds=expected)


MOST_S = 20 * 366 * 24 * 60 * 60


@pytest.mark.parametrize(
    ("by_s", "refused"),
    [
        (0, True),
        (-1, False),
        (1, False),
        (60, False),  # the clock may be a minute ahead
        (61, True),  # what was entered now would not be yet
        (-MOST_S, False),
        (-MOST_S - 1, True),
    ],
)
def test_times_are_moved_by_a_second_at_least_and_never_ahead(by_s: int, *, refused: bool) -> None:
    shed = good()
    event = ClockChanged(at=shed.now, by="RM", by_s=by_s, reason="it was wrong")
    assert faults(shed, event) == (["by_s"] if refused else [])


@pytest.mark.parametrize(
    "changes",
    [
        {"readings": frozenset({1}), "batches": frozenset({2})},
        {"batches": frozenset({1}), "actions": frozenset({2})},
        {"actions": frozenset({1}), "flags": 1},
        {"flags": 1, "holds": 1},
        {"holds": 1, "corrections": 1},
        {"corrections": 1, "said": (Message("x"),)},
        {"readings": frozenset({1}), "flags": 1},
    ],
)
def test_whatever_deviates_deviates(changes: dict[str, object]) -> None:
    assert not Deviations()
    assert replace(Deviations(), **changes)
    for name, value in changes.items():
        assert replace(Deviations(), **{name: value})


def test_where_no_mark_changes_the_shift_stays_the_very_same() -> None:
    shed = Shed(a_setup(a_tank(1, "Only", second_volume_l=400.0)), registers=(METER,))
    shed.fill()
    shed.read(1, 50, ph=7.0, made_with={"fac_mg_l": "A"})
    for _ in range(2):
        shed.wait(1).fill(1, 400.0, second=True)
        shed.read(1, 50, ph=7.0, made_with={"fac_mg_l": "A"}, second=True)
    assert marked_anew(shed.shift) is shed.shift


def test_what_can_be_chosen_in_the_calculator() -> None:
    chosen = {
        (one.key, field.key): [choice.key for choice in field.choices]
        for one in CALCULATIONS
        for field in one.fields
        if field.choices
    }
    instruments = ["strip", "kit", "meter"]
    assert chosen["dose", "method"] == chosen["alkalinity", "ph-method"] == instruments
    acids = ["vinegar", "citric", "hydrochloric", "phosphoric", "sodium_bisulfate"]
    assert sorted(chosen["acid", "kind"]) == sorted([*acids, "carbon_dioxide"])
    assert sorted(chosen["alkalinity", "added"]) == sorted([*acids, "hypochlorite"])
    assert chosen["neutralise", "agent"] == [agent.value for agent in Neutraliser]
    for key in ("dose", "rise", "strength", "container", "alkalinity"):
        assert sorted(chosen[key, "basis"]) == sorted(basis.value for basis in StrengthBasis)
    assert chosen["dose", "solid"] == chosen["rise", "solid"] == ["", "yes"]


def test_only_whether_it_is_solid_is_a_yes_or_no() -> None:
    flags = {field.key for one in CALCULATIONS for field in one.fields if field.is_flag}
    assert flags == {"solid"}


def test_caustic_that_was_told_makes_the_ph_after_a_dose_sure() -> None:
    water = {"volume": "500", "from": "0", "to": "100", "ph": "7.2", "alkalinity": "60", **TRADE}
    unknown, told = result("dose", water), result("dose", {**water, "caustic": "0.5"})
    low, best, high = (
        float(str(unknown.data[name])) for name in ("ph_after_low", "ph_after", "ph_after_high")
    )
    assert low < best < high
    assert low < float(str(told.data["ph_after"])) < high
    assert told.data["ph_after_low"] == told.data["ph_after"] == told.data["ph_after_high"]
    (line,) = (one.value for one in unknown.lines if one.label == "pH after it")
    assert "by its caustic" in plain(line)


def test_no_chlorine_has_no_active_part_and_little_powder_says_how_it_is_measured() -> None:
    found = result("active", {"chlorine": "0", "ph": "7"})
    lines = {one.label: plain(one.value) for one in found.lines}
    assert lines["Hypochlorous acid, HOCl"] == "0 ppm"
    little = result("neutralise", {"volume": "5", "total": "2"})
    assert len(little.notes) == 2
    assert "None of your measures" in plain(little.notes[0])


def test_a_filling_is_doubted_beyond_half_as_much_or_more() -> None:
    shed = Shed()
    for volume, asked in ((250.0, False), (249.0, True), (750.0, False), (751.0, True)):
        event = TankFilled(at=shed.now, by="RM", tank=1, volume_l=volume)
        assert ("is far from the 500 L" in doubts(shed, event)) is asked


@pytest.mark.parametrize(
    ("thing", "instrument", "method"),
    [
        (STRIPS, Instrument.STRIPS, Method.STRIP),
        (replace(STRIPS, kind=PackKind.REAGENT), Instrument.CHLORINE, Method.KIT),
        (replace(STRIPS, kind=PackKind.REAGENT, measures=("ph",)), Instrument.PH_METER, Method.KIT),
        (METER, Instrument.CHLORINE, Method.METER),
        (replace(METER, measures=("ph", "fac_mg_l")), Instrument.PH_METER, Method.METER),
        (replace(METER, measures=("orp_mv",)), Instrument.ORP_PROBE, Method.METER),
        (replace(METER, measures=("turbidity_ntu",)), Instrument.TURBIDITY, Method.METER),
        (replace(METER, measures=("water_c",)), Instrument.THERMOMETER, Method.METER),
        (replace(METER, measures=("pulp_c",)), Instrument.THERMOMETER, Method.METER),
        (replace(METER, measures=()), Instrument.CHLORINE, Method.METER),
        (replace(METER, kind=DeviceKind.KIT), Instrument.CHLORINE, Method.KIT),
    ],
)
def test_what_is_registered_is_checked_and_measures_as_what_it_is(
    thing: Device | Pack, instrument: Instrument, method: Method
) -> None:
    assert checked_as(thing) is instrument
    assert method_of_thing(thing) is method


def test_what_was_learned_first_stays() -> None:
    shed = Shed()
    first, second = (
        (LearnedTank(tank=1, rows=(), particles=text),) for text in (b"first", b"second")
    )
    shed.tell(UsualLearned(at=shed.now, by="rules", taught=first))
    assert shed.shift.learned == first
    shed.tell(UsualLearned(at=shed.now, by="rules", taught=second))
    assert shed.shift.learned == first
