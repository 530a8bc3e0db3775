"""What is taken, asked about and told at the very edge of what can be, kind by kind.

Where no source is named, the numbers are common practice, no published source.
"""

from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.line.check_holds import names_something
from washmon.line.check_registers import thing_faults
from washmon.line.clock_changes import within
from washmon.line.deviating import too_short
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    Event,
    Instrument,
    InstrumentChecked,
    LinePaused,
    LineResumed,
    Method,
    NoteWritten,
    ReadingTaken,
    SecondSwapped,
    TankFilled,
    WaterExchanged,
)
from washmon.line.fill_water import FillWater
from washmon.line.finding import LONGEST_TEXT, text_faults
from washmon.line.flags import Amount
from washmon.line.instruments import is_off, last_passed, left_unfit, told_wrong, unfit
from washmon.line.message import say
from washmon.line.registers import Container, Device, Pack, Paper, PaperKind, Registers, Thing
from washmon.line.setup import SourceWater, Unfit
from washmon.reports.costs import decimals_of
from washmon.units import UnitSystem


def test_money_has_the_decimals_of_its_minor_unit() -> None:
    # ISO 4217, list one; values from memory.
    known = {"JPY": 0, "KRW": 0, "CLP": 0, "KWD": 3, "TND": 3, "CLF": 4, "UYW": 4, "EUR": 2}
    assert {code: decimals_of(code) for code in (*known, "XYZ", "")} == {**known, "XYZ": 2, "": 2}


@pytest.mark.parametrize(("length", "refused"), [(LONGEST_TEXT, 0), (LONGEST_TEXT + 1, 1)])
def test_a_text_is_as_long_as_is_allowed_and_no_longer(length: int, refused: int) -> None:
    assert len(list(text_faults("reason", "x" * length))) == refused


def test_no_clock_is_believed_to_have_been_wrong_by_more_than_twenty_years() -> None:
    most = 20 * 366 * 24 * 60 * 60
    assert [within(by) for by in (most, -most, most + 1, -most - 1, 60)] == [
        *(most, -most, most, -most, 60)
    ]


# -- instruments ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("instrument", "standard", "off"),
    [
        (Instrument.PH_METER, 7.0, 0.2),
        (Instrument.ORP_PROBE, 470.0, 20.0),
        (Instrument.THERMOMETER, 0.0, 1.0),
        (Instrument.CHLORINE, 20.0, 5.0),
        (Instrument.CHLORINE, 50.0, 10.0),  # a fifth
        (Instrument.STRIPS, 100.0, 20.0),
        (Instrument.TURBIDITY, 40.0, 8.0),
    ],
)
def test_an_instrument_is_off_beyond_what_it_may_be_and_not_at_it(
    instrument: Instrument, standard: float, off: float
) -> None:
    check = InstrumentChecked(at=START, by="RM", instrument=instrument, standard=standard)
    for found, is_it in ((off, False), (off * 1.01, True)):
        assert is_off(replace(check, found=standard + found)) is is_it
        assert is_off(replace(check, found=standard - found)) is is_it
    assert not is_off(check)
    assert not is_off(replace(check, standard=None, found=99.0))


METER = InstrumentChecked(at=START, by="RM", instrument=Instrument.PH_METER, standard=7.0, found=7)
LEFT = (
    Unfit(instrument="ORP probe", since=date(2026, 5, 1)),
    Unfit(instrument="pH meter", since=date(2026, 5, 2)),
)


def test_a_reading_is_told_wrong_by_the_check_before_it_or_the_one_after_it() -> None:
    """Of several checks, the newest before and the first after it tell; one that passed none."""
    passed, failed = METER, replace(METER, found=8.0, fit=False)
    adjusted = replace(METER, found=8.0, adjusted=True)
    cases: list[tuple[list[InstrumentChecked], list[InstrumentChecked], int | None]] = [
        ([], [], None),
        ([failed, passed], [], None),
        ([passed, failed], [passed], 1),
        ([passed], [adjusted, passed], 1),
        ([passed], [passed, failed], None),
        ([], [failed], 0),
    ]
    for before, after, told_by in cases:
        shed = Shed()
        shed.fill()
        told = [shed.tell(replace(one, at=shed.wait(1).now)).event for one in before]
        shed.wait(1).read(ph=7.0, ph_method=Method.METER)
        told += [shed.tell(replace(one, at=shed.wait(1).now)).event for one in after]
        tank = shed.shift.tank(1)
        assert tank.fill is not None
        found = told_wrong(shed.shift, Instrument.PH_METER, tank.fill.readings[-1])
        assert found is (None if told_by is None else told[told_by])
        assert told_wrong(shed.shift, Instrument.ORP_PROBE, tank.fill.readings[-1]) is None


