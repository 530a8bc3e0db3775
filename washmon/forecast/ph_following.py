"""The events of a fill, told one by one to a belief of its pH; what is known is taken up again."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import takewhile

from washmon.chemistry.acid import WEAK_ACIDS
from washmon.chemistry.checks import ChemistryError
from washmon.forecast.ph_belief import PhBelief, first_belief
from washmon.forecast.ph_prior import hypotheses
from washmon.line.events import AcidAdded, DoseAdded, ReadingTaken, TankFilled, WaterExchanged
from washmon.line.fill_water import USUAL_WATER_C
from washmon.line.mixing import verifies
from washmon.line.product import acid_mol, rise
from washmon.line.same import Same
from washmon.line.setup import LineSetup, Tank
from washmon.line.state import Fill, Placed, order

_Move = Placed[ReadingTaken] | Placed[DoseAdded] | Placed[AcidAdded] | Placed[WaterExchanged]
_Told = tuple[_Move, int, PhBelief | None]
"""An event, how many batches its water had washed before, and, of the newest, the belief after it.
"""
_KEPT = 6


def belief_of(setup: LineSetup, spec: Tank, fill: Fill) -> PhBelief:
    """Return what is believed of a fill as of its last event; worked out once for each event."""
    return _belief_of(Same(setup), Same(spec), Same(fill))


def washed_in(fill: Fill, batches: int) -> int:
    """Return how many batches a fill's water had washed when its tank had washed so many.

    None while it waits beside its tank.
    """
    waits = fill.begun.event.second and fill.swapped is None
    return 0 if waits else max(0, batches - fill.used.batches)


@lru_cache(maxsize=96)
def _belief_of(setup: Same[LineSetup], spec: Same[Tank], fill: Same[Fill]) -> PhBelief:
    followed = _followed(setup, spec, Same(fill.part.begun.event))
    return followed.to(fill.part)


@lru_cache(maxsize=256)
def _followed(setup: Same[LineSetup], spec: Same[Tank], begun: Same[TankFilled]) -> "_Followed":
    among = hypotheses(setup.part.source, setup.part.sanitizer(spec.part.sanitizer), USUAL_WATER_C)
    first = first_belief(among, begun.part.at, USUAL_WATER_C)
    return _Followed(setup.part, spec.part, first)


@dataclass(eq=False)
class _Followed:
    """A fill as far as it was followed; forgetting it loses nothing but time."""

    setup: LineSetup
    spec: Tank
    first: PhBelief
    told: tuple[_Told, ...] = ()

    def to(self, fill: Fill) -> PhBelief:
        """Return the belief after all events of a fill, told anew only from the first new one."""
        moves = [(move, washed_in(fill, move.batches)) for move in _moves(fill)]
        same = takewhile(
            lambda pair: pair[0][0].event is pair[1][0].event and pair[0][1] == pair[1][1],
            zip(moves, self.told, strict=False),
        )
        told = [one for _, one in same]
        belief = told[-1][2] if told else None
        if belief is None:
            told, belief = [], self.first
        for move, batches in moves[len(told) :]:
            belief = self._after(belief.until(move.event.at, batches), move, fill)
            told.append((move, batches, belief))
        upto = max(0, len(told) - _KEPT)
        self.told = (*((move, batches, None) for move, batches, _ in told[:upto]), *told[upto:])
        return belief

    def _after(self, belief: PhBelief, move: _Move, fill: Fill) -> PhBelief:
        match move.event:
            case ReadingTaken() as reading:
                mixed = verifies(Placed(move.seq, reading, move.batches), fill, "ph", self.spec)
                return belief.read(reading, unsure=not mixed)
            case DoseAdded() as dose:
                return belief.dosed(self._rise_mg_l(dose, fill))
            case AcidAdded() as added:
                return self._acidified(belief, added, fill)
            case WaterExchanged() as exchange:
                return belief.exchanged(min(1.0, max(0.0, exchange.volume_l / fill.volume_l)))

    def _acidified(self, belief: PhBelief, added: AcidAdded, fill: Fill) -> PhBelief:
        acid = self.setup.acid(added.product)
        try:
            if acid is None:
                return belief
            mol_l = acid_mol(acid, added.amount) / fill.volume_l
        except ChemistryError:
            return belief
        return belief.acidified(None if acid.kind.strong else WEAK_ACIDS[acid.kind], mol_l)

    def _rise_mg_l(self, dose: DoseAdded, fill: Fill) -> float:
        product = self.setup.sanitizer(dose.product)
        try:
            if product is None:
                return 0.0
            return rise(product, fill.volume_l, dose.amount, dose.at.date())
        except ChemistryError:
            return 0.0


def _moves(fill: Fill) -> list[_Move]:
    every: Iterable[_Move] = (*fill.readings, *fill.doses, *fill.acids, *fill.exchanges)
    return sorted(every, key=order)
