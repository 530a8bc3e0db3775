"""Of several additions that flags ask for, only the first in turn is told with its amount."""

from msgspec.structs import replace
from washmon.rules.precedence import causes, with_consequences

from tests.shed import Shed
from washmon.line.flags import Caution, Flag, Level, StepKind


def a_dosed_shed() -> Shed:
    shed = Shed()
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    return shed


def test_a_dose_is_kept_back_while_acid_comes_first() -> None:
    # Hypochlorite and acid must never meet undiluted: chlorine gas (product labels; US EPA and
    # CDC warn of mixing bleach with acids).
    shed = a_dosed_shed()
    shed.wait(5).read(fac=31, ph=7.8)
    flags = {flag.rule: flag.step for flag in shed.look().flags}
    assert flags["ph-high"].kind is StepKind.ACID
    assert flags["chlorine-low"].kind is StepKind.LOOK
    assert flags["chlorine-low"].amount is None


def test_nothing_is_added_to_water_that_gives_off_gas() -> None:
    shed = a_dosed_shed()
    shed.wait(5).read(fac=31, ph=4.6)
    advice = shed.look()
    assert advice.tank(1).step.kind is StepKind.LEAVE
    assert all(flag.step.amount is None for flag in advice.flags)
    assert all(Caution.HYPOCHLORITE not in flag.step.cautions for flag in advice.flags)


def test_a_dose_alone_and_a_dose_beside_a_hold_keep_their_amount() -> None:
    shed = a_dosed_shed()
    shed.wash(2)
    shed.read(fac=20, ph=7.0)
    flags = {flag.rule: flag.step for flag in shed.look().flags}
    assert flags["hold"].kind is StepKind.HOLD
    assert flags["chlorine-critical"].amount is not None


def test_after_acid_mixed_and_was_measured_the_dose_is_told() -> None:
    shed = a_dosed_shed()
    shed.wait(5).read(fac=31, ph=7.8)
    shed.acid()
    shed.wait(6).read(fac=31, ph=7.1)
    (flag,) = shed.look().flags
    assert flag.rule == "chlorine-low"
    assert flag.step.amount is not None


def flag_of(shed: Shed, rule: str) -> Flag:
    return next(flag for flag in shed.look().flags if flag.rule == rule)


def reasons(shed: Shed, rule: str) -> list[str]:
    return [part.text for part in flag_of(shed, rule).more]


def test_while_a_step_waits_for_mixing_its_reason_tells_of_no_amount() -> None:
    shed = a_dosed_shed()
    shed.wait(5).read(fac=20, ph=7.0)
    assert any(text.startswith("The amount lifts") for text in reasons(shed, "chlorine-critical"))
    shed.dose(ml=100)
    assert flag_of(shed, "chlorine-critical").step.kind is StepKind.WAIT
    assert reasons(shed, "chlorine-critical") == []


def test_a_dose_that_was_put_off_for_acid_tells_of_no_amount_and_the_acid_still_does() -> None:
    shed = a_dosed_shed()
    shed.wait(5).read(fac=31, ph=7.8)
    assert reasons(shed, "chlorine-low") == []
    assert reasons(shed, "ph-high") != []


def test_what_follows_from_a_flag_is_told_with_it_though_its_step_waits() -> None:
    shed = a_dosed_shed()
    shed.wait(5).read(fac=20, ph=7.0)
    shed.dose(ml=100)
    cause = flag_of(shed, "chlorine-critical")
    follows = replace(cause, rule="change-near", level=Level.WATCH)
    both = (cause, follows)
    assert causes(both) == [cause]
    (told,) = with_consequences(causes(both), both)
    assert told.more == (follows.why,)
