"""How a plan is read in tests, and the mass balance that its amounts are held against."""

from washmon.line.flags import StepKind
from washmon.line.message import Message, say
from washmon.line.plan import Plan, Span
from washmon.planning.advice import TankAdvice
from washmon.units import UnitSystem

ADDITIONS = frozenset({StepKind.ACID, StepKind.DOSE})
READ_AGAIN = frozenset({StepKind.WAIT, StepKind.CHECK})
KIT_ERROR = 0.1
"""Of a level read with a kit, as a share: :data:`washmon.line.reading`."""


def words(message: Message | None, taste: UnitSystem = UnitSystem.METRIC) -> str:
    """Return a sentence as the shed reads it, with ordinary spaces."""
    return "" if message is None else say(message, taste).replace("\N{NO-BREAK SPACE}", " ")


def amount_of(plan: Plan, kind: StepKind = StepKind.DOSE) -> float:
    """Return how much a plan adds, mL or g; it must be a plan of this kind."""
    assert plan.now.kind is kind, words(plan.now.say)
    assert plan.now.amount is not None
    return plan.now.amount.value


def level_read(plan: Plan) -> Span:
    """Return between which levels, mg/L, the next reading is expected."""
    assert plan.expected is not None
    assert plan.expected.level_mg_l is not None
    return plan.expected.level_mg_l


def rise_mg_l(amount_ml: float, *, volume_l: float = 500.0, g_l: float = 125.0) -> float:
    """Return the rise by mass balance (White, Handbook of Chlorination, 1972), mg/L."""
    return amount_ml * g_l / (volume_l + amount_ml / 1000)


def steps(advice: TankAdvice) -> set[StepKind]:
    """Return all that is asked for at a tank and at the vessel beside it."""
    second = advice.second
    found = {advice.plan.now.kind}
    if second is not None and second.step is not None:
        found.add(second.step.kind)
    return found
