"""How registers, papers, PINs and records stand at the edge of what is told of them.

Where no source is named, the numbers are common practice, no published source.
"""

from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.check import Fault
from washmon.line.events import (
    DoseAdded,
    Event,
    NoteWritten,
    ShiftEnded,
    ShiftReviewed,
    ShiftSigned,
)
from washmon.line.flags import Amount, Level
from washmon.line.gate import Gate
from washmon.line.message import Figure, Message, say
from washmon.line.papers_asked import answers
from washmon.line.pins import FIRST_WAIT, FREE_TRIES, LONGEST_WAIT, REMEMBERED, Pins, waiting, weak
from washmon.line.record import missing
from washmon.line.register_state import Stock, pressing, state_of, worst_first
from washmon.line.registers import (
    Container,
    Device,
    Pack,
    Paper,
    PaperKind,
    Registers,
    Thing,
    full_name,
    labels,
    retired,
)
from washmon.line.registry import used_by
from washmon.line.same import Same
from washmon.line.setup import PhLimits, Price, Role
from washmon.line.setup_changes import changes
from washmon.line.signing import role_fault
from washmon.line.site_events import PinSet
from washmon.units import Kind, UnitSystem

TODAY = START.date()


def plain(*messages: Message) -> str:
    said = " ".join(say(message, UnitSystem.METRIC) for message in messages)
    return said.replace("\N{NO-BREAK SPACE}", " ")


def ahead(days: int) -> date:
    return TODAY + timedelta(days=days)


METER = Device(key="A", name="Meter A", measures=("ph",), check_days=10)
STRIPS = Pack(key="S", name="Strips", measures=("fac_mg_l",))
DRUM = Container(key="D", name="Drum", product="bleach", full=Amount(20_000, "mL"))
LABEL = Paper(key="P", name="Label", kind=PaperKind.LABEL, sha256="0" * 64, size=10)
USABLE = "To be reviewed by 2026-06-07."


@pytest.mark.parametrize(
    ("thing", "level", "words"),
    [
        # A fifth of the days between two checks, and at least one.
        (replace(METER, checked_on=ahead(-8)), Level.WATCH, "Its check is due by 2026-05-09."),
        (replace(METER, checked_on=ahead(-7)), None, "Checked; due again by 2026-05-10."),
        (
            replace(METER, check_days=4, checked_on=ahead(-2)),
            None,
            "Checked; due again by 2026-05-09.",
        ),
        (
            replace(METER, check_days=1, checked_on=TODAY),
            Level.WATCH,
            "Its check is due by 2026-05-08.",
        ),
        (
            replace(STRIPS, use_by=ahead(14)),
            Level.WATCH,
            "Use it first: it is good until 2026-05-21.",
        ),
        (replace(STRIPS, use_by=ahead(15)), None, "Good until 2026-05-22."),
        (STRIPS, None, "No day is told until which it is good."),
        (
            replace(STRIPS, unfit_since=ahead(-3), use_by=ahead(14)),
            Level.STOP,
            "Unfit by its check of 2026-05-04.",
        ),
        (
            replace(STRIPS, unfit_since=ahead(-3), use_by=ahead(-1)),
            Level.STOP,
            "Unfit by its check of 2026-05-04. Past its date: it was good until 2026-05-06.",
        ),
        (replace(DRUM, use_by=TODAY), None, "20 L left."),
        (
            replace(DRUM, use_by=ahead(-1)),
            Level.ACT,
            "Past its date: it was good until 2026-05-06. 20 L left.",
        ),
        (replace(DRUM, full=None), None, ""),
        (
            replace(DRUM, otherwise=20_000.0),
            Level.WATCH,
            "Empty by what was poured: retire it, or say what is left.",
        ),
        (replace(DRUM, otherwise=19_999.0), None, "0 L left."),
        (
            replace(DRUM, reorder_at=20_000.0),
            Level.WATCH,
            "Order more: little of it is left in all. 20 L left.",
        ),
        (replace(DRUM, reorder_at=19_999.0), None, "20 L left."),
        (replace(DRUM, full=Amount(2500, "g")), None, "2500 g left."),
        (replace(DRUM, strength=12.5), None, "20 L left."),
        (
            replace(DRUM, strength=12.6),
            Level.WATCH,
            "Its label says 12.6 %, the set-up 12.5 %: doses go by the set-up. 20 L left.",
        ),
        (
            replace(DRUM, product="vinegar", strength=6.0),
            Level.WATCH,
            "Its label says 6 %, the set-up 5 %: doses go by the set-up. 20 L left.",
        ),
        (LABEL, None, "No review is planned."),
        (
            replace(LABEL, review_on=ahead(-1)),
            Level.ACT,
            "Its review is overdue: it was due by 2026-05-06.",
        ),
        (replace(LABEL, review_on=TODAY), Level.WATCH, "Review it by 2026-05-07."),
        (replace(LABEL, review_on=ahead(30)), Level.WATCH, "Review it by 2026-06-06."),
        (replace(LABEL, review_on=ahead(31)), None, USABLE),
        (replace(LABEL, review_on=ahead(31), retired_on=TODAY), None, "Retired on 2026-05-07."),
    ],
)
def test_a_thing_tells_how_it_stands_to_the_day(
    thing: Thing, level: Level | None, words: str
) -> None:
    stock = Stock(registers=Registers(things=(thing,)), setup=a_setup())
    state = state_of(thing, stock, TODAY)
    assert (state.level, plain(*state.words)) == (level, words)


