"""What the practice model believes: the parameters under ``resources/practice``, read strictly."""

import tomllib
from collections.abc import Mapping
from enum import StrEnum
from functools import cache
from math import isfinite
from pathlib import Path
from typing import Annotated, NamedTuple, TypeVar, get_args, get_type_hints

import msgspec
from msgspec import Struct

from washmon.data import resource
from washmon.units import PlainError


class PracticeError(PlainError):
    """A practice file cannot be used, or something was asked that no wash line can do."""


class Dirtiness(StrEnum):
    """How dirty the produce comes in."""

    CLEAN = "clean"
    USUAL = "usual"
    DIRTY = "dirty"
    MUDDY = "muddy"


class PracticeInstrument(StrEnum):
    """What a person may measure with."""

    STRIP = "strip"
    KIT = "kit"
    METER = "meter"
    PH_STRIP = "ph_strip"
    PH_METER = "ph_meter"
    TURBIDIMETER = "turbidimeter"
    THERMOMETER = "thermometer"
    PERACETIC_STRIP = "peracetic_strip"
    PERACETIC_KIT = "peracetic_kit"
    PERACETIC_METER = "peracetic_meter"
    PEROXIDE_STRIP = "peroxide_strip"


class In(NamedTuple):
    """The unit that a parameter must be given in, and between what it is plausible."""

    unit: str
    low: float
    high: float


_OWN = "its own"  # the unit of what the instrument measures
_Share = Annotated[float, In("1", 0.0, 1.0)]
_Spread = Annotated[float, In("1", 0.0, 2.0)]
_PerMinute = Annotated[float, In("1/min", 0.0, 10.0)]
_Minutes = Annotated[float, In("min", 0.05, 120.0)]
_Own = Annotated[float, In(_OWN, 0.0, 5000.0)]

_UNITS = {
    PracticeInstrument.PH_STRIP: "pH",
    PracticeInstrument.PH_METER: "pH",
    PracticeInstrument.TURBIDIMETER: "NTU",
    PracticeInstrument.THERMOMETER: "degC",
}


class Kinetics(Struct, frozen=True, kw_only=True):
    """How fast free chlorine is used up, at 20 °C."""

    fast_l_mg_min: Annotated[float, In("L/(mg min)", 1e-6, 1.0)]
    slow_share: _Share
    fast_part: _Share
    per_10_c: Annotated[float, In("1", 1.0, 5.0)]
    combined_yield: _Share
    combined_loss_per_min: _PerMinute


class Peracetic(Struct, frozen=True, kw_only=True):
    """How fast peracetic acid is used up, at 20 °C, and what comes with it."""

    fast_l_mg_min: Annotated[float, In("L/(mg min)", 1e-6, 1.0)]
    slow_share: _Share
    fast_part: _Share
    per_10_c: Annotated[float, In("1", 1.0, 5.0)]
    decay_per_min: _PerMinute
    demand_share: Annotated[float, In("1", 0.0, 2.0)]
    acetic_share: Annotated[float, In("1", 0.0, 10.0)]


class Air(Struct, frozen=True, kw_only=True):
    """What water and air exchange."""

    decay_per_min: _PerMinute
    gas_per_min: _PerMinute
    degassing_per_min: _PerMinute
    air_carbonic_mol_l: Annotated[float, In("mol/L", 0.0, 1e-3)]
    warming_per_min: _PerMinute
    evaporation_per_min: Annotated[float, In("1/min", 0.0, 0.01)]


class Basin(Struct, frozen=True, kw_only=True):
    """What happens in any tank."""

    settling_per_min: _PerMinute
    mixing_per_min: _PerMinute
    inlet: Annotated[float, In("1", 0.0, 10.0)]
    streaks: _Share
    volume_error: Annotated[float, In("1", 0.0, 0.3)]


