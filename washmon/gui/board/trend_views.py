"""From a tank's fills to its trend: readings with their ranges, doses, acid and water changes."""

import math
from dataclasses import replace
from datetime import datetime
from itertools import chain

from washmon.gui.board.words import DOT, clock_words, look_word, method_word, product_name
from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.gui.kit.trend_view import Run, TrendLimits, TrendMark, TrendPoint, TrendView
from washmon.line.events import (
    AcidAdded,
    DoseAdded,
    Happened,
    Method,
    ReadingTaken,
    WaterExchanged,
)
from washmon.line.flags import Amount
from washmon.line.setup import LineSetup
from washmon.line.state import Fill, Placed, ShiftState, TankState
from washmon.line.strip import strip_range
from washmon.units import Kind

_CLEAR_OF_AXIS = 0.03
"""Of the operating high: where the mark of a starting dose stands, not cut by the axis."""


class TrendShelf:
    """Keeps each tank's trend for as long as its state is the same object.

    States are immutable, so the same object means the same trend.
    """

    def __init__(self) -> None:
        self._kept: dict[int, tuple[TankState, LineSetup, Person, TrendView]] = {}

    def trends(self, shift: ShiftState, person: Person) -> dict[int, TrendView]:
        """Return the trend of every tank by its number, all on one scale of batches."""
        most = max((tank.batches for tank in shift.tanks), default=0)
        x_to = math.ceil(most / 10) * 10.0
        return {tank.number: self._trend(shift, tank, person, x_to) for tank in shift.tanks}

    def _trend(self, shift: ShiftState, tank: TankState, person: Person, x_to: float) -> TrendView:
        kept = self._kept.get(tank.number)
        if kept is None or kept[0] is not tank or kept[1] is not shift.setup or kept[2] != person:
            view = trend_view(tank, shift.setup, person)
        else:
            view = kept[3]
        if view.x_to != x_to:
            view = replace(view, x_to=x_to)
        self._kept[tank.number] = (tank, shift.setup, person, view)
        return view


def trend_view(tank: TankState, setup: LineSetup, person: Person) -> TrendView:
    """Return the free chlorine of a tank against the batches washed in it since the shift began."""
    limits = tank.spec.chlorine
    *earlier, current = tank.fills or (None,)
    writer = _Writer(setup, person, limits.high_mg_l)
    return TrendView(
        y_label=tr("Free chlorine (ppm) against batches washed"),
        limits=TrendLimits(
            low=limits.low_mg_l,
            high=limits.high_mg_l,
            target=limits.target_mg_l,
            critical=limits.critical_low_mg_l,
        ),
        current=writer.runs(current) if current else (),
        earlier=tuple(chain.from_iterable(writer.runs(fill) for fill in earlier if fill)),
        doses=tuple(chain.from_iterable(writer.doses(fill) for fill in tank.fills)),
        acids=tuple(chain.from_iterable(writer.acids(fill) for fill in tank.fills)),
        changes=tuple(chain.from_iterable(writer.changes(fill) for fill in tank.fills)),
    )


