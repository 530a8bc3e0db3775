"""What watched the water, as it stands on paper: instruments, and the rules that were off."""

from washmon.line.events import InstrumentChecked
from washmon.line.flags import ALWAYS_ON
from washmon.line.state import ShiftState
from washmon.reports.lines import lines
from washmon.reports.paper import Sheet
from washmon.reports.printed_words import moment, said
from washmon.rules.catalogue import title_of
from washmon.units import Taste


def watching(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Print the checks of the instruments, and who switched which rule off, when and why."""
    setup = shift.setup
    sheet.heading("Instruments and rules")
    known = (
        ("pH meter checked before", setup.meter_checked_on),
        ("Strips at the start good until", setup.strips_use_by),
    )
    facts = [(words, day.isoformat() if day else "not told") for words, day in known]
    checks = [
        f"{moment(shift, line.event.at)} {said(shift, line.event, taste)}, {line.event.by}"
        for line in lines(shift, InstrumentChecked)
    ]
    facts.append(("Checked in this shift", "; ".join(checks) or "none"))
    sheet.facts(facts)
    off = [one for one in setup.rules_off if one.rule not in ALWAYS_ON]
    if not off:
        sheet.say("No rule was switched off.")
        return
    rows = [
        (title_of(one.rule), one.reason, one.by, one.since.isoformat() if one.since else "")
        for one in off
    ]
    sheet.listing(("Rule switched off", "Why", "By", "Since"), (4, 8, 1.5, 2.5), rows)
