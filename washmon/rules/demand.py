"""Rules on what the produce brings: demand out of the ordinary, dirt carried into the rinse.

Rules on the produce in the water: how long it stays, and how warm the water must be.
"""

from collections.abc import Sequence
from datetime import datetime
from functools import lru_cache
from itertools import pairwise
from math import fsum
from typing import NamedTuple

from washmon.chemistry.checks import ChemistryError
from washmon.line.flags import Level, StepKind
from washmon.line.judging import is_under, judge_temperature
from washmon.line.message import Figure, Message, Moment, Values
from washmon.line.product import rise
from washmon.line.same import Same
from washmon.line.setup import LineSetup, Stage
from washmon.line.state import Fill, Order, order, passed, value_of
from washmon.rules.base import Finding, RuleContext, RuleScope, rule
from washmon.units import Kind

FEWEST = 8
"""Intervals on the chart before the one that is judged; common practice."""
LONGEST = 30
"""Intervals that the chart looks back over: what was ordinary hours ago may be so no more."""
D2 = 1.128
"""Mean range of two values from a normal distribution, in sigma."""
_DIRTY_NTU = 10.0


class Limits(NamedTuple):
    """Control limits of individuals."""

    low: float
    centre: float
    high: float


def limits(values: Sequence[float]) -> Limits:
    """Return mean and three sigma to both sides, sigma from the mean moving range over 1.128.

    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2. Needs at least two values.
    """
    centre = _mean(values)
    sigma = _mean([abs(after - before) for before, after in pairwise(values)]) / D2
    return Limits(centre - 3 * sigma, centre, centre + 3 * sigma)


def _mean(values: Sequence[float]) -> float:
    return fsum(values) / len(values)  # as the library's, which takes its time to load


class BatchUse(NamedTuple):
    """Free chlorine that one batch used up between two readings, mg/L, doses counted in."""

    mg_l: float
    at: datetime


def used_per_batch(rule_context: RuleContext) -> list[BatchUse]:
    """Return what each batch used up, reading by reading, in all fills; of each the newest ones."""
    setup = Same(rule_context.setup)
    return [found for fill in rule_context.tank.fills for found in _used_in(setup, Same(fill))]


@lru_cache(maxsize=256)
def _used_in(same_setup: Same[LineSetup], same_fill: Same[Fill]) -> tuple[BatchUse, ...]:
    """Return what the newest batches used up in one fill, as many as the chart looks back over.

    Kept, since old fills never change.
    """
    setup, fill = same_setup.part, same_fill.part
    found: list[BatchUse] = []
    # What a second fill lost while it waited, no batch took.
    read = [placed for placed in fill.read_in_use if placed.event.fac_mg_l is not None]
    for after, before in pairwise(reversed(read)):
        if len(found) == LONGEST:
            break
        washed = after.batches - before.batches
        brought = _brought(setup, fill, order(before), order(after))
        if washed > 0 and brought is not None:
            fell = value_of(before, "fac_mg_l") - value_of(after, "fac_mg_l")
            found.append(BatchUse((fell + brought) / washed, after.event.at))
    return tuple(reversed(found))


def _brought(setup: LineSetup, fill: Fill, since: Order, until: Order) -> float | None:
    """Return by how much doses lifted a fill between two readings; None where nobody can tell."""
    if passed(fill.exchanges, since, until):
        return None
    lifted = 0.0
    for placed in passed(fill.doses, since, until):
        product = setup.sanitizer(placed.event.product)
        try:
            if product is not None:
                dose = placed.event
                lifted += rise(product, fill.volume_l, dose.amount, on=dose.at.date())
        except ChemistryError:
            return None
    return lifted


@rule(
    "demand-unusual",
    "unusual chlorine demand",
    "Control chart of individuals: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2",
    RuleScope.CHLORINE,
)
def demand_unusual(rule_context: RuleContext) -> Finding | None:
    """Say so where the last batches used up more than this line's own chart has room for."""
    used = used_per_batch(rule_context)[-LONGEST:]
    if len(used) <= FEWEST:
        return None
    chart, last = limits([one.mg_l for one in used[:-1]]), used[-1]
    if last.mg_l <= chart.high:
        return None
    why = Message(
        "A batch used up {now} since the reading before; on this shift it was {usual}, and up to "
        "{most} is ordinary: dirtier produce, a dose that was weaker, or one not written down.",
        {
            "now": Figure(round(last.mg_l, 1), Kind.CONCENTRATION),
            "usual": Figure(round(chart.centre, 1), Kind.CONCENTRATION),
            "most": Figure(round(chart.high, 1), Kind.CONCENTRATION),
        },
    )
    return Finding(Level.WATCH, why, last.at, note=True)