def test_within_a_minute_the_order_of_the_journal_tells_what_came_first() -> None:
    adjusted = replace(METER, found=8.0, adjusted=True)
    for check_first in (True, False):
        shed = Shed(a_setup(instruments_unfit=LEFT))
        shed.fill()
        if check_first:
            shed.tell(adjusted)
        shed.read(ph=7.0, ph_method=Method.METER)
        if not check_first:
            shed.tell(adjusted)
        tank = shed.shift.tank(1)
        assert tank.fill is not None
        reading = tank.fill.readings[-1]
        wrong = told_wrong(shed.shift, Instrument.PH_METER, reading)
        assert (wrong is None) is check_first
        left = left_unfit(shed.shift, Instrument.PH_METER, reading)
        assert (left is None) is check_first


def test_what_an_earlier_shift_left_unfit_is_so_until_a_check() -> None:
    shed = Shed(a_setup(instruments_unfit=LEFT))
    shed.fill()
    shed.read(ph=7.0, ph_method=Method.METER)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    first = tank.fill.readings[-1]
    assert left_unfit(shed.shift, Instrument.PH_METER, first) == LEFT[1]
    assert left_unfit(shed.shift, Instrument.THERMOMETER, first) is None
    assert unfit(shed.shift) == LEFT
    shed.wait(1).tell(replace(METER, at=shed.now))
    assert unfit(shed.shift) == LEFT[:1]
    shed.wait(1).read(ph=7.0, ph_method=Method.METER)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    assert left_unfit(shed.shift, Instrument.PH_METER, first) == LEFT[1]
    assert left_unfit(shed.shift, Instrument.PH_METER, tank.fill.readings[-1]) is None


def test_an_instrument_last_passed_at_its_own_newest_check_before() -> None:
    shed = Shed()
    first = METER
    others = (
        replace(METER, at=START + timedelta(minutes=2), instrument=Instrument.ORP_PROBE),
        replace(METER, at=START + timedelta(minutes=3), fit=False),
        replace(METER, at=START + timedelta(minutes=4), which="Meter B"),
    )
    last = replace(METER, at=START + timedelta(minutes=5), found=8.0, fit=False)
    later = replace(METER, at=START + timedelta(minutes=6))
    for one in (first, *others, last, later):
        shed.tell(one)
    told = next(one for _, one in shed.shift.verified if one.at == last.at)
    assert last_passed(shed.shift, told) == START
    assert last_passed(shed.shift, shed.shift.verified[0][1]) is None
    passed = next(one for _, one in shed.shift.verified if one.at == later.at)
    assert last_passed(shed.shift, passed) == START


# -- the water of a fill --------------------------------------------------------------------------


def chloride(shed: Shed) -> float:
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    return FillWater(shed.shift.setup, tank.spec, tank.fill).chloride_mg_l


def test_chloride_builds_up_by_mass_balance() -> None:
    """A mol of it comes with each of hypochlorite, another as that is used up; fresh water thins.

    Mass balance: of 70.9 g of Cl2, each mol counts two of 35.45 g of chloride, half by half.
    """
    shed = Shed(a_setup(source=SourceWater(chloride_mg_l=30.0)))
    shed.fill()
    assert chloride(shed) == 30.0
    shed.dose(ml=200)  # 50 mg/L
    assert chloride(shed) == pytest.approx(30 + 25 + 25, rel=2e-3)  # as long as none was read
    shed.wait(6).read(fac=50.0, ph=7.0)
    assert chloride(shed) == pytest.approx(30 + 25, rel=5e-3)
    shed.wait(6).read(fac=20.0, ph=7.0)
    assert chloride(shed) == pytest.approx(30 + 25 + 15, rel=5e-3)
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=250.0))
    shed.wait(6).read(fac=10.0, ph=7.0)  # half of the rest went: 25 of 50 dosed, 10 left of them
    assert chloride(shed) == pytest.approx(30 + 12.5 + 7.5, rel=5e-3)
    shed.dose(ml=80)  # 20 mg/L
    shed.wait(6).read(fac=30.0, ph=7.0)
    assert chloride(shed) == pytest.approx(30 + 12.5 + 7.5 + 10, rel=5e-3)
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=500.0))
    assert chloride(shed) == pytest.approx(30.0)
    shed.wait(6).read(fac=60.0, ph=7.0)  # more than was dosed: none of it was used up
    assert chloride(shed) == pytest.approx(30.0)
    unknown = Shed()
    unknown.fill()
    assert chloride(unknown) == 50.0  # a fresh water's, where nobody wrote it down


