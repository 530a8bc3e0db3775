"""What may never be advised, whatever state a tank is in."""

from datetime import timedelta
from typing import NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.chemistry.geochemistry import FORMULAS, bleach, ph_after
from tests.shed import Shed, a_setup, a_tank
from washmon.chemistry.acid import ACIDS, AcidKind, acid_mol_per_unit
from washmon.chemistry.titration import UNKNOWN_ALKALINITY, tank_water
from washmon.chemistry.water import at_ph, ph_of, with_acid
from washmon.line.events import AcidAdded, Method
from washmon.line.flags import Amount, Caution, StepKind
from washmon.line.setup import Acid, LineSetup, PhLimits, SourceWater
from washmon.planning.context import PlanContext
from washmon.planning.options import advised_amounts
from washmon.rules.base import RuleContext

KINDS = st.sampled_from(list(AcidKind))
ALKALINITY = st.one_of(st.none(), st.floats(5, 400))


def a_line(kind: AcidKind, alkalinity: float | None, target: float = 7.0) -> LineSetup:
    acid = Acid(key="acid", name="acid", kind=kind, strength_pct=ACIDS[kind].strength_pct)
    limits = PhLimits(low=target - 0.5, target=target, high=target + 0.3)
    return a_setup(
        a_tank(1, "Dunk", acid="acid", ph=limits),
        acids=(acid,),
        source=SourceWater(alkalinity_mg_l=alkalinity),
    )


class Seen(NamedTuple):
    """What may be read of a tank."""

    fac: float
    ph: float
    water_c: float


WATERS = st.builds(Seen, st.floats(0, 150), st.floats(4.5, 10), st.floats(1, 35))


def may_be_advised(shed: Shed) -> None:
    """Hold the plan against what must never be in it."""
    plan = shed.plan()
    spec, fill = shed.shift.tanks[0].spec, shed.shift.tanks[0].fills[-1]
    assert not {Caution.ACID, Caution.HYPOCHLORITE} <= set(plan.now.cautions)
    seen = fill.latest("ph")
    assert seen is not None
    assert seen.event.ph is not None
    mix = timedelta(minutes=spec.mix_minutes)
    if plan.now.kind is StepKind.ACID:
        changed = max((one.seq for one in (*fill.doses, *fill.acids)), default=-1)
        # Read after all that went in, a pH inside its limits asks for no acid.
        assert seen.event.ph > spec.ph.target or changed > seen.seq
        assert [one for one in fill.doses if one.event.at + mix > shed.now] == []
    if plan.now.kind is StepKind.DOSE:
        assert [one for one in fill.acids if one.event.at + mix > shed.now] == []


@given(
    line=st.builds(a_line, KINDS, ALKALINITY),
    first=WATERS,
    later=WATERS,
    method=st.sampled_from(list(Method)),
    added=st.sampled_from(["", "dose", "acid"]),
)
@settings(max_examples=150, deadline=None)
def test_acid_and_hypochlorite_are_never_advised_together_nor_acid_at_or_under_the_target(
    line: LineSetup,
    first: Seen,
    later: Seen,
    method: Method,
    added: str,
) -> None:
    shed = Shed(line)
    shed.fill()
    shed.read(1, first.fac, method=method, ph=first.ph, water_c=first.water_c)
    may_be_advised(shed)
    if added == "dose":
        shed.dose(ml=80)
    elif added == "acid":
        unit = "g" if ACIDS[line.acids[0].kind].solid else "mL"
        amount = Amount(20, unit)
        shed.tell(AcidAdded(at=shed.now, by="RM", tank=1, product="acid", amount=amount))
    may_be_advised(shed)
    shed.wait(6).read(1, later.fac, method=method, ph=later.ph, water_c=later.water_c)
    may_be_advised(shed)


def acid_advised(shed: Shed) -> float | None:
    """Return how much acid the planner would give for a high pH, whatever comes before that."""
    if shed.flag("ph-high") is None:
        return None
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    rule_context = RuleContext(shed.shift, tank, tank.fill, shed.now, frozenset())
    found = advised_amounts(StepKind.ACID, PlanContext(rule_context, {}))
    return None if found is None else found[1].value


@given(
    kind=KINDS,
    alkalinity=ALKALINITY,
    target=st.floats(6.5, 7.5),
    water=WATERS,
)
@settings(max_examples=150, deadline=None)
def test_advised_acid_never_takes_the_softest_plausible_water_under_ph_6(
    kind: AcidKind, alkalinity: float | None, target: float, water: Seen
) -> None:
    shed = Shed(a_line(kind, alkalinity, target))
    shed.fill()
    shed.read(1, water.fac, ph=water.ph, water_c=water.water_c)
    amount = acid_advised(shed)
    if amount is None:
        return
    softest = UNKNOWN_ALKALINITY.low_mg_l if alkalinity is None else 0.8 * alkalinity
    mol = amount * acid_mol_per_unit(kind, ACIDS[kind].strength_pct) / 500
    made = at_ph(tank_water(softest, 7.8, water.water_c, water.fac), water.ph)
    assert ph_of(with_acid(made, kind, mol)) > 6.0


@given(
    kind=KINDS,
    alkalinity=st.floats(20, 400),
    report=st.one_of(st.none(), st.floats(0.85, 1.2)),
    source_ph=st.floats(7.3, 8.3),
    fac=st.floats(0, 150),
)
@settings(max_examples=40, deadline=None)
def test_advised_acid_leaves_water_above_ph_6_in_phreeqc(
    kind: AcidKind, alkalinity: float, report: float | None, source_ph: float, fac: float
) -> None:
    """Water of any plausible kind is made and dosed in PHREEQC, advised here, acidified there.

    ``report`` is by how much the alkalinity in the set-up is off; None is one that is not known.
    """
    shed = Shed(a_line(kind, None if report is None else alkalinity * report))
    shed.fill()
    made = ph_after(alkalinity, source_ph, 15.0, bleach(fac))
    shed.read(fac=fac, ph=made, water_c=15.0)
    amount = acid_advised(shed)
    if amount is None:
        return
    mol = amount * acid_mol_per_unit(kind, ACIDS[kind].strength_pct) / 500
    after = ph_after(alkalinity, source_ph, 15.0, {**bleach(fac), FORMULAS[kind]: mol})
    assert 6.0 < after < made
