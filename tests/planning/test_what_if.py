"""What would come of it, held against mass balance; and what a shift still needs."""

import pytest
from msgspec.structs import replace

from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from washmon.line.events import Method
from washmon.line.flags import Amount
from washmon.line.message import Message, say
from washmon.planning.until_end import Need, needs, total
from washmon.planning.what_if import (
    MOST_BATCHES,
    Supposed,
    WhatIf,
    contexts_of,
    what_if,
    what_if_words,
)
from washmon.units import UnitSystem


def asked(shed: Shed, **supposed: object) -> WhatIf:
    (context, *_) = contexts_of(shed.shift, shed.now, {})
    found = what_if(context, replace(Supposed(tank=1), **supposed))
    assert isinstance(found, WhatIf), found
    return found


def words(found: WhatIf) -> str:
    said = " ".join(say(one, UnitSystem.METRIC) for one in what_if_words(found))
    return said.replace("\N{NO-BREAK SPACE}", " ")


def a_shed() -> Shed:
    shed = Shed(a_setup(a_tank(1, "First dunk")))
    shed.fill()
    shed.read(fac=50, ph=7.0)
    return shed


def test_batches_use_the_level_up_and_the_range_widens() -> None:
    shed = a_shed()
    none, some = asked(shed), asked(shed, batches=6)
    assert some.reads.high < none.reads.high
    assert some.under_critical > none.under_critical
    assert some.good < none.good
    middles = [one.middle for one in some.fan]
    assert middles == sorted(middles, reverse=True)
    spans = [one.high - one.low for one in some.fan[:5]]
    assert spans == sorted(spans)
    assert words(none).startswith("It should then read ")
    assert " after 6 batches. " in words(some)


def test_an_amount_raises_the_level_as_mass_balance_says() -> None:
    # 100 mL of 12.5 % trade (125 g/L of available chlorine) in 500 L are 25 mg/L: White, Handbook
    # of Chlorination, 1972.
    shed = a_shed()
    before, after = asked(shed), asked(shed, amount=Amount(100.0, "mL"))
    rise = after.fan[0].middle - before.fan[0].middle
    assert rise == pytest.approx(25.0, rel=0.1)


def test_an_amount_that_may_pass_the_label_is_spoken_against() -> None:
    shed = a_shed()
    found = asked(shed, amount=Amount(400.0, "mL"))  # 50 and 100 mg/L: over the 100 of the label
    assert "over the 100 ppm that the label allows: add less." in words(found)
    assert asked(shed, amount=Amount(20.0, "mL")).warnings == ()


def test_nothing_goes_in_while_acid_is_mixing() -> None:
    shed = a_shed()
    shed.acid()
    found = asked(shed, amount=Amount(20.0, "mL"))
    assert "Acid is still mixing in: nothing else goes into this tank before 07:05." in words(found)


def test_new_water_is_made_up_to_the_target() -> None:
    shed = a_shed()
    shed.wash(5)
    shed.read(fac=27, ph=7.0)
    found = asked(shed, change=True)
    assert found.fan[0].middle == pytest.approx(50.0, rel=0.05)
    assert found.good > asked(shed).good


def test_the_ph_is_told_with_its_range_as_the_belief_of_it_has_it() -> None:
    shed = a_shed()
    (context,) = contexts_of(shed.shift, shed.now, {})
    belief = context.ph
    assert belief is not None
    none, dosed = asked(shed), asked(shed, amount=Amount(100.0, "mL"))
    # 25 mg/L: see above. Hypochlorite brings base, so the pH rises.
    expected = belief.will_read(Method.METER, rise_mg_l=25.0)
    assert dosed.ph[0].middle == pytest.approx(expected.mid, abs=0.02)
    assert (dosed.ph[0].low, dosed.ph[0].high) == pytest.approx(
        (expected.low, expected.high), abs=0.02
    )
    assert dosed.ph[0].middle > none.ph[0].middle + 0.1
    washed = asked(shed, batches=12)
    assert [one.batches for one in washed.ph] == list(range(13))
    assert washed.ph[12].high - washed.ph[12].low > washed.ph[0].high - washed.ph[0].low
    assert f"The pH then {none.ph[0].low:.1f}–{none.ph[0].high:.1f}." in words(none)