def test_what_is_left_is_told_in_litres_or_grams() -> None:
    for amount, figure in (
        (Amount(12_345.0, "mL"), Figure(12.345, Kind.VOLUME)),
        (Amount(2500.0, "g"), Figure(2500.0, Kind.MASS)),
    ):
        drum = replace(DRUM, full=amount)
        (left,) = state_of(drum, Stock(registers=Registers(things=(drum,))), TODAY).words
        assert left.values == {"left": figure}


def test_a_paper_whose_file_is_gone_says_so() -> None:
    paper = replace(LABEL, review_on=ahead(31))
    for gone, level in ((frozenset[str](), None), (frozenset({"0" * 64}), Level.ACT)):
        stock = Stock(registers=Registers(things=(paper,)), missing=gone)
        state = state_of(paper, stock, TODAY)
        assert state.level is level
        assert ("Its file is missing" in plain(*state.words)) is bool(gone)


def test_a_strength_in_grams_is_told_in_grams() -> None:
    setup = a_setup()
    bleach = replace(
        setup.sanitizers[0], strength=125.0, basis=StrengthBasis.G_PER_L_AVAILABLE_CHLORINE
    )
    drum = replace(DRUM, strength=100.0)
    stock = Stock(registers=Registers(things=(drum,)), setup=replace(setup, sanitizers=(bleach,)))
    assert "Its label says 100 g/L, the set-up 125 g/L" in plain(
        *state_of(drum, stock, TODAY).words
    )


def test_what_presses_comes_first_then_instruments_packs_containers_papers_by_name() -> None:
    things: tuple[Thing, ...] = (
        LABEL,
        replace(LABEL, key="Q", name="a paper"),
        DRUM,
        replace(STRIPS, key="T", name="Strips B", use_by=ahead(15)),
        replace(STRIPS, use_by=ahead(15)),
        replace(METER, checked_on=TODAY, retired_on=TODAY),
        replace(METER, key="B", name="meter B", checked_on=TODAY),
        replace(METER, key="C", name="Meter C", checked_on=ahead(-11)),
        replace(DRUM, key="E", name="Empty", otherwise=20_000.0),
        replace(METER, key="U", name="Unfit", unfit_since=TODAY),
    )
    stock = Stock(registers=Registers(things=things), setup=a_setup())
    assert [one.key for one, _ in worst_first(stock, TODAY)] == [*"UCEBSTDQPA"]
    told = [(one.key, plain(message)) for one, message in pressing(stock, TODAY)]
    assert told == [
        ("U", "Unfit by its check of 2026-05-07."),
        ("C", "Its check is overdue: it was due by 2026-05-06."),
        ("E", "Empty by what was poured: retire it, or say what is left."),
    ]


def test_a_late_paper_and_a_check_that_comes_up_stop_no_shift() -> None:
    things: tuple[Thing, ...] = (
        replace(LABEL, review_on=ahead(-9)),
        replace(METER, checked_on=ahead(-9)),
        replace(STRIPS, use_by=TODAY),
    )
    stock = Stock(registers=Registers(things=things), setup=a_setup())
    assert list(pressing(stock, TODAY)) == []


