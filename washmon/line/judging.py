"""Good and bad water: the one place that holds a value against a limit, and says which limit.

A limit belongs to what is good: a level *at* the critical low, a pH *at* its high limit, a batch
that stayed exactly the critical contact time keep it. A card is different: the look in the set-up
is the first that is bad.

Values and limits are compared in the precision in which people read and write them, that of
:func:`washmon.units.rounded`: whole ppm from 10 on, tenths below; whole seconds; hundredths of a
pH. So nobody is ever told that 4.8 is over the limit of 4.8. Temperatures are read to a tenth of a
degree, Celsius or Fahrenheit, and what is asked for is the sum of one that was read and an offset
that was rounded, if in the other unit: half a tenth of a degree Celsius is no difference.

What proves good water is a good value that was read with a fit instrument (``Fill.unvouched``, by
:mod:`washmon.line.fitness`) after what was added had mixed in (``verifies`` in
:mod:`washmon.line.mixing`). A bad value counts whatever it was read with, and whenever.

A deadband (``back``) is how far inside its limit a value must come before it counts as kept again.
"""

from enum import StrEnum
from functools import lru_cache

from msgspec import Struct

from washmon.line.events import BatchWashed
from washmon.line.setup import (
    LabelBasis,
    Look,
    PeraceticLimits,
    Tank,
    TemperatureRuleKind,
)
from washmon.units import Kind, UnitSystem, rounded

DEGREE_STEP_C = 0.05
"""Half a tenth of a degree: closer temperatures can't be told apart as they are written."""
_NOISE = 1e-9


class LimitKind(StrEnum):
    """The limits that a tank's water and produce are held against."""

    CRITICAL_LOW = "critical low"
    LOW = "operating low"
    HIGH = "operating high"
    LABEL = "label maximum"
    LEGAL = "legal maximum"
    TOTAL = "label maximum of total chlorine"
    PEROXIDE = "legal maximum of hydrogen peroxide"
    HEDP = "legal maximum of HEDP"
    PH_LOW = "pH low"
    PH_HIGH = "pH high"
    PH_CRITICAL = "critical pH"
    TURBIDITY = "cloudiness"
    LOOK = "cloudiness by card"
    TEMPERATURE = "water temperature"
    CONTACT = "contact time"
    CRITICAL_CONTACT = "critical contact time"


class Breach(Struct, frozen=True, kw_only=True):
    """A limit that a value does not keep; both in the base unit of ``kind``."""

    which: LimitKind
    value: float
    limit: float
    kind: Kind
    critical: bool = False
    """What was washed meanwhile is held."""

    @property
    def is_under(self) -> bool:
        """Whether the value is under the limit, not over it."""
        return self.which in _LOWEST


_LOWEST = frozenset(
    {
        LimitKind.CRITICAL_LOW,
        LimitKind.LOW,
        LimitKind.PH_LOW,
        LimitKind.TEMPERATURE,
        LimitKind.CONTACT,
        LimitKind.CRITICAL_CONTACT,
    }
)


@lru_cache(maxsize=4096)
def as_read(value: float, kind: Kind) -> float:
    """Return a value in the precision in which it is read and written, in its base unit."""
    return rounded(value, kind, UnitSystem.METRIC)


def is_under(value: float, limit: float, kind: Kind, *, back: float = 0.0) -> bool:
    """Tell whether a value is under a lowest limit, or within a deadband over it."""
    return as_read(value, kind) < as_read(limit, kind) + back - _NOISE


def is_over(value: float, limit: float, kind: Kind, *, back: float = 0.0) -> bool:
    """Tell whether a value is over a highest limit, or within a deadband under it."""
    return as_read(value, kind) > as_read(limit, kind) - back + _NOISE


# The level of the tank's sanitizer, mg/L.


def under_critical(level_mg_l: float, spec: Tank, *, back: float = 0.0) -> bool:
    """Tell whether a level is under the critical low."""
    return is_under(level_mg_l, spec.limits.critical_low_mg_l, Kind.CONCENTRATION, back=back)


def under_low(level_mg_l: float, spec: Tank, *, back: float = 0.0) -> bool:
    """Tell whether a level is under the operating low (or under the critical low)."""
    return is_under(level_mg_l, spec.limits.low_mg_l, Kind.CONCENTRATION, back=back)


