"""What can be measured in a tank: each quantity declared once.

The reading sheet, the checks of an entry, the line that says it was saved, the small values of the
Board, Logbook, printed record, CSV files with their data dictionary, import, practice and Help all
read :data:`QUANTITIES`. A new one takes a field with the default ``None`` in
:class:`~washmon.line.events.ReadingTaken` and a place at the end of the table.
"""

import dataclasses
from collections.abc import Callable, Mapping
from enum import StrEnum

from msgspec import Struct

from washmon.line.events import Instrument, Method, ReadingTaken
from washmon.line.judging import (
    Breach,
    counts_total,
    judge_level,
    judge_look,
    judge_peroxide,
    judge_ph,
    judge_temperature,
    judge_total,
    judge_turbidity,
)
from washmon.line.message import Figure, Message
from washmon.line.setup import Look, Tank
from washmon.units import Kind


class Bound(Struct, frozen=True):
    """Between which values a field is possible, and between which it is likely."""

    name: str
    kind: Kind
    low: float
    high: float
    likely_low: float
    likely_high: float


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class HowMeasured:
    """A field of a reading that says by which method something was measured."""

    field: str
    label: str
    meaning: str
    usual: Method


METHODS = (
    HowMeasured(
        field="fac_method",
        label="Chlorine by",
        meaning="how chlorine was measured: strip, kit or meter",
        usual=Method.STRIP,
    ),
    HowMeasured(
        field="paa_method",
        label="Acid by",
        meaning="how peracetic acid was measured: strip, kit or meter",
        usual=Method.STRIP,
    ),
    HowMeasured(
        field="ph_method",
        label="pH by",
        meaning="how pH was measured: strip, kit or meter",
        usual=Method.METER,
    ),
)

Judge = Callable[[ReadingTaken, Tank], Breach | None]


def _never(_spec: Tank) -> bool:
    return False


def _in_any(_spec: Tank) -> bool:
    return True


def _in_chlorine(spec: Tank) -> bool:
    return spec.peracetic is None


def _in_peracetic(spec: Tank) -> bool:
    return spec.peracetic is not None


def _by(name: str, judge: Callable[[float, Tank], Breach | None]) -> Judge:
    """Return how a value that is held against a limit by itself is judged."""

    def judged(reading: ReadingTaken, spec: Tank) -> Breach | None:
        value: float | None = getattr(reading, name)
        return None if value is None else judge(value, spec)

    return judged


def _level(name: str) -> Judge:
    """Return how the level of the tank's own sanitizer is judged; any other has no limits."""

    def judge(level_mg_l: float, spec: Tank) -> Breach | None:
        return judge_level(level_mg_l, spec) if spec.level_field == name else None

    return _by(name, judge)


def _look(reading: ReadingTaken, spec: Tank) -> Breach | None:
    return None if reading.look is None else judge_look(reading.look, spec)


def _warmth(reading: ReadingTaken, spec: Tank) -> Breach | None:
    if reading.water_c is None or reading.pulp_c is None:
        return None
    return judge_temperature(reading.water_c, reading.pulp_c, spec)


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """Something that is measured. All texts are English, to be translated where they are shown.

    Args:
        field: its name in :class:`ReadingTaken`, and in the CSV file of readings.
        kind: what kind of number it is; ``None`` where one of ``choices`` is seen instead.
        name: in the middle of a sentence.
        label: on the sheet.
        short: over a column and over a small value; what has the same stands in one column.
        said: in a line that tells a reading, with ``{value}``.
        meaning: in the data dictionary, with the unit.
        bounds: lowest and highest that is possible (what the quantity or its instrument allows),
            then lowest and highest that is likely (what wash water is, common practice), in the
            base unit of ``kind``.
        choices: what may be seen: by each its label on the sheet, and how a line tells it.
        fits: in which tanks it can be measured at all.
        asked: which tanks are asked for it at once, without "More…".
        seldom: it comes last on the sheet.
        method: the field that says how it was measured, of :data:`METHODS`.
        instruments: by method (``None`` where there is none), what it was measured with.
        judge: holds it against the limits of its tank.
        is_level: it is what a tank may be kept at: the large figure of a panel, told with method.
        is_moved: what is put into the tank changes it, so it waits until that has mixed in.
        heading: what a column of a spreadsheet is known by (a regular expression, over lower case
            without accents); empty where it can't be imported.
        is_loose: these words stand in headings of other things too, which are looked for before.
        width: on paper, as a share beside the other columns.
    """

    field: str
    kind: Kind | None
    name: str
    label: str
    short: str
    said: str
    meaning: str
    bounds: tuple[float, float, float, float] | None = None
    choices: Mapping[StrEnum, tuple[str, str]] = dataclasses.field(default_factory=dict)
    fits: Callable[[Tank], bool] = _in_any
    asked: Callable[[Tank], bool] = _never
    seldom: bool = False
    method: str = ""
    instruments: Mapping[Method | None, Instrument] = dataclasses.field(default_factory=dict)
    judge: Judge | None = None
    is_level: bool = False
    is_moved: bool = False
    heading: str = ""
    is_loose: bool = False
    width: float = 1.6

    def of(self, reading: ReadingTaken) -> float | StrEnum | None:
        """Return what a reading says of it."""
        value: float | StrEnum | None = getattr(reading, self.field, None)
        return value

    def told(self, reading: ReadingTaken) -> Message | None:
        """Return what a reading says of it as part of a line, if it was measured."""
        value = self.of(reading)
        if isinstance(value, StrEnum):
            return Message(self.choices[value][1])
        if value is None or self.kind is None:
            return None
        return Message(self.said, {"value": Figure(value, self.kind)})


