"""The water of a fill as chemistry sees it: its alkalinity, its salt, what an addition does to it.

All are pure functions of the set-up and of what was read and added in the fill.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property, lru_cache

from washmon.chemistry.acid import WEAK_ACIDS, AcidKind, WeakAcid
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.titration import (
    UNKNOWN_ALKALINITY,
    USUAL_SOURCE_PH,
    Alkalinity,
    alkalinity_from_response,
    tank_water,
)
from washmon.chemistry.water import (
    CHLORIDE_MG_PER_MOL,
    HIGHEST_ALKALINITY_MG_L,
    Water,
    at_ph,
    with_acid,
    with_chlorine_used,
    with_hypochlorite,
)
from washmon.line.events import AcidAdded, DoseAdded, Method, ReadingTaken, WaterExchanged
from washmon.line.product import acid_mol, rise
from washmon.line.reading import PH_ERROR
from washmon.line.same import Same
from washmon.line.setup import LineSetup, SourceWater, Tank
from washmon.line.state import Fill, Order, Placed, order, passed, value_of

USUAL_WATER_C = 20.0
USUAL_CHLORIDE_MG_L = 50.0
"""Common practice, no published source: a fresh water's, where nobody wrote it down."""
REPORT_ERROR = 0.20
"""Of an alkalinity by a test kit or a water report: common practice, no published source."""
SOURCE_PH_ERROR = 0.5
"""Of the pH of a source that nobody wrote down: common practice, no published source."""
WITHIN = timedelta(minutes=30)
"""A response that took longer may have other causes: common practice, no published source."""
_MOST_BATCHES, _MOST_ADDITIONS = 2, 12
_WIDEST = 4.0
"""A range whose upper end is over so many times the best value tells nothing."""

Added = Placed[DoseAdded] | Placed[AcidAdded] | Placed[WaterExchanged]


@dataclass(frozen=True, slots=True)
class KnownAlkalinity:
    """The alkalinity, mg/L as CaCO3, and the addition that told it (``None``: the set-up did)."""

    range: Alkalinity
    told_at: datetime | None = None


def water_of(setup: LineSetup, spec: Tank, fill: Fill) -> "FillWater":
    """Return the water of a fill; the same for the same fill, so that it is worked out once."""
    return _water_of(Same(setup), Same(spec), Same(fill))


@lru_cache(maxsize=64)
def _water_of(setup: Same[LineSetup], spec: Same[Tank], fill: Same[Fill]) -> "FillWater":
    return FillWater(setup.part, spec.part, fill.part)


