"""A flag is put aside for a stated time: what is advised, shown and journaled meanwhile.

Terms and the life of a shelved flag as in ANSI/ISA-18.2 (value from memory): shelving does not
clear it, ends by itself, and is never silent about what is worse.
"""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.line.check import check
from washmon.line.event_base import RULES
from washmon.line.flag_events import FlagsChanged, FlagShelved, FlagUnshelved
from washmon.line.flags import ALWAYS_ON, Condition, Flag, Level
from washmon.line.fold import fold
from washmon.line.message import say
from washmon.line.setup import Margins
from washmon.planning.advice import advise
from washmon.units import Kind, UnitSystem, show

MOST = show(60, Kind.TIME, UnitSystem.METRIC)


def low() -> Shed:
    """Return a shift whose one tank is under its operating low."""
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.wait(10).read(fac=30, ph=7.0)
    assert shed.rules_up() == ["chlorine-low"]
    return shed


def asked(shed: Shed, rule: str = "chlorine-low", minutes: float = 20) -> FlagShelved:
    """Return the wish to shelve a flag of tank 1, as it presses now."""
    levels = {one.flag.rule: one.flag.level for one in shed.shift.open_flags}
    return FlagShelved(
        at=shed.now,
        by="RM",
        tank=1,
        rule=rule,
        level=levels.get(rule, Level.ACT),
        until=shed.now + timedelta(minutes=minutes),
        reason="a kit is being fetched",
    )


def shelved(shed: Shed, rule: str = "chlorine-low", minutes: float = 20) -> FlagShelved:
    """Shelve a flag of tank 1 that is up."""
    event = asked(shed, rule, minutes)
    assert not check(shed.shift, event, shed.now).faults
    shed.tell(event)
    return event


def rules_of(flags: tuple[Flag, ...]) -> list[str]:
    return [flag.rule for flag in flags]


def changes(shed: Shed) -> list[tuple[list[str], list[str]]]:
    """Return what the journal says was raised and cleared; plans change without either."""
    return [
        (rules_of(entry.event.raised), [rule for _, rule in entry.event.cleared])
        for entry in shed.shift.entries
        if isinstance(entry.event, FlagsChanged) and (entry.event.raised or entry.event.cleared)
    ]


def test_a_shelved_flag_does_not_count_in_the_condition_and_stays_raised() -> None:
    shed = low()
    shelved(shed)
    advice = shed.look()
    assert rules_of(advice.shelved) == ["chlorine-low"]
    assert advice.flags == ()
    tank = advice.tank(1)
    assert tank.condition is Condition.IN_LIMITS
    assert "chlorine-low" not in tank.plan.answers
    assert [one.flag.rule for one in shed.shift.open_flags] == ["chlorine-low"]
    assert changes(shed) == [(["chlorine-low"], [])]


def test_it_is_back_by_itself_and_nothing_is_journaled_for_that() -> None:
    shed = low()
    event = shelved(shed, minutes=20)
    before = changes(shed)
    shed.now = event.until - timedelta(seconds=1)
    assert rules_of(shed.look().shelved) == ["chlorine-low"]
    shed.now = event.until
    assert rules_of(shed.look().flags) == ["chlorine-low"]
    assert shed.look().shelved == ()
    assert changes(shed) == before


def test_somebody_brings_it_back_before() -> None:
    shed = low()
    shelved(shed)
    shed.wait(3)
    back = FlagUnshelved(at=shed.now, by="TK", tank=1, rule="chlorine-low")
    assert not check(shed.shift, back, shed.now).faults
    shed.tell(back)
    assert rules_of(shed.look().flags) == ["chlorine-low"]
    (one,) = shed.shift.shelved
    assert (one.over, one.back_by) == (shed.now, "TK")
    (fault,) = check(shed.shift, back, shed.now).faults
    assert say(fault.message, UnitSystem.METRIC) == "This flag is not shelved any more."


def test_it_is_back_at_once_when_it_presses_more_and_stays_back() -> None:
    shed = Shed(a_setup(a_tank(1, "Only", check_batches=None, check_minutes=10.0)))
    shed.fill()
    shed.read(fac=50, ph=7.0)
    shed.wash(7)
    assert shed.rules_up() == ["overdue"]
    shelved(shed, "overdue", minutes=60)
    assert shed.rules_up() == []
    shed.wait(10)
    flag = shed.flag("overdue")
    assert flag is not None
    assert flag.level is Level.ACT
    (one,) = shed.shift.shelved
    assert (one.over, one.back_by) == (shed.now, RULES)
    assert changes(shed) == [(["overdue"], []), (["overdue"], [])]
    shed.read(fac=50, ph=7.0)
    shed.wash(7)
    assert shed.flag("overdue") is not None  # the time is not over, but it was brought back


def test_what_clears_and_comes_again_stays_shelved_until_its_time() -> None:
    shed = low()
    event = shelved(shed, minutes=40)
    shed.wait(5).read(fac=50, ph=7.0)
    assert shed.look().shelved == ()
    shed.wait(5).read(fac=30, ph=7.0)
    assert rules_of(shed.look().shelved) == ["chlorine-low"]
    told = changes(shed)[1:]
    assert ["chlorine-low" in raised for raised, _ in told] == [False, True]
    assert ["chlorine-low" in cleared for _, cleared in told] == [True, False]
    shed.now = event.until
    assert rules_of(shed.look().flags) == ["chlorine-low"]