QUANTITIES: tuple[Quantity, ...] = (
    Quantity(
        field="fac_mg_l",
        kind=Kind.CONCENTRATION,
        name="free chlorine",
        label="Free chlorine",
        short="Free chlorine",
        said="{value}",
        meaning="free chlorine, mg/L as Cl2 (ppm)",
        bounds=(0, 1000, 0, 300),
        fits=_in_chlorine,
        asked=_in_chlorine,
        method="fac_method",
        instruments={
            Method.KIT: Instrument.CHLORINE,
            Method.METER: Instrument.CHLORINE,
            Method.STRIP: Instrument.STRIPS,
        },
        judge=_level("fac_mg_l"),
        is_level=True,
        is_moved=True,
        heading=r"ppm|free|chlorine|\bfac\b|\bcl2?\b|cloro|mg/l|sanitizer",
        is_loose=True,
        width=3.3,
    ),
    Quantity(
        field="total_mg_l",
        kind=Kind.CONCENTRATION,
        name="total chlorine",
        label="Total chlorine",
        short="Total",
        said="total chlorine {value}",
        meaning="total chlorine, mg/L as Cl2 (ppm)",
        bounds=(0, 1000, 0, 350),
        fits=_in_chlorine,
        asked=counts_total,
        seldom=True,
        method="fac_method",
        judge=_by("total_mg_l", judge_total),
        is_moved=True,
        heading=r"^(?!.*(\bpaa\b|peracetic|pulp)).*total",
        width=1.7,
    ),
    Quantity(
        field="paa_mg_l",
        kind=Kind.CONCENTRATION,
        name="peracetic acid",
        label="Peracetic acid",
        short="Peracetic acid",
        said="{value} peracetic acid",
        meaning="peracetic acid, mg/L",
        bounds=(0, 2000, 0, 250),
        fits=_in_peracetic,
        asked=_in_peracetic,
        method="paa_method",
        instruments={Method.STRIP: Instrument.STRIPS},
        judge=_level("paa_mg_l"),
        is_level=True,
        is_moved=True,
        heading=r"\bpaa\b|peracetic",
        width=3.3,
    ),
    Quantity(
        field="peroxide_mg_l",
        kind=Kind.CONCENTRATION,
        name="hydrogen peroxide",
        label="Hydrogen peroxide",
        short="Peroxide",
        said="hydrogen peroxide {value}",
        meaning="hydrogen peroxide, mg/L",
        bounds=(0, 5000, 0, 400),
        fits=_in_peracetic,
        judge=_by("peroxide_mg_l", judge_peroxide),
        is_moved=True,
        width=2.0,
    ),
    Quantity(
        field="ph",
        kind=Kind.PH,
        name="pH",
        label="pH",
        short="pH",
        said="pH {value}",
        meaning="pH",
        bounds=(0, 14, 5, 9.5),
        asked=_in_chlorine,
        method="ph_method",
        instruments={Method.METER: Instrument.PH_METER},
        judge=_by("ph", judge_ph),
        is_moved=True,
        heading=r"\bph\b",
        is_loose=True,
        width=1.5,
    ),
    Quantity(
        field="turbidity_ntu",
        kind=Kind.TURBIDITY,
        name="cloudiness",
        label="Cloudiness",
        short="Cloudiness",
        said="{value}",
        meaning="turbidity, NTU",
        bounds=(0, 4000, 0, 1000),
        asked=lambda spec: spec.turbidity_max_ntu is not None,
        judge=_by("turbidity_ntu", judge_turbidity),
        heading=r"turbid|\bntu\b|turbiedad",
        is_loose=True,
        width=1.8,
    ),
    Quantity(
        field="look",
        kind=None,
        name="cloudiness by card",
        label="Card seen through the water",
        short="Cloudiness",
        said="",
        meaning="cloudiness by the card: readable, faint or gone",
        choices={
            Look.READABLE: ("Readable", "card readable"),
            Look.FAINT: ("Faint", "card faint"),
            Look.GONE: ("Gone", "card gone"),
        },
        asked=lambda spec: spec.look_limit is not None,
        judge=_look,
        width=1.8,
    ),
    Quantity(
        field="water_c",
        kind=Kind.TEMPERATURE,
        name="water temperature",
        label="Water",
        short="Water",
        said="water {value}",
        meaning="water temperature, °C",
        bounds=(-2, 80, 0.5, 45),
        asked=lambda spec: spec.temperature_rule is not None,
        judge=_warmth,
        heading=r"temp|°c|°f|\bwater\b|\bagua\b",
        is_loose=True,
        width=1.1,
    ),
    Quantity(
        field="pulp_c",
        kind=Kind.TEMPERATURE,
        name="pulp temperature",
        label="Pulp",
        short="Pulp",
        said="pulp {value}",
        meaning="pulp temperature, °C",
        bounds=(-5, 60, 0, 40),
        asked=lambda spec: spec.temperature_rule is not None,
        heading=r"\bpulp|\bpulpa",
        width=1.1,
    ),
    Quantity(
        field="orp_mv",
        kind=Kind.POTENTIAL,
        name="ORP",
        label="ORP",
        short="ORP",
        said="ORP {value}",
        meaning="oxidation-reduction potential, mV",
        bounds=(-500, 1500, 100, 950),
        seldom=True,
        instruments={None: Instrument.ORP_PROBE},
        is_moved=True,
        heading=r"\borp\b|\bmv\b|redox",
        is_loose=True,
        width=1.3,
    ),
)
"""All that a reading may say, in the order of columns; new ones come last."""

