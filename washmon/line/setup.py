"""The set-up of a wash line: the site, its people, products, tanks and their limits."""

from datetime import date
from enum import StrEnum

from msgspec import Struct

from washmon.chemistry.acid import AcidKind
from washmon.chemistry.ageing import WEAK_SHARE
from washmon.chemistry.chlorine_gas import EIGHT_HOUR_LIMIT_PPM
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.chemistry.peracetic import (
    LIMIT_HEDP_MG_L,
    LIMIT_PAA_MG_L,
    LIMIT_PEROXIDE_MG_L,
)
from washmon.line.working_days import WorkCalendar
from washmon.units import UnitSystem


class Role(StrEnum):
    """What a person does in the shed."""

    LINE_WORKER = "line worker"
    SUPERVISOR = "supervisor"
    TRAINER = "trainer"
    MANAGER = "manager"


DECIDERS = frozenset({Role.SUPERVISOR, Role.MANAGER})
"""Who may decide on held product."""


class Stage(StrEnum):
    """What a tank does in the line."""

    WASH = "wash"
    RINSE = "rinse"
    FLUME = "flume"
    DUMP_TANK = "dump tank"


class LabelBasis(StrEnum):
    """Which chlorine the maximum on a product label speaks of."""

    FREE = "free"
    TOTAL = "total"


class SanitizerKind(StrEnum):
    """What a sanitizer is; the first two bring hypochlorite."""

    SODIUM = "sodium hypochlorite"
    CALCIUM = "calcium hypochlorite"
    PERACETIC = "peracetic acid"


class Look(StrEnum):
    """Cloudiness by eye: a card seen through the sample, in three steps from clear to dark."""

    READABLE = "readable"
    FAINT = "faint"
    GONE = "gone"


class TemperatureRuleKind(StrEnum):
    """Two opposite rules, chosen by commodity."""

    WARMER = "water at least so much warmer than the pulp"
    NOT_COLDER = "water at most so much colder than the pulp"


class Person(Struct, frozen=True, kw_only=True):
    """Somebody who enters or signs."""

    initials: str
    name: str
    role: Role


class Lot(Struct, frozen=True, kw_only=True):
    """A lot of produce: its code, what it is, and the field or supplier that it came from."""

    code: str
    produce: str
    source: str = ""


class SoldBy(StrEnum):
    """What the amount on a bill counts."""

    VOLUME = "volume"
    WEIGHT = "weight"


class Price(Struct, frozen=True, kw_only=True):
    """What was paid: ``cost``, in the currency of the set-up, for ``amount`` as it was bought.

    The amount is in litres or, sold by weight, in kilograms.
    """

    cost: float
    amount: float
    sold_by: SoldBy = SoldBy.VOLUME


class Sanitizer(Struct, frozen=True, kw_only=True):
    """A product as its container says.

    ``strength`` of a hypochlorite counts in ``basis``; ``density_kg_l`` is needed for the two
    weight percents of a liquid and meaningless for a solid. Of peracetic acid, ``strength`` and the
    contents beside it are percent by weight, and there is no basis.
    """

    key: str
    name: str
    kind: SanitizerKind
    strength: float | None = None
    basis: StrengthBasis | None = None
    density_kg_l: float | None = None
    lot: str = ""
    made_on: date | None = None
    opened_on: date | None = None
    use_by: date | None = None
    storage_c: float | None = None
    """Where it stands, degrees Celsius; ``None`` is not known."""
    tested_g_l: float | None = None
    """Available chlorine of a liquid, g/L, as a kit or a titration found it on ``tested_on``."""
    tested_on: date | None = None
    peroxide_pct: float | None = None
    hedp_pct: float | None = None
    price: Price | None = None
    """Of a container; ``None`` is not known, which is not the same as free."""
    caustic_pct: float | None = None
    """Sodium hydroxide in a liquid hypochlorite, % by weight, as data sheets tell it; ``None`` is
    not known."""


class Acid(Struct, frozen=True, kw_only=True):
    """An acid product as its container says; ``strength_pct`` by weight (vinegar: g per 100 mL)."""

    key: str
    name: str
    kind: AcidKind
    strength_pct: float
    lot: str = ""
    use_by: date | None = None
    price: Price | None = None
    """Of a container; ``None`` is not known."""
    density_kg_l: float | None = None
    """Of a liquid, where its container tells it; else the usual one of its strength is taken."""


