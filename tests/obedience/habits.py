"""Ways of working without the program: by the clock, by a crude rule, or knowing the truth.

All keep every hard limit, the schedule and the re-checks after a stop: they never feed a tank that
was read under its critical low, never dose over the label, and never bring acid and hypochlorite
together within the mixing time.
"""

import math

from msgspec import Struct

from tests.obedience.basin import Basin
from tests.obedience.floor import Floor, Read, Vessel
from tests.obedience.tally import Tally
from tests.obedience.timeline import Timeline
from tests.obedience.world import cloudiest
from washmon.chemistry.acid import AcidKind, acid_mol_per_unit, small_step
from washmon.chemistry.checks import ChemistryError
from washmon.line.product import dose
from washmon.line.setup import Acid, Look, PeraceticLimits, Tank

_MOST_TRIES = 6
_HALVINGS = 30
_SOON_SOUR = 0.1
_CLOUDINESS_EVERY = 3


class Habit(Struct, frozen=True, kw_only=True):
    """How somebody works."""

    every: int = 2
    """Checks all tanks after so many batches."""
    waits: bool = False
    """Waits for each addition to mix in, and checks it."""
    changes: bool = True
    """Keeps the schedule of water changes, and cloudiness."""
    crude: bool = False
    """Goes by a rate from the last readings, made worse by a factor; doses high."""
    knows: bool = False
    """Knows the truth, and only re-checks additions."""


HABITS = {
    "every2": Habit(),
    "every2w": Habit(waits=True),
    "every3w": Habit(every=3, waits=True),
    "crude": Habit(crude=True, changes=False),
    "bound": Habit(knows=True, waits=True),
}
_WORSE, _HIGH_DOSE = 1.6, 1.35


