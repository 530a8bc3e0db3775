"""The rules as a list to read: how hard each presses, and which limits of a set-up it goes by."""

from collections.abc import Callable
from typing import NamedTuple

from washmon.line.flags import Level
from washmon.line.judging import most_mg_l
from washmon.line.message import Figure, Message
from washmon.line.setup import LineSetup, PeraceticLimits, Tank, TemperatureRuleKind
from washmon.rules import all_rules
from washmon.rules.base import Rule, RuleScope
from washmon.units import Kind

_WATCH, _ACT, _STOP = (Level.WATCH,), (Level.ACT,), (Level.STOP,)
LEVELS: dict[str, tuple[Level, ...]] = {
    "batches": (Level.ACT, Level.WATCH),
    "change-near": _WATCH,
    "check-after-adding": _WATCH,
    "check-now": (Level.ACT, Level.WATCH),
    "chlorine-critical": _STOP,
    "chlorine-high": _WATCH,
    "chlorine-label": _STOP,
    "chlorine-low": _ACT,
    "cloudy": _ACT,
    "combined-high": _WATCH,
    "contact-short": _ACT,
    "demand-unusual": _WATCH,
    "doses-do-not-hold": _WATCH,
    "doses-will-not-hold": _WATCH,
    "first-reading": (Level.STOP, Level.WATCH),
    "hold": _STOP,
    "hours": _ACT,
    "label-by-dose": _STOP,
    "instrument-unfit": (Level.ACT, Level.WATCH),
    "meter-unchecked": _WATCH,
    "orp-contradicts": _WATCH,
    "overdue": (Level.ACT, Level.WATCH),
    "paa-critical": _STOP,
    "paa-high": _WATCH,
    "paa-limit": _STOP,
    "paa-low": _ACT,
    "peroxide-limit": (Level.STOP, Level.ACT),
    "ph-gas": _STOP,
    "ph-high": (Level.ACT, Level.WATCH),
    "ph-low": _ACT,
    "product-weak": _WATCH,
    "reading-jumps": _WATCH,
    "reading-repeats": _WATCH,
    "redose-soon": _WATCH,
    "rinse-carry": _WATCH,
    "second-fill": _WATCH,
    "second-gas": _STOP,
    "strips-old": _WATCH,
    "swap-unchecked": (Level.STOP, Level.ACT),
    "water-too-cold": _ACT,
}
"""How hard a flag of each rule can press, the hardest first."""


class Threshold(NamedTuple):
    """What a rule goes by; ``tanks`` are their numbers where it is not the same in all."""

    tanks: tuple[int, ...]
    what: Message


OfTank = Callable[[Tank], Message | None]
OfLine = Callable[[LineSetup], Message | None]


def thresholds(rule: Rule, setup: LineSetup) -> tuple[Threshold, ...]:
    """Return the limits of a set-up that a rule goes by; none where it compares readings."""
    of_line = _LINE.get(rule.id)
    if of_line is not None:
        said = of_line(setup)
        return () if said is None else (Threshold((), said),)
    of_tank = _TANK.get(rule.id)
    if of_tank is None:
        return ()
    about = [tank for tank in setup.tanks if is_about(rule, tank)]
    found: list[tuple[Message, list[int]]] = []
    for tank in about:
        what = of_tank(tank)
        if what is None:
            continue
        same = next((numbers for known, numbers in found if known == what), None)
        if same is None:
            found.append((what, [tank.number]))
        else:
            same.append(tank.number)
    everywhere = len(found) == 1 and len(found[0][1]) == len(setup.tanks)
    return tuple(Threshold(() if everywhere else tuple(tanks), what) for what, tanks in found)


def is_about(rule: Rule, tank: Tank) -> bool:
    """Tell whether a rule is about the water of a tank."""
    kept_with = RuleScope.PERACETIC if tank.peracetic else RuleScope.CHLORINE
    return rule.water in {RuleScope.ANY, kept_with}


def title_of(rule: str) -> str:
    """Return what a rule is called; its id where there is none of that name any more."""
    return next((one.title for one in all_rules() if one.id == rule), rule)


def _level(text: str, name: str) -> OfTank:
    def said(tank: Tank) -> Message:
        return Message(text, {"limit": Figure(getattr(tank.limits, name), Kind.CONCENTRATION)})

    return said


def _ph(text: str, name: str) -> OfTank:
    def said(tank: Tank) -> Message:
        return Message(text, {"limit": Figure(getattr(tank.ph, name), Kind.PH)})

    return said


def _own(text: str, name: str, kind: Kind) -> OfTank:
    def said(tank: Tank) -> Message | None:
        value = getattr(tank, name)
        return None if value is None else Message(text, {"limit": Figure(value, kind)})

    return said


def _most(tank: Tank) -> Message:
    return Message("over {limit}", {"limit": Figure(most_mg_l(tank), Kind.CONCENTRATION)})


