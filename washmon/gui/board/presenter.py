"""From a snapshot to what the Board draws: pure, the same snapshot always gives the same view.

What a panel says of a second fill, in one quiet line.
"""

from datetime import datetime
from typing import NamedTuple

from msgspec.structs import replace

from washmon.gui.board import ahead_view
from washmon.gui.board.board_words import (
    DASH,
    DOT,
    age_words,
    answer_word,
    batches_words,
    clock_words,
    method_word,
)
from washmon.gui.board.flag_views import FlagShelf, flag_views, shelved_views
from washmon.gui.board.panel_views import (
    BannerView,
    BoardView,
    KeptViews,
    LineView,
    PanelView,
    Phase,
)
from washmon.gui.board.plan_views import also_views, step_view, turn_view
from washmon.gui.board.trend_views import TrendShelf
from washmon.gui.board.values import Values, causing
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.level_scale import ScaleView
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.trend_view import TrendView
from washmon.line.events import ReadingTaken
from washmon.line.flags import Condition, Step, StepKind
from washmon.line.message import Message
from washmon.line.plan import Plan, Span
from washmon.line.setup import ChlorineLimits, PeraceticLimits, Tank
from washmon.line.state import Placed, ShiftState, TankState
from washmon.planning.advice import Advice, TankAdvice
from washmon.planning.snapshot import Mode, Snapshot
from washmon.units import Kind, show


def second_words(tank: TankState, advice: TankAdvice, person: UserContext) -> str:
    """Return the step of a second fill and its level; nothing where there is none to speak of.

    Where its step is the tank's own, that says it, and here stands what was read alone.
    """
    second, now = advice.second, advice.plan.now
    if second is None or second.gas is not None:
        return ""
    told = now.second and now.kind is not StepKind.CHANGE_WATER
    if tank.second is None:
        return "" if told else tr("Second fill: not filled")
    read = _read(tank, person)
    if told or second.step is None:
        return tr("Second fill at {read}", read=read) if read else ""
    step = person.say(second.step.say)
    return tr("{step} (at {read})", step=step, read=read) if read else step


def _read(tank: TankState, person: UserContext) -> str:
    kinds = ((tank.spec.level_field, Kind.CONCENTRATION), ("ph", Kind.PH))
    said = []
    for field, kind in kinds:
        newest = None if tank.second is None else tank.second.latest(field)
        if newest is not None:
            value = person.show(float(getattr(newest.event, field)), kind)
            said.append(tr("pH {value}", value=value) if kind is Kind.PH else value)
    return ", ".join(said)


CALM = MarkState.IN_LIMITS
_NOT_LOOKED = Step(
    kind=StepKind.CHECK,
    say=Message("The rules have not looked at this tank: judge it by its limits"),
)


class ViewShelf:
    """Keeps what was written from one snapshot to the next, so that only what is new is written."""

    def __init__(self) -> None:
        self.trends = TrendShelf()
        self.panels: KeptViews[int, _Told, PanelView] = KeptViews(_panel)
        self.flags = FlagShelf()


def present(snapshot: Snapshot, person: UserContext, shelf: ViewShelf | None = None) -> BoardView:
    """Return all that the Board draws of a snapshot.

    Args:
        snapshot: what is so.
        person: in whose units and decimal sign it is written.
        shelf: keeps what was written for the next call; without one all is written anew.
    """
    shelf = shelf or ViewShelf()
    banners = _banners(snapshot)
    if snapshot.trouble is not None:
        banners = (BannerView(person.say(snapshot.trouble), MarkState.STOP), *banners)
    shift = snapshot.shift
    if shift is None:
        phase = Phase.NO_SETUP if snapshot.setup is None else Phase.NO_SHIFT
        return BoardView(phase, banners=banners)
    return _of_shift(snapshot, shift, person, shelf, banners)