def under_target(level_mg_l: float, spec: Tank) -> bool:
    """Tell whether a level is under the target, which is no limit but what a dose aims at."""
    return is_under(level_mg_l, spec.limits.target_mg_l, Kind.CONCENTRATION)


def over_high(level_mg_l: float, spec: Tank) -> bool:
    """Tell whether a level is over the operating high (or over what is allowed at all)."""
    return is_over(level_mg_l, spec.limits.high_mg_l, Kind.CONCENTRATION)


def over_label(level_mg_l: float, spec: Tank) -> bool:
    """Tell whether a level is over what label and law allow."""
    return is_over(level_mg_l, most_mg_l(spec), Kind.CONCENTRATION)


def most_mg_l(spec: Tank) -> float:
    """Return the most that label and law allow of the sanitizer, mg/L."""
    kept = spec.limits
    if isinstance(kept, PeraceticLimits):
        return min(kept.label_max_mg_l, kept.legal_paa_mg_l)
    return kept.label_max_mg_l


def which_most(spec: Tank) -> LimitKind:
    """Return whether it is the label or the law that allows so much and no more."""
    is_label = most_mg_l(spec) == spec.limits.label_max_mg_l
    return LimitKind.LABEL if is_label else LimitKind.LEGAL


def in_range(level_mg_l: float, spec: Tank) -> bool:
    """Tell whether a level lies between the operating limits."""
    return not under_low(level_mg_l, spec) and not over_high(level_mg_l, spec)


def may_wash(level_mg_l: float, spec: Tank) -> bool:
    """Tell whether a level of the sanitizer keeps the critical low, the label and the law."""
    return not under_critical(level_mg_l, spec) and not over_label(level_mg_l, spec)


def judge_level(level_mg_l: float, spec: Tank) -> Breach | None:
    """Return the gravest limit that a level of the sanitizer does not keep, if any."""
    limits = spec.limits
    if under_critical(level_mg_l, spec):
        return _level(LimitKind.CRITICAL_LOW, level_mg_l, limits.critical_low_mg_l, critical=True)
    if over_label(level_mg_l, spec):
        return _level(which_most(spec), level_mg_l, most_mg_l(spec), critical=True)
    if under_low(level_mg_l, spec):
        return _level(LimitKind.LOW, level_mg_l, limits.low_mg_l)
    if over_high(level_mg_l, spec):
        return _level(LimitKind.HIGH, level_mg_l, limits.high_mg_l)
    return None


def _level(which: LimitKind, value: float, limit: float, *, critical: bool = False) -> Breach:
    return Breach(which=which, value=value, limit=limit, kind=Kind.CONCENTRATION, critical=critical)


def counts_total(spec: Tank) -> bool:
    """Tell whether the label maximum speaks of total chlorine, free and combined together."""
    return spec.peracetic is None and spec.chlorine.label_basis is LabelBasis.TOTAL


def judge_total(total_mg_l: float, spec: Tank) -> Breach | None:
    """Return the label maximum where it speaks of total chlorine and that is over it."""
    most = spec.chlorine.label_max_mg_l
    if not counts_total(spec) or not is_over(total_mg_l, most, Kind.CONCENTRATION):
        return None
    return _level(LimitKind.TOTAL, total_mg_l, most, critical=True)


def judge_peroxide(peroxide_mg_l: float, spec: Tank) -> Breach | None:
    """Return the legal maximum of hydrogen peroxide where peracetic acid brought more."""
    if spec.peracetic is None:
        return None
    most = spec.peracetic.legal_peroxide_mg_l
    if not is_over(peroxide_mg_l, most, Kind.CONCENTRATION):
        return None
    return _level(LimitKind.PEROXIDE, peroxide_mg_l, most)


def judge_hedp(hedp_mg_l: float, spec: Tank) -> Breach | None:
    """Return the legal maximum of HEDP, the stabiliser, where peracetic acid brought more."""
    if spec.peracetic is None:
        return None
    most = spec.peracetic.legal_hedp_mg_l
    if not is_over(hedp_mg_l, most, Kind.CONCENTRATION):
        return None
    return _level(LimitKind.HEDP, hedp_mg_l, most)


# pH, which means something only where chlorine is kept.


def under_ph(ph: float, spec: Tank) -> bool:
    """Tell whether a pH is under the low limit."""
    return spec.peracetic is None and is_under(ph, spec.ph.low, Kind.PH)


