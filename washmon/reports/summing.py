"""Summing a shift up: what was washed, measured, used and done, with corrections applied."""

import math
from collections import Counter
from collections.abc import Iterable
from statistics import median
from typing import NamedTuple

from washmon.line.events import AcidAdded, Corrected, DoseAdded, Event
from washmon.line.flags import Amount, Level
from washmon.line.judging import is_over, is_under
from washmon.line.setup import Acid, Sanitizer
from washmon.line.signing import days_to_review, signing
from washmon.line.state import FlagRecord, ShiftState, TankState
from washmon.reports.corrective import corrective
from washmon.reports.costs import cost_of, cost_of_water
from washmon.reports.depletion import lost, redose_lows
from washmon.reports.summary import LevelSummary, ShiftHead, TankSummary, TimeShares, Used
from washmon.reports.timeline import longest_gap_s, pieces
from washmon.units import Kind


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


def summarize(shift: ShiftState) -> tuple[TankSummary, ...]:
    """Return the summary of each tank, in line order."""
    head, corrected = _head(shift), _corrected(shift)
    return tuple(
        _TankRecord(shift, tank).summary(head, corrected.count(tank.number)) for tank in shift.tanks
    )


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
        review_days=days_to_review(shift),
    )


class _TankRecord:
    """One tank of a shift, and what is counted of it."""

    def __init__(self, shift: ShiftState, tank: TankState) -> None:
        self._shift, self._tank = shift, tank
        self._read = [one for fill in tank.fills for one in fill.read_in_use]
        self._readings = [one.event for one in self._read]
        self._unvouched = {key for fill in tank.fills for key in fill.unvouched}
        self._doses = [one.event for fill in tank.every_fill for one in fill.doses]
        self._acids = [one.event for fill in tank.every_fill for one in fill.acids]
        self._holds = [hold for hold in shift.holds if hold.placed.tank == tank.number]
        self._flags = flags_of(shift, tank.number)
        self._weights = [batch.event.weight_kg for batch in tank.washed]
        self._levels = Counter(record.flag.level for record in self._flags)

    def summary(self, head: ShiftHead, corrections: int) -> TankSummary:
        """Return what it all comes to, with what is said of the whole shift."""
        shift, tank, holds, levels = self._shift, self._tank, self._holds, self._levels
        water_l, water_cost = _water_used(shift, tank)
        chlorinated = tank.spec.peracetic is None
        return TankSummary(
            shift=head,
            tank=tank.number,
            tank_name=tank.spec.name,
            stage=tank.spec.stage,
            batches=tank.batches,
            washed_kg=sum(kg for kg in self._weights if kg is not None),
            batches_not_weighed=self._weights.count(None),
            fills=len(tank.fills),
            exchanges=sum(len(fill.exchanges) for fill in tank.every_fill),
            water_l=water_l,
            readings=len(self._readings),
            fac=self._measured("fac_mg_l"),
            ph=self._measured("ph"),
            fac_time=self._time_shares("fac_mg_l") if chlorinated else None,
            ph_time=self._time_shares("ph") if chlorinated else None,
            doses=len(self._doses),
            sanitizer_used=_used(shift, self._doses),
            acid_additions=len(self._acids),
            acid_used=_used(shift, self._acids),
            flags_watch=levels[Level.WATCH],
            flags_act=levels[Level.ACT],
            flags_stop=levels[Level.STOP],
            holds=len(holds),
            open_holds=sum(hold.released is None for hold in holds),
            batches_held=len({seq for hold in holds for seq in hold.placed.batches}),
            decisions=tuple(hold.released.decision for hold in holds if hold.released),
            corrective=tuple(corrective(tank, holds, self._flags)),
            corrections=corrections,
            paa=self._measured("paa_mg_l"),
            paa_time=None if chlorinated else self._time_shares("paa_mg_l"),
            redose_lows=redose_lows(tank),
            lost=lost(tank),
            flags_by_rule=tuple(Counter(one.flag.rule for one in self._flags).most_common()),
            water_cost=water_cost,
        )

    def _band(self, field: str) -> Band:
        """Return the limits of a quantity; of one without limits, nothing lies within."""
        chlorine, ph, paa = self._tank.spec.chlorine, self._tank.spec.ph, self._tank.spec.peracetic
        if field == "fac_mg_l":
            return Band(chlorine.low_mg_l, chlorine.high_mg_l, chlorine.critical_low_mg_l)
        if field == "ph":
            return Band(ph.low, ph.high, kind=Kind.PH)
        if paa is None:
            return Band(math.inf, math.inf)
        return Band(paa.low_mg_l, paa.high_mg_l, paa.critical_low_mg_l)

    def _measured(self, field: str) -> LevelSummary | None:
        """Sum up a quantity; what something unfit read as good does not count as within limits."""
        read = [(one.seq, getattr(one.event, field)) for one in self._read]
        known = [(seq, value) for seq, value in read if value is not None]
        if not known:
            return None
        band, count, values = self._band(field), len(known), [value for _, value in known]
        proving = [value for seq, value in known if (seq, field) not in self._unvouched]
        return LevelSummary(
            count=count,
            lowest=min(values),
            median=median(values),
            highest=max(values),
            within=sum(band.holds(value) for value in proving) / count,
            at_least_critical=sum(not band.is_critical(value) for value in values) / count,
        )

    def _time_shares(self, field: str) -> TimeShares | None:
        band, cut = self._band(field), list(pieces(self._shift, self._tank, field))
        watched_s = sum(piece.length_s for piece in cut)
        if not watched_s:
            return None
        known = [(piece.length_s, piece.value) for piece in cut if piece.value is not None]
        within_s = sum(length_s for length_s, value in known if band.holds(value))
        critical_s = sum(length_s for length_s, value in known if band.is_critical(value))
        known_s = sum(length_s for length_s, _ in known)
        return TimeShares(
            watched_s=watched_s,
            within=within_s / watched_s,
            outside=(known_s - within_s) / watched_s,
            critical=critical_s / watched_s,
            unknown=(watched_s - known_s) / watched_s,
            longest_gap_s=longest_gap_s(self._shift, self._tank, field),
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


def _corrected(shift: ShiftState) -> list[int]:
    """Return the tank or tanks that each correction is about, each once for each."""
    events = {entry.seq: entry.event for entry in shift.entries}
    found: list[int] = []
    for event in events.values():
        if isinstance(event, Corrected):
            both = (events.get(event.entry), event.instead)
            found += {tank for one in both if one is not None for tank in tanks_of(one)}
    return found
