"""The presenter says the right words and numbers of a snapshot, purely and quickly."""

import time
from datetime import timedelta
from operator import attrgetter
from pathlib import Path

import msgspec
import pytest
from msgspec.structs import replace

from tests.gui.board.scenes import (
    ME,
    a_dose,
    a_good_shed,
    a_line,
    a_troubled_shed,
    acknowledge,
    calm,
    end,
    planned,
    see,
)
from tests.shed import Shed, a_setup, a_tank
from washmon import data
from washmon.gui.board.board_words import age_words, answer_word
from washmon.gui.board.panel_views import BoardView, PanelView, Phase
from washmon.gui.board.presenter import ViewShelf, present
from washmon.gui.context import UserContext
from washmon.gui.entry.ask import kind_for
from washmon.gui.kit.state_mark import MarkState
from washmon.line.events import BatchWashed, Method
from washmon.line.events import WaterExchanged as Exchanged
from washmon.line.flags import Step, StepKind
from washmon.line.message import Message
from washmon.line.setup import Look as Card
from washmon.line.setup import TemperatureRule, TemperatureRuleKind
from washmon.planning.snapshot import Mode, Snapshot
from washmon.sessions.file import read
from washmon.sessions.player import Player
from washmon.units import UnitSystem


def panel(view: BoardView, number: int = 1) -> PanelView:
    return view.panels[number - 1]


def looks(view: PanelView) -> dict[str, MarkState]:
    """What is marked on a panel, by name."""
    marked = {value.name: value.look for value in view.values}
    marked |= {"free": view.level.look, "age": view.measured.look, "facts": view.facts.look}
    return {name: look for name, look in marked.items() if look is not MarkState.IN_LIMITS}


def test_a_calm_line_says_so_and_marks_nothing() -> None:
    view = present(see(a_good_shed()), ME)
    assert view.phase is Phase.RUNNING
    assert [one.look for one in view.panels] == [MarkState.IN_LIMITS] * 2
    assert looks(panel(view)) == {}
    assert view.pressing == ()
    assert view.banners == ()


def test_facts_level_and_limits_are_said_in_one_line_each() -> None:
    view = panel(present(see(a_troubled_shed()), ME))
    assert view.title == "1 Dump tank"
    assert " ".join(view.facts.text.split()) == "500 L · filled 07:00 · 3 batches"
    assert (view.level.text, view.caption) == ("31", "ppm free")
    assert view.measured.text == "strip, 3 min ago"
    assert view.limits == "target 50, keep 35–75, critical 25"
    assert (view.scale.critical, view.scale.low, view.scale.target) == (25, 35, 50)
    assert (view.scale.high, view.scale.reading) == (75, 31)


def test_a_low_reading_marks_the_number_and_asks_for_the_dose_with_its_range() -> None:
    view = panel(present(see(a_troubled_shed()), ME))
    assert view.look is MarkState.ACT
    assert looks(view) == {"free": MarkState.ACT}
    assert "mL hypochlorite" in view.step.text
    assert view.step.quiet.startswith("Brings it to ")
    assert view.step.kind is StepKind.DOSE
    assert view.step.look is MarkState.ACT
    assert view.step.caution is not None
    assert view.step.caution.word == "WARNING"


def test_a_high_ph_marks_ph_and_the_active_share() -> None:
    view = panel(present(see(a_troubled_shed()), ME), 2)
    assert view.look is MarkState.WATCH
    assert looks(view) == {"pH": MarkState.WATCH, "Active": MarkState.WATCH}
    values = {value.name: value.text for value in view.values}
    # pKa at 9 °C: 3000/282.15 - 10.0686 + 0.0253 * 282.15 = 7.70 (Morris 1966), so HOCl is
    # 1 / (1 + 10^(7.6 - 7.70)) = 56 %.
    assert (values["pH"], values["Active"]) == ("7.6", "56\N{NO-BREAK SPACE}%")


def test_each_cause_is_marked_where_it_is_shown() -> None:
    rule = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.5)
    shed = Shed(a_setup(a_tank(1, "Flume", temperature_rule=rule, batches_per_fill=3)))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7, look=Card.GONE, water_c=9, pulp_c=14)
    shed.wash(3, contact_s=40)
    shed.wait(70)
    assert looks(panel(present(see(shed), ME))) == {
        "Card": MarkState.ACT,
        "Water": MarkState.ACT,
        "Pulp": MarkState.ACT,
        "Contact": MarkState.ACT,
        "age": MarkState.ACT,
        "facts": MarkState.ACT,
    }


