"""The set-up of an invented shed's line to practise on, by commodity."""

from msgspec.structs import replace

from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.setup import (
    Acid,
    LabelBasis,
    LineSetup,
    PeraceticLimits,
    Person,
    Role,
    Sanitizer,
    SanitizerKind,
    Stage,
    Tank,
)
from washmon.line.templates import Template, templates
from washmon.sessions.practice.parameters import PracticeError, parameters

_PERACETIC = Sanitizer(
    key="peracetic",
    name="peracetic acid",
    kind=SanitizerKind.PERACETIC,
    strength=15.0,
    peroxide_pct=10.0,
    hedp_pct=0.5,
    density_kg_l=1.12,
)
"""Ours: percent by weight and density of no label, but such a product can be (equilibrium)."""
_KEPT = PeraceticLimits(
    critical_low_mg_l=25.0, low_mg_l=35.0, target_mg_l=50.0, high_mg_l=65.0, label_max_mg_l=80.0
)
"""Ours, within the 80 mg/L of 21 CFR 173.315(a)(5); labels tell 40 to 80, value from memory."""


def _draft(commodity: str) -> Template | None:
    usual = parameters().commodity.get(commodity)
    return next((one for one in templates() if usual and one.commodity == usual.line), None)


def wash_tanks(commodity: str) -> list[Tank]:
    """Return the tanks of a commodity's line in which it is washed; rinses are left out."""
    draft = _draft(commodity)
    return [] if draft is None else [one for one in draft.tanks if one.stage is not Stage.RINSE]


def practice_setup(commodity: str, tanks: int = 2, *, peracetic: bool = False) -> LineSetup:
    """Return an invented shed's line for a commodity of the model, without its rinses.

    It is kept with hypochlorite, or with peracetic acid.

    Raises:
        PracticeError: the model does not know the commodity, or there is no such line.
    """
    draft = _draft(commodity)
    if draft is None or tanks < 1:
        raise PracticeError("There is no practice line for {name}.", name=commodity)
    wash = wash_tanks(commodity)[:tanks]
    bleach = replace(
        draft.sanitizers[0], strength=12.5, basis=StrengthBasis.TRADE_PCT, density_kg_l=1.17
    )
    vinegar = Acid(key="vinegar", name="white vinegar", kind=AcidKind.VINEGAR, strength_pct=5.0)
    line = replace(
        draft.draft(),
        site="Practice shed",
        location="Nowhere",
        people=(
            Person(initials="RM", name="Supervisor", role=Role.SUPERVISOR),
            Person(initials="TK", name="Line worker", role=Role.LINE_WORKER),
        ),
        sanitizers=(bleach,),
        acids=(vinegar,),
        tanks=tuple(
            replace(
                tank,
                acid=vinegar.key,
                chlorine=replace(tank.chlorine, label_basis=LabelBasis.FREE),
            )
            for tank in wash
        ),
    )
    return _with_peracetic(line) if peracetic else line


def _with_peracetic(line: LineSetup) -> LineSetup:
    """Return a line that is kept with peracetic acid: it gets no other acid."""
    return replace(
        line,
        sanitizers=(_PERACETIC,),
        acids=(),
        tanks=tuple(
            replace(tank, sanitizer=_PERACETIC.key, acid=None, critical_ph=None, peracetic=_KEPT)
            for tank in line.tanks
        ),
    )
