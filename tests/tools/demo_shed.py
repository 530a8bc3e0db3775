"""Tells an invented shift to the real recorder: a clock that the story moves, and model water."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any, NamedTuple, Self

from msgspec.structs import replace

from tests.tools.demo_water import Produce, Source, TankWater
from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    Checked,
    Correctable,
    Corrected,
    Decision,
    DoseAdded,
    Event,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    Method,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flag_events import Acknowledged
from washmon.line.flags import Amount, Flag, Step, StepKind
from washmon.line.journal import Entry
from washmon.line.measure import measured
from washmon.line.product import rise
from washmon.line.setup import (
    Acid,
    LabelBasis,
    LineSetup,
    Lot,
    Person,
    Price,
    Role,
    Sanitizer,
    SoldBy,
    Tank,
)
from washmon.line.templates import templates
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Recorder, Saved
from washmon.rules.in_question import to_hold
from washmon.sessions.file import compose
from washmon.store.store import Store
from washmon.units import UnitSystem

ENTRY_S = 15
TICK_S = 30
LONG_S = 30.0
PEOPLE = (
    Person(initials="RM", name="Supervisor, early", role=Role.SUPERVISOR),
    Person(initials="JO", name="Supervisor, late", role=Role.SUPERVISOR),
    Person(initials="TK", name="Line worker", role=Role.LINE_WORKER),
    Person(initials="AS", name="Manager", role=Role.MANAGER),
)
CHECKS = (
    "Tanks cleaned",
    "Potable water",
    "Strips in date",
    "Goggles and gloves on",
    "Label read",
)
VINEGAR = Acid(
    key="vinegar",
    name="white vinegar",
    kind=AcidKind.VINEGAR,
    strength_pct=5.0,
    price=Price(cost=6.0, amount=5.0),
)
PHOSPHORIC = Acid(
    key="phosphoric",
    name="phosphoric acid 75 %",
    kind=AcidKind.PHOSPHORIC,
    strength_pct=75.0,
    price=Price(cost=84.0, amount=35.0, sold_by=SoldBy.WEIGHT),
    density_kg_l=1.57,
)
WATER_PRICE = Price(cost=2.4, amount=1000.0)


def line_from_template(
    commodity: str,
    site: str,
    *,
    acid: Acid = VINEGAR,
    taste: UnitSystem = UnitSystem.METRIC,
    measures: Sequence[str] = (),
    tanks: Mapping[int, Mapping[str, object]] | None = None,
) -> LineSetup:
    """Return one of our templates as an invented shed has filled it in."""
    draft = next(one for one in templates() if one.commodity == commodity).draft(taste)
    changes = tanks or {}
    return replace(
        draft,
        site=site,
        location="An invented place",
        people=PEOPLE,
        measures=tuple(measures),
        sanitizers=(_bleach(draft.sanitizers[0]),),
        acids=(acid,),
        currency="USD" if taste is UnitSystem.US else "EUR",
        water_price=WATER_PRICE,
        tanks=tuple(_filled_in(tank, acid, changes.get(tank.number, {})) for tank in draft.tanks),
    )


def _bleach(product: Sanitizer) -> Sanitizer:
    return replace(
        product,
        name="hypochlorite 12.5 %",
        strength=12.5,
        basis=StrengthBasis.TRADE_PCT,
        density_kg_l=1.17,
        lot="H-114",
        price=Price(cost=28.0, amount=20.0),
    )


def _filled_in(tank: Tank, acid: Acid, changes: Mapping[str, object]) -> Tank:
    chlorine = replace(tank.chlorine, label_basis=LabelBasis.FREE)
    return replace(tank, chlorine=chlorine, acid=acid.key, **changes)


class DemoShift(NamedTuple):
    """What a story starts from."""

    title: str
    note: str
    setup: LineSetup
    source: Source
    produce: Produce
    begins: datetime
    lots: tuple[Lot, ...]


class DemoShed:
    """A shift in the making. Every call is one entry, in the order in which it is told."""

    def __init__(self, folder: Path, shift: DemoShift) -> None:
        self.setup, self.produce, self.lots = shift.setup, shift.produce, shift.lots
        self.begins = self.now = shift.begins
        self.by = "RM"
        self.chain = ""
        self._latest = Snapshot(now=self.now)
        self._store = Store.open(folder / "demo.db")
        self._recorder = Recorder(
            self._store, self._keep, clock=self._clock, tick_s=3600, ahead_s=0
        )
        self._recorder.start()
        self.water = {
            tank.number: TankWater(shift.source, tank.volume_l) for tank in self.setup.tanks
        }

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._recorder.close()

    def _keep(self, snapshot: Snapshot) -> None:
        self._latest = snapshot

    def _clock(self) -> datetime:
        return self.now

    # -- time -----------------------------------------------------------------------------------

    def at(self, clock: str) -> None:
        """Go on to a time of day; the rules look twice a minute, as they do in a shed."""
        hour, minute = clock.split(":")
        until = self.begins.replace(hour=int(hour), minute=int(minute), second=0)
        if until < self.now:
            raise ValueError(f"The story is already past {clock}: it is {self.now:%H:%M:%S}.")
        self._pass(until)

    def wait(self, minutes: float) -> None:
        """Let time pass."""
        self._pass(self.now + timedelta(minutes=minutes))

    def _pass(self, until: datetime) -> None:
        while self.now < until:
            ticks = (self.now - self.begins) // timedelta(seconds=TICK_S) + 1
            then = min(until, self.begins + ticks * timedelta(seconds=TICK_S))
            for water in self.water.values():
                water.rest((then - self.now).total_seconds() / 60)
            self.now = then
            if then < until:
                self._recorder.look_again().result(LONG_S)

    # -- entries --------------------------------------------------------------------------------

    def enter(self, event: Event, *, sure: bool = False) -> Entry:
        """Enter an event; a story must not be refused."""
        answer = self._recorder.enter(event, sure=sure).result(LONG_S)
        if not isinstance(answer, Saved):
            raise TypeError(f"{self.now:%H:%M} {event}: {answer}")
        self.chain = answer.chain
        self._pass(self.now + timedelta(seconds=ENTRY_S))
        return answer.entry

    def start(self, *, unchecked: str = "") -> None:
        """Start the shift."""
        checks = tuple(Checked(item=item, done=item != unchecked) for item in CHECKS)
        self.enter(
            ShiftStarted(at=self.now, by=self.by, setup=self.setup, lots=self.lots, checks=checks)
        )

    def fill(self, *tanks: int) -> None:
        """Fill tanks with fresh water, or change their water."""
        for tank in tanks:
            volume = self.setup.tank(tank).volume_l
            self.enter(TankFilled(at=self.now, by=self.by, tank=tank, volume_l=volume))
            self.water[tank].refill()

    def exchange(self, tank: int, litres: float) -> None:
        """Drain some of the water and put fresh water in."""
        self.enter(WaterExchanged(at=self.now, by=self.by, tank=tank, volume_l=litres))
        self.water[tank].exchange(litres)

    def dose(self, tank: int, ml: float, as_entered: str = "", *, sure: bool = False) -> None:
        """Add hypochlorite."""
        product, amount = self.setup.sanitizers[0], Amount(ml, "mL")
        self._add(DoseAdded, tank, product.key, amount, as_entered, sure=sure)
        self.water[tank].dose(rise(product, self.water[tank].volume_l, amount))

    def _add(
        self,
        kind: type[DoseAdded | AcidAdded],
        tank: int,
        key: str,
        amount: Amount,
        words: str,
        *,
        sure: bool,
    ) -> None:
        words = words or f"{amount.value:g} {amount.unit}"
        added = kind(
            at=self.now, by=self.by, tank=tank, product=key, amount=amount, as_entered=words
        )
        self.enter(added, sure=sure)

    def acid(self, tank: int, ml: float, as_entered: str = "", *, sure: bool = False) -> None:
        """Add acid."""
        product, amount = self.setup.acids[0], Amount(ml, "mL")
        self._add(AcidAdded, tank, product.key, amount, as_entered, sure=sure)
        self.water[tank].acid(product.kind, ml, product.strength_pct)

    def heed(self, tank: int) -> None:
        """Add what the Board asks for, in the measure that the shed owns."""
        step = self._latest.advice.tank(tank).step
        if step.amount is None or step.kind not in {StepKind.DOSE, StepKind.ACID}:
            raise ValueError(f"{self.now:%H:%M}: the Board asks for {step.kind} in tank {tank}.")
        acid = step.kind is StepKind.ACID
        amount = measured(step.amount, self.setup, at_most=step.amount if acid else None)
        (self.acid if acid else self.dose)(tank, round(amount.actual, 3), amount.describe())

    def asks(self, tank: int) -> StepKind:
        """Return what the Board asks for in a tank."""
        return self._latest.advice.tank(tank).step.kind

    def second_step(self, tank: int) -> Step:
        """Return what the Board asks for in the second fill of a tank."""
        second = self._latest.advice.tank(tank).second
        if second is None or second.step is None:
            raise ValueError(f"Tank {tank} has no second vessel, or nothing to do there.")
        return second.step

    def check(self, *tanks: int, ntu: bool = False) -> None:
        """Read tanks; add what the Board then asks for, let it mix in, and read those again."""
        for tank in tanks:
            self.read(tank, *(("ntu",) if ntu else ()))
        self.treat(*tanks)

    def treat(self, *tanks: int) -> None:
        """Add what the Board asks for, let it mix in, and read those tanks."""
        treated = [tank for tank in tanks if self.asks(tank) in {StepKind.DOSE, StepKind.ACID}]
        for tank in treated:
            self.heed(tank)
        if treated:
            self.wait(self.setup.tanks[0].mix_minutes)
            for tank in treated:
                self.read(tank)

    def make_up(self, *tanks: int, readings: tuple[str, ...] = ("ntu", "water")) -> None:
        """Fill tanks, dose them as the Board says, and read them once it has mixed in."""
        for tank in tanks:
            self.fill(tank)
            self.heed(tank)
        self.wait(self.setup.tanks[0].mix_minutes)
        for tank in tanks:
            self.read(tank, *readings)

    def read(self, tank: int, *more: str, method: Method = Method.KIT, **seen: object) -> Entry:
        """Measure free chlorine and pH, and ``more`` (ntu, water, pulp); ``seen`` overrides."""
        reading = replace(self.seen(tank, *more), fac_method=method)
        sure = bool(seen.pop("sure", False))
        return self.enter(replace(reading, **seen), sure=sure)

    def seen(self, tank: int, *more: str, water: TankWater | None = None) -> ReadingTaken:
        """Return what a kit and a meter show in a tank, or in other ``water`` beside it."""
        water = water or self.water[tank]
        return ReadingTaken(
            at=self.now,
            by=self.by,
            tank=tank,
            fac_mg_l=_as_read(water.free),
            fac_method=Method.KIT,
            ph=round(water.ph, 1),
            turbidity_ntu=round(water.ntu) if "ntu" in more else None,
            water_c=round(2 * water.celsius) / 2 if "water" in more else None,
            pulp_c=self.produce.pulp_c if "pulp" in more else None,
        )

    def wash(
        self, times: int, tanks: tuple[int, ...], kg: float, *, every: float, lot: int = 0
    ) -> list[Entry]:
        """Wash batches: most of what they bring stays in the first tank, the rest is carried on."""
        made = []
        for _ in range(times):
            self.wait(every - ENTRY_S / 60)
            batch = BatchWashed(
                at=self.now, by=self.by, tanks=tanks, lot=self.lots[lot].code, weight_kg=kg
            )
            made.append(self.enter(batch))
            carried = kg
            for tank in tanks:
                self.water[tank].wash(self.produce, (1 - self.produce.carried) * carried)
                carried *= self.produce.carried
        return made

    def note(self, text: str, tank: int | None = None) -> Entry:
        """Write a remark."""
        return self.enter(NoteWritten(at=self.now, by=self.by, text=text, tank=tank))

    def acknowledge(self, tank: int, rule: str) -> None:
        """Acknowledge a flag."""
        self.enter(Acknowledged(at=self.now, by=self.by, tank=tank, rule=rule))

    def flag(self, tank: int, rule: str) -> Flag:
        """Return a flag that must be up."""
        up = {one.key: one for one in self._latest.advice.flags}
        if (tank, rule) not in up:
            raise ValueError(f"{self.now:%H:%M}: of {rule} in tank {tank} the Board says nothing.")
        return up[tank, rule]

    def hold(self, tank: int, reason: str) -> Entry:
        """Hold the batches that the Board asks to hold."""
        self.flag(tank, "hold")
        shift = self._latest.shift
        assert shift is not None
        batches = tuple(sorted(to_hold(shift, shift.tank(tank))))
        return self.enter(
            HoldPlaced(at=self.now, by=self.by, tank=tank, batches=batches, reason=reason)
        )

    def release(self, hold: Entry, decision: Decision, reason: str, **parts: Any) -> None:
        """Decide on a hold; ``parts`` are the rest of the corrective action."""
        what = {"hold": hold.seq, "decision": decision, "reason": reason, **parts}
        self.enter(HoldReleased(at=self.now, by=self.by, **what))

    def correct(self, wrong: Entry, reason: str, **right: object) -> None:
        """Correct an entry."""
        if not isinstance(wrong.event, Correctable):
            raise TypeError(f"A story can't correct {wrong.event}.")
        instead = replace(wrong.event, **right)
        self.enter(
            Corrected(at=self.now, by=self.by, entry=wrong.seq, reason=reason, instead=instead),
            sure=True,  # a bad reading that is made good is asked about
        )

    def hand_over(self, to: str, note: str) -> None:
        """Hand the shift to another person."""
        self.enter(HandedOver(at=self.now, by=self.by, to=to, note=note))
        self.by = to

    def end(self, note: str = "", holds_to: str | None = None) -> None:
        """End the shift."""
        self.enter(ShiftEnded(at=self.now, by=self.by, note=note, holds_to=holds_to))

    def session(self, title: str, note: str) -> bytes:
        """Return the shift as a session file."""
        rows = self._recorder.read(lambda store: store.rows(self.chain)).result(LONG_S)
        return compose(self.chain, rows, title, note, program="washmon, an invented shift")


def _as_read(level: float) -> float:
    """Return a level as a drop-count kit shows it: to 1 mg/L, under 20 to half of one."""
    return float(round(level)) if level >= 20 else round(level * 2) / 2


def shed_time(day: int, hour: int, minute: int, offset_h: float = -4) -> datetime:
    """Return a moment in May 2026."""
    zone = timezone(timedelta(hours=offset_h))
    return datetime(2026, 5, day, hour, minute, tzinfo=zone)