def _of_shift(
    snapshot: Snapshot,
    shift: ShiftState,
    person: UserContext,
    shelf: ViewShelf,
    banners: tuple[BannerView, ...],
) -> BoardView:
    ended = shift.ended is not None
    writable = snapshot.mode is Mode.LIVE and not ended
    advice, now = _complete(snapshot.advice, shift), snapshot.now
    turns = () if ended else advice.agenda
    return BoardView(
        phase=Phase.ENDED if ended else Phase.RUNNING,
        panels=_panels(snapshot, shift, advice, person, shelf),
        agenda=tuple(turn_view(shift.tank(one.tank), one, now) for one in turns),
        flags=flag_views(shift, advice, person, shelf.flags, now, writable=writable),
        shelved=shelved_views(shift, advice.shelved, person, now, writable=writable),
        banners=banners,
    )


def _panels(
    snapshot: Snapshot, shift: ShiftState, advice: Advice, person: UserContext, shelf: ViewShelf
) -> tuple[PanelView, ...]:
    ended = shift.ended is not None
    writable = snapshot.mode is Mode.LIVE and not ended
    forecasts = {} if ended else snapshot.forecasts
    fans = {
        tank.number: ahead_view.fan(forecasts.get(tank.number), tank.batches)
        for tank in shift.tanks
    }
    trends = shelf.trends.trends(shift, person, fans, {} if ended else _expected(advice))
    now = None if ended else snapshot.now
    first = _first(advice) if writable else None
    return tuple(
        shelf.panels.view(
            tank.number,
            _Told(
                tank,
                advice.tank(tank.number),
                trends[tank.number],
                ahead_view.ahead(forecasts.get(tank.number), tank.spec),
                _on_hold(shift, tank),
                _age(tank, now),
                person,
                writable,
                tank.number == first,
            ),
        )
        for tank in shift.tanks
    )


def _expected(advice: Advice) -> dict[int, Span]:
    """Return between which levels the next reading of each tank should lie, where that is told."""
    plans = (one.plan for one in advice.tanks)
    told = ((plan.tank, plan.expected) for plan in plans)
    return {tank: one.level_mg_l for tank, one in told if one and one.level_mg_l is not None}


def _first(advice: Advice) -> int | None:
    """Return the tank whose step comes first of those that can be answered."""
    return next(
        (
            one.tank
            for one in advice.agenda
            if one.plan.hand and answer_word(one.plan.now.kind, second=one.plan.now.second)
        ),
        None,
    )


def _complete(advice: Advice, shift: ShiftState) -> Advice:
    """Say of each tank that the rules have not looked at that they have not."""
    known = {one.tank for one in advice.tanks}
    unseen = tuple(
        TankAdvice(
            tank=tank.number,
            condition=Condition.UNKNOWN,
            plan=Plan(tank=tank.number, now=_NOT_LOOKED),
        )
        for tank in shift.tanks
        if tank.number not in known
    )
    return replace(advice, tanks=(*advice.tanks, *unseen)) if unseen else advice


def _banners(snapshot: Snapshot) -> tuple[BannerView, ...]:
    found = []
    shift = snapshot.shift
    if snapshot.mode is Mode.READ_ONLY:
        found.append(
            BannerView(tr("Read only: another window writes this journal. Enter things there."))
        )
    if snapshot.mode is Mode.REPLAY:
        found.append(BannerView(tr("Replay of a recorded shift: nothing can be entered here.")))
    if shift is not None and shift.started.practice:
        found.append(BannerView(tr("Practice: this shift is simulated.")))
    if shift is not None and shift.ended is not None:
        at = clock_words(shift.ended.at)
        found.append(BannerView(tr("This shift ended at {time}.", time=at)))
    return tuple(found)


class _Told(NamedTuple):
    """All that the panel of a tank is written from."""

    tank: TankState
    advice: TankAdvice
    trend: TrendView
    ahead: ahead_view.AheadView
    on_hold: int
    age: str
    """Of its newest level, in words."""
    person: UserContext
    writable: bool
    first: bool


def _newest(tank: TankState) -> Placed[ReadingTaken] | None:
    return None if tank.fill is None else tank.fill.latest(tank.spec.level_field)


def _age(tank: TankState, now: datetime | None) -> str:
    """Say how old the newest level is; ``now`` is missing where time stands still."""
    last = _newest(tank)
    if last is None:
        return ""
    at = last.event.at
    return tr("at {time}", time=clock_words(at)) if now is None else age_words(now - at)


