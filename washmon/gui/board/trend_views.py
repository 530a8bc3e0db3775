"""From a tank's fills to its trend: readings with their ranges, doses, acid and water changes."""

import math
from bisect import bisect_left
from collections.abc import Mapping
from datetime import datetime
from itertools import chain
from types import MappingProxyType

from msgspec import Struct

from washmon.gui.board.board_words import DOT, clock_words, method_word, product_name
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.trend_view import (
    Bracket,
    DrawnFan,
    DrawnPoint,
    Run,
    TrendLimits,
    TrendMark,
    TrendView,
)
from washmon.line.event_base import Happened
from washmon.line.events import AcidAdded, DoseAdded, Method, ReadingTaken, WaterExchanged
from washmon.line.flags import Amount
from washmon.line.plan import Span
from washmon.line.quantities import IN_A_LINE
from washmon.line.reading import range_of
from washmon.line.setup import LineSetup
from washmon.line.state import Fill, Placed, ShiftState, TankState
from washmon.units import Kind

_CLEAR_OF_AXIS = 0.03
"""Of the operating high: where the mark of a starting dose stands, not cut by the axis."""

_BESIDE_LAST = 0.4
"""So many batches right of what was read last the next reading is drawn."""


def _place(placed: Placed[ReadingTaken]) -> tuple[datetime, int]:
    return placed.event.at, placed.seq


class TrendShelf:
    """Keeps what was drawn, so that only what is new is written again.

    States are immutable: the same tank, fill or reading means the same trend, runs or point.
    """

    def __init__(self) -> None:
        self._writers: dict[int, _Writer] = {}

    def trends(
        self,
        shift: ShiftState,
        person: UserContext,
        fans: Mapping[int, tuple[DrawnFan, ...]] = MappingProxyType({}),
        expected: Mapping[int, Span] = MappingProxyType({}),
    ) -> dict[int, TrendView]:
        """Return the trend of every tank by its number, all on one scale of batches.

        ``expected`` is, by tank, between which levels the next reading should lie.
        """
        ends = [fan[-1].x for fan in fans.values() if fan]
        most = max((*ends, *(tank.batches for tank in shift.tanks)), default=0)
        x_to = math.ceil(most / 10) * 10.0
        return {
            tank.number: self._writer(tank, shift.setup, person).trend(
                tank, x_to, fans.get(tank.number, ()), expected.get(tank.number)
            )
            for tank in shift.tanks
        }

    def _writer(self, tank: TankState, setup: LineSetup, person: UserContext) -> "_Writer":
        writer = self._writers.get(tank.number)
        if writer is None or not writer.writes_for(tank, setup, person):
            writer = self._writers[tank.number] = _Writer(tank, setup, person)
        return writer


class _Part(Struct, frozen=True):
    """What one fill brings to a trend."""

    fill: Fill
    runs: tuple[Run, ...]
    doses: tuple[TrendMark, ...]
    acids: tuple[TrendMark, ...]
    changes: tuple[TrendMark, ...]


