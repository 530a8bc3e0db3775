"""What instruments say of the practice water: with their steps, their errors and their time."""

from bisect import bisect_right
from copy import deepcopy
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from washmon.line.reading import PADS_MG_L, PERACETIC_PADS_MG_L, Pads
from washmon.line.setup import Look
from washmon.sessions.practice.parameters import Gauge, Parameters, PracticeInstrument
from washmon.sessions.practice.water import TankWater
from washmon.sessions.practice.world import SamplePlace, World

_STREAM = 2
_LATER = (
    PracticeInstrument.PERACETIC_STRIP,
    PracticeInstrument.PERACETIC_KIT,
    PracticeInstrument.PERACETIC_METER,
    PracticeInstrument.PEROXIDE_STRIP,
)
"""These came later: their lasting errors are drawn apart, so that older attempts stay the same."""
_PADS = {
    PracticeInstrument.STRIP: PADS_MG_L,
    PracticeInstrument.PERACETIC_STRIP: PERACETIC_PADS_MG_L,
}
_LEVEL = {PracticeInstrument.STRIP, PracticeInstrument.KIT, PracticeInstrument.METER, *_LATER[:3]}
_BLEACHED = 0.5
"""How much of what is over its range a bleached sample still takes off (common practice)."""


class Said(NamedTuple):
    """What an instrument showed, and how long it took."""

    value: float
    minutes: float


class CardSeen(NamedTuple):
    """How the card looked, and how long it took."""

    look: Look
    minutes: float


class Bench:
    """The instruments of a shift; the part of their errors that stays is drawn at its start."""

    def __init__(self, parameters: Parameters, seed: int) -> None:
        self._p = parameters
        self._random = np.random.default_rng([seed, _STREAM])
        later = np.random.default_rng([seed, _STREAM, 1])
        self._stays = {
            one: _lasting(later if one in _LATER else self._random) for one in PracticeInstrument
        }

    def copy(self) -> "Bench":
        """Return twins of the instruments that will show the same."""
        twin = object.__new__(Bench)
        twin.__dict__.update(self.__dict__)
        twin._random = deepcopy(self._random)
        return twin

    def read(self, tank: TankWater, instrument: PracticeInstrument, world: World) -> Said:
        """Return what an instrument says of a tank now; sanitizers in mg/L, chlorine as Cl2."""
        gauge = self._p.instrument[instrument]
        real = self._real(tank, instrument, gauge, world.samples_at)
        shown = self._shown(real, instrument, gauge)
        if (pads := _PADS.get(instrument)) is not None:
            return Said(_nearest(pads, shown * world.strip_share), gauge.minutes)
        return Said(_stepped(shown, gauge.step), gauge.minutes)

    def read_total(self, tank: TankWater, instrument: PracticeInstrument, world: World) -> Said:
        """Return total chlorine as a kit or a meter says."""
        gauge = self._p.instrument[instrument]
        real = self._sampled(tank, world.samples_at) + tank.contents.combined
        return Said(_stepped(self._shown(real, instrument, gauge), gauge.step), gauge.minutes)

    def look(self, tank: TankWater) -> CardSeen:
        """Return how the card looks through a sample."""
        card = self._p.card
        cloudy = _turbidity(tank) * max(0.0, 1.0 + card.error_share * self._draw())
        if cloudy < card.faint_ntu:
            return CardSeen(Look.READABLE, card.minutes)
        return CardSeen(Look.FAINT if cloudy < card.gone_ntu else Look.GONE, card.minutes)

    def read_pulp(self, pulp_c: float) -> Said:
        """Return what the thermometer says inside the produce."""
        gauge = self._p.instrument[PracticeInstrument.THERMOMETER]
        shown = self._shown(pulp_c, PracticeInstrument.THERMOMETER, gauge)
        return Said(_stepped(shown, gauge.step), gauge.minutes)

    def _draw(self) -> float:
        return float(self._random.standard_normal())

    def _sampled(self, tank: TankWater, place: SamplePlace) -> float:
        """Return the level at the place of the sample: streaks of a fresh dose may hit it."""
        more = {SamplePlace.INLET: self._p.tank.inlet, SamplePlace.OUTLET: -1.0}.get(place, 0.0)
        streak = self._p.tank.streaks * tank.unmixed_mg_l * self._draw()
        return max(0.0, tank.level + more * tank.unmixed_mg_l + streak)

    def _real(
        self,
        tank: TankWater,
        instrument: PracticeInstrument,
        gauge: Gauge,
        place: SamplePlace,
    ) -> float:
        if instrument in _LEVEL:
            return self._sampled(tank, place) + gauge.combined_seen * tank.contents.combined
        if instrument is PracticeInstrument.PEROXIDE_STRIP:
            return tank.contents.peroxide
        if instrument is PracticeInstrument.TURBIDIMETER:
            return _turbidity(tank)
        if instrument is PracticeInstrument.THERMOMETER:
            return tank.contents.celsius
        return tank.ph

    def _shown(self, real: float, instrument: PracticeInstrument, gauge: Gauge) -> float:
        stays, stays_share = self._stays[instrument]
        share = 1.0 + gauge.bias_share * stays_share + gauge.error_share * self._draw()
        shown = real * max(0.0, share) + gauge.bias * stays + gauge.error * self._draw()
        if shown > gauge.highest:
            over = shown - gauge.highest
            bleaches = instrument is PracticeInstrument.METER
            shown = gauge.highest - _BLEACHED * over if bleaches else gauge.highest
        return max(0.0, shown)


def _lasting(random: np.random.Generator) -> tuple[float, float]:
    return float(random.standard_normal()), float(random.standard_normal())


def _turbidity(tank: TankWater) -> float:
    return tank.contents.silt + tank.contents.haze


def _nearest(pads: Pads, shown: float) -> float:
    half_way = [(low + high) / 2 for low, high in pairwise(pads)]
    return pads[bisect_right(half_way, shown)]


def _stepped(value: float, step: float) -> float:
    return round(round(value / step) * step, 6) if step else value