class Bleach(Struct, frozen=True, kw_only=True):
    """A container of hypochlorite, and the hand that measures from it."""

    caustic_per_mol: Annotated[float, In("mol/mol", 0.0, 2.0)]
    strength_mean: Annotated[float, In("1", 0.05, 1.5)]
    strength_error: Annotated[float, In("1", 0.0, 0.3)]
    amount_error: Annotated[float, In("1", 0.0, 0.3)]


class Dirt(Struct, frozen=True, kw_only=True):
    """How much more than usual a load brings."""

    demand: Annotated[float, In("1", 0.0, 50.0)]
    soil: Annotated[float, In("1", 0.0, 100.0)]


class Commodity(Struct, frozen=True, kw_only=True):
    """What a kilogram of produce brings in; ``line`` is the commodity of a set-up template."""

    line: str
    demand_g_kg: Annotated[float, In("g/kg", 0.0, 50.0)]
    batch_spread: _Spread
    lot_spread: _Spread
    cod_g_kg: Annotated[float, In("g/kg", 0.0, 50.0)]
    soil_ntu_m3_kg: Annotated[float, In("NTU m3/kg", 0.0, 100.0)]
    settling_part: _Share
    acid_mmol_kg: Annotated[float, In("mmol/kg", 0.0, 200.0)]
    released: _Share
    dragout_l_kg: Annotated[float, In("L/kg", 0.0, 0.5)]
    batch_kg_m3: Annotated[float, In("kg/m3", 0.01, 500.0)]
    batch_minutes: _Minutes


class Gauge(Struct, frozen=True, kw_only=True):
    """How far an instrument is to be trusted, in its own unit and in shares."""

    step: _Own
    error: _Own
    error_share: _Share
    bias: _Own
    bias_share: _Share
    combined_seen: _Share
    minutes: _Minutes
    highest: _Own


class CardParameters(Struct, frozen=True, kw_only=True):
    """From which cloudiness the card is faint, and from which it is gone."""

    faint_ntu: Annotated[float, In("NTU", 1.0, 4000.0)]
    gone_ntu: Annotated[float, In("NTU", 1.0, 4000.0)]
    error_share: _Share
    minutes: _Minutes


class Parameters(Struct, frozen=True, kw_only=True):
    """The whole model file, with the source of each value by its path (``kinetics.per_10_c``)."""

    kinetics: Kinetics
    peracetic: Peracetic
    air: Air
    tank: Basin
    bleach: Bleach
    dirtiness: Mapping[str, Dirt]
    commodity: Mapping[str, Commodity]
    instrument: Mapping[str, Gauge]
    card: CardParameters
    sources: Mapping[str, str]


class _Given(Struct, frozen=True, forbid_unknown_fields=True):
    value: float
    unit: str
    source: str


_Raw = Mapping[str, object]
_S = TypeVar("_S", bound=Struct)


@cache
def parameters() -> Parameters:
    """Return the parameters that come with the program.

    Raises:
        PracticeError: the file is missing or damaged; the sentence says where.
    """
    return read_parameters(resource("practice", "model.toml"))


def read_parameters(path: Path) -> Parameters:
    """Return the parameters of a file.

    Raises:
        PracticeError: it can't be read, or a value is unknown, missing, without a source, in
            another unit, or not plausible; the sentence says which.
    """
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise PracticeError(
            "The practice model {file} cannot be read ({reason}): restore the file.",
            file=path.name,
            reason=str(error),
        ) from error
    return _Reader().whole(raw)


