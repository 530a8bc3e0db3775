"""Invented scenes for the tests of the Board, made of the shed's events."""

from datetime import datetime, timedelta
from typing import Any

from msgspec.structs import replace

from tests.shed import Shed, a_setup, a_tank
from washmon.forecast.forecast_cache import ForecastCache
from washmon.gui.context import UserContext
from washmon.line.events import Method, ShiftEnded
from washmon.line.flag_events import Acknowledged
from washmon.line.flags import Caution, Step, StepKind
from washmon.line.message import Message
from washmon.line.plan import Due, Expected, Plan, Span, WeighedOption
from washmon.line.setup import LineSetup, Stage
from washmon.planning.advice import advise
from washmon.planning.snapshot import Mode, Snapshot
from washmon.units import UnitSystem

ME = UserContext("RM", UnitSystem.METRIC)


def a_line(count: int) -> LineSetup:
    """Return a line of so many tanks, the last a rinse."""
    names = ["Dump tank", "First dunk", "Second dunk", "Third dunk", "Flume", "Polish", "Rinse"]
    tanks = [a_tank(n, names[(n - 1) % 7], check_batches=10) for n in range(1, count)]
    return a_setup(*tanks, a_tank(count, "Last rinse", Stage.RINSE))


def a_good_shed(count: int = 2) -> Shed:
    """Return a shift whose tanks are filled, dosed, measured and in limits, then washed in."""
    shed = Shed(a_line(count))
    for tank in range(1, count + 1):
        shed.fill(tank)
        shed.dose(tank, ml=200)
    shed.wait(6)
    for tank in range(1, count + 1):
        shed.read(tank, 50, ph=7.0, water_c=9.0, turbidity_ntu=5.0)
    shed.wash(3, tanks=tuple(range(1, count + 1)))
    shed.look()
    return shed


def a_troubled_shed(count: int = 2) -> Shed:
    """Return a shift whose first tank is low by a strip and whose second is high in pH."""
    shed = a_good_shed(count)
    shed.wait(1)
    shed.read(1, 31, method=Method.STRIP, ph=7.1, turbidity_ntu=38.0)
    shed.read(2, 44, ph=7.6, water_c=9.0)
    shed.look()
    shed.wait(3)
    return shed


def see(shed: Shed, mode: Mode = Mode.LIVE) -> Snapshot:
    """Return what the recorder would publish of a shed now."""
    advice = shed.look()
    return Snapshot(
        now=shed.now, mode=mode, setup=shed.shift.setup, shift=shed.shift, advice=advice
    )


def foresee(shed: Shed) -> Snapshot:
    """Return what the recorder would publish once it has looked ahead."""
    forecasts = ForecastCache().renewed(shed.shift, shed.now)
    advice = advise(shed.shift, shed.now, forecasts=forecasts)
    return replace(see(shed), advice=advice, forecasts=forecasts)


def planned(snapshot: Snapshot, *plans: Plan) -> Snapshot:
    """Return a snapshot in which these tanks have these plans, their flags as they are."""
    given = {plan.tank: plan for plan in plans}
    advice = snapshot.advice
    tanks = tuple(replace(one, plan=given.get(one.tank, one.plan)) for one in advice.tanks)
    return replace(snapshot, advice=replace(advice, tanks=tanks))


def step(kind: StepKind, say: str, *cautions: Caution) -> Step:
    """Return a step that says this."""
    return Step(kind=kind, say=Message(say), cautions=cautions)


def a_dose(tank: int = 1, **fields: Any) -> Plan:
    """Return a plan that doses a tank, with all that a plan can say of it."""
    told: dict[str, Any] = {
        "now": step(StepKind.DOSE, "Add 76 mL hypochlorite, stir", Caution.HYPOCHLORITE),
        "brings": Message("Brings it to 47–53."),
        "then": Message("Then wait 5 min and read."),
        "expected": Expected(level_mg_l=Span(47.0, 53.0)),
        "answers": ("chlorine-low",),
        "weighed": (WeighedOption(StepKind.CHANGE_WATER, Message("the water is clear enough.")),),
    }
    return Plan(tank=tank, **(told | fields))


def a_wait(tank: int, until: datetime) -> Plan:
    """Return a plan that waits for what was added, then reads."""
    return Plan(
        tank=tank,
        now=step(StepKind.WAIT, "Stir, then read"),
        wait_until=until,
        expected=Expected(level_mg_l=Span(47.0, 53.0), at=until),
    )


def calm(tank: int, now: datetime, *, batches: int = 8, minutes: float = 25) -> Plan:
    """Return a plan that asks for nothing but to be read in time."""
    due = Due(batches=batches, at=now + timedelta(minutes=minutes))
    return Plan(tank=tank, now=step(StepKind.LOOK, "Nothing to do"), due=due)


def acknowledge(shed: Shed, tank: int, rule: str) -> None:
    """Mark a flag as seen."""
    shed.tell(Acknowledged(at=shed.now, by="TK", tank=tank, rule=rule))


def end(shed: Shed) -> None:
    """End the shift."""
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
