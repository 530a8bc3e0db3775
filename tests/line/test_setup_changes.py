"""What a saved set-up changed, value by value, and who is said to have switched a rule off."""

from datetime import date

import pytest
from hypothesis import given, settings
from msgspec.structs import replace

from tests.shed import a_setup, a_tank
from tests.strategies import setups
from washmon.line.message import Figure
from washmon.line.setup import (
    LineSetup,
    Margins,
    Person,
    Price,
    Role,
    RuleOff,
    TemperatureRule,
    TemperatureRuleKind,
)
from washmon.line.setup_changes import changes, stamped
from washmon.line.validate import faults
from washmon.units import Kind

DAY = date(2026, 5, 7)
OFF = RuleOff(rule="rinse-carry", reason="Fed on purpose.")


def test_a_limit_that_moved_is_told_with_its_old_and_its_new_value() -> None:
    before = a_setup()
    chlorine = replace(before.tanks[1].chlorine, critical_low_mg_l=30.0)
    after = replace(before, tanks=(before.tanks[0], replace(before.tanks[1], chlorine=chlorine)))
    (change,) = changes(before, after)
    assert change.path == ("tanks", "2", "chlorine", "critical_low_mg_l")
    assert change.was == Figure(25, Kind.CONCENTRATION)
    assert change.now == Figure(30.0, Kind.CONCENTRATION)


def test_a_list_is_compared_by_what_its_parts_are_called() -> None:
    before = a_setup()
    moved = replace(before, people=before.people[::-1])
    assert changes(before, moved) == ()
    zoe = Person(initials="ZO", name="Zoe Orr", role=Role.MANAGER)
    (added,) = changes(before, replace(before, people=(*before.people, zoe)))
    assert (added.path, added.was, added.now) == (("people", "ZO"), "", "Zoe Orr")
    (gone,) = changes(before, replace(before, tanks=before.tanks[:1]))
    assert (gone.path, gone.was, gone.now) == (("tanks", "2"), "Second dunk", "")


def test_shares_are_told_in_percent_and_a_rule_by_its_reason() -> None:
    before = a_setup()
    after = replace(before, margins=Margins(rinse_share=0.4), rules_off=(OFF,))
    share, rule = changes(before, after)
    assert (share.was, share.now) == (Figure(50, Kind.PERCENT), Figure(40, Kind.PERCENT))
    assert (rule.path, rule.was, rule.now) == (("rules_off", "rinse-carry"), "", "Fed on purpose.")


def test_a_rule_on_temperature_that_comes_is_told_in_its_parts() -> None:
    before = a_setup()
    rule = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.0)
    tank = replace(before.tanks[0], temperature_rule=rule)
    kind, by = changes(before, replace(before, tanks=(tank, before.tanks[1])))
    assert (kind.was, kind.now) == ("", rule.kind.value)
    assert (by.was, by.now) == ("", Figure(5.0, Kind.TEMPERATURE_DIFFERENCE))


def test_a_price_that_moved_by_a_cent_shows_it() -> None:
    before = a_setup()

    def priced(cost: float) -> LineSetup:
        return replace(before, currency="EUR", water_price=Price(cost=cost, amount=1_000_000.0))

    (change,) = changes(priced(12345.67), priced(12345.68))
    assert (change.was, change.now) == (Figure(12345.67, Kind.MONEY), Figure(12345.68, Kind.MONEY))
    *_, amount, _ = changes(before, priced(1.0))
    assert (amount.path[-1], amount.now) == ("amount", "1000000")


def test_a_first_set_up_is_one_change() -> None:
    assert [change.now for change in changes(None, a_setup())] == ["Leaf line"]


@settings(deadline=None, max_examples=50)
@given(setups(), setups())
def test_any_two_set_ups_can_be_compared_and_one_is_equal_to_itself(
    one: LineSetup, other: LineSetup
) -> None:
    assert changes(one, one) == ()
    for change in changes(one, other):
        assert change.path
        assert isinstance(change.now, str | Figure)


@pytest.mark.parametrize("by", ["RM", "ZO"])
def test_who_switched_a_rule_off_is_written_once_and_not_believed_from_outside(by: str) -> None:
    before = a_setup()
    claimed = replace(OFF, by="XX", since=date(2020, 1, 1))
    first = stamped(before, replace(before, rules_off=(claimed,)), by, DAY)
    assert first.rules_off == (replace(OFF, by=by, since=DAY),)
    later = stamped(first, replace(first, line="Other"), "TK", date(2026, 6, 1))
    assert later.rules_off == first.rules_off
    (other,) = stamped(
        first, replace(first, rules_off=(replace(OFF, reason="New."),)), "TK", DAY
    ).rules_off
    assert (other.by, other.reason) == ("TK", "New.")


@pytest.mark.parametrize(
    ("off", "said"),
    [
        ((replace(OFF, reason=" "),), "Say why this rule is switched off"),
        ((replace(OFF, rule="chlorine-critical"),), "cannot be switched off"),
        ((OFF, OFF), "switched off twice"),
        ((replace(OFF, reason="x" * 2001),), "too long"),
        ((replace(OFF, rule="long-gone"),), ""),
        ((OFF,), ""),
    ],
)
def test_a_rule_is_only_off_with_a_reason_and_an_unknown_one_breaks_nothing(
    off: tuple[RuleOff, ...], said: str
) -> None:
    found = [fault.message.text for fault in faults(a_setup(a_tank(1, "Only"), rules_off=off))]
    assert any(said in text for text in found) if said else found == []