def test_a_ph_so_low_that_gas_comes_is_a_stop_with_a_caution_of_gas() -> None:
    shed = a_good_shed()
    shed.wait(1).read(1, 50, ph=4.8)
    view = panel(present(see(shed), ME))
    assert view.look is MarkState.STOP
    assert looks(view) == {"pH": MarkState.STOP, "free": MarkState.STOP}
    assert view.step.caution is not None
    assert "gas" in view.step.caution.text


def test_water_that_was_never_measured_is_not_known_and_shows_dashes() -> None:
    shed = Shed()
    before = panel(present(see(shed), ME))
    assert (before.look, before.level.text) == (MarkState.UNKNOWN, "–")
    assert before.facts.text.replace("\N{NO-BREAK SPACE}", " ").endswith("not filled yet")
    shed.fill()
    view = panel(present(see(shed), ME))
    assert view.measured.text == "not measured yet"
    assert [(value.name, value.text) for value in view.values] == [("pH", "–")]
    assert view.scale.reading is None
    assert view.step.kind is StepKind.DOSE
    assert view.step.caution is not None


def test_combined_chlorine_is_total_less_free_and_never_below_nothing() -> None:
    shed = a_good_shed()
    shed.wait(1).read(1, 44, total_mg_l=49)
    shed.read(2, 44, total_mg_l=43)
    view = present(see(shed), ME)
    said = [{v.name: v.text for v in one.values}["Combined"] for one in view.panels]
    assert said == ["5\N{NO-BREAK SPACE}ppm", "0\N{NO-BREAK SPACE}ppm"]


def test_values_from_before_the_newest_reading_are_shown_as_older() -> None:
    shed = a_good_shed()
    shed.wait(1).read(1, 48)
    old = {value.name: value.old for value in panel(present(see(shed), ME)).values}
    assert old["pH"]
    assert not any(value.old for value in panel(present(see(shed), ME), 2).values)


def test_held_batches_are_counted_until_somebody_decides() -> None:
    shed = a_good_shed()
    batch = shed.wash(1)[0]
    shed.hold(batch.seq)
    facts = panel(present(see(shed), ME)).facts.text
    assert facts.replace("\N{NO-BREAK SPACE}", " ").endswith("1 on hold")


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (-1, "just now"),
        (0.9, "just now"),
        (1, "1 min ago"),
        (59.9, "59 min ago"),
        (60, "1 h ago"),
        (145, "2 h 25 min ago"),
        (24 * 60, "over a day ago"),
    ],
)
def test_ages_are_said_as_people_say_them(minutes: float, words: str) -> None:
    assert age_words(timedelta(minutes=minutes)) == words


def test_flags_come_most_urgent_first_with_title_reason_and_what_answers_them() -> None:
    shed = a_troubled_shed()
    shed.wash(1, tanks=(2,))
    shed.wait(1).read(2, 20, ph=7.0)
    snapshot = planned(see(shed), a_dose(1))
    view = present(snapshot, ME)
    assert [flag.key for flag in view.pressing] == [flag.key for flag in snapshot.advice.flags]
    ranks = [list(MarkState).index(flag.look) for flag in view.pressing]
    assert ranks == sorted(ranks, reverse=True)
    dose = next(flag for flag in view.flags if flag.key == (1, "chlorine-low"))
    assert (dose.look, dose.title) == (MarkState.ACT, "1 Dump tank: re-dose")
    assert dose.gist == "31\N{NO-BREAK SPACE}ppm is under 35\N{NO-BREAK SPACE}ppm."
    assert dose.answered == "Add 76 mL hypochlorite, stir"
    assert dose.source.startswith("Source: ")
    assert dose.since.startswith("Since 07:13; raised 07:13")
    assert dose.can_acknowledge


def test_what_stands_behind_a_plan_ends_with_what_comes_before_the_programs_word() -> None:
    view = present(planned(see(a_troubled_shed()), a_dose(1)), ME)
    why = view.why(1)
    assert why is not None
    assert why.step.cautions[-1].text == (
        "The product label, local codes and licensed practice come first."
    )
    assert why.step.weighed == ("Change the water: the water is clear enough.",)
    assert {flag.key[0] for flag in why.flags} == {1}
    assert view.why(9) is None


