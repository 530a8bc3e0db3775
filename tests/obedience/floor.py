"""The floor of the shed: the clock, the hidden water, and what one pair of hands does to it.

Everybody works through here, with or without the program, so all pay the same minutes, have the
same water, and are counted alike.
"""

import math
from collections import deque
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from tests.obedience.basin import Basin
from tests.obedience.bench import Bench, error_mg_l
from tests.obedience.costs import COSTS, Costs
from tests.obedience.tally import Tally
from tests.obedience.world import Batch, Gauges, World, cloudiest
from washmon.chemistry.acid import acid_mol_per_unit
from washmon.line.setup import Look, PeraceticLimits, SanitizerKind, Tank
from washmon.line.strength import label_strength

_TRACE_MIN = 1.0
_ACID_TELLS_MIN = 10.0
_POURED_OFF = 1.03
"""A pour may be so much more than was meant before anybody is to blame."""


class Vessel:
    """A tank (or the vessel beside it) with what is kept of it for the count."""

    def __init__(self, spec: Tank, basin: Basin) -> None:
        self.spec, self.basin = spec, basin
        self.batches = 0
        """Washed in this fill."""
        self.filled_min = 0.0
        self.acid_min = self.dose_min = -math.inf
        self.error = 0.0
        """How far over its last reading the water may be, mg/L."""
        self.read: float | None = None
        self.over: set[str] = set()


def _limited(vessel: Vessel) -> Iterator[tuple[str, float, float, float]]:
    """Yield what a label or the law limits: its name, what is in, the most, and the error."""
    limits, held = vessel.spec.limits, vessel.basin.held
    yield "label", held.free, limits.label_max_mg_l, vessel.error
    if isinstance(limits, PeraceticLimits):
        yield "legal peracetic acid", held.free, limits.legal_paa_mg_l, vessel.error
        yield "legal peroxide", held.peroxide, limits.legal_peroxide_mg_l, 0.0
        yield "legal HEDP", held.hedp, limits.legal_hedp_mg_l, 0.0


class Read(NamedTuple):
    """What one check of a tank found."""

    tank: int
    level: float | None
    ph: float | None
    ntu: float | None
    look: Look | None
    minute: float