def _on_hold(shift: ShiftState, tank: TankState) -> int:
    placed = (hold.placed for hold in shift.open_holds if hold.placed.tank == tank.number)
    return len({seq for one in placed for seq in one.batches})


def _panel(told: _Told) -> PanelView:
    tank, advice, person = told.tank, told.advice, told.person
    causes = causing(advice.flags)
    last = _newest(tank)
    level = None if last is None else float(getattr(last.event, tank.spec.level_field))
    number = DASH if level is None else _bare(level, person)
    limits = tank.spec.limits
    return PanelView(
        number=tank.number,
        name=tank.spec.name,
        look=MarkState(advice.condition.value),
        facts=LineView(_facts(told), causes.get("facts", CALM)),
        level=LineView(number, causes.get("free", CALM)),
        caption=tr("ppm peracetic") if tank.spec.peracetic else tr("ppm free"),
        measured=LineView(_measured(tank.spec, last, told.age), causes.get("age", CALM)),
        scale=ScaleView(
            low=limits.low_mg_l,
            high=limits.high_mg_l,
            target=limits.target_mg_l,
            critical=limits.critical_low_mg_l,
            reading=level,
            likely=told.ahead.likely,
        ),
        limits=_limits(limits, person),
        values=Values(tank, causes, person).views(),
        step=step_view(
            tank, advice, _ahead(told), person, writable=told.writable, first=told.first
        ),
        trend=told.trend,
        also=also_views(advice, person),
        why=bool(advice.flags or advice.shelved or advice.notes or advice.plan.weighed),
        second=second_words(tank, advice, person),
        state=_state(told),
    )


def _state(told: _Told) -> str:
    """Say what is held or shelved where the word of the state alone would hide it."""
    shelved = len(told.advice.shelved)
    if told.on_hold and told.advice.condition is Condition.STOP:
        return tr("Stop, {count} held", count=told.on_hold)
    if shelved and told.advice.condition is Condition.IN_LIMITS:
        return tr("{count} shelved", count=shelved)
    return ""


def _ahead(told: _Told) -> str:
    """Return how long the water lasts, and when to read it where the plan does not say so."""
    if told.advice.condition is Condition.STOP:
        return ""  # nothing is good there, whatever may be left of it
    check = told.ahead.check if told.advice.flags and told.advice.plan.then is None else ""
    return "; ".join(filter(None, (told.ahead.lasts, check)))


def _facts(told: _Told) -> str:
    """Return what a tank holds and since when, as it stands over the plot."""
    fill, person = told.tank.fill, told.person
    if fill is None:
        volume = person.show(told.tank.spec.volume_l, Kind.VOLUME)
        return DOT.join((volume, tr("not filled yet")))
    facts = [
        person.show(fill.volume_l, Kind.VOLUME),
        tr("filled {time}", time=clock_words(fill.at))
        if fill.swapped is None
        else tr("swapped in {time}", time=clock_words(fill.at)),
        batches_words(told.tank.batches_in_fill),
    ]
    if told.on_hold and told.advice.condition is not Condition.STOP:
        facts.append(tr("{count} on hold", count=told.on_hold))
    if told.advice.shelved and told.advice.condition is not Condition.IN_LIMITS:
        facts.append(tr("{count} shelved", count=len(told.advice.shelved)))
    return DOT.join(facts)


def _measured(spec: Tank, last: Placed[ReadingTaken] | None, age: str) -> str:
    if last is None:
        return tr("not measured yet")
    method = last.event.paa_method if spec.peracetic else last.event.fac_method
    return tr("{method}, {age}", method=method_word(method), age=age)


def _limits(limits: ChlorineLimits | PeraceticLimits, person: UserContext) -> str:
    return tr(
        "target {target}, keep {low}–{high}, critical {critical}",
        target=_bare(limits.target_mg_l, person),
        low=_bare(limits.low_mg_l, person),
        high=_bare(limits.high_mg_l, person),
        critical=_bare(limits.critical_low_mg_l, person),
    )


def _bare(level: float, person: UserContext) -> str:
    return show(level, Kind.CONCENTRATION, person.taste, person.decimal_point, with_unit=False)