class _Writer:
    """Writes the trend of one tank: points and marks, with what their hints say."""

    def __init__(self, tank: TankState, setup: LineSetup, person: UserContext) -> None:
        self._spec = tank.spec
        self._setup = setup
        self._person = person
        self._parts: dict[int, _Part] = {}
        self._points: dict[int, tuple[Placed[ReadingTaken], DrawnPoint]] = {}
        self._trend: TrendView | None = None

    def writes_for(self, tank: TankState, setup: LineSetup, person: UserContext) -> bool:
        """Tell whether what was kept belongs to this tank and this reader."""
        mine = self._spec is tank.spec and self._setup is setup
        return mine and self._person == person

    def trend(
        self, tank: TankState, x_to: float, fan: tuple[DrawnFan, ...], expected: Span | None
    ) -> TrendView:
        """Return the level of a tank against the batches washed since the shift began."""
        limits = tank.spec.limits
        parts = [self._part(fill) for fill in tank.fills]
        trend = TrendView(
            y_label=tr("Peracetic acid (ppm) against batches washed")
            if tank.spec.peracetic
            else tr("Free chlorine (ppm) against batches washed"),
            limits=TrendLimits(
                low=limits.low_mg_l,
                high=limits.high_mg_l,
                target=limits.target_mg_l,
                critical=limits.critical_low_mg_l,
            ),
            current=parts[-1].runs if parts else (),
            earlier=tuple(chain.from_iterable(part.runs for part in parts[:-1])),
            doses=tuple(chain.from_iterable(part.doses for part in parts)),
            acids=tuple(chain.from_iterable(part.acids for part in parts)),
            changes=tuple(chain.from_iterable(part.changes for part in parts)),
            fan=fan,
            expected=None if expected is None else self._bracket(tank, expected),
            x_to=x_to,
        )
        if trend != self._trend:
            self._trend = trend
        return self._trend

    def _bracket(self, tank: TankState, expected: Span) -> Bracket:
        low, high = self._bare(expected.low), self._bare(expected.high)
        words = tr("should read {low}–{high}", low=low, high=high)
        if low == high:
            words = tr("should read {level}", level=low)
        return Bracket(tank.batches + _BESIDE_LAST, expected.low, expected.high, words)

    def _part(self, fill: Fill) -> _Part:
        kept = self._parts.get(fill.number)
        if kept is None or kept.fill is not fill:
            kept = self._parts[fill.number] = _Part(
                fill,
                self._runs(fill),
                tuple(self._addition(fill, one) for one in fill.doses if not one.event.second),
                tuple(self._addition(fill, one) for one in fill.acids if not one.event.second),
                tuple(self._changes(fill)),
            )
        return kept

    def _runs(self, fill: Fill) -> tuple[Run, ...]:
        """Return the readings of a fill, parted where something was put into the water."""
        breaks = sorted((placed.event.at, placed.seq) for placed in (*fill.doses, *fill.exchanges))
        runs: list[list[DrawnPoint]] = [[]]
        for reading in fill.course(self._spec.level_field):
            level = self._level(reading.event)
            if level is None:
                continue
            while breaks and breaks[0] < (reading.event.at, reading.seq):
                breaks.pop(0)
                runs.append([])
            runs[-1].append(self._point(reading, level))
        return tuple(tuple(run) for run in runs if run)

    def _level(self, event: ReadingTaken) -> float | None:
        level: float | None = getattr(event, self._spec.level_field)
        return level

    def _point(self, reading: Placed[ReadingTaken], level: float) -> DrawnPoint:
        kept = self._points.get(reading.seq)
        if kept is None or kept[0] is not reading:
            kept = self._points[reading.seq] = (reading, self._new_point(reading, level))
        return kept[1]

    def _new_point(self, reading: Placed[ReadingTaken], level: float) -> DrawnPoint:
        event = reading.event
        method = event.paa_method if self._spec.peracetic else event.fac_method
        said = f"{self._person.show(level, Kind.CONCENTRATION)} {method_word(method)}"
        low, high = None, None
        if method is Method.STRIP:
            low, high = range_of(self._setup, self._spec, event)
            said += f" ({self._bare(low)}–{self._bare(high)})"
        others = DOT.join(self._others(event))
        text = "\n".join(filter(None, (said, others, self._when(event, reading.batches))))
        return DrawnPoint(reading.batches, level, text, low, high)

    def _bare(self, level: float) -> str:
        return self._person.show(level, Kind.CONCENTRATION).split("\N{NO-BREAK SPACE}")[0]

    def _others(self, event: ReadingTaken) -> list[str]:
        others = (one for one in IN_A_LINE if one.field != self._spec.level_field)
        told = (one.told(event) for one in others)
        return [self._person.say(part) for part in told if part is not None]

    def _when(self, event: Happened, batches: int) -> str:
        if batches == 1:
            return tr("{time} by {who}, after 1 batch", time=clock_words(event.at), who=event.by)
        return tr(
            "{time} by {who}, after {batches} batches",
            time=clock_words(event.at),
            who=event.by,
            batches=batches,
        )

    def _addition(self, fill: Fill, placed: Placed[DoseAdded] | Placed[AcidAdded]) -> TrendMark:
        event = placed.event
        text = f"{self._added(event)}\n{self._when(event, placed.batches)}"
        return TrendMark(placed.batches, text, self._level_before(fill, (event.at, placed.seq)))

    def _level_before(self, fill: Fill, place: tuple[datetime, int]) -> float:
        upto = bisect_left(fill.readings, place, key=_place)
        for reading in reversed(fill.readings[:upto]):
            level = self._level(reading.event)
            if level is not None:
                return level
        return _CLEAR_OF_AXIS * self._spec.limits.high_mg_l

    def _added(self, event: DoseAdded | AcidAdded) -> str:
        amount = event.as_entered or self._amount(event.amount)
        return f"{amount} {product_name(self._setup, event.product)}"

    def _amount(self, amount: Amount) -> str:
        kind = Kind.SMALL_VOLUME if amount.unit == "mL" else Kind.MASS
        return self._person.show(amount.value, kind)

    def _changes(self, fill: Fill) -> list[TrendMark]:
        """Return where a later fill began and where part of the water was exchanged."""
        begun = fill.used
        marks = [
            TrendMark(
                placed.batches,
                f"{self._exchanged(placed.event)}\n{self._when(placed.event, placed.batches)}",
                self._spec.limits.high_mg_l,
            )
            for placed in fill.exchanges
            if not placed.event.second
        ]
        if fill.number > 1:
            what = tr("New water") if fill.swapped is None else tr("Second fill swapped in")
            text = f"{what}\n{self._when(begun.event, begun.batches)}"
            marks.insert(0, TrendMark(begun.batches, text, self._spec.limits.high_mg_l))
        return marks

    def _exchanged(self, event: WaterExchanged) -> str:
        volume = self._person.show(event.volume_l, Kind.VOLUME)
        return tr("{volume} exchanged for fresh water", volume=volume)