def test_no_step_speaks_of_adding_acid_and_hypochlorite_both() -> None:
    shed = a_good_shed()
    shed.wait(1).read(1, 31, ph=7.9)
    view = present(see(shed), ME)
    for one in view.panels:
        text = f"{one.step.text} {one.step.quiet} {one.second}"
        assert not ("vinegar" in text and "hypochlorite" in text)


def test_every_answer_opens_an_entry_and_nothing_else_offers_one() -> None:
    for kind in StepKind:
        step = Step(kind=kind, say=Message("x"))
        assert bool(answer_word(kind)) == (kind_for(step) is not None), kind


def test_an_acknowledged_flag_says_who_saw_it_and_when() -> None:
    shed = a_troubled_shed()
    acknowledge(shed, 1, "chlorine-low")
    flag = present(see(shed), ME).flags[0]
    assert flag.seen == "seen by TK 07:16"
    assert not flag.can_acknowledge


@pytest.mark.parametrize("mode", [Mode.READ_ONLY, Mode.REPLAY])
def test_where_nothing_can_be_entered_nothing_can_be_answered(mode: Mode) -> None:
    view = present(see(a_troubled_shed(), mode), ME)
    assert len(view.banners) == 1
    assert view.flags
    assert not any(flag.can_acknowledge for flag in view.flags)
    assert not any(one.step.answer or one.step.first for one in view.panels)


def test_an_ended_shift_gives_times_instead_of_ages() -> None:
    shed = a_troubled_shed()
    end(shed)
    view = present(see(shed), ME)
    assert view.phase is Phase.ENDED
    assert view.banners[-1].text == "This shift ended at 07:16."
    assert panel(view).measured.text == "strip, at 07:13"
    assert view.flags == ()


def test_trouble_stands_first_and_is_a_stop() -> None:
    snapshot = replace(see(a_good_shed(), Mode.READ_ONLY), trouble=Message("The disk is full."))
    first, second = present(snapshot, ME).banners
    assert (first.text, first.look) == ("The disk is full.", MarkState.STOP)
    assert second.look is MarkState.IN_LIMITS


def test_without_a_shift_it_is_said_whether_a_line_is_described() -> None:
    shed = Shed()
    assert present(Snapshot(now=shed.now), ME).phase is Phase.NO_SETUP
    assert present(Snapshot(now=shed.now, setup=a_setup()), ME).phase is Phase.NO_SHIFT


def test_a_us_reader_is_told_gallons_and_fahrenheit_and_a_comma_is_a_comma() -> None:
    snapshot = see(a_troubled_shed())
    view = panel(present(snapshot, UserContext("RM", UnitSystem.US)), 2)
    assert view.facts.text.startswith("132\N{NO-BREAK SPACE}gal")
    values = {value.name: value.text for value in view.values}
    assert values["Water"] == "48.2\N{NO-BREAK SPACE}°F"  # 9 °C
    comma = panel(present(snapshot, UserContext("RM", UnitSystem.METRIC, ",")), 2)
    assert {value.name: value.text for value in comma.values}["pH"] == "7,6"


def test_a_strip_reaches_as_far_as_the_pads_of_the_pack_in_use_say() -> None:
    # 40 is a pad of its own here: half way to its neighbours 20 and 60. Common practice.
    shed = Shed(a_setup(strip_pads_mg_l=(0.0, 20.0, 40.0, 60.0)))
    shed.fill()
    shed.wait(10).read(1, 40, method=Method.STRIP, ph=7.0)
    (strip,) = panel(present(see(shed), ME)).trend.current[0]
    assert (strip.low, strip.high) == (30.0, 50.0)


