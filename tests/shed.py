"""An invented shed for tests: a small line, and a shift on it that is told event by event."""

from datetime import datetime, timedelta, timezone
from typing import Self

from msgspec import UNSET
from msgspec.structs import replace

from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.forecast.forecast_cache import ForecastCache
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    Event,
    HoldPlaced,
    Method,
    ReadingTaken,
    SecondSwapped,
    ShiftStarted,
    TankFilled,
)
from washmon.line.flag_events import FlagShelved
from washmon.line.flags import Amount, Flag
from washmon.line.fold import begin, step
from washmon.line.journal import Entry, extend
from washmon.line.kinds import phrases
from washmon.line.message import say, spoken
from washmon.line.plan import Plan
from washmon.line.registers import Registers, Thing
from washmon.line.setup import (
    Acid,
    ChlorineLimits,
    LabelBasis,
    LineSetup,
    Look,
    Lot,
    PeraceticLimits,
    Person,
    Role,
    Sanitizer,
    SanitizerKind,
    Stage,
    Tank,
)
from washmon.planning.advice import Advice, advise, changed_flags
from washmon.rules.catalogue import LEVELS
from washmon.units import UnitSystem

START = datetime(2026, 5, 7, 7, 0, tzinfo=timezone(timedelta(hours=-4)))
CHAIN = "shift-test"


def a_tank(number: int, name: str, stage: Stage = Stage.WASH, **changes: object) -> Tank:
    """Return a wash tank of 500 L: target 50, band 35 to 75, critical 25 mg/L."""
    tank = Tank(
        number=number,
        name=name,
        stage=stage,
        volume_l=500.0,
        sanitizer="bleach",
        acid="vinegar",
        chlorine=ChlorineLimits(
            critical_low_mg_l=25,
            low_mg_l=35,
            target_mg_l=50,
            high_mg_l=75,
            label_max_mg_l=100,
            label_basis=LabelBasis.FREE,
        ),
        turbidity_max_ntu=60.0,
        batches_per_fill=40,
        hours_per_fill=4.0,
        check_batches=6,
        check_minutes=30.0,
        contact_s=60.0,
    )
    return replace(tank, **changes)


def a_setup(*tanks: Tank, **changes: object) -> LineSetup:
    """Return a valid set-up; two wash tanks unless others are given."""
    setup = LineSetup(
        site="Test shed",
        location="Bay 2",
        line="Leaf line",
        commodity="baby chard",
        people=(
            Person(initials="RM", name="R. M.", role=Role.SUPERVISOR),
            Person(initials="TK", name="T. K.", role=Role.LINE_WORKER),
        ),
        tanks=tanks or (a_tank(1, "First dunk"), a_tank(2, "Second dunk")),
        sanitizers=(
            Sanitizer(
                key="bleach",
                name="hypochlorite",
                kind=SanitizerKind.SODIUM,
                strength=12.5,
                basis=StrengthBasis.TRADE_PCT,
                density_kg_l=1.17,
            ),
        ),
        acids=(Acid(key="vinegar", name="vinegar", kind=AcidKind.VINEGAR, strength_pct=5.0),),
        taste=UnitSystem.METRIC,
    )
    return replace(setup, **changes)


def a_peracetic_setup(**product: float) -> LineSetup:
    """Return a line of one tank kept at 50 mg/L of peracetic acid (30 to 70, critical 20).

    15 % acid, 10 % hydrogen peroxide, 0.6 % HEDP, 1.12 kg/L: as such products are sold (values
    from memory).
    """
    paa = Sanitizer(
        key="paa",
        name="peracetic acid",
        kind=SanitizerKind.PERACETIC,
        strength=15.0,
        density_kg_l=1.12,
        peroxide_pct=10.0,
        hedp_pct=0.6,
    )
    limits = PeraceticLimits(
        critical_low_mg_l=20, low_mg_l=30, target_mg_l=50, high_mg_l=70, label_max_mg_l=80
    )
    tank = a_tank(1, "Flume", acid=None, sanitizer="paa", peracetic=limits)
    return a_setup(tank, sanitizers=(replace(paa, **product),), acids=())


def in_a_line(event: Event, setup: LineSetup, taste: UnitSystem = UnitSystem.METRIC) -> str:
    """Return an event in one line, its rules by their id."""
    return spoken(phrases(event, setup), lambda phrase: say(phrase, taste))


def as_listed(advice: Advice) -> Advice:
    """Return advice whose flags and notes press as the list of rules says, wherever it is asked."""
    notes = (note for tank in advice.tanks for note in tank.notes)
    for one in (*advice.flags, *notes):
        assert one.rule not in LEVELS or one.level in LEVELS[one.rule], one
    return advice