# -- papers that are asked for --------------------------------------------------------------------


def standing(*things: Thing, missing: tuple[str, ...] = ()) -> dict[str, tuple[int, bool, bool]]:
    """Return by clause how many papers answer it, whether they lack, and whether all are late."""
    found = answers(Registers(things=things), TODAY, missing)
    return {one.asked.clause: (len(one.papers), one.lacks, one.late) for one in found}


CALIBRATION = "117.190(a)(4)(iv)"
VALIDATION = "117.190(a)(4)(i)"
OF_SHIFTS = "112.50(b)(11), 117.190(a)(2)"


def test_what_is_asked_for_is_answered_by_papers_that_are_there_or_by_the_logbook() -> None:
    nothing = standing()
    assert nothing[VALIDATION] == (0, True, False)
    assert nothing[OF_SHIFTS] == (0, False, False)  # the Logbook answers
    assert nothing[CALIBRATION] == (0, True, False)  # no instrument is registered either
    assert standing(METER)[CALIBRATION] == (0, False, False)
    assert standing(replace(METER, retired_on=TODAY))[CALIBRATION] == (0, True, False)
    study = replace(LABEL, kind=PaperKind.VALIDATION)
    assert standing(study)[VALIDATION] == (1, False, False)
    assert standing(replace(study, retired_on=TODAY))[VALIDATION] == (0, True, False)
    assert standing(study, missing=(study.sha256,))[VALIDATION] == (0, True, False)
    assert standing(LABEL)[VALIDATION] == (0, True, False)


def test_an_answer_is_late_where_every_paper_of_it_is() -> None:
    study = replace(LABEL, kind=PaperKind.VALIDATION)
    late = replace(study, key="L", name="Late", review_on=ahead(-1))
    due = replace(study, key="T", name="Due", review_on=TODAY)
    assert standing(late)[VALIDATION] == (1, False, True)
    assert standing(due)[VALIDATION] == (1, False, False)
    assert standing(late, study)[VALIDATION] == (2, False, False)
    assert standing(late, due)[VALIDATION] == (2, False, False)


# -- PINs -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pin", "taken"),
    [
        ("471", False),
        ("4711", True),
        ("47" * 16, True),
        ("47" * 16 + "1", False),
        ("0123", False),
        ("8901", False),
        ("2109", False),
        ("9001", True),
        ("8998", True),
        ("9012345678901", False),
        ("1122", True),
    ],
)
def test_a_pin_is_long_enough_and_not_soon_guessed(pin: str, *, taken: bool) -> None:
    assert (weak(pin) is None) is taken


def wrong(times: int, apart: timedelta = timedelta(seconds=1)) -> Pins:
    return Pins(mistakes={"RM": tuple(START + apart * at for at in range(times))})


@pytest.mark.parametrize(
    ("times", "wait"),
    [
        (FREE_TRIES - 1, None),
        (FREE_TRIES, FIRST_WAIT),
        (FREE_TRIES + 1, 2 * FIRST_WAIT),
        (FREE_TRIES + 2, 4 * FIRST_WAIT),
        (FREE_TRIES + 3, 8 * FIRST_WAIT),
        (FREE_TRIES + 4, LONGEST_WAIT),
        (FREE_TRIES + 40, LONGEST_WAIT),
    ],
)
def test_the_wait_after_each_wrong_pin_doubles_up_to_a_quarter_of_an_hour(
    times: int, wait: timedelta | None
) -> None:
    pins = wrong(times, timedelta())
    assert pins.open_again("RM", START) == (None if wait is None else START + wait)
    assert pins.open_again("TK", START) is None
    if wait is not None:
        assert pins.open_again("RM", START + wait - timedelta(seconds=1)) == START + wait
        assert pins.open_again("RM", START + wait) is None  # it is over then
        said = waiting(pins, "RM", START)
        assert said is not None


def test_a_wrong_pin_counts_for_an_hour_and_one_of_the_future_never() -> None:
    pins = wrong(FREE_TRIES + 30, timedelta())
    assert pins.open_again("RM", START - timedelta(seconds=1)) is None
    assert pins.open_again("RM", START + REMEMBERED) is None
    old = Pins(mistakes={"RM": (START, START, START + REMEMBERED)})
    assert old.open_again("RM", START + REMEMBERED) is None
    fresh = Pins(mistakes={"RM": (START + timedelta(seconds=1),) * 2 + (START + REMEMBERED,)})
    assert fresh.open_again("RM", START + REMEMBERED) is not None


