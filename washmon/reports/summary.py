"""The summary of a shift: one record per tank, of what was washed, measured, used and done."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import datetime
from statistics import median
from typing import NamedTuple

import msgspec
from msgspec import Struct

from washmon.line.events import (
    AcidAdded,
    Corrected,
    Decision,
    DoseAdded,
    Event,
)
from washmon.line.flags import Amount, Level
from washmon.line.judging import is_over, is_under
from washmon.line.setup import Acid, PeraceticLimits, Sanitizer
from washmon.line.signing import Stage, signing
from washmon.line.state import FlagRecord, ShiftState, TankState
from washmon.reports.corrective import Corrective, corrective
from washmon.reports.costs import Cost, cost_of, cost_of_water, summed
from washmon.reports.depletion import Lost, lost, redose_lows
from washmon.reports.timeline import longest_gap_s, pieces
from washmon.units import Kind

VERSION = 5
"""Of the record, and of what its columns mean: another version is made anew from the journal."""


class ShiftHead(Struct, frozen=True, kw_only=True):
    """Which shift a summary is of; ``supervisor`` are the initials of who began it.

    ``batches`` counts each batch once, whichever tanks it went through.
    """

    chain: str
    practice: bool
    site: str
    location: str
    line: str
    commodity: str
    started_at: datetime
    ended_at: datetime | None
    supervisor: str
    supervisor_name: str
    lots: tuple[str, ...]
    batches: int
    signing: Stage = Stage.UNSIGNED
    signed_by: str = ""
    signed_at: datetime | None = None
    reviewed_by: str = ""
    reviewed_at: datetime | None = None
    corrected_after_signing: int = 0
    head: str = ""
    """The hash that the shift's journal ends with."""
    imported: str = ""
    """The file that the shift was taken over from, if it was."""
    currency: str = ""
    """Of what it cost; empty where the set-up names no prices."""


class Band(NamedTuple):
    """Limits of a quantity: from ``low`` to ``high``, and never under ``critical``."""

    low: float
    high: float
    critical: float = 0.0
    kind: Kind = Kind.CONCENTRATION

    def holds(self, value: float) -> bool:
        """Tell whether a value lies within the limits."""
        low, high, _, kind = self
        return not is_under(value, low, kind) and not is_over(value, high, kind)

    def is_critical(self, value: float) -> bool:
        """Tell whether a value lies under the critical low."""
        return is_under(value, self.critical, self.kind)


class Measured(Struct, frozen=True, kw_only=True):
    """What readings of one quantity said; the shares go from 0 to 1 of ``count``."""

    count: int
    lowest: float
    median: float
    highest: float
    within: float
    """From operating low to operating high."""
    at_least_critical: float
    """At the critical low or above it; always 1 for pH."""


class TimeShares(Struct, frozen=True, kw_only=True):
    """Of the time in which a tank was in use, 0 to 1; see :mod:`washmon.reports.timeline`.

    ``within`` + ``outside`` + ``unknown`` is 1. ``critical`` is the share with free chlorine known
    to be under the critical low, which is part of ``outside``; 0 for pH.
    """

    watched_s: float
    within: float
    outside: float
    critical: float
    unknown: float
    longest_gap_s: float


class Used(Struct, frozen=True, kw_only=True):
    """How much of a product went into a tank (mL of a liquid, g of a solid), in how many goes."""

    product: str
    name: str
    amount: Amount
    times: int
    cost: float | None = None
    """In the currency of the shift; None is not known."""


class TankSummary(Struct, frozen=True, kw_only=True):
    """One tank in one shift. Free chlorine in mg/L as Cl2; None where there are no data.

    Everything is counted with corrections applied.
    """

    version: int = VERSION
    shift: ShiftHead
    tank: int
    tank_name: str
    stage: str
    batches: int
    washed_kg: float
    """Of the batches that were weighed."""
    batches_not_weighed: int
    fills: int
    exchanges: int
    water_l: float
    """Filled and exchanged."""
    readings: int
    fac: Measured | None
    ph: Measured | None
    fac_time: TimeShares | None
    ph_time: TimeShares | None
    doses: int
    sanitizer_used: tuple[Used, ...]
    acid_additions: int
    acid_used: tuple[Used, ...]
    flags_watch: int
    """A flag that rose from one level to the next counts in both."""
    flags_act: int
    flags_stop: int
    holds: int
    open_holds: int
    batches_held: int
    decisions: tuple[Decision, ...]
    """Of the holds that are decided, in order."""
    corrective: tuple[Corrective, ...]
    corrections: int
    """Entries of this tank that were corrected, counted once for each correction."""
    paa: Measured | None = None
    """Peracetic acid, mg/L; its tanks have no time shares of free chlorine and pH."""
    paa_time: TimeShares | None = None
    redose_lows: tuple[float, ...] = ()
    """The sanitizer's level, mg/L, as last read before each dose into water that was in use."""
    lost: Lost | None = None
    flags_by_rule: tuple[tuple[str, int], ...] = ()
    """How often each rule's flag came up, most often first."""
    water_cost: float | None = None

    @property
    def water_known(self) -> bool:
        """Whether it is recorded when and how far the tank was filled: an imported log says not."""
        return not (self.shift.imported and self.fills)

    @property
    def cost(self) -> Cost:
        """What its chemicals and its water cost; a tank that was never used cost nothing."""
        water = self.water_cost if self.water_l or not self.water_known else 0.0
        used = (*self.sanitizer_used, *self.acid_used)
        return summed([water, *(one.cost for one in used)])