def _beside(tank: Tank) -> Message | None:
    if not isinstance(tank.limits, PeraceticLimits):
        return None
    return Message(
        "over {peroxide} peroxide or {hedp} HEDP",
        {
            "peroxide": Figure(tank.limits.legal_peroxide_mg_l, Kind.CONCENTRATION),
            "hedp": Figure(tank.limits.legal_hedp_mg_l, Kind.CONCENTRATION),
        },
    )


def _cloudy(tank: Tank) -> Message | None:
    look = {"look": tank.look_limit.value if tank.look_limit else ""}
    if tank.turbidity_max_ntu is None:
        return Message("card {look}", dict(look)) if tank.look_limit else None
    most = {"limit": Figure(tank.turbidity_max_ntu, Kind.TURBIDITY)}
    if tank.look_limit is None:
        return Message("over {limit}", dict(most))
    return Message("over {limit}, or card {look}", {**most, **look})


def _checks(tank: Tank) -> Message | None:
    batches, minutes = tank.check_batches, tank.check_minutes
    time = {} if minutes is None else {"time": Figure(minutes, Kind.TIME)}
    if batches is None:
        return Message("after {time}", dict(time)) if time else None
    if not time:
        text = "after each batch" if batches == 1 else "after {batches} batches"
        return Message(text, {"batches": batches})
    text = "after each batch or {time}" if batches == 1 else "after {batches} batches or {time}"
    return Message(text, {"batches": batches, **time})


def _hours(tank: Tank) -> Message | None:
    hours = tank.hours_per_fill
    if hours is None:
        return None
    return Message("after {limit} h", {"limit": f"{hours:g}"})


def _cold(tank: Tank) -> Message | None:
    rule = tank.temperature_rule
    if rule is None:
        return None
    by = Figure(rule.by_c, Kind.TEMPERATURE_DIFFERENCE)
    if rule.kind is TemperatureRuleKind.WARMER:
        return Message("water less than {by} warmer than the pulp", {"by": by})
    return Message("water more than {by} colder than the pulp", {"by": by})


def _batches(tank: Tank) -> Message | None:
    most = tank.batches_per_fill
    if most is None:
        return None
    return Message("after 1 batch" if most == 1 else "after {limit} batches", {"limit": most})


def _margin(text: str, **names: Kind) -> OfLine:
    """Say margins; a share in percent."""

    def said(setup: LineSetup) -> Message:
        values = {
            name: (100 if kind is Kind.PERCENT else 1) * getattr(setup.margins, name)
            for name, kind in names.items()
        }
        return Message(text, {name: Figure(values[name], kind) for name, kind in names.items()})

    return said


def _strips(setup: LineSetup) -> Message | None:
    day = setup.strips_use_by
    return None if day is None else Message("after {day}", {"day": day.isoformat()})


def _meter(setup: LineSetup) -> Message:
    days = setup.meter_check_days
    return Message("after 1 day" if days == 1 else "after {days} days", {"days": days})


_TANK: dict[str, OfTank] = {
    "batches": _batches,
    "check-after-adding": _own("{limit} after it went in", "mix_minutes", Kind.TIME),
    "chlorine-critical": _level("under {limit}", "critical_low_mg_l"),
    "chlorine-high": _level("over {limit}", "high_mg_l"),
    "chlorine-label": _level("over {limit}", "label_max_mg_l"),
    "chlorine-low": _level("under {limit}", "low_mg_l"),
    "cloudy": _cloudy,
    "contact-short": _own("under {limit}", "contact_s", Kind.CONTACT_TIME),
    "hold": _level("under {limit}, and the other critical limits", "critical_low_mg_l"),
    "hours": _hours,
    "label-by-dose": _most,
    "overdue": _checks,
    "paa-critical": _level("under {limit}", "critical_low_mg_l"),
    "paa-high": _level("over {limit}", "high_mg_l"),
    "paa-limit": _most,
    "paa-low": _level("under {limit}", "low_mg_l"),
    "peroxide-limit": _beside,
    "ph-high": _ph("over {limit}", "high"),
    "ph-low": _ph("under {limit}", "low"),
    "water-too-cold": _cold,
}
_LINE: dict[str, OfLine] = {
    "change-near": _margin(
        "{change_near_min} or {change_near_batches} batches before",
        change_near_min=Kind.TIME,
        change_near_batches=Kind.COUNT,
    ),
    "combined-high": _margin("over {combined_share} of the total", combined_share=Kind.PERCENT),
    "meter-unchecked": _meter,
    "ph-gas": _margin(
        "over {gas_air_ppm} in the air; pH {gas_ph} where chlorine is not known",
        gas_air_ppm=Kind.CONCENTRATION,
        gas_ph=Kind.PH,
    ),
    "product-weak": _margin(
        "under {weak_strength_fraction} of the label", weak_strength_fraction=Kind.PERCENT
    ),
    "redose-soon": _margin("{redose_soon_batches} batches before", redose_soon_batches=Kind.COUNT),
    "rinse-carry": _margin("over {rinse_share} of the wash before it", rinse_share=Kind.PERCENT),
    "strips-old": _strips,
}