class Shed:
    """A shift in the making: tell it what happens, ask it what the rules say."""

    def __init__(
        self,
        setup: LineSetup | None = None,
        *,
        start: datetime = START,
        registers: tuple[Thing, ...] = (),
    ) -> None:
        self.now = start
        started = ShiftStarted(
            at=start,
            by="RM",
            setup=setup or a_setup(),
            lots=(Lot(code="L-1", produce="baby chard"),),
            registers=Registers(things=registers) if registers else UNSET,
        )
        ((self._last, _),) = extend(CHAIN, None, [started], self.now)
        self.shift = begin(CHAIN, self._last)

    def tell(self, event: Event) -> Entry:
        """Journal any event."""
        ((entry, _),) = extend(CHAIN, self._last, [event], self.now)
        self._last = entry
        self.shift = step(self.shift, entry)
        return entry

    def wait(self, minutes: float) -> Self:
        """Let time pass."""
        self.now += timedelta(minutes=minutes)
        return self

    def fill(self, tank: int = 1, volume_l: float = 500.0, *, second: bool = False) -> Entry:
        """Fill a tank, or change its water; or fill the vessel of its second fill."""
        filled = TankFilled(at=self.now, by="RM", tank=tank, volume_l=volume_l, second=second)
        return self.tell(filled)

    def swap(self, tank: int = 1) -> Entry:
        """Swap the second fill of a tank in."""
        return self.tell(SecondSwapped(at=self.now, by="RM", tank=tank))

    def shelve(
        self, rule: str = "chlorine-low", tank: int = 1, *, minutes: float = 20, by: str = "RM"
    ) -> Entry:
        """Put a flag that is up aside, as it presses now."""
        up = {record.flag.key: record.flag.level for record in self.shift.open_flags}
        return self.tell(
            FlagShelved(
                at=self.now,
                by=by,
                tank=tank,
                rule=rule,
                level=up[tank, rule],
                until=self.now + timedelta(minutes=minutes),
                reason="a kit is being fetched",
            )
        )

    def read(
        self,
        tank: int = 1,
        fac: float | None = None,
        *,
        method: Method = Method.KIT,
        **values: float | Look | Method | dict[str, str],
    ) -> Entry:
        """Measure something."""
        reading = ReadingTaken(at=self.now, by="RM", tank=tank, fac_mg_l=fac, fac_method=method)
        return self.tell(replace(reading, **values))

    def dose(self, tank: int = 1, ml: float = 60.0, *, second: bool = False) -> Entry:
        """Add hypochlorite."""
        return self.tell(
            DoseAdded(
                at=self.now,
                by="RM",
                tank=tank,
                product=self.shift.tank(tank).spec.sanitizer,
                amount=Amount(ml, "mL"),
                second=second,
            )
        )

    def acid(self, tank: int = 1, ml: float = 60.0, *, second: bool = False) -> Entry:
        """Add vinegar."""
        amount = Amount(ml, "mL")
        return self.tell(
            AcidAdded(
                at=self.now, by="RM", tank=tank, product="vinegar", amount=amount, second=second
            )
        )

    def wash(
        self, times: int = 1, *, tanks: tuple[int, ...] = (1,), contact_s: float | None = None
    ) -> list[Entry]:
        """Wash batches, two minutes apart."""
        entries = []
        for _ in range(times):
            self.wait(2)
            batch = BatchWashed(at=self.now, by="RM", tanks=tanks, lot="L-1", contact_s=contact_s)
            entries.append(self.tell(batch))
        return entries

    def hold(self, *batches: int, tank: int = 1) -> Entry:
        """Hold batches."""
        return self.tell(
            HoldPlaced(at=self.now, by="RM", tank=tank, batches=batches, reason="low chlorine")
        )

    def look(self) -> Advice:
        """Let the rules look, and journal what they found."""
        advice = as_listed(advise(self.shift, self.now))
        if changed := changed_flags(self.shift, advice, self.now):
            self.tell(changed)
        return advice

    def flag(self, rule: str, tank: int = 1) -> Flag | None:
        """Return a rule's flag on a tank as of now, if it is up."""
        return next((one for one in self.look().flags if one.key == (tank, rule)), None)

    def rules_up(self, tank: int = 1) -> list[str]:
        """Return the ids of the rules that have a flag up on a tank."""
        return [flag.rule for flag in self.look().flags if flag.tank == tank]

    def plan(self, tank: int = 1) -> Plan:
        """Return a tank's plan as of now."""
        return self.look().tank(tank).plan

    def noted(self, rule: str, tank: int = 1) -> Flag | None:
        """Return what a rule notes of a tank as of now; a note asks for nobody's hand."""
        return next((one for one in self.look().tank(tank).notes if one.rule == rule), None)

    def foresee(self) -> Advice:
        """Return what is said of the line with forecasts made now; nothing is journaled."""
        forecasts = ForecastCache().renewed(self.shift, self.now)
        return as_listed(advise(self.shift, self.now, forecasts=forecasts))
