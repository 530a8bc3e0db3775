"""Whether cloudiness or ORP beside each reading of chlorine would make the forecast better.

The shifts are those of the two waters, with what a probe and a turbidity meter would have shown:
cloudiness comes with the produce, by a share of its demand that differs from shed to shed, lot to
lot and batch to batch; ORP goes by the logarithm of free chlorine, with an offset and a slope that
nobody knows. All constants are common practice, no published source. The forecast that uses them
carries cloudiness in each particle, and the probe's offset as one more trait.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from msgspec.structs import replace as changed

from tests.forecast.worlds.shifts import GAUGES, REGIMES, Shift, Simulated
from washmon.forecast.estimate import Estimate
from washmon.forecast.forecaster import Forecaster, resampled_if_few_count
from washmon.forecast.kinetics import Floats
from washmon.forecast.memory import Row, Subject
from washmon.forecast.prior import Prior
from washmon.forecast.readings import accuracy_of
from washmon.line.events import BatchWashed, ReadingTaken, WaterExchanged
from washmon.line.setup import Tank
from washmon.line.state import Fill, ShiftState

_NTU, _PER_DEMAND, _OFFSET = (Row(Subject.PERSON, f"({name})") for name in ("ntu", "per", "orp"))
_RATIO, _RATIO_SPREAD = math.log(2.0), 0.8
_NTU_ERROR, _NTU_LEAST = 0.1, 1.0
_ORP_MV, _ORP_SLOPE, _ORP_OFFSET, _ORP_ERROR = 700.0, 55.0, 25.0, 8.0


class Watched(Shift):
    """A shift in which cloudiness and ORP are read with the chlorine."""

    def __init__(self, seed: int, *, lot_spread: float) -> None:
        world = ("pools", "bed")[seed % 2]
        regime = REGIMES[seed // (2 * len(GAUGES)) % len(REGIMES)]
        super().__init__(seed, world, regime, GAUGES[seed // 2 % len(GAUGES)], None)
        self.probe = np.random.default_rng([seed, 80])
        self.lot_spread = lot_spread
        self.shed_ratio = _RATIO + 0.6 * float(self.probe.standard_normal())
        self.ratio, self.ratio_of = self.shed_ratio, ""
        self.ntu, self.stray = _NTU_LEAST, 1.0
        self.offset_mv = 20.0 * float(self.probe.standard_normal())
        self.slope_mv = float(self.probe.uniform(40, 70))

    def _stray(self, rng: np.random.Generator) -> float:
        self.stray = super()._stray(rng)
        return self.stray

    def wash(self) -> None:
        super().wash()
        if self.lot != self.ratio_of:
            self.ratio_of = self.lot
            self.ratio = self.shed_ratio + self.lot_spread * float(self.probe.standard_normal())
        stray = self.stray * math.exp(0.25 * float(self.probe.standard_normal()))
        brought = self.per_kg_mg * self.habits.kg / self.really_l
        self.ntu += math.exp(self.ratio) * brought * stray

    def fill(self) -> None:
        self.ntu = _NTU_LEAST
        super().fill()

    def exchange(self, share: float) -> None:
        self.ntu *= 1 - share
        super().exchange(share)

    def read(self) -> float:
        free = max(self.water.free, 0.5)
        shown = super().read()
        orp = _ORP_MV + self.offset_mv + self.slope_mv * math.log10(free / 50)
        ntu = self.ntu * math.exp(_NTU_ERROR * float(self.probe.standard_normal()))
        last = self.out.entries[-1]
        reading = last.event
        assert isinstance(reading, ReadingTaken)
        seen = changed(
            reading,
            turbidity_ntu=round(ntu, 1),
            orp_mv=round(orp + _ORP_ERROR * float(self.probe.standard_normal())),
        )
        self.out.entries[-1] = changed(last, event=seen)
        return shown


def watched(seed: int, lot_spread: float) -> Simulated:
    """Return the shift of a seed, cloudiness and ORP in its readings."""
    return Watched(seed, lot_spread=lot_spread).run()


@dataclass(frozen=True)
class Beside(Forecaster):
    """A forecaster that counts what else was read."""

    ntu: bool = False
    orp: bool = False

    def begin(self, fill: Fill, before: Estimate | None = None) -> Estimate:
        begun = super().begin(fill, before)
        count = begun.weights.size
        noise = begun.chance(5).standard_normal((2, count))
        if begun.row_of(_PER_DEMAND) is None:
            begun = begun.keeping(_PER_DEMAND, _RATIO + _RATIO_SPREAD * noise[0])
            begun = begun.keeping(_OFFSET, _ORP_OFFSET * noise[1])
        return begun.keeping(_NTU, np.full(count, math.log(_NTU_LEAST)))

    def _washed(self, estimate: Estimate, batch: BatchWashed) -> Estimate:
        washed = super()._washed(estimate, batch)
        brought = washed.water.fast - estimate.water.fast + washed.water.slow - estimate.water.slow
        noise = washed.chance(5).standard_normal((2, brought.size))
        per = _row(washed, _PER_DEMAND)
        if estimate.lot not in {None, batch.lot}:
            per = per + 0.3 * noise[0]
        ntu = np.logaddexp(_row(washed, _NTU), per + 0.25 * noise[1] + np.log(brought))
        return washed.keeping(_PER_DEMAND, per).keeping(_NTU, ntu)

    def _exchanged(self, estimate: Estimate, exchange: WaterExchanged) -> Estimate:
        stays = math.log(max(0.01, 1 - exchange.volume_l / estimate.volume_l))
        after = super()._exchanged(estimate, exchange)
        return after.keeping(_NTU, _row(after, _NTU) + stays)

    def _read(self, estimate: Estimate, reading: ReadingTaken, doubt: float) -> Estimate:
        read = super()._read(estimate, reading, doubt)
        likely = np.ones_like(read.weights)
        if self.ntu and reading.turbidity_ntu is not None:
            off = (math.log(reading.turbidity_ntu) - _row(read, _NTU)) / (2 * _NTU_ERROR)
            likely = likely * (1 + off**2 / 5) ** -3
        if self.orp and reading.orp_mv is not None:
            level = np.maximum(read.water.level, 0.5)
            expected = _ORP_MV + _row(read, _OFFSET) + _ORP_SLOPE * np.log10(level / 50)
            off = (reading.orp_mv - expected) / (1.5 * _ORP_ERROR)
            likely = likely * (1 + off**2 / 5) ** -3
        weights = read.weights * likely
        return resampled_if_few_count(replace(read, weights=weights / weights.sum()))


def _row(estimate: Estimate, row: Row) -> Floats:
    place = estimate.row_of(row)
    assert place is not None
    values: Floats = estimate.traits[place]
    return values


def beside(*, ntu: bool, orp: bool) -> Callable[[ShiftState, Tank, Prior], Forecaster]:
    """Return what makes a forecaster that counts cloudiness, ORP or neither."""

    def make(shift: ShiftState, tank: Tank, prior: Prior) -> Forecaster:
        accuracy, lots = accuracy_of(shift.setup), shift.started.lots
        return Beside(shift.setup, tank, prior, accuracy, lots=lots, ntu=ntu, orp=orp)

    return make