def test_a_stop_brings_back_what_presses_to_act_in_its_tank() -> None:
    shed = low()
    shelved(shed, minutes=60)
    shed.wait(5).read(fac=20, ph=7.0)
    assert "chlorine-critical" in shed.rules_up()
    shed.wait(5).read(fac=30, ph=7.0)
    assert "chlorine-low" in shed.rules_up()
    (one,) = shed.shift.shelvings
    assert (one.over, one.back_by) == (shed.now - timedelta(minutes=5), RULES)


def test_new_water_brings_back_what_was_shelved_of_the_old() -> None:
    for second in (False, True):
        shed = Shed(a_setup(a_tank(1, "Only", second_volume_l=400.0)))
        shed.fill()
        shed.wait(10).read(fac=30, ph=7.0)
        shed.look()
        event = shelved(shed, minutes=60)
        shed.wait(1).fill(1, 400.0, second=second)
        if second:
            assert rules_of(shed.look().shelved) == ["chlorine-low"]  # it is not in use yet
            shed.wait(1).swap()
        shed.wait(5).read(fac=32, ph=7.0)
        assert rules_of(shed.look().flags) == ["chlorine-low"]
        assert fold(shed.shift.chain, shed.shift.entries) == shed.shift
        (one,) = shed.shift.shelvings
        assert one.over is not None
        assert event.at < one.over < shed.now
        assert one.back_by == "RM"


def test_a_clock_that_is_set_back_brings_it_back() -> None:
    shed = low()
    shelved(shed)
    shed.wait(-30)
    assert rules_of(advise(shed.shift, shed.now).flags) == ["chlorine-low"]


def test_a_shelved_flag_hides_only_itself() -> None:
    shed = low()
    shelved(shed, minutes=60)
    shed.wait(5).read(fac=20, ph=7.0)
    assert "chlorine-critical" in shed.rules_up()
    assert shed.look().tank(1).condition is Condition.STOP


@pytest.mark.parametrize(
    ("changed", "field", "said"),
    [
        ({"rule": "cloudy"}, "", "This flag is no longer there."),
        ({"tank": 9}, "", "This flag is no longer there."),
        ({"level": Level.WATCH}, "", "This flag has changed meanwhile: look at it again."),
        ({"reason": "  "}, "reason", "Write a few words here."),
        ({"until": START}, "until", "Say for how long: the time must lie ahead."),
        ({"until": START + timedelta(hours=2)}, "until", f"A flag is shelved for {MOST} at most."),
    ],
)
def test_what_cannot_be_is_refused(changed: dict[str, object], field: str, said: str) -> None:
    shed = low()
    event = replace(asked(shed), **changed)
    (fault,) = check(shed.shift, event, shed.now).faults
    assert (fault.field, say(fault.message, UnitSystem.METRIC)) == (field, said)


def test_a_time_that_is_over_before_it_is_saved_is_refused() -> None:
    shed = low()
    at = shed.now
    shed.wait(15)
    late = replace(asked(shed, minutes=-5), at=at)
    (fault,) = check(shed.shift, late, shed.now).faults
    assert say(fault.message, UnitSystem.METRIC) == "07:20 is over: choose a later time."


def test_the_longest_time_is_that_of_the_set_up() -> None:
    shed = Shed(a_setup(a_tank(1, "Only"), margins=Margins(shelve_longest_min=15)))
    shed.fill()
    shed.wait(10).read(fac=30, ph=7.0)
    shed.look()
    event = shelved(shed, minutes=15)
    assert event.until == shed.now + timedelta(minutes=15)
    shed.wait(20).look()
    longer = asked(shed, minutes=16)
    (fault,) = check(shed.shift, longer, shed.now).faults
    assert fault.field == "until"


def test_to_shelve_again_is_asked_about_and_twice_at_once_is_refused() -> None:
    shed = low()
    shelved(shed)
    shed.wait(1)
    again = asked(shed)
    (fault,) = check(shed.shift, again, shed.now).faults
    assert say(fault.message, UnitSystem.METRIC) == "This flag is shelved already, until 07:30."
    shed.wait(24).look()
    later = asked(shed, minutes=5)
    verdict = check(shed.shift, later, shed.now)
    assert not verdict.faults
    assert [say(doubt, UnitSystem.METRIC) for doubt in verdict.doubts] == [
        "This flag was shelved before, until 07:30: its cause is still there."
    ]


def test_a_stop_and_what_is_always_on_are_never_shelved_whatever_a_journal_says() -> None:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.read(fac=50, ph=7.0)
    shed.wash(1)
    shed.wait(5).read(fac=20, ph=7.0)
    before = shed.look()
    assert {"chlorine-critical", "hold"} <= set(rules_of(before.flags))
    for flag in before.flags:
        event = asked(shed, flag.rule, minutes=10)
        assert flag.level is Level.STOP or flag.rule in ALWAYS_ON
        (fault,) = check(shed.shift, event, shed.now).faults
        assert "never shelved" in say(fault.message, UnitSystem.METRIC)
        shed.tell(event)  # as a file from elsewhere may say
    after = advise(shed.shift, shed.now)
    assert after == before