class ChlorineLimits(Struct, frozen=True, kw_only=True):
    """Free chlorine, mg/L as Cl2: critical low < low < target < high <= label maximum."""

    critical_low_mg_l: float
    low_mg_l: float
    target_mg_l: float
    high_mg_l: float
    label_max_mg_l: float
    label_basis: LabelBasis | None = None


class PeraceticLimits(Struct, frozen=True, kw_only=True):
    """Peracetic acid, mg/L: critical low < low < target < high <= label maximum.

    The legal limits are those of 21 CFR 173.315(a)(5), and hold for what comes with it, too.
    """

    critical_low_mg_l: float
    low_mg_l: float
    target_mg_l: float
    high_mg_l: float
    label_max_mg_l: float
    legal_paa_mg_l: float = LIMIT_PAA_MG_L
    legal_peroxide_mg_l: float = LIMIT_PEROXIDE_MG_L
    legal_hedp_mg_l: float = LIMIT_HEDP_MG_L


class PhLimits(Struct, frozen=True, kw_only=True):
    """pH: low < target < high."""

    low: float = 6.5
    target: float = 7.0
    high: float = 7.5


class TemperatureRule(Struct, frozen=True, kw_only=True):
    """How warm the water must be against the pulp; ``by_c`` is a difference in degrees Celsius."""

    kind: TemperatureRuleKind
    by_c: float


class Shape(StrEnum):
    """The shapes that a working volume can be worked out for."""

    RECTANGULAR = "rectangular"
    ROUND = "round"
    TROUGH = "trough"


class InsideMeasurements(Struct, frozen=True, kw_only=True):
    """What was measured inside a tank, in centimetres.

    A round tank has ``width_cm`` as its diameter and no length. A trough is a half-round channel:
    ``width_cm`` is the diameter of the half circle, ``length_cm`` runs along it.
    """

    shape: Shape
    width_cm: float
    depth_cm: float
    length_cm: float | None = None


class Tank(Struct, frozen=True, kw_only=True):
    """One tank of the line with everything that is wanted of its water.

    A tank with ``peracetic`` limits is kept with peracetic acid: its chlorine and pH limits mean
    nothing.
    """

    number: int
    name: str
    stage: Stage
    volume_l: float
    sanitizer: str
    chlorine: ChlorineLimits
    ph: PhLimits = PhLimits()
    measured: InsideMeasurements | None = None
    acid: str | None = None
    turbidity_max_ntu: float | None = None
    look_limit: Look | None = Look.GONE
    batches_per_fill: int | None = None
    hours_per_fill: float | None = None
    check_batches: int | None = None
    check_minutes: float | None = None
    contact_s: float | None = None
    temperature_rule: TemperatureRule | None = None
    mix_minutes: float = 5.0
    min_batches_per_dose: int = 3
    peracetic: PeraceticLimits | None = None
    critical_contact_s: float | None = None
    """A batch that stayed shorter is held; ``None``: contact time is no critical limit here."""
    critical_ph: float | None = None
    """What was washed over this pH is held; ``None``: pH is no critical limit here."""
    critical_temperature: bool = False
    """Whether what was washed in water colder than the temperature rule allows is held."""
    second_volume_l: float | None = None
    """Of the vessel beside it, in which a second fill is made ready; ``None``: there is none."""
    dose_over_target: bool = True
    """Whether a dose may go over the target, up to the operating high, so that it lasts longer."""
    second_check_min: float = 60.0
    """A second fill that waited longer is checked again before it is swapped in: sanitizer is lost
    meanwhile. Common practice, no published source."""

    @property
    def limits(self) -> ChlorineLimits | PeraceticLimits:
        """What its sanitizer must keep to."""
        return self.peracetic or self.chlorine

    @property
    def level_field(self) -> str:
        """The field of a reading that tells its level, mg/L."""
        return "paa_mg_l" if self.peracetic else "fac_mg_l"


class SourceWater(Struct, frozen=True, kw_only=True):
    """The water that tanks are filled with, as a water report tells it; ``None`` is not known."""

    alkalinity_mg_l: float | None = None
    """As CaCO3."""
    alkalinity_error_mg_l: float | None = None
    """It lies within so much of it; ``None`` takes the usual error of a kit or a report."""
    ph: float | None = None
    ph_error: float | None = None
    chloride_mg_l: float | None = None


