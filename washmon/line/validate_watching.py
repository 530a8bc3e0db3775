"""What a set-up must keep of what watches the line: its instruments and its rules.

What the deadbands, delays and shares of a set-up must keep, and the critical limits of a tank.

Bounds of what is possible: common practice, no published source.
"""

import math
from collections import Counter
from datetime import date
from typing import NamedTuple

from washmon.line.finding import LONGEST_TEXT
from washmon.line.flags import ALWAYS_ON
from washmon.line.message import Figure
from washmon.line.reading import usable_pads
from washmon.line.setup import LineSetup, Tank
from washmon.line.setup_fault import Found, fault
from washmon.units import Kind

LONGEST_METER_DAYS = 90
"""Between two checks of a meter at the most; common practice, no published source."""

MOST_CLOSED = 1000


def instruments_are_possible(setup: LineSetup) -> Found:
    """Yield an interval between checks of the meter that is none."""
    if not 1 <= setup.meter_check_days <= LONGEST_METER_DAYS:
        yield fault(
            "meter_check_days",
            "A meter is checked every 1 to {most} days.",
            most=LONGEST_METER_DAYS,
        )


def some_days_are_worked(setup: LineSetup) -> Found:
    """Yield a calendar by which no review would ever be due."""
    if not setup.calendar.worked:
        yield fault("calendar.worked", "Choose at least one day of the week that is worked.")
    if len(setup.calendar.closed) > MOST_CLOSED:
        yield fault("calendar.closed", "At most {most} closed days are kept.", most=MOST_CLOSED)


def pads_rise_from_nothing(setup: LineSetup) -> Found:
    """Yield pads of strips that no pack has."""
    pads = setup.strip_pads_mg_l
    if pads and (len(pads) == 1 or usable_pads(pads) != pads):
        yield fault("strip_pads_mg_l", "The pads of a strip rise from 0, and are two at least.")


def switched_off_with_a_reason(setup: LineSetup) -> Found:
    """Yield what is missing where a rule is switched off; an unknown rule disturbs nobody."""
    counted = Counter(one.rule for one in setup.rules_off)
    for at, one in enumerate(setup.rules_off):
        path = f"rules_off.{one.rule or at}"
        if one.rule in ALWAYS_ON:
            yield fault(path, "This rule cannot be switched off.")
        elif counted[one.rule] > 1:
            yield fault(path, "This rule is switched off twice.")
        if not one.reason.strip():
            yield fault(path, "Say why this rule is switched off: it stands on each record.")
        elif len(one.reason) > LONGEST_TEXT:
            yield fault(path, "That is too long: at most {most} characters.", most=LONGEST_TEXT)


def dates_still_to_come(setup: LineSetup, today: date) -> Found:
    """Yield what is odd about the days of the instruments, and of what was learned."""
    if setup.learned_since is not None and setup.learned_since > today:
        yield fault("learned_since", "This day is still to come.")
    if setup.meter_checked_on is not None and setup.meter_checked_on > today:
        yield fault("meter_checked_on", "This day is still to come.")
    if setup.strips_use_by is not None and setup.strips_use_by < today:
        yield fault(
            "strips_use_by", "The strips in use are out of date: old pads read low or pale."
        )


def left_unfit(setup: LineSetup) -> Found:
    """Yield which instruments an earlier shift left unfit for use."""
    for at, one in enumerate(setup.instruments_unfit):
        yield fault(
            f"instruments_unfit.{at}",
            "By its check on {day} the {instrument} may not be used: check it anew in a shift.",
            day=one.since.isoformat(),
            instrument=one.instrument,
        )


_MOST_PH = 10.0


class MarginSpan(NamedTuple):
    """Between which values a margin is possible; a count is a whole number, too."""

    least: float
    most: float
    kind: Kind
    is_share: bool = False
    """It is kept as a fraction and told in percent."""


SPANS: dict[str, MarginSpan] = {
    "chlorine_deadband_fraction": MarginSpan(0, 0.5, Kind.PERCENT, is_share=True),
    "ph_deadband": MarginSpan(0, 0.5, Kind.PH),
    "turbidity_deadband_fraction": MarginSpan(0, 0.5, Kind.PERCENT, is_share=True),
    "temperature_deadband_c": MarginSpan(0, 5, Kind.TEMPERATURE_DIFFERENCE),
    "overdue_delay_min": MarginSpan(0, 60, Kind.TIME),
    "shelve_longest_min": MarginSpan(0, 120, Kind.TIME),
    "act_ph": MarginSpan(6, 9.5, Kind.PH),
    "gas_ph": MarginSpan(5, 6.5, Kind.PH),
    "gas_air_ppm": MarginSpan(0.05, 1, Kind.CONCENTRATION),
    "gas_deadband_fraction": MarginSpan(0, 0.5, Kind.PERCENT, is_share=True),
    "weak_strength_fraction": MarginSpan(0.1, 1, Kind.PERCENT, is_share=True),
    "redose_soon_batches": MarginSpan(0, 50, Kind.COUNT),
    "change_near_min": MarginSpan(0, 240, Kind.TIME),
    "change_near_batches": MarginSpan(0, 50, Kind.COUNT),
    "combined_share": MarginSpan(0.05, 1, Kind.PERCENT, is_share=True),
    "rinse_share": MarginSpan(0.05, 1, Kind.PERCENT, is_share=True),
}
"""Of each margin. ``gas_air_ppm`` ends at 1 ppm, OSHA's ceiling (29 CFR 1910.1000, Table Z-1).
Shelving is for a limited time (ANSI/ISA-18.2), here two hours at the most: common practice, no
published source; with 0 min nothing is shelved."""


def margins_are_possible(setup: LineSetup) -> Found:
    """Yield what lies beyond its span, and a count that is no whole number."""
    for name, span in SPANS.items():
        value = float(getattr(setup.margins, name))
        if not math.isfinite(value):
            continue
        if not span.least <= value <= span.most:
            times = 100 if span.is_share else 1
            yield fault(
                f"margins.{name}",
                "This lies between {least} and {most}.",
                least=Figure(times * span.least, span.kind),
                most=Figure(times * span.most, span.kind),
            )
        elif span.kind is Kind.COUNT and not value.is_integer():
            yield fault(f"margins.{name}", "A whole number is needed here.")


def critical_limits_are_possible(path: str, tank: Tank) -> Found:
    """Yield what is wrong with the critical limits beside the level."""
    least = tank.critical_contact_s
    if least is not None and math.isfinite(least):
        if least < 1:
            yield fault(
                f"{path}.critical_contact_s", "Contact takes at least 1 s, or leave this empty."
            )
        elif tank.contact_s is not None and least > tank.contact_s:
            yield fault(
                f"{path}.critical_contact_s",
                "The critical contact ({least}) must not be over the contact that is wanted "
                "({wanted}): that leaves time to act.",
                least=Figure(least, Kind.CONTACT_TIME),
                wanted=Figure(tank.contact_s, Kind.CONTACT_TIME),
            )
    most = tank.critical_ph
    known = tank.peracetic is None and most is not None and math.isfinite(most + tank.ph.high)
    if known and most is not None and not tank.ph.high <= most <= _MOST_PH:
        yield fault(
            f"{path}.critical_ph",
            "The critical pH lies between pH high ({high}) and {most}.",
            high=Figure(tank.ph.high, Kind.PH),
            most=Figure(_MOST_PH, Kind.PH),
        )
    if tank.critical_temperature and tank.temperature_rule is None:
        yield fault(
            f"{path}.critical_temperature",
            "Choose first how warm the water must be against the pulp.",
        )
