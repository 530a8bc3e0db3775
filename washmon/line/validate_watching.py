"""What a set-up must keep of what watches the line: its instruments and its rules."""

from collections import Counter
from datetime import date

from washmon.line.finding import LONGEST_TEXT
from washmon.line.flags import ALWAYS_ON
from washmon.line.setup import LineSetup
from washmon.line.setup_fault import Found, fault
from washmon.line.strip import usable_pads

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
