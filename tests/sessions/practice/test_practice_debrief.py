"""The facts of a debrief, one by one, on attempts made by hand."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.sessions.practice.begun import CHAIN, FIRST, WHO, begun
from washmon.line.events import AcidAdded, DoseAdded, HoldPlaced, Method, ReadingTaken
from washmon.line.flag_events import FlagShelved
from washmon.line.flags import Amount, Level
from washmon.line.practice_events import BehindTheScenes, WorldChange
from washmon.sessions.debrief.additions import Harm
from washmon.sessions.debrief.facts import Facts, facts_of
from washmon.sessions.debrief.known import beside
from washmon.sessions.debrief.next_one import Topic, next_one
from washmon.sessions.debrief.score import debrief
from washmon.sessions.debrief.slips import Slip, SlipKind, slips
from washmon.sessions.debrief.washed import Fate, by_worst
from washmon.sessions.practice.attempt import BACKSTAGE, Run
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.practice_setup import practice_setup
from washmon.sessions.practice.scenario import COLLEAGUE, minute_of
from washmon.sessions.practice.scenario_files import parse_scenario, scenarios, with_changes
from washmon.sessions.practice.trainee import GOOD, scripted

TEXT = FIRST[1]


@pytest.fixture
def run() -> Run:
    return begun()


def facts(run: Run) -> Facts:
    return facts_of(CHAIN, run.entries)


def weaken(run: Run) -> None:
    """Let the next batches meet water that has nearly nothing left."""
    change = WorldChange(decay_share=20.0, dirtiness="muddy")
    run.enter(BehindTheScenes(at=run.now, by=BACKSTAGE, change=change))
    run.stage.advance(110.0)


def test_a_batch_under_the_critical_low_is_found_once_it_is_held(run: Run) -> None:
    run.wash(WHO)
    assert facts(run).low == ()
    weaken(run)
    run.wash(WHO)
    first = facts(run)
    assert {(low.tank, low.held) for low in first.low} == {(1, False), (2, False)}
    hold = HoldPlaced(at=run.now, by=WHO, tank=1, batches=(first.low[0].seq,), reason="no chlorine")
    run.enter(hold)
    assert {(low.tank, low.held) for low in facts(run).low} == {(1, True), (2, False)}
    assert len(facts(run).missed) == 1


def test_an_amount_is_off_when_it_misses_the_rules_by_more_than_a_fifth(run: Run) -> None:
    tank = run.state.setup.tanks[0]
    weaken(run)
    seen = run.read(tank, WHO, Method.KIT)
    assert seen.fac_mg_l is not None
    run.dose_from(tank, seen.fac_mg_l, WHO, times=0.5)  # right is from the target upwards
    last = facts(run).additions[-1]
    assert last.off == pytest.approx(-0.5, abs=0.05)
    assert last.wrong
    assert not facts(run).additions[0].wrong


def test_a_second_dose_before_a_check_is_not_due(run: Run) -> None:
    tank = run.state.setup.tanks[0]
    weaken(run)
    seen = run.read(tank, WHO, Method.KIT)
    run.dose_from(tank, seen.fac_mg_l or 0.0, WHO)
    run.dose_from(tank, seen.fac_mg_l or 0.0, WHO)
    right, hasty = facts(run).additions[-2:]
    assert not right.wrong
    assert hasty.wrong
    assert hasty.right is None


def test_unsafe_acts_are_seen(run: Run) -> None:
    def acid(ml: float) -> None:
        amount = Amount(ml, "mL")
        run.enter(AcidAdded(at=run.now, by=WHO, tank=1, product="vinegar", amount=amount))

    product = run.state.setup.sanitizers[0].key
    run.enter(DoseAdded(at=run.now, by=WHO, tank=1, product=product, amount=Amount(600.0, "mL")))
    acid(4000.0)
    run.stage.advance(10.0)
    run.read(run.state.setup.tanks[0], WHO, Method.KIT)
    acid(10.0)
    assert [act.harm for act in facts(run).unsafe] == [
        Harm.OVER_LABEL,
        Harm.ACID_WITH_BLEACH,
        Harm.ACID_IN_LOW_PH,
    ]


def test_batches_count_as_watched_while_a_check_is_good(run: Run) -> None:
    for _ in range(3):
        run.wash(WHO)
    assert [(one.watched, one.washed) for one in facts(run).tanks] == [(3, 3), (3, 3)]
    run.stage.advance(40.0)  # the set-up asks for a check every 30 min
    run.wash(WHO)
    assert [(one.watched, one.washed) for one in facts(run).tanks] == [(3, 4), (3, 4)]


def test_flags_wait_until_somebody_does_something_there(run: Run) -> None:
    weaken(run)
    tank = run.state.setup.tanks[0]
    run.read(tank, WHO, Method.KIT)
    run.stage.advance(12.0)
    run.look()
    run.dose_from(tank, 0.0, WHO)
    run.stage.advance(12.0)
    later = [wait for wait in facts(run).waits if wait.flag.rule == "chlorine-critical"]
    assert later[0].minutes == pytest.approx(12.0, abs=0.1)


def test_to_shelve_a_flag_with_a_reason_is_an_answer_to_it(run: Run) -> None:
    run.read(run.state.setup.tanks[0], WHO, Method.KIT)
    run.stage.advance(40.0)
    run.look()
    (late,) = (r.flag for r in run.state.open_flags if r.flag.key == (1, "overdue"))
    run.stage.advance(30.0)
    run.look()
    late = next(r.flag for r in run.state.open_flags if r.flag.key == (1, "overdue"))
    assert late.level is Level.ACT
    run.stage.advance(3.0)
    until = run.now + timedelta(minutes=10)
    shelved = FlagShelved(
        at=run.now, by=WHO, tank=1, rule="overdue", level=late.level, until=until, reason="kit"
    )
    run.enter(shelved)
    assert run.advice.tank(1).shelved
    wait = next(one for one in facts(run).waits if one.flag.key == (1, "overdue"))
    assert wait.minutes == pytest.approx(3.0, abs=0.1)


def test_what_the_trainer_changes_is_part_of_the_truth_and_of_nothing_else(run: Run) -> None:
    before = run.stage.line.strength_share
    halved = WorldChange(strength_times=0.5)
    run.enter(BehindTheScenes(at=run.now, by=BACKSTAGE, change=halved))
    assert run.stage.line.strength_share == pytest.approx(before / 2)
    assert not any(note for note in run.state.notes)


def test_use_is_counted_and_held_against_the_plain_good_strategy(run: Run) -> None:
    seen = debrief(CHAIN, run.entries)
    assert seen.facts.use.water_l == pytest.approx(640.0 + 480.0)
    assert seen.yardstick.washed > 10
    assert seen.yardstick.attempt.seed == seen.facts.attempt.seed


def test_an_attempt_on_the_line_of_an_earlier_template_is_held_against_that_line() -> None:
    earlier = practice_setup("leafy_greens")
    tanks = tuple(replace(tank, volume_l=2 * tank.volume_l) for tank in earlier.tanks)
    seen = debrief(CHAIN, begun(line=replace(earlier, tanks=tanks)).entries)
    assert [one.volume_l for one in seen.facts.state.setup.tanks] == [1280.0, 960.0]
    assert seen.yardstick.state.setup.tanks == seen.facts.state.setup.tanks
    assert seen.yardstick.use.water_l >= 1280.0 + 960.0


def meddle(run: Run, **change: object) -> None:
    event = BehindTheScenes(at=run.now, by=BACKSTAGE, change=WorldChange(**change))  # type: ignore[arg-type]
    run.enter(event)


def test_half_as_strong_said_twice_is_half_as_strong(run: Run) -> None:
    before = run.stage.line.strength_share
    meddle(run, strength_share=0.5)
    meddle(run, strength_share=0.5)
    assert run.stage.line.strength_share == pytest.approx(before / 2)


def test_the_yardstick_runs_in_the_world_that_the_trainer_made(run: Run) -> None:
    meddle(run, strength_share=0.5)
    run.stage.advance(30.0)
    run.wash(WHO)
    seen = debrief(CHAIN, run.entries)
    ((minutes, at, change),) = seen.facts.meddled
    assert change == WorldChange(strength_share=0.5)
    assert at == run.stage.begins + timedelta(minutes=minutes)
    (happening,) = seen.yardstick.scenario.happens
    assert happening.strength_share == 0.5
    assert minute_of(seen.yardstick.scenario, happening.at) == pytest.approx(minutes, abs=0.01)
    plain = debrief(CHAIN, begun().entries).yardstick
    assert seen.yardstick.use.sanitizer > 1.2 * plain.use.sanitizer


def test_what_is_held_behind_a_good_check_is_held_needlessly(run: Run) -> None:
    run.wash(WHO)
    good = facts(run)
    assert good.held_needlessly == 0
    assert [one.fate for one in good.known] == [Fate.NO_PH, Fate.NO_PH]  # bleach lifted it
    seq = good.state.tanks[0].washed[0].seq
    run.enter(HoldPlaced(at=run.now, by=WHO, tank=1, batches=(seq,), reason="to be sure"))
    held = facts(run)
    assert held.held_needlessly == 1
    assert [one.fate for one in held.known] == [Fate.NEEDLESS, Fate.NO_PH]
    assert held.credit == pytest.approx(2 / 3)


def test_batches_count_in_each_tank_by_what_could_be_known(run: Run) -> None:
    run.read(run.state.setup.tanks[0], WHO, Method.KIT, ph=False)
    run.stage.advance(33.0)  # the check of both tanks is overdue
    run.wash(WHO)
    assert [one.fate for one in facts(run).known] == [Fate.UNKNOWN, Fate.UNKNOWN]
    run.read(run.state.setup.tanks[0], WHO, Method.KIT)
    assert [one.fate for one in facts(run).known] == [Fate.LATE, Fate.UNKNOWN]
    low = ReadingTaken(at=run.now, by=WHO, tank=2, fac_mg_l=20.0, fac_method=Method.KIT)
    run.enter(low)
    run.wash(WHO)
    found = facts(run).known
    assert [one.fate for one in found] == [Fate.LATE, Fate.NO_PH, Fate.SOLD, Fate.KNOWN_BAD]
    last = found[-1].seq
    run.enter(HoldPlaced(at=run.now, by=WHO, tank=2, batches=(last,), reason="too little"))
    assert facts(run).known[-1].fate is Fate.IN_VAIN
    # Each batch once, by the worst of its tanks.
    assert list(by_worst(facts(run).known).values()) == [Fate.SOLD, Fate.IN_VAIN]
    told = debrief(CHAIN, run.entries)
    work, holds = (one.why.values for one in told.parts[:2])
    assert (work["well"], work["sold"], work["bad"]) == (0, 1, 1)
    assert (holds["needed"], holds["done"]) == (2, 1)


def test_what_cost_points_is_told_moment_by_moment(run: Run) -> None:
    run.stage.advance(33.0)
    run.wash(WHO)
    run.wash(WHO)
    missed, *rest = debrief(CHAIN, run.entries).slips
    assert (missed.kind, missed.tanks, missed.count) == (SlipKind.NOT_WASHED, (1, 2), 18)
    late = next(slip for slip in rest if slip.kind is SlipKind.CHECK_MISSED)
    assert (late.tanks, late.count) == ((1, 2), 2)  # a batch counts once, in however many tanks
    first, last = facts(run).known[0].at, facts(run).known[1].at
    assert (late.at, late.until) == (first, last)


def test_what_could_be_known_stands_beside_the_truth(run: Run) -> None:
    read_at = facts(run).state.tanks[0].fills[-1].readings[-1].event.at
    run.stage.advance(10.0)
    run.wash(WHO)
    seen = beside(facts(run), 1, run.now)
    assert seen is not None
    assert (seen.read_at, seen.read_mg_l is None) == (read_at, False)
    assert seen.true_mg_l == pytest.approx(run.stage.line.level_mg_l(1), abs=1.0)
    run.stage.advance(30.0)  # the set-up asks for a check every 30 min
    late = beside(facts(run), 1, run.now)
    assert late is not None
    assert late.read_mg_l is None
    assert late.read_ph == seen.read_ph


def test_the_next_scenario_teaches_where_most_points_went(run: Run) -> None:
    shelf = [scenario for scenario, _ in scenarios()]
    found = debrief(CHAIN, run.entries)
    again = next_one(found, shelf)
    assert again is not None
    assert (again.again, again.scenario, again.topic) == (True, shelf[0], Topic.BASICS)
    for kind, title in (
        (SlipKind.PH_LEFT, "Hard well water"),
        (SlipKind.CHECK_LATE, "A dirty load at ten o'clock"),
        (SlipKind.HOLD_MISSED, "A missed reading, and what must be held"),
        (SlipKind.TOO_LITTLE, "A weak jug of bleach"),
        (SlipKind.OVER_PEROXIDE, "Peracetic acid, and what stays behind"),
    ):
        slip = Slip(kind=kind, at=run.now, until=run.now, tanks=(1,), cost=9.0)
        well = replace(found, slips=(slip,), counts=9.0)  # well enough to go on
        advised = next_one(well, shelf)
        assert advised is not None
        assert (advised.scenario.title, advised.again) == (title, False)
    for kind in SlipKind:  # each leads somewhere
        slip = Slip(kind=kind, at=run.now, until=run.now, tanks=(1,), cost=9.0)
        assert next_one(replace(found, slips=(slip,), counts=9.0), shelf) is not None


def test_the_amount_that_the_plan_asked_for_is_right(run: Run) -> None:
    weaken(run)
    tank = run.state.setup.tanks[0]
    run.read(tank, WHO, Method.KIT)
    step = run.look().tank(1).step
    assert step.amount is not None
    product = step.product or tank.sanitizer
    run.enter(DoseAdded(at=run.now, by=WHO, tank=1, product=product, amount=step.amount))
    assert not facts(run).additions[-1].wrong
    assert facts(run).additions[-1].right == step.amount.value


def test_a_low_batch_behind_a_good_check_costs_nothing_but_is_told(run: Run) -> None:
    weaken(run)
    seen = ReadingTaken(at=run.now, by=WHO, tank=1, fac_mg_l=50.0, fac_method=Method.STRIP, ph=7.0)
    for tank in (1, 2):  # the strips tell of more than there is
        run.enter(replace(seen, at=run.now, tank=tank))
    run.wash(WHO)
    found = facts(run)
    assert {low.tank for low in found.unseen} == {1, 2}
    assert found.missed == ()
    (holds,) = (part for part in debrief(CHAIN, run.entries).parts if part.key == "holds")
    assert holds.points == holds.most


@pytest.mark.parametrize("tanks", [3, 8])
def test_a_line_has_no_more_tanks_than_it_has(tanks: int) -> None:
    text = TEXT.replace("tanks = 2", f"tanks = {tanks}")
    with pytest.raises(PracticeError, match=f"asks for {tanks} tanks, and the practice line"):
        parse_scenario(text)


def test_an_event_after_midnight_happens() -> None:
    text = TEXT.replace("begins = 06:00:00", "begins = 23:00:00")
    text += '\n[[happens]]\nat = 00:15:00\nsay = "The night truck."\n'
    scenario = parse_scenario(text)
    assert minute_of(scenario, scenario.happens[0].at) == 75.0
    with pytest.raises(PracticeError, match="outside of its time"):
        parse_scenario(text.replace("at = 00:15:00", "at = 02:15:00"))


def test_changes_are_added_to_a_scenario_or_it_stays_as_it_is() -> None:
    more = with_changes(TEXT, [(62.5, WorldChange(dirtiness="muddy")), (90.0, WorldChange())])
    first, second = parse_scenario(more).happens
    assert (first.dirtiness, minute_of(parse_scenario(more), first.at)) == ("muddy", 62.5)
    assert second.change == WorldChange()
    inline = TEXT.replace("[line]", 'happens = [{at = 06:30:00, say = "x"}]\n\n[line]', 1)
    assert with_changes(inline, [(1.0, WorldChange(dirtiness="muddy"))]) == inline


def test_no_initials_are_taken_for_the_colleague_s() -> None:
    entries = scripted(TEXT, replace(GOOD, who="TK", stops_after=1)).entries
    found = facts_of(CHAIN, entries)
    assert found.washed == 1
    assert found.additions
    assert found.use.water_l > 0.0


def test_a_colleague_by_the_name_of_earlier_versions_is_still_none_of_the_trainee() -> None:
    run = scripted(scenarios()[5][1], replace(GOOD, stops_after=1))
    before = [
        replace(one, event=replace(one.event, by="TK")) if one.event.by == COLLEAGUE else one
        for one in run.entries
    ]
    assert before != run.entries
    old, new = (facts_of(CHAIN, entries) for entries in (before, run.entries))
    assert (old.washed, old.use, old.additions) == (new.washed, new.use, new.additions)
    assert [one.fate for one in old.known] == [one.fate for one in new.known]


def test_a_batch_that_went_through_one_tank_of_two_is_told_as_one_fewer() -> None:
    best = facts_of(CHAIN, scripted(TEXT, replace(GOOD, stops_after=1)).entries)
    mine = replace(best, known=best.known[:1])
    (slip,) = (one for one in slips(mine, best) if one.kind is SlipKind.NOT_WASHED)
    assert slip.count == 1