def test_what_is_wrong_with_the_ph_is_said() -> None:
    shed = Shed(a_setup(a_tank(1, "First dunk")))
    shed.fill()
    shed.read(fac=50, ph=8.4)
    assert "That is over 7.5: chlorine works less." in words(asked(shed))
    fresh = words(asked(shed, change=True))
    assert ", before any acid." in fresh
    shed = Shed(a_setup(a_tank(1, "First dunk")))
    shed.fill()
    shed.read(fac=50)
    assert "by what is usual: it was never read." in words(asked(shed))
    shed = Shed(a_setup(a_tank(1, "First dunk")))
    shed.fill()
    shed.read(fac=50, ph=6.2)
    assert "That is under 6.5." in words(asked(shed))


def test_peracetic_acid_needs_no_ph() -> None:
    shed = Shed(a_peracetic_setup())
    shed.fill()
    shed.read(paa_mg_l=50.0)
    found = asked(shed, batches=3)
    assert found.ph == ()
    assert "pH" not in words(found)


def test_further_than_is_looked_ahead_nobody_can_tell() -> None:
    shed = a_shed()
    (context,) = contexts_of(shed.shift, shed.now, {})
    far = what_if(context, Supposed(tank=1, batches=MOST_BATCHES + 1))
    assert isinstance(far, Message)  # never the level after fewer batches than were asked for
    assert far.values["most"] == MOST_BATCHES
    assert len(asked(shed, batches=MOST_BATCHES).fan) == MOST_BATCHES + 1
    assert asked(shed, batches=-3).fan == asked(shed).fan


def test_without_its_product_nothing_can_be_told_of_a_dose() -> None:
    shed = Shed(a_setup(a_tank(1, "First dunk"), sanitizers=()))
    shed.fill()
    shed.read(fac=50, ph=7.0)
    (context,) = contexts_of(shed.shift, shed.now, {})
    found = what_if(context, Supposed(tank=1, amount=Amount(10.0, "mL")))
    assert isinstance(found, Message)


def test_what_a_shift_still_needs_grows_with_its_batches() -> None:
    shed = a_shed()
    few, many = (needs(contexts_of(shed.shift, shed.now, {}), count)[0] for count in (6, 60))
    assert (few.changes, few.water_l) == (0, 0.0)
    assert many.changes >= 1  # the water is due after 40 batches or four hours
    assert many.water_l == many.changes * 500.0
    assert few.readings >= 1  # a check every six batches
    assert many.readings >= 10
    assert many.strips == 0  # it is read by kit and meter
    assert few.amount.low <= few.amount.middle <= few.amount.high < many.amount.high
    assert many.product == "hypochlorite"
    # Fresh water takes the target: 500 L at 50 mg/L are 200 mL of 125 g/L (White, 1972), and each
    # batch what it uses up.
    assert many.amount.middle >= many.changes * 200.0


def test_water_that_is_due_by_the_hour_is_changed_as_often_as_batches_take() -> None:
    shed = Shed(a_setup(a_tank(1, "First dunk", batches_per_fill=None, hours_per_fill=1.0)))
    shed.fill()
    shed.read(fac=50, ph=7.0)
    (context,) = contexts_of(shed.shift, shed.now, {})
    assert context.rule_context.fill.at == shed.now
    an_hour = round(60 / context.pace_min)
    assert an_hour * context.pace_min == 60
    counts = (an_hour, an_hour + 1, 2 * an_hour, 2 * an_hour + 1)
    assert [needs([context], count)[0].changes for count in counts] == [0, 1, 1, 2]


def test_what_all_tanks_need_is_summed_by_product_and_unit() -> None:
    shed = Shed(a_setup())
    for number in (1, 2):
        shed.fill(number)
        shed.read(number, fac=50, ph=7.0)
    each = needs(contexts_of(shed.shift, shed.now, {}), 60)
    first, second = (one.amount for one in each)
    assert total(each) == {
        ("hypochlorite", "mL"): Need(
            first.low + second.low, first.middle + second.middle, first.high + second.high
        )
    }
    assert first.middle > 0
    assert second.middle > 0