class Margins(Struct, frozen=True, kw_only=True):
    """Deadbands and delays that keep a flag from fluttering (terms of ANSI/ISA-18.2)."""

    chlorine_deadband_fraction: float = 0.05
    """Of the target, mg/L: how far back inside its limit free chlorine must come."""
    ph_deadband: float = 0.1
    turbidity_deadband_fraction: float = 0.1
    temperature_deadband_c: float = 0.5
    overdue_delay_min: float = 2.0
    shelve_longest_min: float = 60.0
    """So long a flag may be shelved at most; common practice, no published source."""
    act_ph: float = 8.0
    """Over this pH chlorine works so badly that a high pH presses."""
    gas_ph: float = 6.0
    """Under this pH, where free chlorine is not known, gas is feared enough to stop work."""
    gas_air_ppm: float = EIGHT_HOUR_LIMIT_PPM
    """Chlorine in the air over the water, ppm by volume, that stops work: the 8-hour limit at the
    pH that was read, twice that (OSHA's ceiling) at the lowest it may be."""
    gas_deadband_fraction: float = 0.2
    weak_strength_fraction: float = WEAK_SHARE
    """Of the label: under this a container is called weak; common practice, no published source."""
    redose_soon_batches: float = 2.0
    """So many batches before a dose is expected it is announced."""
    change_near_min: float = 20.0
    change_near_batches: float = 4.0
    combined_share: float = 0.4
    """Of the total chlorine: more than that combined is too much; common practice."""
    rinse_share: float = 0.5
    """Of the cloudiness of the wash before it: cloudier, a rinse carries dirt over."""


class RuleOff(Struct, frozen=True, kw_only=True):
    """A rule that somebody switched off for a line, and why."""

    rule: str
    reason: str
    by: str = ""
    """Initials of who switched it off; empty where it is not known."""
    since: date | None = None


class Unfit(Struct, frozen=True, kw_only=True):
    """An instrument that may not be used, as its last check found."""

    instrument: str
    """Its name, as in :class:`washmon.line.events.Instrument`."""
    since: date
    """The day of that check."""


class LineSetup(Struct, frozen=True, kw_only=True):
    """A whole line, as journaled with each shift that ran on it."""

    site: str
    location: str
    line: str
    commodity: str
    people: tuple[Person, ...]
    tanks: tuple[Tank, ...]
    sanitizers: tuple[Sanitizer, ...]
    acids: tuple[Acid, ...] = ()
    measures: tuple[str, ...] = ()
    """Names of the measures that the shed owns (see :mod:`washmon.chemistry.measures`)."""
    taste: UnitSystem = UnitSystem.METRIC
    margins: Margins = Margins()
    source: SourceWater = SourceWater()
    strips_use_by: date | None = None
    """Of the strips in use."""
    strip_pads_mg_l: tuple[float, ...] = ()
    """Free chlorine that the pads of the strips in use stand for, mg/L, rising from 0, as printed
    on the pack; empty where nobody told: then a usual high-range strip is taken."""
    meter_checked_on: date | None = None
    """When the pH meter was last checked in buffers."""
    meter_check_days: int = 7
    instruments_unfit: tuple[Unfit, ...] = ()
    """Left so by an earlier shift; a check that one passes takes it away."""
    learned_since: date | None = None
    """The forecast learns from past shifts that began on this day or later; before it there is
    nothing that still tells of produce, product and instruments as they are."""
    rules_off: tuple[RuleOff, ...] = ()
    currency: str = ""
    """Of all prices: three letters as in ISO 4217; empty where no price is known."""
    water_price: Price | None = None
    """Of the water that tanks are filled with, by volume; ``None`` is not known."""
    calendar: WorkCalendar = WorkCalendar()
    """By which the days until a review are counted."""

    @property
    def place(self) -> str:
        """Site and location, as far as they are written."""
        return ", ".join(part for part in (self.site, self.location) if part)

    def tank(self, number: int) -> Tank:
        """Return the tank with this number.

        Raises:
            KeyError: the line has no such tank.
        """
        for tank in self.tanks:
            if tank.number == number:
                return tank
        raise KeyError(number)

    def person(self, initials: str) -> Person | None:
        """Return who has these initials, if anybody."""
        return next((one for one in self.people if one.initials == initials), None)

    def sanitizer(self, key: str) -> Sanitizer | None:
        """Return the sanitizer with this key, if the set-up has it."""
        return next((one for one in self.sanitizers if one.key == key), None)

    def acid(self, key: str | None) -> Acid | None:
        """Return the acid with this key, if the set-up has it."""
        return next((one for one in self.acids if one.key == key), None)
