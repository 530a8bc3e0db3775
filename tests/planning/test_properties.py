"""What holds of every plan, whatever was entered: shifts of any kind, told event by event."""

from collections.abc import Iterator
from datetime import timedelta
from typing import NamedTuple

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.planning.steps import ADDITIONS, level_read, rise_mg_l, words
from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from washmon.chemistry.measures import METRIC_SET, US_SET
from washmon.line.certain import certain_level
from washmon.line.events import DoseAdded, LinePaused, Method, WaterExchanged
from washmon.line.flags import Amount, Caution, Condition, StepKind
from washmon.line.plan import Plan
from washmon.line.setup import LineSetup, SourceWater
from washmon.line.state import Fill
from washmon.planning.advice import Advice, TankAdvice, advise
from washmon.planning.objective import PH_JUMP

MIX = timedelta(minutes=5)


class Told(NamedTuple):
    """One thing that happens, and the minutes before it."""

    what: str
    value: float
    ph: float
    method: Method
    wait: float


WHATS = st.sampled_from(
    [
        *("read", "read", "read level", "read ph", "obey", "obey", "wash", "wash"),
        *("dose", "acid", "exchange", "fill", "second fill", "second read", "second dose"),
        *("second acid", "swap", "pause", "cloudy", "shelve"),
    ]
)
LEVELS = st.one_of(st.floats(0, 130), st.sampled_from([0.0, 25.0, 35.0, 50.0, 75.0, 100.0]))
PHS = st.one_of(st.floats(4, 10), st.sampled_from([6.5, 7.0, 7.5]))
STORIES = st.lists(
    st.builds(
        Told,
        WHATS,
        LEVELS,
        PHS,
        st.sampled_from(list(Method)),
        st.sampled_from([0.0, 1.0, 3.0, 6.0, 20.0, 70.0]),
    ),
    min_size=2,
    max_size=10,
)


def a_line(volume_l: float, alkalinity: float | None, measures: tuple[str, ...]) -> LineSetup:
    tank = a_tank(1, "Only", volume_l=volume_l, second_volume_l=volume_l, hours_per_fill=2.0)
    return a_setup(tank, measures=measures, source=SourceWater(alkalinity_mg_l=alkalinity))


LINES = st.builds(
    a_line,
    st.sampled_from([19.0, 300.0, 2500.0]),
    st.sampled_from([None, 30.0, 150.0]),
    st.sampled_from([US_SET, METRIC_SET, ("cup",)]),
)


def tell(shed: Shed, told: Told) -> None:
    """Let one thing happen, as far as it can."""
    shed.wait(told.wait)
    tank, level, ph = shed.shift.tank(1), round(told.value, 1), round(told.ph, 2)
    fill, scale = tank.fill, tank.spec.volume_l / 500
    if fill is None:
        shed.fill(1, tank.spec.volume_l)
        return
    if told.what == "second fill":
        shed.fill(1, tank.spec.volume_l, second=True)
    elif told.what.startswith("second") or told.what == "swap":
        if tank.second is not None:
            _beside(shed, told, scale)
    else:
        _in_use(shed, told, level, ph, scale)


def _beside(shed: Shed, told: Told, scale: float) -> None:
    match told.what:
        case "second read":
            level, ph = round(told.value, 1), round(told.ph, 2)
            shed.read(1, level, ph=ph, method=told.method, second=True)
        case "second dose":
            shed.dose(1, told.value * scale, second=True)
        case "second acid":
            shed.acid(1, told.value * scale, second=True)
        case "swap":
            shed.swap(1)


def _in_use(shed: Shed, told: Told, level: float, ph: float, scale: float) -> None:
    match told.what:
        case "wash":
            shed.wash(1 + int(told.value) % 4)
        case "dose":
            shed.dose(1, max(1.0, 2 * told.value) * scale)
        case "acid":
            shed.acid(1, max(1.0, told.value) * scale)
        case "exchange":
            volume_l = shed.shift.tank(1).spec.volume_l / 3
            shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=volume_l))
        case "fill":
            shed.fill(1, shed.shift.tank(1).spec.volume_l)
        case "pause":
            shed.tell(LinePaused(at=shed.now, by="RM"))
        case "shelve":
            _shelve(shed)
        case "obey":
            obey(shed, shed.plan())
        case _:
            _read(shed, told, level, ph)