class _Writer:
    """Writes points and marks with what their hints say."""

    def __init__(self, setup: LineSetup, person: Person, high_mg_l: float) -> None:
        self._setup = setup
        self._person = person
        self._high = high_mg_l
        self._clear = _CLEAR_OF_AXIS * high_mg_l

    def runs(self, fill: Fill) -> tuple[Run, ...]:
        """Return the readings of a fill, parted where something was put into the water."""
        breaks = sorted((placed.event.at, placed.seq) for placed in (*fill.doses, *fill.exchanges))
        runs: list[list[TrendPoint]] = [[]]
        for reading in fill.readings:
            if reading.event.fac_mg_l is None:
                continue
            while breaks and breaks[0] < (reading.event.at, reading.seq):
                breaks.pop(0)
                runs.append([])
            runs[-1].append(self._point(reading, reading.event.fac_mg_l))
        return tuple(tuple(run) for run in runs if run)

    def _point(self, reading: Placed[ReadingTaken], level: float) -> TrendPoint:
        event = reading.event
        low, high = strip_range(level) if event.fac_method is Method.STRIP else (None, None)
        parts = [f"{self._person.show(level, Kind.CONCENTRATION)} {method_word(event.fac_method)}"]
        if low is not None and high is not None:
            ends = [self._bare(end) for end in (low, high)]
            parts[0] += " ({}–{})".format(*ends)
        others = DOT.join(self._others(event))
        lines = [parts[0], others, self._when(event, reading.batches)]
        return TrendPoint(reading.batches, level, "\n".join(filter(None, lines)), low, high)

    def _bare(self, level: float) -> str:
        return self._person.show(level, Kind.CONCENTRATION).split("\N{NO-BREAK SPACE}")[0]

    def _others(self, event: ReadingTaken) -> list[str]:
        kinds = (
            (tr("total"), event.total_mg_l, Kind.CONCENTRATION),
            (tr("pH"), event.ph, Kind.PH),
            ("", event.turbidity_ntu, Kind.TURBIDITY),
            (tr("water"), event.water_c, Kind.TEMPERATURE),
            (tr("pulp"), event.pulp_c, Kind.TEMPERATURE),
            ("", event.orp_mv, Kind.POTENTIAL),
        )
        said = [
            f"{name} {self._person.show(value, kind)}".strip()
            for name, value, kind in kinds
            if value is not None
        ]
        if event.look is not None:
            said.append(tr("card {look}", look=look_word(event.look)))
        return said

    def _when(self, event: Happened, batches: int) -> str:
        return tr(
            "{time} by {who}, after {batches} batches",
            time=clock_words(event.at),
            who=event.by,
            batches=batches,
        )

    def doses(self, fill: Fill) -> list[TrendMark]:
        """Return the doses of a fill, each at the level that was read before it."""
        return [self._addition(fill, dose) for dose in fill.doses]

    def acids(self, fill: Fill) -> list[TrendMark]:
        """Return the acid put into a fill, each at the level that was read before it."""
        return [self._addition(fill, acid) for acid in fill.acids]

    def _addition(self, fill: Fill, placed: Placed[DoseAdded] | Placed[AcidAdded]) -> TrendMark:
        event = placed.event
        text = f"{self._added(event)}\n{self._when(event, placed.batches)}"
        return TrendMark(placed.batches, text, self._level_before(fill, (event.at, placed.seq)))

    def _level_before(self, fill: Fill, place: tuple[datetime, int]) -> float:
        for reading in reversed(fill.readings):
            level = reading.event.fac_mg_l
            if level is not None and (reading.event.at, reading.seq) < place:
                return level
        return self._clear

    def _added(self, event: DoseAdded | AcidAdded) -> str:
        amount = event.as_entered or self._amount(event.amount)
        return f"{amount} {product_name(self._setup, event.product)}"

    def _amount(self, amount: Amount) -> str:
        kind = Kind.SMALL_VOLUME if amount.unit == "mL" else Kind.MASS
        return self._person.show(amount.value, kind)

    def changes(self, fill: Fill) -> list[TrendMark]:
        """Return where a later fill began and where part of the water was exchanged."""
        begun = fill.begun
        marks = [
            TrendMark(
                placed.batches,
                f"{self._exchanged(placed.event)}\n{self._when(placed.event, placed.batches)}",
                self._high,
            )
            for placed in fill.exchanges
        ]
        if fill.number > 1:
            text = f"{tr('New water')}\n{self._when(begun.event, begun.batches)}"
            marks.insert(0, TrendMark(begun.batches, text, self._high))
        return marks

    def _exchanged(self, event: WaterExchanged) -> str:
        volume = self._person.show(event.volume_l, Kind.VOLUME)
        return tr("{volume} exchanged for fresh water", volume=volume)