class Worker:
    """Somebody who keeps to a habit for one shift."""

    def __init__(self, floor: Floor, habit: Habit, timeline: Timeline) -> None:
        self._floor, self._habit, self._lines = floor, habit, timeline
        self._checks = 0
        self._due = 0
        self._last: dict[int, tuple[int, float]] = {}
        self._fall: dict[int, float] = {}
        self._acids: dict[int, tuple[float, float]] = {}
        self._breaks = dict(floor.world.breaks)

    def work(self) -> Tally:
        """Work through the shift; return its count."""
        floor = self._floor
        self._make_up(list(floor.tanks))
        while floor.coming is not None and floor.minutes < floor.world.longest_min:
            pause = self._breaks.pop(floor.washed, None)
            if pause is not None:
                floor.rest(pause)
            self._change_used_up()
            if self._is_due():
                self._tend(list(floor.tanks))
                self._change_used_up()  # hours passed meanwhile
            floor.wash()
            self._lines.did(floor, "washed")
            floor.run_through()
        return floor.end()

    # -- when -----------------------------------------------------------------------------------

    def _is_due(self) -> bool:
        floor, habit = self._floor, self._habit
        if habit.knows:
            return any(self._is_low(one, one.basin.free) for one in floor.tanks.values()) or any(
                not one.spec.ph.low + _SOON_SOUR <= one.basin.ph <= one.spec.ph.high
                for one in floor.tanks.values()
            )
        return floor.washed >= self._due

    def _plan_next(self) -> None:
        floor, habit = self._floor, self._habit
        if not habit.crude:
            self._due = floor.washed + habit.every
            return
        lasts = [6.0]
        for number, vessel in floor.tanks.items():
            level = self._last.get(number, (0, vessel.spec.limits.target_mg_l))[1]
            fall = _WORSE * self._fall.get(number, 0.12 * vessel.spec.limits.target_mg_l)
            room = level - vessel.spec.limits.critical_low_mg_l
            lasts.append(room / max(fall, 1e-6) if number in self._fall else 2.0)
        self._due = floor.washed + max(1, math.floor(min(lasts)))

    # -- water ----------------------------------------------------------------------------------

    def _is_used_up(self, vessel: Vessel) -> bool:
        spec, floor = vessel.spec, self._floor
        hours = (floor.minutes - vessel.filled_min) / 60.0
        batch_hours = floor.costs.batch * floor.world.pace / 60.0
        return bool(
            vessel.batches
            and (
                (spec.batches_per_fill and vessel.batches >= spec.batches_per_fill)
                or (spec.hours_per_fill and hours + batch_hours > spec.hours_per_fill)
                or (self._habit.knows and vessel.basin.held.ntu > cloudiest(spec))
            )
        )

    def _change_used_up(self) -> None:
        """Change what the schedule asks for; hours pass while a tank is filled, so look again."""
        tanks = self._floor.tanks
        for _ in tanks if self._habit.changes else ():
            self._make_up([one for one in tanks if self._is_used_up(tanks[one])])

    def _make_up(self, tanks: list[int]) -> None:
        if not tanks:
            return
        floor = self._floor
        for tank in tanks:
            floor.fill(tank)
            self._fall.pop(tank, None)
            self._dose(floor.tanks[tank], 0.0, 1.0)
            self._lines.did(floor, f"filled and dosed T{tank}")
        self._mix(tanks)
        self._tend(tanks)

    def _mix(self, tanks: list[int]) -> None:
        self._floor.spend(max(self._floor.setup.tank(tank).mix_minutes for tank in tanks))

    # -- checks and what follows ----------------------------------------------------------------

    def _tend(self, tanks: list[int]) -> None:
        """Check these tanks in one round and set right what is wrong, until it is."""
        for again in range(_MOST_TRIES):
            cloudy = self._checks % _CLOUDINESS_EVERY == 0
            self._checks += 1
            found = [self._check(tank, place, cloudy) for place, tank in enumerate(tanks)]
            added = [one.tank for one in found if self._set_right(one, again=again > 0)]
            tanks = [tank for tank in added if self._must_wait(tank)]
            if not tanks:
                break
            self._mix(tanks)
        self._plan_next()

    def _check(self, tank: int, place: int, cloudy: bool) -> Read:  # noqa: FBT001 - private
        floor, vessel = self._floor, self._floor.tanks[tank]
        found = floor.check(tank, level=True, ph=True, cloudiness=cloudy, place=place)
        level = vessel.basin.free if self._habit.knows else found.level or 0.0
        before = self._last.get(tank)
        if before is not None and floor.washed > before[0] and vessel.batches:
            self._fall[tank] = max(0.0, before[1] - level) / (floor.washed - before[0])
        self._last[tank] = (floor.washed, level)
        self._lines.did(floor, f"read T{tank}: {found.level} pH {found.ph} {found.ntu or ''}")
        ph = vessel.basin.ph if self._habit.knows else found.ph
        return found._replace(level=level, ph=ph)

    def _must_wait(self, tank: int) -> bool:
        """Tell whether an addition is waited for: by habit, or as the tank was not good."""
        level = self._last[tank][1]
        return self._habit.waits or level < self._floor.setup.tank(tank).limits.critical_low_mg_l

    def _set_right(self, found: Read, *, again: bool) -> bool:
        """Do what a reading asks for; tell whether something was added.

        What was just dosed is dosed ``again`` only where it is under the operating low.
        """
        vessel, level = self._floor.tanks[found.tank], found.level or 0.0
        spec = vessel.spec
        if (self._habit.changes and _is_cloudy(found, spec)) or self._is_sour(found, spec):
            self._refill(vessel)
            return True
        if level > spec.limits.label_max_mg_l:
            self._floor.exchange(found.tank, spec.volume_l / 3.0)
            return True
        if level < spec.limits.low_mg_l if again else self._is_low(vessel, level):
            if self._used_up_by_law(vessel, level):
                self._refill(vessel)
                return True
            if self._floor.minutes - vessel.acid_min < spec.mix_minutes:
                return False
            times = _HIGH_DOSE if self._habit.crude else 1.0
            self._dose(vessel, level, times)
            return True
        return self._acidify(vessel, found.ph)

    def _is_sour(self, found: Read, spec: Tank) -> bool:
        """Tell whether the pH is under its limit (soon, for who knows): fresh water alone helps."""
        soon = _SOON_SOUR if self._habit.knows else 0.0
        return spec.peracetic is None and found.ph is not None and found.ph < spec.ph.low + soon

    def _used_up_by_law(self, vessel: Vessel, level: float) -> bool:
        """Tell whether one more dose would bring peroxide or stabiliser over the law."""
        limits = vessel.spec.limits
        product = self._floor.setup.sanitizer(vessel.spec.sanitizer)
        if not isinstance(limits, PeraceticLimits) or product is None or not product.strength:
            return False
        rise = (limits.target_mg_l - level) / product.strength
        held = vessel.basin.held
        return (
            held.peroxide + rise * (product.peroxide_pct or 0.0) > limits.legal_peroxide_mg_l
            or held.hedp + rise * (product.hedp_pct or 0.0) > limits.legal_hedp_mg_l
        )

    def _refill(self, vessel: Vessel) -> None:
        self._floor.fill(vessel.spec.number)
        self._dose(vessel, 0.0, 1.0)
        self._last[vessel.spec.number] = (self._floor.washed, 0.0)

    def _is_low(self, vessel: Vessel, level: float) -> bool:
        limits = vessel.spec.limits
        if self._habit.crude:
            fall = _WORSE * self._fall.get(vessel.spec.number, 0.0)
            return level < max(limits.low_mg_l, limits.critical_low_mg_l + 2.0 * fall)
        if self._habit.knows:
            return level < limits.low_mg_l
        return level < (limits.low_mg_l + limits.target_mg_l) / 2.0

    def _dose(self, vessel: Vessel, level: float, times: float) -> None:
        limits, number = vessel.spec.limits, vessel.spec.number
        product = self._floor.setup.sanitizer(vessel.spec.sanitizer)
        assert product is not None
        target = min(times * limits.target_mg_l, max(limits.high_mg_l, limits.target_mg_l))
        try:
            amount = dose(product, vessel.spec.volume_l, min(level, target - 1.0), target)
        except ChemistryError:
            return
        strength = self._floor.world.strength_share if self._habit.knows else 1.0
        self._floor.dose(number, amount.value / strength)
        self._lines.did(self._floor, f"dosed T{number}: {amount.value:.4g} {amount.unit}")

    def _acidify(self, vessel: Vessel, ph: float | None) -> bool:
        spec, floor = vessel.spec, self._floor
        acid = floor.setup.acid(spec.acid)
        if acid is None or ph is None or ph <= spec.ph.high:
            return False
        if floor.minutes - vessel.dose_min < spec.mix_minutes:
            return False
        try:
            amount = self._acid_amount(vessel, acid, ph)
        except ChemistryError:
            return False
        floor.acid(spec.number, amount)
        self._acids[spec.number] = (amount, ph)
        self._lines.did(floor, f"acid T{spec.number}: {amount:.4g}")
        return True

    def _acid_amount(self, vessel: Vessel, acid: Acid, ph: float) -> float:
        """Return the trade's small step, and what it did told from then on, up to twice the last.

        Who knows the truth takes the right amount.
        """
        if not self._habit.knows:
            step = small_step(vessel.spec.volume_l, ph, acid.kind, acid.strength_pct)
            last, before = self._acids.get(vessel.spec.number, (step, ph))
            moved = before - ph
            if moved <= 0.0:
                return min(last, step)
            return min(last * (ph - vessel.spec.ph.target) / moved, 2.0 * last)
        mol = acid_to(vessel.basin, acid.kind, vessel.spec.ph.target)
        return mol / acid_mol_per_unit(acid.kind, acid.strength_pct)


def acid_to(basin: Basin, kind: AcidKind, ph: float) -> float:
    """Return mol of an acid that bring a basin's true water to a pH."""
    low, high = 0.0, 0.05 * basin.volume_l
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        twin = basin.twin()
        twin.add_acid(kind, middle)
        low, high = (middle, high) if twin.ph > ph else (low, middle)
    return low


def _is_cloudy(found: Read, spec: Tank) -> bool:
    if found.ntu is not None and spec.turbidity_max_ntu is not None:
        return found.ntu > spec.turbidity_max_ntu
    return found.look is Look.GONE
