"""The set-up of an invented shed's line to practise on, by commodity."""

from msgspec.structs import replace

from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.setup import Acid, LabelBasis, LineSetup, Person, Role, Stage, Tank
from washmon.line.templates import Template, templates
from washmon.sessions.practice.parameters import PracticeError, parameters


def _draft(commodity: str) -> Template | None:
    usual = parameters().commodity.get(commodity)
    return next((one for one in templates() if usual and one.commodity == usual.line), None)


def wash_tanks(commodity: str) -> list[Tank]:
    """Return the tanks of a commodity's line in which it is washed; rinses are left out."""
    draft = _draft(commodity)
    return [] if draft is None else [one for one in draft.tanks if one.stage is not Stage.RINSE]


def practice_setup(commodity: str, tanks: int = 2) -> LineSetup:
    """Return an invented shed's line for a commodity of the model, without its rinses.

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
    return replace(
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