def _read(shed: Shed, told: Told, level: float, ph: float) -> None:
    match told.what:
        case "read":
            shed.read(1, level, ph=ph, method=told.method)
        case "read level":
            shed.read(1, level, method=told.method)
        case "read ph":
            shed.read(1, ph=ph)
        case "cloudy":
            shed.read(1, level, ph=ph, turbidity_ntu=level)


def _shelve(shed: Shed) -> None:
    up = [one.flag for one in shed.shift.open_flags if one.flag.never_shelved is None]
    if up and not shed.shift.shelved_at(shed.now):
        shed.shelve(up[0].rule)


def obey(shed: Shed, plan: Plan) -> None:
    """Do what a plan says, as far as it is to be done in the tank."""
    now = plan.now
    match now.kind:
        case StepKind.DOSE if now.amount is not None:
            shed.dose(1, now.amount.value, second=now.second)
        case StepKind.ACID if now.amount is not None:
            shed.acid(1, now.amount.value, second=now.second)
        case StepKind.HOLD:
            shed.hold(*now.batches)
        case StepKind.CHANGE_WATER:
            if now.second:
                shed.swap(1)
            else:
                shed.fill(1, shed.shift.tank(1).spec.volume_l)
        case StepKind.WAIT:
            shed.wait(6)


def advices(shed: Shed, told: Told, last: Told) -> Iterator[Advice]:
    """Yield what is said without a forecast, journaled, and at the end of a story with one."""
    yield shed.look()
    if told is last:
        yield shed.foresee()


def fills(shed: Shed) -> list[Fill]:
    tank = shed.shift.tank(1)
    return [one for one in (tank.fill, tank.second) if one is not None]


def says_one_thing(one: TankAdvice) -> None:
    """Hold a plan to one thing to do, in few words."""
    plan = one.plan
    assert words(plan.now.say)
    assert "{" not in "".join(words(part) for part in (plan.now.say, plan.brings, plan.then))
    assert not set(plan.now.cautions) >= {Caution.ACID, Caution.HYPOCHLORITE}
    assert (plan.now.amount is not None) == (plan.now.kind in ADDITIONS)
    if plan.now.amount is not None:
        assert plan.now.amount.value > 0
    if plan.now.kind is StepKind.HOLD:
        assert plan.now.batches
    if plan.now.kind is StepKind.WAIT:
        assert plan.wait_until is not None
    if plan.due is not None and plan.due.batches is not None:
        assert plan.due.batches >= 0
    up = {flag.rule for flag in one.flags}
    assert set(plan.answers) <= up


@settings(max_examples=30, deadline=None)
@given(LINES, STORIES)
def test_whatever_was_read_there_is_a_plan_and_it_says_one_thing(
    line: LineSetup, story: list[Told]
) -> None:
    shed = Shed(line)
    for told in story:
        tell(shed, told)
        for advice in advices(shed, told, story[-1]):
            (one,) = advice.tanks
            says_one_thing(one)
            if one.condition is Condition.STOP:
                assert not one.plan.feed


@settings(max_examples=30, deadline=None)
@given(LINES, STORIES)
def test_acid_and_hypochlorite_are_never_asked_for_within_each_others_mixing_time(
    line: LineSetup, story: list[Told]
) -> None:
    """In one tank, or in two vessels side by side: chlorine gas (product labels; US EPA, CDC)."""
    shed = Shed(line)
    for told in story:
        tell(shed, told)
        fresh = [
            (kind, one.event.at)
            for fill in fills(shed)
            for kind, added in ((StepKind.ACID, fill.acids), (StepKind.DOSE, fill.doses))
            for one in added
            if one.event.at + MIX > shed.now
        ]
        for advice in advices(shed, told, story[-1]):
            (one,) = advice.tanks
            second = None if one.second is None else one.second.step
            asked = {one.plan.now.kind, *(() if second is None else (second.kind,))}
            assert not asked >= ADDITIONS
            for kind, _ in fresh:
                (against,) = ADDITIONS - {kind}
                assert against not in asked
            if StepKind.LEAVE in asked:
                assert not asked & ADDITIONS