@pytest.mark.parametrize(
    ("source", "ph"),
    [
        (SourceWater(), (7.8, 7.3, 8.3)),
        (SourceWater(ph=7.2), (7.2, 7.1, 7.3)),
        (SourceWater(ph=7.2, ph_error=0.4), (7.2, 6.8, 7.6)),
    ],
)
def test_the_ph_of_a_source_lies_within_its_error(
    source: SourceWater, ph: tuple[float, float, float]
) -> None:
    shed = Shed(a_setup(source=source))
    shed.fill()
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    water = FillWater(shed.shift.setup, tank.spec, tank.fill)
    assert water.source_ph_range() == pytest.approx(ph)


def test_water_is_told_of_as_it_was_at_an_earlier_place() -> None:
    shed = Shed()
    shed.fill()
    shed.read(fac=20.0, ph=7.0, water_c=12.0)
    shed.dose(ml=80)  # 20 mg/L
    early = (shed.now, shed.shift.last_seq)
    shed.wait(6).dose(ml=80)
    shed.read(water_c=15.0)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    water = FillWater(shed.shift.setup, tank.spec, tank.fill)
    assert (water.temperature_c(early), water.temperature_c()) == (12.0, 15.0)
    assert water.chlorine_mg_l(early) == pytest.approx(40.0, rel=2e-3)
    assert water.chlorine_mg_l() == pytest.approx(60.0, rel=2e-3)
    begun = (shed.shift.started.at - timedelta(minutes=1), 0)
    assert water.chlorine_mg_l(begun) is None
    assert water.temperature_c(begun) == 20.0


def test_nothing_that_happened_in_a_fill_is_forgotten() -> None:
    shed = Shed()
    shed.fill()
    for _ in range(3):
        shed.wait(1).tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=10.0))
        shed.tell(LinePaused(at=shed.now, by="RM", reason="lunch"))
        shed.wait(1).tell(LineResumed(at=shed.now, by="RM"))
        shed.acid(ml=5)
        shed.dose(ml=5)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    assert [len(one) for one in (tank.fill.exchanges, tank.fill.doses, tank.fill.acids)] == [3] * 3
    assert len(shed.shift.pauses) == 3
    assert [one for one in shed.shift.pauses if one.over is None] == []
    last = tank.fill.last_addition()
    assert last is not None
    assert isinstance(last.event, DoseAdded)
    shed.acid(ml=5)
    again = shed.shift.tank(1).fill
    assert again is not None
    newest = again.last_addition()
    assert newest is not None
    assert isinstance(newest.event, AcidAdded)


# -- what a decision names ------------------------------------------------------------------------

DONE: dict[str, tuple[Event, str, str]] = {
    "dose": (
        DoseAdded(at=START, by="RM", tank=1, product="bleach", amount=Amount(60, "mL")),
        "re-dosed at once",
        "se dosificó al momento",
    ),
    "acid": (
        AcidAdded(at=START, by="RM", tank=1, product="vinegar", amount=Amount(60, "mL")),
        "more acid went in",
        "más ácido",
    ),
    "filling": (
        TankFilled(at=START, by="RM", tank=1, volume_l=500),
        "the tank was filled anew",
        "se llenó de nuevo",
    ),
    "exchange": (
        WaterExchanged(at=START, by="RM", tank=1, volume_l=100),
        "half was changed",
        "se cambió la mitad",
    ),
    "swap": (SecondSwapped(at=START, by="RM", tank=1), "fresh came in", "entró agua limpia"),
    "reading": (
        ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=50.0),
        "measured more often",
        "medir más veces",
    ),
    "batch": (
        BatchWashed(at=START, by="RM", tanks=(1,), lot="Q"),
        "all washed over",
        "se lavó otra vez",
    ),
    "pause": (LinePaused(at=START, by="RM", reason="x"), "feeding stopped", "quedó parado"),
    "instrument": (METER, "calibrated daily", "se calibró"),
}


@pytest.mark.parametrize("act", DONE)
def test_a_decision_names_an_act_only_where_there_was_one(act: str) -> None:
    event, english, spanish = DONE[act]
    before, after = Shed(a_setup(a_tank(1, "Nº"))), Shed(a_setup(a_tank(1, "Nº")))
    after.tell(event)
    for words in (english, spanish):
        assert not names_something(words, before.shift), words
        assert names_something(words, after.shift), words