def test_the_trend_parts_runs_at_doses_and_fills_and_tells_who_measured() -> None:
    shed = a_good_shed()
    shed.read(1, 34, method=Method.STRIP)
    shed.dose(1, ml=75)
    shed.wait(6).read(1, 52)
    shed.acid(1)
    shed.wait(6).tell(Exchanged(at=shed.now, by="TK", tank=1, volume_l=100.0))
    shed.wash(2)
    shed.wait(1).fill(1)
    shed.wait(1).read(1, 49)
    trend = panel(present(see(shed), ME)).trend
    assert trend.y_label == "Free chlorine (ppm) against batches washed"
    assert [[(p.x, p.y) for p in run] for run in trend.earlier] == [
        [(0, 50), (3, 34)],
        [(3, 52)],
    ]
    assert [[(p.x, p.y) for p in run] for run in trend.current] == [[(5, 49)]]
    strip = trend.earlier[0][1]
    # Between the pads 25 and 50 a strip's colour is guessed to a quarter of their distance.
    assert (strip.low, strip.high) == (27.75, 40.25)
    assert trend.earlier[0][0].low is None
    assert strip.text.splitlines() == [
        "34\N{NO-BREAK SPACE}ppm strip (28–40)",
        "07:12 by RM, after 3 batches",
    ]
    assert "pH 7.0" in trend.earlier[0][0].text
    assert [(mark.x, mark.y) for mark in trend.doses][1:] == [(3, 34)]
    assert trend.doses[1].text.startswith("75\N{NO-BREAK SPACE}mL hypochlorite\n")
    assert [mark.x for mark in trend.acids] == [3]
    assert [mark.text.splitlines()[0] for mark in trend.changes] == [
        "100\N{NO-BREAK SPACE}L exchanged for fresh water",
        "New water",
    ]


def test_all_trends_share_one_scale_of_batches() -> None:
    shed = a_good_shed(3)
    shed.wash(9, tanks=(1,))
    view = present(see(shed), ME)
    assert {one.trend.x_to for one in view.panels} == {20}


def test_presenting_changes_nothing_and_gives_the_same_twice() -> None:
    snapshot = see(a_troubled_shed(3))
    before = msgspec.json.encode(snapshot.shift)
    first = present(snapshot, ME)
    assert present(snapshot, ME) == first
    assert present(snapshot, ME, ViewShelf()) == first
    assert msgspec.json.encode(snapshot.shift) == before


def test_a_shelf_keeps_the_trend_until_something_new_is_in_it() -> None:
    shed, shelf = a_troubled_shed(), ViewShelf()
    first = present(at_rest(shed), ME, shelf)
    shed.wash(1, tanks=(1, 2))
    shed.read(2, 43)
    second = present(at_rest(shed), ME, shelf)
    assert panel(second).trend is panel(first).trend
    assert panel(second, 2).trend != panel(first, 2).trend
    assert second == present(at_rest(shed), ME)
    assert (
        panel(present(at_rest(shed), UserContext("RM", UnitSystem.US), shelf)).trend
        != panel(first).trend
    )


def at_rest(shed: Shed) -> Snapshot:
    """A snapshot that asks for nothing, so that no bracket stands in a trend."""
    return planned(see(shed), calm(1, shed.now), calm(2, shed.now))


@pytest.mark.parametrize("demo", data.demo_sessions(), ids=attrgetter("stem"))
def test_with_a_shelf_every_moment_of_a_shift_is_presented_as_without(demo: Path) -> None:
    player, shelf = Player(read(demo)), ViewShelf()
    while player.step():
        snapshot = player.snapshot
        assert present(snapshot, ME, shelf) == present(snapshot, ME)
        later = replace(snapshot, now=snapshot.now + timedelta(minutes=3), mode=Mode.LIVE)
        assert present(later, ME, shelf) == present(later, ME)


@pytest.mark.benchmark_ratio
def test_a_reading_late_in_a_long_shift_costs_a_fraction_of_presenting_all_anew() -> None:
    shed = a_long_shed()
    before = see(shed)
    tanks = tuple(tank.number for tank in shed.shift.tanks)
    shed.tell(BatchWashed(at=shed.now, by="RM", tanks=tanks, lot="L-1"))
    shed.read(1, 43, method=Method.STRIP, ph=7.1)
    after = see(shed)
    anew, more = [], []
    for _ in range(9):
        shelf = ViewShelf()
        began = time.perf_counter()
        present(before, ME, shelf)
        half = time.perf_counter()
        present(after, ME, shelf)
        anew.append(half - began)
        more.append(time.perf_counter() - half)
    assert min(more) < min(anew) / 4


def a_long_shed() -> Shed:
    """Return a shift of six tanks and some 1,500 events."""
    shed = a_good_shed(6)
    while shed.shift.last_seq < 1500:
        shed.wash(3, tanks=(1, 2, 3, 4, 5, 6))
        for tank in range(1, 7):
            shed.read(tank, 44, method=Method.STRIP, ph=7.2, water_c=9.0, turbidity_ntu=20.0)
        shed.dose(1, ml=10)
    return shed


def test_a_line_of_eight_has_eight_columns_in_line_order() -> None:
    view = present(see(Shed(a_line(8))), ME)
    assert [one.number for one in view.panels] == list(range(1, 9))
