"""The scenarios that come with the program, scripted trainees at them, and broken files."""

import pytest

from tests.sessions.practice.plays import TEXTS, played, run_of
from tests.some import some
from washmon.line.check import check
from washmon.line.events import SecondSwapped, TankFilled
from washmon.line.fold import begin, fold, step
from washmon.line.journal import encode, verify
from washmon.line.validate import faults
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario_files import parse_scenario, scenarios
from washmon.sessions.practice.stage import relive
from washmon.sessions.practice.trainee import CARELESS, CHAIN, GOOD, scripted

SHIPPED = scenarios()
NAMES = [scenario.title for scenario, _ in SHIPPED]


pytestmark = pytest.mark.xdist_group("practice scenarios")


def test_seven_scenarios_of_rising_difficulty_come_with_the_program() -> None:
    assert [scenario.level for scenario, _ in SHIPPED] == [1, 2, 3, 4, 5, 6, 7]
    for scenario, _ in SHIPPED:
        assert faults(scenario.setup("AB")) == []


@pytest.mark.parametrize("text", TEXTS, ids=NAMES)
def test_a_good_trainee_scores_far_above_a_careless_one(text: str) -> None:
    # The distances are ours: no source says what a score should be.
    good, careless = played(text, GOOD), played(text, CARELESS)
    assert good.score >= 70.0
    assert careless.score <= 50.0
    assert good.score - careless.score >= 35.0
    for debriefed in (good, careless):
        assert sum(part.most for part in debriefed.parts) == pytest.approx(100.0)
        assert all(0.0 <= part.points <= part.most for part in some(debriefed.parts))
    assert len(good.facts.missed) <= len(careless.facts.missed)
    assert not good.facts.unsafe


@pytest.mark.parametrize("text", TEXTS, ids=NAMES)
def test_an_attempt_is_a_record_that_the_real_fold_and_checks_take(text: str) -> None:
    run = run_of(text, GOOD)
    rows = [(one.seq, one.recorded_at, encode(one.event), one.hash) for one in run.entries]
    assert verify(CHAIN, rows) == len(run.entries)
    state = begin(CHAIN, run.entries[0])
    for entry in run.entries[1:]:
        if entry.event.by != "rules":
            assert not check(state, entry.event, entry.recorded_at).faults
        state = step(state, entry)
    assert state == fold(CHAIN, run.entries)
    assert state.started.practice


@pytest.mark.parametrize("text", TEXTS, ids=NAMES)
def test_the_journal_alone_gives_the_true_water_again(text: str) -> None:
    run = run_of(text, GOOD)
    again = relive(run.entries)
    for tank in (1, 2):
        lived, relived = run.stage.line.truth(tank), again.line.truth(tank)
        # Only how time was cut into steps differs: a hundredth of what a kit can tell.
        assert relived.level_mg_l == pytest.approx(lived.level_mg_l, abs=0.05)
        assert relived.ph == pytest.approx(lived.ph, abs=0.01)
    assert [one.seq for one in again.batches] == [one.seq for one in run.stage.batches]


def test_the_same_seed_gives_the_same_attempt() -> None:
    assert scripted(TEXTS[1], GOOD).entries == run_of(TEXTS[1], GOOD).entries
    assert scripted(TEXTS[1], GOOD, seed=9).entries != run_of(TEXTS[1], GOOD).entries


BROKEN = {
    "an unknown key": ("seed = 101", "seed = 101\nsead = 3", "unknown field `sead`"),
    "an impossible share": (
        'dirtiness = "usual"',
        "strength_share = 40.0",
        "strength_share",
    ),
    "no tanks": ("tanks = 2", "tanks = 0", "has no tanks"),
    "a later version": ("version = 1", "version = 5", "later version"),
    "a dirtiness of its own": ('dirtiness = "usual"', 'dirtiness = "filthy"', "filthy"),
    "an unknown commodity": ("leafy_greens", "pumpkins", "does not know"),
    "another kind of file": ("washmon practice scenario", "something", "no practice scenario"),
    "no TOML": ("[line]", "[line", "cannot be read"),
    "something after the end": (
        "seed = 101",
        'seed = 101\n[[happens]]\nat = 23:00:00\nsay = "late"',
        "outside of its time",
    ),
}


@pytest.mark.parametrize("case", BROKEN)
def test_a_broken_scenario_is_refused_in_one_sentence(case: str) -> None:
    old, new, said = BROKEN[case]
    assert old in TEXTS[0]
    with pytest.raises(PracticeError, match=said) as refused:
        parse_scenario(TEXTS[0].replace(old, new), "mine.toml")
    sentence = str(refused.value)
    assert "mine.toml" in sentence
    assert "\n" not in sentence


def test_a_shift_that_is_no_practice_is_refused() -> None:
    run = run_of(TEXTS[0], CARELESS)
    with pytest.raises(PracticeError, match="no practice"):
        relive(run.entries[:1])


def test_a_second_fill_is_refused_clearly_in_practice_which_has_no_vessel_for_it() -> None:
    run = run_of(TEXTS[0], GOOD)
    filled = TankFilled(at=run.now, by="TK", tank=1, volume_l=300.0, second=True)
    open_shift = begin(CHAIN, run.entries[0])
    (fault,) = check(open_shift, filled, run.now).faults
    assert "no second vessel" in fault.message.text
    for event in (filled, SecondSwapped(at=run.now, by="TK", tank=1)):
        with pytest.raises(PracticeError, match="no second vessel"):
            run.stage.act(event)