def test_before_a_line_is_described_no_pin_is_set() -> None:
    gate = Gate(list, lambda _event: None, lambda: START)
    event = PinSet(at=START, by="RM", who="RM", hash="h", role=Role.SUPERVISOR)
    fault = gate.change(None, event, "")
    assert isinstance(fault, Fault)
    assert plain(fault.message) == "Describe the line first."


# -- signatures and records -----------------------------------------------------------------------


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("review", [False, True])
def test_who_may_not_sign_or_review_is_told_who_may(role: Role, *, review: bool) -> None:
    person = replace(a_setup().people[0], role=role)
    kind = ShiftReviewed if review else ShiftSigned
    found = role_fault(person, kind(at=START, by="RM", role=role, covers="h"))
    allowed = {Role.MANAGER} if review else {Role.MANAGER, Role.SUPERVISOR}
    words = "Only a manager reviews" if review else "Only a supervisor or a manager signs"
    assert (found is None) is (role in allowed)
    assert found is None or plain(found).startswith(words)
    other = Role.MANAGER if role is not Role.MANAGER else Role.SUPERVISOR
    assert role_fault(person, kind(at=START, by="RM", role=other, covers="h")) is not None
    assert role_fault(None, kind(at=START, by="RM", role=role, covers="h")) is not None


TAILS = "was not measured"


def tails(shed: Shed) -> list[str]:
    return [text for one in missing(shed.shift) if TAILS in (text := plain(one))]


def test_each_water_is_measured_after_its_last_batch() -> None:
    shed = Shed(a_setup(a_tank(1, "Dunk")))
    for batches, measured in ((2, True), (1, False), (0, False), (1, True)):
        shed.wait(1).fill()
        shed.read(fac=50, ph=7.0)
        shed.wash(batches)
        if measured:
            shed.wait(1).read(fac=48, ph=7.0)
    (second,) = tails(shed)
    assert second.startswith("1 Dunk was not measured between its last batch and the water change")
    third = shed.shift.tank(1).fills[2]
    assert f"{third.at:%H:%M}" in second
    shed.wash(1)
    assert tails(shed)[1:] == ["1 Dunk was not measured after its last batch."]
    shed.wait(1).read(fac=47, ph=7.0)
    assert tails(shed) == [second]


def test_readings_without_a_level_are_no_measuring_of_the_sanitizer() -> None:
    shed = Shed(a_setup(a_tank(1, "Dunk")))
    shed.fill()
    shed.read(ph=7.0)
    shed.wash(1)
    said = [plain(one) for one in missing(shed.shift)]
    assert "The sanitizer of 1 Dunk was never measured." in said
    assert tails(shed) == []  # it is told above
    shed.wait(1).read(fac=50)
    shed.wash(1)
    assert tails(shed) == ["1 Dunk was not measured after its last batch."]
    said = [plain(one) for one in missing(shed.shift)]
    assert "The sanitizer of 1 Dunk was never measured." not in said
    assert "The pH of 1 Dunk was never measured." not in said


def test_what_is_retired_keeps_all_but_its_use() -> None:
    for thing in (METER, STRIPS, DRUM, LABEL):
        assert retired(thing, TODAY) == replace(thing, retired_on=TODAY)


def test_a_water_that_was_changed_before_anything_was_washed_lacks_nothing() -> None:
    shed = Shed(a_setup(a_tank(1, "Dunk")))
    shed.fill()
    shed.read(fac=50, ph=7.0)
    shed.wash(1)
    shed.wait(1).read(fac=48, ph=7.0)
    shed.fill()
    shed.wait(1).fill()
    shed.wash(1)
    assert tails(shed) == ["1 Dunk was not measured after its last batch."]