BY_FIELD = {one.field: one for one in QUANTITIES}
NUMBERS = tuple(one for one in QUANTITIES if one.kind is not None)
IN_A_LINE = (*NUMBERS, *(one for one in QUANTITIES if one.kind is None))
"""The order in which a line tells them: what was seen comes after what was measured."""
ON_THE_SHEET = tuple(sorted(IN_A_LINE, key=lambda one: (one.kind is None, one.seldom)))

BOUNDS = {
    one.field: Bound(one.name, one.kind, *one.bounds)
    for one in QUANTITIES
    if one.kind is not None and one.bounds is not None
} | {
    "weight_kg": Bound("weight", Kind.PRODUCE_MASS, 0.001, 50_000, 0.1, 5000),
    "contact_s": Bound("contact time", Kind.CONTACT_TIME, 1, 7200, 5, 1800),
    "volume_l": Bound("volume", Kind.VOLUME, 1, 200_000, 5, 100_000),
}
"""Between which values each number that is entered is possible, and between which likely."""


_JUDGES = tuple((one.field, one.judge) for one in QUANTITIES if one.judge is not None)


def judge_reading(reading: ReadingTaken, spec: Tank) -> dict[str, Breach]:
    """Return what a reading by itself says against the water, by the field that says so."""
    judged = ((name, judge(reading, spec)) for name, judge in _JUDGES)
    return {name: breach for name, breach in judged if breach is not None}


def method_of(reading: ReadingTaken, field_name: str) -> Method | None:
    """Return by which method a field of a reading was measured, where it has one."""
    method = BY_FIELD[field_name].method
    return getattr(reading, method) if method else None