def summarize(shift: ShiftState) -> tuple[TankSummary, ...]:
    """Return the summary of each tank, in line order."""
    return tuple(_sum_up(shift, tank) for tank in shift.tanks)


def summary_bodies(summaries: Iterable[TankSummary]) -> list[tuple[int, str]]:
    """Return tank numbers with their summaries as JSON, for keeping."""
    return [(one.tank, msgspec.json.encode(one).decode()) for one in summaries]


def read_summary(body: str) -> TankSummary | None:
    """Return a kept summary; None if another version made it, or it is none."""
    try:
        summary = msgspec.json.decode(body, type=TankSummary)
    except msgspec.DecodeError:
        return None
    return summary if summary.version == VERSION else None


class _Batches(Struct):
    batches: int


class _Counted(Struct):
    shift: _Batches


def read_batches(body: str) -> int | None:
    """Return how many batches a shift washed, from a summary that any version kept."""
    try:
        return msgspec.json.decode(body, type=_Counted).shift.batches
    except msgspec.DecodeError:
        return None


def _head(shift: ShiftState) -> ShiftHead:
    started, setup = shift.started, shift.setup
    person = setup.person(started.by)
    under = signing(shift)
    signed, reviewed = under.signed, under.reviewed
    return ShiftHead(
        chain=shift.chain,
        practice=started.practice,
        site=setup.site,
        location=setup.location,
        line=setup.line,
        commodity=setup.commodity,
        started_at=started.at,
        ended_at=shift.ended.at if shift.ended else None,
        supervisor=started.by,
        supervisor_name=person.name if person else "",
        lots=shift.lot_codes,
        batches=len({batch.seq for tank in shift.tanks for batch in tank.washed}),
        signing=under.stage,
        signed_by=signed.event.by if signed else "",
        signed_at=signed.event.at if signed else None,
        reviewed_by=reviewed.event.by if reviewed else "",
        reviewed_at=reviewed.event.at if reviewed else None,
        corrected_after_signing=len(under.corrected_at),
        head=shift.entries[-1].hash,
        imported=started.imported,
        currency=setup.currency,
    )


def _sum_up(shift: ShiftState, tank: TankState) -> TankSummary:
    spec, fills, water = tank.spec, tank.fills, tank.every_fill
    chlorine, paa = spec.chlorine, spec.peracetic
    fac_band = Band(chlorine.low_mg_l, chlorine.high_mg_l, chlorine.critical_low_mg_l)
    ph_band = Band(spec.ph.low, spec.ph.high, kind=Kind.PH)
    readings = [placed.event for fill in fills for placed in fill.read_in_use]
    weights = [batch.event.weight_kg for batch in tank.washed]
    exchanges = [placed for fill in water for placed in fill.exchanges]
    doses = [placed.event for fill in water for placed in fill.doses]
    acids = [placed.event for fill in water for placed in fill.acids]
    holds = [hold for hold in shift.holds if hold.placed.tank == tank.number]
    flags = flags_of(shift, tank.number)
    levels = [record.flag.level for record in flags]
    water_l, water_cost = _water_used(shift, tank)
    return TankSummary(
        shift=_head(shift),
        tank=tank.number,
        tank_name=spec.name,
        stage=spec.stage,
        batches=tank.batches,
        washed_kg=sum(weight for weight in weights if weight is not None),
        batches_not_weighed=weights.count(None),
        fills=len(fills),
        exchanges=len(exchanges),
        water_l=water_l,
        readings=len(readings),
        fac=_measured([one.fac_mg_l for one in readings if one.fac_mg_l is not None], fac_band),
        ph=_measured([one.ph for one in readings if one.ph is not None], ph_band),
        fac_time=None if paa else _time_shares(shift, tank, "fac_mg_l", fac_band),
        ph_time=None if paa else _time_shares(shift, tank, "ph", ph_band),
        doses=len(doses),
        sanitizer_used=_used(shift, doses),
        acid_additions=len(acids),
        acid_used=_used(shift, acids),
        flags_watch=levels.count(Level.WATCH),
        flags_act=levels.count(Level.ACT),
        flags_stop=levels.count(Level.STOP),
        holds=len(holds),
        open_holds=sum(hold.released is None for hold in holds),
        batches_held=len({seq for hold in holds for seq in hold.placed.batches}),
        decisions=tuple(hold.released.decision for hold in holds if hold.released),
        corrective=tuple(corrective(tank, holds, flags)),
        corrections=_corrections(shift, tank.number),
        paa=_measured([one.paa_mg_l for one in readings if one.paa_mg_l is not None], _band(paa)),
        paa_time=_time_shares(shift, tank, "paa_mg_l", _band(paa)) if paa else None,
        redose_lows=redose_lows(tank),
        lost=lost(tank),
        flags_by_rule=tuple(Counter(record.flag.rule for record in flags).most_common()),
        water_cost=water_cost,
    )