@rule(
    "rinse-carry",
    "dirt carried into the rinse",
    "Cleaner water from tank to tank, against the flow of produce: Ritenour et al., UF/IFAS CH160; "
    "the share: common practice, no published source",
)
def rinse_carries(rule_context: RuleContext) -> Finding | None:
    """Say so where the rinse is nearly as cloudy as the wash before it."""
    seen = rule_context.reading("turbidity_ntu")
    if rule_context.spec.stage is not Stage.RINSE or seen is None:
        return None
    before = [
        tank.fill
        for tank in rule_context.shift.tanks
        if tank.number < rule_context.tank.number and tank.fill is not None
    ]
    placed = before[-1].latest("turbidity_ntu") if before else None
    wash = None if placed is None else placed.event.turbidity_ntu
    if wash is None or wash < _DIRTY_NTU or seen[0] <= rule_context.margins.rinse_share * wash:
        return None
    why = Message(
        "The rinse is at {rinse}, the tank before it at {wash}: over {most} of it, the rinse "
        "spreads what it should take away. Let batches drain longer before it.",
        {
            "rinse": Figure(seen[0], Kind.TURBIDITY),
            "wash": Figure(wash, Kind.TURBIDITY),
            "most": Figure(round(100 * rule_context.margins.rinse_share), Kind.PERCENT),
        },
    )
    return Finding(Level.WATCH, why, seen[1].event.at, note=True)


@rule(
    "contact-short",
    "contact time short",
    "At least one minute of contact: common practice, no published source; 1 to 2 minutes: USDA "
    "GAP/GHP programme as relayed by AFFI",
    answers=(StepKind.CONTACT,),
)
def contact_short(rule_context: RuleContext) -> Finding | None:
    """Say so where the batch timed last stayed shorter than it should, until it is held."""
    wanted = rule_context.spec.contact_s
    if wanted is None:
        return None
    timed = next(
        (b for b in reversed(rule_context.tank.washed) if b.event.contact_s is not None), None
    )
    if timed is None or timed.seq in rule_context.shift.held_batches:
        return None
    stayed = timed.event.contact_s
    if stayed is None or not is_under(stayed, wanted, Kind.CONTACT_TIME):
        return None
    figures: Values = {
        "at": Moment(timed.event.at),
        "stayed": Figure(stayed, Kind.CONTACT_TIME),
        "wanted": Figure(wanted, Kind.CONTACT_TIME),
    }
    return Finding(
        Level.ACT,
        Message(
            "The batch washed at {at} stayed {stayed} in the water; {wanted} is wanted.",
            figures,
        ),
        timed.event.at,
    )


@rule(
    "water-too-cold",
    "water too cold for the pulp",
    "Tomato water 10 °F over pulp: Florida/FDA guidance as relayed; dunk water at most 10 °F "
    "colder: UVM Extension, Managing dunk tank water; why: Food Protection Trends Jan/Feb 2017",
    answers=(StepKind.WARM,),
)
def water_too_cold(rule_context: RuleContext) -> Finding | None:
    """Say so where the water is colder against the pulp than the commodity's rule allows."""
    water, pulp = rule_context.reading("water_c"), rule_context.reading("pulp_c")
    if water is None or pulp is None:
        return None
    back = rule_context.deadband("water-too-cold", rule_context.margins.temperature_deadband_c)
    breach = judge_temperature(water[0], pulp[0], rule_context.spec, back=back)
    if breach is None:
        return None
    return Finding(
        Level.ACT,
        Message(
            "The water is {water}, the pulp {pulp}; the water should be at least {least}. Colder "
            "water is drawn into the produce, and what is in it too.",
            {
                "water": Figure(water[0], Kind.TEMPERATURE),
                "pulp": Figure(pulp[0], Kind.TEMPERATURE),
                "least": Figure(breach.limit, Kind.TEMPERATURE),
            },
        ),
        max(water[1].event.at, pulp[1].event.at),
    )
