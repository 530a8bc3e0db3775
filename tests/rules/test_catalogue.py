"""The list of rules: every rule is in it, and it says what the rules do."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.shed import a_peracetic_setup, a_setup, a_tank
from washmon.line.flag_events import FlagsChanged
from washmon.line.flags import ALWAYS_ON, FAILED, Flag, Level
from washmon.line.message import say
from washmon.line.setup import LineSetup, Look
from washmon.rules import all_rules
from washmon.rules.base import Protects
from washmon.rules.catalogue import LEVELS, thresholds, title_of
from washmon.sessions.file import SUFFIX, read
from washmon.units import UnitSystem

DEMO = Path(__file__).parents[2] / "demo_sessions"
SESSIONS = sorted(DEMO.glob(f"*{SUFFIX}"))


def told(rule: str, setup: LineSetup) -> list[tuple[tuple[int, ...], str]]:
    (found,) = (one for one in all_rules() if one.id == rule)
    plain = [(one.tanks, say(one.what, UnitSystem.METRIC)) for one in thresholds(found, setup)]
    return [(tanks, text.replace("\N{NO-BREAK SPACE}", " ")) for tanks, text in plain]


def test_every_rule_has_its_levels_the_hardest_first() -> None:
    assert {rule.id for rule in all_rules()} == set(LEVELS)
    for levels in LEVELS.values():
        ranks = [level.rank for level in levels]
        assert ranks == sorted(ranks, reverse=True)


def test_peracetic_acid_is_answered_by_the_steps_that_answer_chlorine() -> None:
    answers = {rule.id: set(rule.answers) for rule in all_rules()}
    twins = {"critical": "critical", "low": "low", "high": "high", "limit": "label"}
    for paa, chlorine in twins.items():
        assert answers[f"paa-{paa}"] == answers[f"chlorine-{chlorine}"], paa


def test_what_stops_for_people_law_or_held_product_can_not_be_switched_off() -> None:
    stops = {rule for rule, levels in LEVELS.items() if set(levels) == {Level.STOP}}
    assert stops - ALWAYS_ON == {"label-by-dose"}  # which goes by what is worked out, not read
    assert ALWAYS_ON - stops == {"peroxide-limit"}  # the law
    lawful = {rule.id for rule in all_rules() if rule.protects in {Protects.PEOPLE, Protects.LAW}}
    assert lawful - ALWAYS_ON == {"label-by-dose"}


def test_what_looks_ahead_stands_until_the_forecast_is_made_anew() -> None:
    ahead = {rule.id for rule in all_rules() if rule.ahead}
    assert ahead == {"check-now", "doses-will-not-hold", "redose-soon"}


def flags_of(path: Path) -> list[Flag]:
    changes = [entry.event for entry in read(path).entries if isinstance(entry.event, FlagsChanged)]
    return [flag for change in changes for flag in change.raised]


@pytest.mark.parametrize("path", SESSIONS, ids=lambda path: path.stem)
def test_no_flag_of_a_demo_shift_presses_otherwise_than_the_list_says(path: Path) -> None:
    for flag in flags_of(path):
        if not flag.rule.startswith(FAILED):
            assert flag.level in LEVELS[flag.rule]


def test_some_demo_shift_raises_flags_of_each_level() -> None:
    raised = {flag.level for path in SESSIONS for flag in flags_of(path)}
    assert raised == set(Level)  # a clean shift need not raise any


def test_a_threshold_is_told_once_where_all_tanks_have_it_and_by_tank_where_not() -> None:
    assert told("chlorine-critical", a_setup()) == [((), "under 25 ppm")]
    limits = replace(a_tank(1, "x").chlorine, critical_low_mg_l=30)
    setup = a_setup(a_tank(1, "First"), a_tank(2, "Second", chlorine=limits))
    assert told("chlorine-critical", setup) == [((1,), "under 25 ppm"), ((2,), "under 30 ppm")]
    assert told("contact-short", a_setup()) == [((), "under 60 s")]
    assert told("overdue", a_setup()) == [((), "after 6 batches or 30 min")]
    assert told("hours", a_setup(a_tank(1, "x", hours_per_fill=3.5))) == [((), "after 3.5 h")]
    card = a_tank(1, "x", turbidity_max_ntu=None, look_limit=Look.FAINT)
    assert told("cloudy", a_setup(card)) == [((), f"card {Look.FAINT.value}")]
    both = replace(card, turbidity_max_ntu=60.0)
    assert told("cloudy", a_setup(both))[0][1].startswith("over 60 NTU")
    assert told("cloudy", a_setup(replace(both, look_limit=None))) == [((), "over 60 NTU")]
    assert told("cloudy", a_setup(replace(card, look_limit=None))) == []
    assert told("contact-short", a_setup(a_tank(1, "x", contact_s=None))) == []
    assert told("product-weak", a_setup()) == [((), "under 80 % of the label")]
    assert told("meter-unchecked", a_setup(meter_check_days=1)) == [((), "after 1 day")]
    assert told("meter-unchecked", a_setup(meter_check_days=7)) == [((), "after 7 days")]
    assert told("ph-high", a_setup()) == [((), "over 7.5")]
    assert told("ph-low", a_setup()) == [((), "under 6.5")]
    assert told("batches", a_setup()) == [((), "after 40 batches")]
    assert told("batches", a_setup(a_tank(1, "x", batches_per_fill=1))) == [((), "after 1 batch")]
    assert told("batches", a_setup(a_tank(1, "x", batches_per_fill=None))) == []


def test_a_rule_of_the_other_sanitizer_has_no_threshold_here() -> None:
    assert told("paa-critical", a_setup()) == []
    assert told("chlorine-critical", a_peracetic_setup()) == []
    assert told("paa-limit", a_peracetic_setup()) == [((), "over 80 ppm")]


def test_every_threshold_can_be_said_for_any_line() -> None:
    for setup in (a_setup(), a_peracetic_setup()):
        for rule in all_rules():
            for one in thresholds(rule, setup):
                assert "{" not in say(one.what, UnitSystem.US)


def test_a_rule_that_is_no_more_is_called_by_its_id() -> None:
    assert title_of("batches") == "batches per fill used up"
    assert title_of("long-gone") == "long-gone"