def _water_used(shift: ShiftState, tank: TankState) -> tuple[float, float | None]:
    """Return what was filled and exchanged, in litres, and its cost, None where it is not known.

    No imported log tells when a tank was filled: the import assumed it.
    """
    fills = tank.every_fill
    assumed = bool(shift.started.imported and tank.fills)
    filled_l = 0.0 if assumed else sum(fill.volume_l for fill in fills)
    used_l = filled_l + sum(one.event.volume_l for fill in fills for one in fill.exchanges)
    return used_l, None if assumed else cost_of_water(shift.setup.water_price, used_l)


def _band(limits: PeraceticLimits | None) -> Band:
    """Return the band of peracetic acid; where none is set, nothing lies within."""
    if limits is None:
        return Band(math.inf, math.inf)
    return Band(limits.low_mg_l, limits.high_mg_l, limits.critical_low_mg_l)


def flags_of(shift: ShiftState, tank: int) -> list[FlagRecord]:
    """Return all flags that were ever up on a tank, in the order in which they came."""
    records = [
        record for record in (*shift.closed_flags, *shift.open_flags) if record.flag.tank == tank
    ]
    return sorted(records, key=lambda record: record.raised_at)


def tanks_of(event: Event) -> tuple[int, ...]:
    """Return the tanks that an event is about; empty where it is about the line."""
    tank = getattr(event, "tank", None)
    return getattr(event, "tanks", ()) if tank is None else (tank,)


def _measured(values: Sequence[float], band: Band) -> Measured | None:
    if not values:
        return None
    count = len(values)
    return Measured(
        count=count,
        lowest=min(values),
        median=median(values),
        highest=max(values),
        within=sum(band.holds(value) for value in values) / count,
        at_least_critical=sum(not band.is_critical(value) for value in values) / count,
    )


def _time_shares(shift: ShiftState, tank: TankState, field: str, band: Band) -> TimeShares | None:
    cut = list(pieces(shift, tank, field))
    watched_s = sum(piece.length_s for piece in cut)
    if not watched_s:
        return None
    known = [(piece.length_s, piece.value) for piece in cut if piece.value is not None]
    within_s = sum(length_s for length_s, value in known if band.holds(value))
    known_s = sum(length_s for length_s, _ in known)
    return TimeShares(
        watched_s=watched_s,
        within=within_s / watched_s,
        outside=(known_s - within_s) / watched_s,
        critical=sum(length_s for length_s, value in known if band.is_critical(value)) / watched_s,
        unknown=(watched_s - known_s) / watched_s,
        longest_gap_s=longest_gap_s(shift, tank, field),
    )


def _used(shift: ShiftState, additions: Iterable[DoseAdded | AcidAdded]) -> tuple[Used, ...]:
    found: dict[tuple[str, str], list[float]] = {}
    products: dict[str, Sanitizer | Acid | None] = {}
    for one in additions:
        products[one.product] = (
            shift.setup.sanitizer(one.product)
            if isinstance(one, DoseAdded)
            else shift.setup.acid(one.product)
        )
        found.setdefault((one.product, one.amount.unit), []).append(one.amount.value)
    used = []
    for (key, unit), amounts in found.items():
        product, amount = products[key], Amount(sum(amounts), unit)
        used.append(
            Used(
                product=key,
                name=product.name if product else key,
                amount=amount,
                times=len(amounts),
                cost=cost_of(product, amount) if product else None,
            )
        )
    return tuple(used)


def _corrections(shift: ShiftState, tank: int) -> int:
    events = {entry.seq: entry.event for entry in shift.entries}
    count = 0
    for event in events.values():
        if isinstance(event, Corrected):
            old, new = events.get(event.entry), event.instead
            about = (tanks_of(old) if old else ()) + (tanks_of(new) if new else ())
            count += tank in about
    return count