def over_ph(ph: float, spec: Tank) -> bool:
    """Tell whether a pH is over the high limit."""
    return spec.peracetic is None and is_over(ph, spec.ph.high, Kind.PH)


def over_critical_ph(ph: float, spec: Tank) -> bool:
    """Tell whether a pH is over the one from which product is held, where there is one."""
    if spec.peracetic is not None or spec.critical_ph is None:
        return False
    return is_over(ph, spec.critical_ph, Kind.PH)


def judge_ph(ph: float, spec: Tank) -> Breach | None:
    """Return the gravest limit that a pH does not keep, if any."""
    if spec.critical_ph is not None and over_critical_ph(ph, spec):
        return Breach(
            which=LimitKind.PH_CRITICAL,
            value=ph,
            limit=spec.critical_ph,
            kind=Kind.PH,
            critical=True,
        )
    if under_ph(ph, spec):
        return Breach(which=LimitKind.PH_LOW, value=ph, limit=spec.ph.low, kind=Kind.PH)
    if over_ph(ph, spec):
        return Breach(which=LimitKind.PH_HIGH, value=ph, limit=spec.ph.high, kind=Kind.PH)
    return None


# Cloudiness.


def judge_turbidity(turbidity_ntu: float, spec: Tank, *, back: float = 0.0) -> Breach | None:
    """Return the limit in NTU where water is cloudier, if there is one."""
    most = spec.turbidity_max_ntu
    if most is None or not is_over(turbidity_ntu, most, Kind.TURBIDITY, back=back):
        return None
    return Breach(which=LimitKind.TURBIDITY, value=turbidity_ntu, limit=most, kind=Kind.TURBIDITY)


def judge_look(look: Look, spec: Tank) -> Breach | None:
    """Return the limit by card, as places in :class:`Look`, where a card is as dark or darker."""
    if spec.look_limit is None:
        return None
    steps = list(Look)
    found, limit = steps.index(look), steps.index(spec.look_limit)
    if found < limit:
        return None
    return Breach(which=LimitKind.LOOK, value=found, limit=limit, kind=Kind.COUNT)


# Temperatures, degrees Celsius.


def least_water_c(pulp_c: float, spec: Tank) -> float | None:
    """Return how warm the water must be at least for produce this warm, where there is a rule."""
    wanted = spec.temperature_rule
    if wanted is None:
        return None
    warmer = wanted.kind is TemperatureRuleKind.WARMER
    return pulp_c + (wanted.by_c if warmer else -wanted.by_c)


def judge_temperature(
    water_c: float, pulp_c: float, spec: Tank, *, back: float = 0.0
) -> Breach | None:
    """Return the lowest temperature of the water where it is colder than the rule allows."""
    least_c = least_water_c(pulp_c, spec)
    if least_c is None or least_c + back - water_c <= DEGREE_STEP_C + _NOISE:
        return None
    return Breach(
        which=LimitKind.TEMPERATURE,
        value=water_c,
        limit=least_c,
        kind=Kind.TEMPERATURE,
        critical=spec.critical_temperature,
    )


# Contact time, seconds.


def under_critical_contact(contact_s: float, spec: Tank) -> bool:
    """Tell whether a batch stayed shorter than the time under which it is held."""
    least = spec.critical_contact_s
    return least is not None and is_under(contact_s, least, Kind.CONTACT_TIME)


def judge_contact(contact_s: float, spec: Tank) -> Breach | None:
    """Return the gravest contact time that a batch did not stay for, if any."""
    if spec.critical_contact_s is not None and under_critical_contact(contact_s, spec):
        return Breach(
            which=LimitKind.CRITICAL_CONTACT,
            value=contact_s,
            limit=spec.critical_contact_s,
            kind=Kind.CONTACT_TIME,
            critical=True,
        )
    if spec.contact_s is not None and is_under(contact_s, spec.contact_s, Kind.CONTACT_TIME):
        return Breach(
            which=LimitKind.CONTACT,
            value=contact_s,
            limit=spec.contact_s,
            kind=Kind.CONTACT_TIME,
        )
    return None


# Whole entries.


def judge_batch(batch: BatchWashed, spec: Tank) -> Breach | None:
    """Return the contact time that a batch did not stay for in a tank, if it was timed."""
    return None if batch.contact_s is None else judge_contact(batch.contact_s, spec)