class _Reader:
    """Turns raw tables into parameters, and collects their sources."""

    def __init__(self) -> None:
        self.sources: dict[str, str] = {}

    def whole(self, raw: _Raw) -> Parameters:
        expected = set(Parameters.__struct_fields__) - {"sources"}
        self._same_names(raw, expected, "")
        units = {one.value: _UNITS.get(one, "mg/L") for one in PracticeInstrument}
        instruments = self._table(raw["instrument"], "instrument")
        self._same_names(instruments, set(units), "instrument")
        dirtiness = self._table(raw["dirtiness"], "dirtiness")
        self._same_names(dirtiness, {one.value for one in Dirtiness}, "dirtiness")
        commodities = self._table(raw["commodity"], "commodity")
        card = self.section(raw["card"], CardParameters, "card")
        if card.gone_ntu <= card.faint_ntu:
            raise PracticeError(
                "card.gone_ntu must be above card.faint_ntu: correct the practice model."
            )
        return Parameters(
            kinetics=self.section(raw["kinetics"], Kinetics, "kinetics"),
            peracetic=self.section(raw["peracetic"], Peracetic, "peracetic"),
            air=self.section(raw["air"], Air, "air"),
            tank=self.section(raw["tank"], Basin, "tank"),
            bleach=self.section(raw["bleach"], Bleach, "bleach"),
            dirtiness={
                name: self.section(part, Dirt, f"dirtiness.{name}")
                for name, part in dirtiness.items()
            },
            commodity={
                name: self.section(part, Commodity, f"commodity.{name}")
                for name, part in commodities.items()
            },
            instrument={
                name: self.section(part, Gauge, f"instrument.{name}", units[name])
                for name, part in instruments.items()
            },
            card=card,
            sources=self.sources,
        )

    def section(self, raw: object, kind: type[_S], path: str, own: str = "") -> _S:
        table = self._table(raw, path)
        hints = get_type_hints(kind, include_extras=True)
        self._same_names(table, set(hints), path)
        values: dict[str, float | str] = {}
        for name, hint in hints.items():
            where = f"{path}.{name}"
            if hint is str:
                values[name] = self._text(table[name], where)
                continue
            wanted: In = get_args(hint)[1]
            if wanted.unit == _OWN:
                wanted = wanted._replace(unit=own)
            values[name] = self._value(table[name], wanted, where)
        return msgspec.convert(values, kind)

    def _value(self, raw: object, wanted: In, where: str) -> float:
        try:
            given = msgspec.convert(raw, _Given)
        except msgspec.ValidationError as error:
            raise PracticeError(
                "{where} needs a value, a unit and a source ({reason}): correct the practice "
                "model.",
                where=where,
                reason=str(error),
            ) from error
        if given.unit != wanted.unit:
            raise PracticeError(
                "{where} must be in {wanted}, not in {given}: correct the practice model.",
                where=where,
                wanted=wanted.unit,
                given=given.unit,
            )
        if not (isfinite(given.value) and wanted.low <= given.value <= wanted.high):
            raise PracticeError(
                "{where} must be between {low} and {high} {unit}, not {value}: correct the "
                "practice model.",
                where=where,
                low=f"{wanted.low:g}",
                high=f"{wanted.high:g}",
                unit=wanted.unit,
                value=f"{given.value:g}",
            )
        if not given.source.strip():
            raise PracticeError(
                "{where} has no source: write where its value comes from.", where=where
            )
        self.sources[where] = given.source
        return given.value

    @staticmethod
    def _text(raw: object, where: str) -> str:
        if not isinstance(raw, str) or not raw:
            raise PracticeError("{where} must be a text: correct the practice model.", where=where)
        return raw

    @staticmethod
    def _table(raw: object, path: str) -> _Raw:
        if not isinstance(raw, Mapping) or not raw:
            raise PracticeError("{where} must be a table: correct the practice model.", where=path)
        return raw

    @staticmethod
    def _same_names(raw: _Raw, expected: set[str], path: str) -> None:
        where = path or "it"
        for name in sorted(expected - raw.keys()):
            raise PracticeError(
                "The practice model lacks {name} in {where}: restore the file.",
                name=name,
                where=where,
            )
        for name in sorted(raw.keys() - expected):
            raise PracticeError(
                "The practice model has an unknown {name} in {where}: check its spelling.",
                name=name,
                where=where,
            )