def the_most_there_is(shed: Shed, plan: Plan, g_l: float) -> float | None:
    """Return the highest level after a dose by mass balance alone, nothing used up by anything."""
    tank, amount = shed.shift.tank(1), plan.now.amount
    assert tank.fill is not None
    assert amount is not None
    up = rise_mg_l(amount.value, volume_l=tank.fill.volume_l, g_l=g_l)
    event = DoseAdded(
        at=shed.now, by="RM", tank=1, product=tank.spec.sanitizer, amount=Amount(1e-6, "mL")
    )
    shed.tell(event)
    certain = certain_level(shed.shift.tank(1).fills[-1], tank.spec, shed.shift.setup)
    return None if certain is None else certain.high_mg_l + up


@settings(max_examples=25, deadline=None)
@given(LINES, STORIES)
def test_no_dose_may_bring_more_than_the_label_allows(line: LineSetup, story: list[Told]) -> None:
    """Nor even if nothing was used up of what was read and of what went in since."""
    shed = Shed(line)
    for told in story:
        tell(shed, told)
        for advice in advices(shed, told, story[-1]):
            (one,) = advice.tanks
            if one.plan.now.kind is StepKind.DOSE and not one.plan.now.second:
                assert level_read(one.plan).high <= 100
    last = shed.look().tank(1).plan
    tank = shed.shift.tank(1)
    assume(last.now.kind is StepKind.DOSE and not last.now.second and tank.fill is not None)
    reading = None if tank.fill is None else tank.fill.latest("fac_mg_l")
    # What batches used up since is the forecast's to say.
    assume(reading is None or reading.batches == tank.batches)
    most = the_most_there_is(shed, last, 125.0)
    assert most is None or most <= 100 * 1.02


@settings(max_examples=20, deadline=None)
@given(st.lists(LEVELS, min_size=1, max_size=6), st.sampled_from([200.0, 1000.0]))
def test_no_dose_of_peracetic_acid_may_bring_more_than_law_or_label_allow(
    levels: list[float], volume_l: float
) -> None:
    setup = a_peracetic_setup()
    tank = replace(setup.tanks[0], volume_l=volume_l)
    shed = Shed(replace(setup, tanks=(tank,)))
    shed.fill(1, volume_l)
    for level in levels:
        plan = shed.plan()
        says_one_thing(shed.look().tank(1))
        if plan.now.kind is StepKind.DOSE:
            assert level_read(plan).high <= 80.0
        obey(shed, plan)
        shed.wait(6).read(paa_mg_l=round(level, 1))
        shed.wash(1)


@settings(max_examples=25, deadline=None)
@given(LINES, STORIES)
def test_a_plan_is_a_function_of_what_was_told_and_of_the_time(
    line: LineSetup, story: list[Told]
) -> None:
    shed = Shed(line)
    for told in story:
        tell(shed, told)
    assert advise(shed.shift, shed.now) == advise(shed.shift, shed.now)
    assert shed.foresee().tanks == shed.foresee().tanks


NEAR = st.builds(
    Told,
    st.just("read"),
    st.floats(26, 99),
    st.floats(6.6, 7.4),
    st.sampled_from(list(Method)),
    st.just(6.0),
)


@settings(max_examples=25, deadline=None)
@given(NEAR, st.floats(-1, 1), st.sampled_from([0.5, 2.0, 8.0]), st.integers(0, 3))
def test_a_small_change_of_a_reading_does_not_change_what_is_to_be_done_within_ten_minutes(
    told: Told, by_mg_l: float, minutes: float, batches: int
) -> None:
    """Unless it passes a limit, or what was said was done meanwhile."""
    assume(told.ph is None or told.ph - 7.0 <= PH_JUMP)  # else the second reading settles it
    shed = Shed()
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    shed.wash(batches)
    tell(shed, told)
    before, found = shed.plan(), shed.rules_up()
    level = round(told.value + by_mg_l, 1)
    shed.wait(minutes).read(1, level, ph=round(told.ph, 2), method=told.method)
    after = shed.plan()
    assume(shed.rules_up() == found)
    assert after.now.kind is before.now.kind
    if before.now.amount is not None and after.now.amount is not None:
        rise, was = after.now.amount.value, before.now.amount.value
        assert abs(rise - was) <= 0.25 * was + rise_mg_l(1) * 500 / 125 * 2