@dataclass(frozen=True, eq=False)
class FillWater:
    """The water of one fill; what is costly to find out is kept, and one water equals no other."""

    setup: LineSetup
    spec: Tank
    fill: Fill

    @cached_property
    def _newest(self) -> dict[str, Placed[ReadingTaken] | None]:
        """The newest reading of each field that was asked for."""
        return {}

    def latest(self, field: str, before: Order | None = None) -> Placed[ReadingTaken] | None:
        """Return the newest reading with a value in ``field``, up to and with a place."""
        if before is None:
            if field not in self._newest:
                self._newest[field] = self.fill.latest(field)
            return self._newest[field]
        for reading in reversed(self.fill.readings):
            if order(reading) <= before and getattr(reading.event, field) is not None:
                return reading
        return None

    def temperature_c(self, before: Order | None = None) -> float:
        """Return the temperature that was read last, or a usual one."""
        seen = self.latest("water_c", before)
        return USUAL_WATER_C if seen is None else value_of(seen, "water_c")

    def rise_mg_l(self, dose: DoseAdded) -> float:
        """Return by how much a dose raised free chlorine; 0 where that can't be told."""
        product = self.setup.sanitizer(dose.product)
        try:
            return (
                0.0
                if product is None
                else rise(product, self.fill.volume_l, dose.amount, dose.at.date())
            )
        except ChemistryError:
            return 0.0

    def chlorine_mg_l(self, before: Order | None = None) -> float | None:
        """Return free chlorine as read last, with all that was dosed since; None if never read."""
        seen = self.latest("fac_mg_l", before)
        if seen is None:
            return None
        since = passed(self.fill.doses, order(seen), before)
        return value_of(seen, "fac_mg_l") + sum(self.rise_mg_l(dose.event) for dose in since)

    @cached_property
    def chloride_mg_l(self) -> float:
        """Return the chloride by now: the source's, and half of all chlorine dosed and used up.

        Fresh hypochlorite holds a mol of chloride beside each of its own, and becomes one itself.
        """
        source = self.setup.source.chloride_mg_l
        fresh = USUAL_CHLORIDE_MG_L if source is None else source
        chloride, dosed = fresh, 0.0
        for added in self.additions:
            match added.event:
                case DoseAdded():
                    gain = self.rise_mg_l(added.event)
                    chloride, dosed = chloride + 0.5 * gain, dosed + gain
                case AcidAdded():
                    chloride += self._acid_chloride_mg_l(added.event)
                case WaterExchanged():
                    stays = max(0.0, 1 - added.event.volume_l / self.fill.volume_l)
                    chloride, dosed = fresh + stays * (chloride - fresh), stays * dosed
        return chloride + 0.5 * max(0.0, dosed - (self.chlorine_mg_l() or 0.0))

    @cached_property
    def additions(self) -> list[Added]:
        """Return all that went into the fill, in order."""
        every: tuple[Added, ...] = (*self.fill.doses, *self.fill.acids, *self.fill.exchanges)
        return sorted(every, key=order)

    def water(
        self, ph: float, alkalinity_mg_l: float, before: Order | None = None, *, source_ph: float
    ) -> Water[float]:
        """Return the water at a pH that was read, for an alkalinity of its source.

        Raises:
            ChemistryError: a value that no water has.
        """
        chlorine = self.chlorine_mg_l(before) or 0.0
        water = tank_water(alkalinity_mg_l, source_ph, self.temperature_c(before), chlorine)
        weak = tuple(one for place, one in self._weak_acids if before is None or place <= before)
        water = replace(water, acids=weak)
        return at_ph(water, ph)

    @cached_property
    def _weak_acids(self) -> list[tuple[Order, tuple[WeakAcid, float]]]:
        """The weak acids that were added, mol/L, each with its place."""
        return [
            (order(acid), (WEAK_ACIDS[known.kind], self.mol_l(acid.event)))
            for acid in self.fill.acids
            if (known := self.setup.acid(acid.event.product)) and not known.kind.strong
        ]

    def mol_l(self, acid: AcidAdded) -> float:
        """Return what an addition of acid brings, mol/L; 0 where the acid is not known."""
        known = self.setup.acid(acid.product)
        if known is None:
            return 0.0
        return acid_mol(known, acid.amount) / self.fill.volume_l

    def _acid_chloride_mg_l(self, acid: AcidAdded) -> float:
        known = self.setup.acid(acid.product)
        if known is None or known.kind is not AcidKind.HYDROCHLORIC:
            return 0.0
        return self.mol_l(acid) * CHLORIDE_MG_PER_MOL

    # --- alkalinity

    @cached_property
    def alkalinity(self) -> KnownAlkalinity | None:
        """Return the alkalinity that the set-up tells, else what the last addition showed.

        Where an answer of this water lies wholly under what the set-up says, the answer counts:
        the source has changed, and softer water takes less acid.
        """
        answered = next(self._answers(), None)
        report = _from_report(self.setup.source)
        if report is None:
            return answered
        softer = answered is not None and answered.range.high_mg_l < report.low_mg_l
        return answered if softer else KnownAlkalinity(report)

    def source_ph_range(self) -> tuple[float, float, float]:
        """Return the best, lowest and highest pH that the source may have."""
        source = self.setup.source
        best = USUAL_SOURCE_PH if source.ph is None else source.ph
        error = source.ph_error
        if error is None:
            error = SOURCE_PH_ERROR if source.ph is None else PH_ERROR[Method.METER]
        return best, best - error, best + error

    def _answers(self) -> Iterator[KnownAlkalinity]:
        """Yield what the responses to additions of this fill tell, newest first."""
        added = self.additions
        for at in reversed(range(len(added))[-_MOST_ADDITIONS:]):
            addition = added[at]
            earlier = order(added[at - 1]) if at else None
            later = order(added[at + 1]) if at + 1 < len(added) else None
            pair = self._readings_about(addition, earlier, later)
            if pair is None or isinstance(addition.event, WaterExchanged):
                continue
            try:
                found = self._answer(addition.event, *pair)
            except ChemistryError:
                continue
            # A range that reaches the highest alkalinity there is was cut off there: it tells
            # nothing of how much acid the water takes.
            widest = min(_WIDEST * found.best_mg_l, 0.99 * HIGHEST_ALKALINITY_MG_L)
            if found.high_mg_l <= widest:
                yield KnownAlkalinity(found, addition.event.at)

    def _readings_about(
        self, addition: Added, earlier: Order | None, later: Order | None
    ) -> tuple[Placed[ReadingTaken], Placed[ReadingTaken]] | None:
        """Return the pH readings before an addition and after it mixed, with nothing between."""
        before = self.latest("ph", order(addition))
        mixed = addition.event.at + timedelta(minutes=self.spec.mix_minutes)
        after = next(
            (
                reading
                for reading in self.fill.readings
                if reading.event.ph is not None
                and reading.event.at >= mixed
                and (later is None or order(reading) < later)
            ),
            None,
        )
        if before is None or after is None or (earlier and order(before) < earlier):
            return None
        near = after.event.at - before.event.at <= WITHIN
        undisturbed = after.batches - before.batches <= _MOST_BATCHES
        return (before, after) if near and undisturbed else None

    def _answer(
        self,
        event: DoseAdded | AcidAdded,
        before: Placed[ReadingTaken],
        after: Placed[ReadingTaken],
    ) -> Alkalinity:
        ph_before, ph_after = value_of(before, "ph"), value_of(after, "ph")
        source_ph = self.source_ph_range()[0]
        first = self.water(
            ph_before, UNKNOWN_ALKALINITY.best_mg_l, order(before), source_ph=source_ph
        )
        level = self.chlorine_mg_l(order(before))
        if isinstance(event, DoseAdded):
            gain = self.rise_mg_l(event)
            last, level = with_hypochlorite(first, gain), None if level is None else level + gain
        else:
            known = self.setup.acid(event.product)
            if known is None:
                raise ChemistryError("This acid is not in the set-up.")
            last = with_acid(first, known.kind, self.mol_l(event))
        read = after.event.fac_mg_l
        if level is not None and read is not None and read < level:
            last = with_chlorine_used(last, level - read)
        error = max(PH_ERROR[before.event.ph_method], PH_ERROR[after.event.ph_method])
        return alkalinity_from_response(first, last, ph_before, ph_after, error)


def _from_report(source: SourceWater) -> Alkalinity | None:
    best = source.alkalinity_mg_l
    if best is None:
        return None
    error = source.alkalinity_error_mg_l
    error = REPORT_ERROR * best if error is None else error
    return Alkalinity(best, max(0.0, best - error), best + error)