class Floor:
    """One shift's floor. Times are minutes since its start."""

    def __init__(self, world: World, who: str, costs: Costs = COSTS) -> None:
        self.world, self.costs = world, costs
        self.setup = world.setup
        self.minutes, self.idle = 0.0, 0.0
        self.washed = 0
        self.tally = Tally(seed=world.seed, who=who, tanks=len(self.setup.tanks), slips=world.slips)
        self.bench = Bench(world.gauges, world.seed)
        self._random = np.random.default_rng([world.seed, 17])
        self.tanks = {tank.number: self._vessel(tank) for tank in self.setup.tanks}
        self.seconds: dict[int, Vessel] = {}

    def _vessel(self, tank: Tank) -> Vessel:
        peracetic = tank.peracetic is not None
        basin = Basin(self.world.mechanism, peracetic=peracetic, mix_min=tank.mix_minutes)
        return Vessel(tank, basin)

    @property
    def coming(self) -> Batch | None:
        """The next batch; none at the end of the shift."""
        known = self.world.batches
        return known[self.washed] if self.washed < len(known) else None

    def vessel(self, tank: int, *, second: bool = False) -> Vessel:
        """Return a tank's vessel, or the one beside it."""
        return self.seconds[tank] if second else self.tanks[tank]

    # -- time -----------------------------------------------------------------------------------

    def spend(self, minutes: float) -> None:
        """Let time pass while somebody works or waits."""
        left = minutes
        while left > 1e-9:
            span = min(left, _TRACE_MIN)
            self.minutes += span
            left -= span
            for vessel in (*self.tanks.values(), *self.seconds.values()):
                vessel.basin.rest(span)
            self._trace()

    def rest(self, minutes: float) -> None:
        """Take a break."""
        before = self.minutes
        self.spend(minutes)
        self.idle += self.minutes - before

    def _trace(self) -> None:
        tally = self.tally
        for vessel in (*self.tanks.values(), *self.seconds.values()):
            if vessel.basin.volume_l <= 0.0:
                continue
            ph = vessel.basin.ph
            tally.lowest_ph = min(tally.lowest_ph, ph)
            if self.minutes - vessel.acid_min <= _ACID_TELLS_MIN:
                tally.lowest_ph_by_acid = min(tally.lowest_ph_by_acid, ph)
            self._over(vessel)

    def _over(self, vessel: Vessel) -> None:
        """Count where label or law are passed by more than the last reading could be wrong by."""
        over = []
        for name, level, most, error in _limited(vessel):
            self.tally.worst_over = max(self.tally.worst_over, level / most)
            if level > (most + error) * _POURED_OFF:
                over.append(name)
        for name in set(over) - vessel.over:
            self.tally.over_label += 1
            self.tally.overs[name] = self.tally.overs.get(name, 0) + 1
        vessel.over = set(over)

    # -- water ----------------------------------------------------------------------------------

    def fill(self, tank: int, *, second: bool = False) -> float:
        """Drain and fill a vessel; return the litres that the shed believes in."""
        spec = self.setup.tank(tank)
        believed = spec.volume_l
        if second:
            believed = spec.second_volume_l or spec.volume_l
            self.seconds[tank] = self._vessel(spec)
            self.spend(self.costs.second_fill)
        else:
            self._used_up(self.tanks[tank])
            self.spend(self.costs.filling(believed))
        vessel = self.vessel(tank, second=second)
        share = self.world.volume_shares[tank - 1]
        vessel.basin.fill(believed * share, self.world.fresh)
        vessel.batches, vessel.filled_min = 0, self.minutes
        vessel.error, vessel.read, vessel.over = 0.0, None, set()
        return believed

    def swap(self, tank: int) -> None:
        """Let the second fill take the place of the water in the tank."""
        self._used_up(self.tanks[tank])
        self.spend(self.costs.swap)
        self.tanks[tank] = self.seconds.pop(tank)
        self.tanks[tank].filled_min = self.minutes

    def _used_up(self, vessel: Vessel) -> None:
        """Count a change, and how much of its life the water had behind it."""
        if vessel.basin.volume_l <= 0.0:
            return
        spec = vessel.spec
        lives = [vessel.basin.held.ntu / cloudiest(spec)]
        if spec.batches_per_fill:
            lives.append(vessel.batches / spec.batches_per_fill)
        if spec.hours_per_fill:
            lives.append((self.minutes - vessel.filled_min) / 60.0 / spec.hours_per_fill)
        self.tally.changes += 1
        self.tally.asked_changes += min(max(lives), 1.0)

    def exchange(self, tank: int, litres: float) -> None:
        """Exchange so much of a tank's water for fresh."""
        vessel = self.tanks[tank]
        self.spend(self.costs.exchanging(litres))
        vessel.basin.exchange(litres * self.world.volume_shares[tank - 1], self.world.fresh)
        self.tally.exchanges += 1

    # -- additions ------------------------------------------------------------------------------

    def dose(self, tank: int, amount: float, *, second: bool = False) -> None:
        """Pour so many mL or g of the tank's sanitizer."""
        vessel = self.vessel(tank, second=second)
        product = self.setup.sanitizer(vessel.spec.sanitizer)
        assert product is not None
        self.spend(self.costs.addition)
        real = self._poured(amount)
        milligrams = real * label_strength(product) * self.world.strength_share
        if product.kind is SanitizerKind.PERACETIC:
            per = real * (product.density_kg_l or 1.0) * 10.0
            vessel.basin.add_peracetic(
                milligrams, per * (product.peroxide_pct or 0.0), per * (product.hedp_pct or 0.0)
            )
        else:
            vessel.basin.add_chlorine(milligrams, self.world.caustic)
        vessel.dose_min = self.minutes
        self.tally.doses += 1
        self._meeting(tank, vessel.spec, acid=False)
        self._trace()

    def acid(self, tank: int, amount: float, *, second: bool = False) -> None:
        """Pour so many mL or g of the tank's acid."""
        vessel = self.vessel(tank, second=second)
        acid = self.setup.acid(vessel.spec.acid)
        assert acid is not None
        self.spend(self.costs.addition)
        mol = self._poured(amount) * acid_mol_per_unit(acid.kind, acid.strength_pct)
        vessel.basin.add_acid(acid.kind, mol)
        vessel.acid_min = self.minutes
        self.tally.acids += 1
        self._meeting(tank, vessel.spec, acid=True)
        self._trace()

    def _poured(self, amount: float) -> float:
        error = float(np.clip(self._random.standard_normal(), -2.0, 2.0))
        return amount * (1.0 + self.world.pour_error * error)

    def _meeting(self, tank: int, spec: Tank, *, acid: bool) -> None:
        """Count where acid and hypochlorite came within each other's mixing time."""
        if spec.peracetic is not None:
            return
        near = [self.tanks[tank]] + [self.seconds[one] for one in (tank,) if one in self.seconds]
        other = max(one.dose_min if acid else one.acid_min for one in near)
        if self.minutes - other < 0.8 * spec.mix_minutes:
            self.tally.acid_meets_chlorine += 1

    # -- measuring ------------------------------------------------------------------------------

    def check(
        self,
        tank: int,
        *,
        level: bool,
        ph: bool,
        cloudiness: bool,
        place: int = 0,
        second: bool = False,
    ) -> Read:
        """Measure one tank, as the first or a further one of a round."""
        vessel, costs, by = self.vessel(tank, second=second), self.costs, self.world.gauges.level_by
        ph = ph and vessel.spec.peracetic is None
        taken = costs.level(by) * level + costs.ph * ph * (1.0 if level else 2.0)
        taken += costs.cloudiness * cloudiness
        found = _sampled(
            vessel, self.bench, self.world.gauges, level=level, ph=ph, cloudiness=cloudiness
        )
        self.spend(taken * (costs.further(by) if place else 1.0) + costs.entry)
        self.tally.checks += 1
        self.tally.checks_ph_only += not level
        return Read(tank, *found, self.minutes)

    # -- washing --------------------------------------------------------------------------------

    def wash(self) -> Batch:
        """Send the next batch in; return it. Its minutes are :meth:`run_through`."""
        batch = self.coming
        assert batch is not None
        self._met()
        clinging = None
        first = self.setup.tanks[0].volume_l
        on_it, litres = 1.0, self.world.dragged * first
        for vessel in self.tanks.values():
            basin, released = vessel.basin, self.world.released
            basin.exchange(litres, clinging or self.world.fresh)
            clinging = basin.held.copy()
            basin.soil(
                batch.demand * first * on_it * released,
                batch.ntu * first * on_it * released,
                self.world.acid_meq_l / 1000.0 * first * on_it * released,
            )
            on_it *= 1.0 - released
            vessel.batches += 1
        self.washed += 1
        return batch

    def run_through(self) -> None:
        """Let the minutes of a batch pass, once it went in."""
        self.spend(self.costs.batch * self.world.pace + self.costs.entry)

    def _met(self) -> None:
        """Count what the batch meets as it goes in."""
        tally, under, beyond = self.tally, False, False
        for vessel in self.tanks.values():
            spec, level = vessel.spec, vessel.basin.free
            critical = spec.limits.critical_low_mg_l
            below = error_mg_l(self.world.gauges, spec, critical)[0]
            under |= level < critical
            beyond |= level < critical - below
            hours = (self.minutes - vessel.filled_min) / 60.0
            tally.past_schedule += bool(
                (spec.batches_per_fill and vessel.batches >= spec.batches_per_fill)
                or (spec.hours_per_fill and hours > spec.hours_per_fill + 1.0 / 60.0)
            )
            cloudy = 1.0 + 3.0 * self.world.gauges.ntu_error
            tally.past_cloudy += vessel.basin.held.ntu > cloudy * cloudiest(spec)
        tally.batches += 1
        tally.tank_batches += len(self.tanks)
        tally.under_critical += under
        tally.under_beyond += beyond

    def end(self) -> Tally:
        """Return the count of the shift."""
        self.tally.minutes = self.minutes - self.idle
        return self.tally


def most_within(moments: list[float], span: float) -> int:
    """Return the most moments (in order) that lie within any span."""
    window: deque[float] = deque()
    most = 0
    for moment in moments:
        window.append(moment)
        while moment - window[0] > span:
            window.popleft()
        most = max(most, len(window))
    return most


def _sampled(
    vessel: Vessel, bench: Bench, gauges: Gauges, *, level: bool, ph: bool, cloudiness: bool
) -> tuple[float | None, float | None, float | None, Look | None]:
    """Return what is found of what is asked: level, pH, turbidity and the look of the card."""
    basin = vessel.basin
    by_meter = vessel.spec.turbidity_max_ntu is not None
    read = bench.level(basin) if level else None
    if read is not None:
        vessel.read = read
        vessel.error = error_mg_l(gauges, vessel.spec, read)[1]
    return (
        read,
        bench.ph(basin) if ph else None,
        bench.ntu(basin) if cloudiness and by_meter else None,
        bench.look(basin) if cloudiness and not by_meter else None,
    )