@pytest.mark.parametrize(
    ("words", "named"),
    [
        ("all of l-1 went to juice", True),  # a lot
        ("the dunk was looked at", True),  # a tank
        ("as it was at 7:00", True),  # when something was entered
        ("as it was at 07:01", False),
        ("it had 50.5 by then", True),  # as read
        ("it had 50,5 by then", True),
        ("it had 51 by then", False),
        ("it got 60 of it", True),  # as dosed
        ("it got 2 fl oz of it", True),  # as it was typed
        ("it got 4 fl oz of it", False),
        ("it got 490 of it", True),  # as filled
        ("it lost 120 of it", True),  # as exchanged
        ("it was 19.88 by then", True),  # 19.877, to two digits
        ("it was 19.87 by then", False),
        ("of 3 of them nobody knows", True),  # as held
        ("of 4 of them nobody knows", False),
        ("everybody was told again", False),
    ],
)
def test_a_decision_names_lots_tanks_times_and_amounts_of_the_shift(
    words: str, *, named: bool
) -> None:
    shed = Shed(a_setup(a_tank(1, "Dunk")))
    shed.fill(volume_l=490.0)
    shed.read(fac=50.5, ph=7.0)
    shed.read(water_c=19.877)
    dose = DoseAdded(
        at=shed.now, by="RM", tank=1, product="bleach", amount=Amount(60, "mL"), as_entered="2 floz"
    )
    shed.tell(dose)
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=120.0))
    shed.hold(*(shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot="L-1")).seq,) * 3)
    assert names_something(words, shed.shift) is named


def test_the_gravest_of_several_contact_times_is_told() -> None:
    first = a_tank(1, "First", contact_s=90.0, critical_contact_s=None)
    second = a_tank(2, "Second", contact_s=80.0, critical_contact_s=30.0)
    third = a_tank(3, "Third", contact_s=None)
    shed = Shed(a_setup(first, second, third))
    for stayed, limit in ((20.0, 30.0), (70.0, 90.0), (85.0, 90.0), (95.0, None)):
        batch = BatchWashed(at=START, by="RM", tanks=(1, 2, 3), lot="L-1", contact_s=stayed)
        found = too_short(shed.shift, batch)
        assert (None if found is None else found.limit) == limit
    other = BatchWashed(at=START, by="RM", tanks=(2,), lot="L-1", contact_s=70.0)
    found = too_short(shed.shift, other)
    assert found is not None
    assert found.limit == 80.0


# -- what is registered ---------------------------------------------------------------------------

TODAY = START.date()
TOMORROW = TODAY + timedelta(days=1)
DEVICE = Device(key="A", name="Meter A", serial="1", measures=("ph",), check_days=7)
PACK = Pack(key="S", name="Strips", lot="1", measures=("fac_mg_l",))
DRUM = Container(key="D", name="Drum", product="bleach")
PAPER = Paper(key="P", name="Label", kind=PaperKind.LABEL, sha256="0" * 64, size=10)