@pytest.mark.parametrize("practice", [False, True])
@pytest.mark.parametrize("things", [(), (DRUM,)])
def test_what_a_shift_used_is_remembered_as_it_ends_and_as_its_record_changes(
    things: tuple[Thing, ...], *, practice: bool
) -> None:
    shed = Shed(registers=things)
    shed.fill()
    started = replace(shed.shift.started, practice=practice)
    remembers = bool(things) and not practice
    dose = DoseAdded(
        at=shed.now,
        by="RM",
        tank=1,
        product="bleach",
        amount=Amount(60, "mL"),
        container="D" if things else "",
    )
    shed.tell(dose)
    end = ShiftEnded(at=shed.now, by="RM")
    note = NoteWritten(at=shed.now, by="RM", text="x")

    def told(event: Event) -> dict[str, float] | None:
        found = used_by(replace(shed.shift, started=started), event)
        return None if found is None else found.drawn

    assert told(dose) is None  # the shift still runs
    assert told(end) == ({"D": 60.0} if remembers else None)
    shed.tell(end)
    assert told(dose) == ({"D": 60.0} if remembers else None)
    assert told(note) is None


# -- set-ups --------------------------------------------------------------------------------------


def test_usual_limits_of_ph_are_the_published_ones() -> None:
    # pH 6.5 to 7.5: Ritenour et al., UF/IFAS CH160.
    limits = PhLimits()
    assert (limits.low, limits.high) == (6.5, 7.5)
    assert limits.low < limits.target < limits.high


@pytest.mark.parametrize(
    ("site", "location", "place"),
    [("Shed", "Bay 2", "Shed, Bay 2"), ("Shed", "", "Shed"), ("", "Bay 2", "Bay 2"), ("", "", "")],
)
def test_a_place_is_told_as_far_as_it_is_written(site: str, location: str, place: str) -> None:
    assert replace(a_setup(), site=site, location=location).place == place


def test_lists_without_names_are_told_whole_and_prices_part_by_part() -> None:
    before = a_setup(strip_pads_mg_l=(0.0, 50.0))
    (pads,) = changes(before, replace(before, strip_pads_mg_l=(0.0, 25.0, 50.0)))
    assert pads.path == ("strip_pads_mg_l",)
    assert (pads.was, pads.now) == ("0.0, 50.0", "0.0, 25.0, 50.0")
    priced = replace(before, water_price=Price(cost=2.0, amount=1000.0))
    assert {one.path for one in changes(before, priced)} >= {
        ("water_price", "cost"),
        ("water_price", "amount"),
    }
    assert changes(before, before) == ()


def test_a_thing_is_the_same_as_itself_and_as_no_other_like_it() -> None:
    one, other = [1], [1]
    assert Same(one) == Same(one)
    assert Same(one) != Same(other)
    assert Same(one) != one


def test_what_is_poured_first_is_what_expires_first_then_what_was_opened_first() -> None:
    late = replace(DRUM, key="L", use_by=ahead(30), opened_on=ahead(-9))
    soon = replace(DRUM, key="S", use_by=ahead(10), opened_on=ahead(-1))
    older = replace(DRUM, key="O", use_by=ahead(10), opened_on=ahead(-2))
    undated = replace(DRUM, key="U", opened_on=ahead(-20))
    sealed = replace(DRUM, key="X")
    gone = replace(DRUM, key="G", use_by=ahead(1), retired_on=TODAY)
    other = replace(DRUM, key="V", product="vinegar", use_by=ahead(1))
    known = Registers(things=(sealed, undated, late, soon, older, gone, other))
    assert [one.key for one in known.holding("bleach")] == [*"OSLUX"]


def test_things_of_one_name_are_told_apart_by_their_marks() -> None:
    one, other = replace(STRIPS, lot="12"), replace(STRIPS, key="T", lot="13")
    known = Registers(things=(one, other, replace(METER, serial="0417")))
    assert [text for _, text in labels(known)] == ["12 Strips", "13 Strips", "Meter A"]
    assert full_name(one) == "Strips 12"


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (0, ""),
        (1, "A reading was made with what was not fit for use."),
        (2, "2 readings were made with what was not fit for use."),
    ],
)
def test_readings_of_unfit_instruments_are_counted_before_signing(count: int, said: str) -> None:
    never = replace(METER, measures=("fac_mg_l",))
    shed = Shed(registers=(never,))
    shed.fill()
    for _ in range(count):
        shed.wait(1).read(fac=50, made_with={"fac_mg_l": "A"})
    told = [plain(one) for one in missing(shed.shift)]
    assert [one for one in told if "not fit for use" in one] == ([said] if said else [])