@pytest.mark.parametrize(
    ("thing", "fields"),
    [
        (DEVICE, []),
        (replace(DEVICE, key=""), [""]),
        (replace(DEVICE, name="  "), ["name"]),
        (replace(DEVICE, name="x" * 60), []),
        (replace(DEVICE, name="x" * 61), ["name"]),
        (replace(DEVICE, serial="x" * 200), []),
        (replace(DEVICE, serial="x" * 201), ["serial"]),
        (replace(DEVICE, measures=()), ["measures"]),
        (replace(DEVICE, measures=("ph", "luck")), ["measures"]),
        (replace(DEVICE, check_days=None), []),
        (replace(DEVICE, check_days=1), []),
        (replace(DEVICE, check_days=1000), []),
        (replace(DEVICE, check_days=0), ["check_days"]),
        (replace(DEVICE, check_days=1001), ["check_days"]),
        (replace(DEVICE, checked_on=TODAY), []),
        (replace(DEVICE, checked_on=TOMORROW), ["checked_on"]),
        (PACK, []),
        (replace(PACK, lot="x" * 201), ["lot"]),
        (replace(PACK, measures=()), ["measures"]),
        (replace(PACK, opened_on=TODAY, use_by=TODAY), []),
        (replace(PACK, opened_on=TOMORROW), ["opened_on"]),
        (replace(PACK, opened_on=TODAY, use_by=TODAY - timedelta(days=1)), ["use_by"]),
        (replace(PACK, use_by=TODAY - timedelta(days=1)), []),
        (DRUM, []),
        (replace(DRUM, product="vinegar"), []),
        (replace(DRUM, product="lye"), ["product"]),
        (replace(DRUM, product="lye", retired_on=TODAY), []),
        (replace(DRUM, opened_on=TOMORROW), ["opened_on"]),
        (replace(DRUM, full=Amount(0.5, "mL")), []),
        (replace(DRUM, full=Amount(0.0, "mL")), ["full"]),
        (replace(DRUM, full=Amount(1e9, "mL")), []),
        (replace(DRUM, full=Amount(1.1e9, "mL")), ["full"]),
        (replace(DRUM, reorder_at=0.5), []),
        (replace(DRUM, reorder_at=0.0), ["reorder_at"]),
        (replace(DRUM, reorder_at=1.1e9), ["reorder_at"]),
        (replace(DRUM, strength=0.5), []),
        (replace(DRUM, strength=0.0), ["strength"]),
        (replace(DRUM, strength=1000.0), []),
        (replace(DRUM, strength=1001.0), ["strength"]),
        (replace(DRUM, otherwise=float("nan")), ["left"]),
        (PAPER, []),
        (replace(PAPER, file="x" * 500), []),
        (replace(PAPER, file="x" * 501), ["file"]),
        (replace(PAPER, sha256="0" * 63), ["file"]),
        (replace(PAPER, size=1), []),
        (replace(PAPER, size=0), ["file"]),
        (replace(PAPER, size=20_000_000), []),
        (replace(PAPER, size=20_000_001), ["file"]),
    ],
)
def test_what_can_be_registered_and_beside_which_field_it_is_refused(
    thing: Thing, fields: list[str]
) -> None:
    found = thing_faults(thing, Registers(), a_setup(), TODAY)
    assert [one.field for one in found] == fields


def test_no_product_is_known_where_no_line_is_described() -> None:
    (fault,) = thing_faults(DRUM, Registers(), None, TODAY)
    assert fault.field == "product"


@pytest.mark.parametrize(
    ("thing", "refused"),
    [
        (replace(DEVICE, key="B", name=" meter a"), True),
        (replace(DEVICE, key="B", name="Meter A", serial="2"), False),
        (replace(DEVICE, name="Meter A"), False),  # it is told anew
        (replace(DEVICE, key="C", name="Old meter"), False),
        (Pack(key="B", name="Meter A", lot="1", measures=("ph",)), False),
    ],
)
def test_two_things_of_a_kind_are_told_apart_by_name_or_mark(
    thing: Thing, *, refused: bool
) -> None:
    old = replace(DEVICE, key="O", name="Old meter", retired_on=TODAY)
    known = Registers(things=(DEVICE, old))
    assert [one.field for one in thing_faults(thing, known, a_setup(), TODAY)] == (
        ["name"] if refused else []
    )


def test_a_key_stands_for_one_kind_of_thing() -> None:
    known = Registers(things=(DEVICE,))
    (fault,) = thing_faults(replace(PACK, key="A"), known, a_setup(), TODAY)
    assert fault.field == ""


def test_all_papers_together_have_a_gigabyte_and_each_counts_once() -> None:
    papers = tuple(
        replace(PAPER, key=f"{at}", name=f"{at}", sha256=f"{at:064}", size=20_000_000)
        for at in range(1, 50)
    )
    known = Registers(things=papers)  # 980 MB
    last = replace(PAPER, key="Z", name="Z", size=20_000_000)
    assert list(thing_faults(last, known, a_setup(), TODAY)) == []
    full = Registers(things=(*papers, last))
    (fault,) = thing_faults(
        replace(PAPER, key="Y", name="Y", sha256="f" * 64, size=1), full, a_setup(), TODAY
    )
    assert say(fault.message, UnitSystem.METRIC).startswith("There is no room for more papers")
    twice = replace(last, key="Y", name="Y")  # the same content: kept once
    assert list(thing_faults(twice, full, a_setup(), TODAY)) == []


def test_a_thing_told_anew_takes_the_place_of_what_it_was() -> None:
    first, second = DEVICE, replace(DEVICE, key="B", name="Meter B")
    known = Registers().with_thing(first).with_thing(second)
    assert known.things == (first, second)
    again = replace(first, serial="2")
    assert known.with_thing(again).things == (again, second)


def test_words_need_not_be_told_of_a_note() -> None:
    note = NoteWritten(at=START, by="RM", text="x")
    assert [one.field for one in text_faults("text", note.text)] == []
    assert [one.field for one in text_faults("text", " ")] == ["text"]
