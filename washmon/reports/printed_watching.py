"""What watched the water, on paper: limits, instruments, rules, and the flags they raised."""

from collections.abc import Iterator

from washmon.line.events import InstrumentChecked, ReadingTaken
from washmon.line.fitness import made_with
from washmon.line.flags import ALWAYS_ON
from washmon.line.instruments import strips_use_by
from washmon.line.registers import full_name
from washmon.line.registry import poured_in
from washmon.line.setup import Tank
from washmon.line.state import ShiftState
from washmon.reports.lines import lines
from washmon.reports.paper import Sheet
from washmon.reports.printed_words import UNWATCHED, moment, said
from washmon.rules.catalogue import title_of
from washmon.units import Kind, UnitSystem, show


def critical(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print the critical limits beside the level, where a tank has any."""
    rows = [
        (f"{tank.number} {tank.name}", ", ".join(limits))
        for tank in shift.setup.tanks
        if (limits := [*_critical(tank, taste)])
    ]
    if rows:
        sheet.listing(("Tank", "Held, too, what was washed"), (5, 17), rows)


def _critical(tank: Tank, taste: UnitSystem) -> Iterator[str]:
    if tank.critical_contact_s is not None:
        yield f"shorter than {show(tank.critical_contact_s, Kind.CONTACT_TIME, taste)}"
    if tank.critical_ph is not None and tank.peracetic is None:
        yield f"over pH {show(tank.critical_ph, Kind.PH, taste)}"
    if tank.critical_temperature and tank.temperature_rule is not None:
        by = show(tank.temperature_rule.by_c, Kind.TEMPERATURE_DIFFERENCE, taste)
        yield f"too cold ({tank.temperature_rule.kind.value}: {by})"


def _registered(shift: ShiftState) -> Iterator[tuple[str, str]]:
    """Yield what was measured with and poured from, as far as it is registered."""
    things: dict[str, None] = {}
    for line in lines(shift, ReadingTaken):
        for _, thing, why in made_with(shift, line.seq, line.event):
            told = f"{full_name(thing)}, UNFIT: {why}" if why else full_name(thing)
            things[told] = None
    if things:
        yield "Measured with", "; ".join(things)
    keys = dict.fromkeys(str(one.container) for one in poured_in(shift))
    containers = [shift.registers.thing(key) for key in keys]
    if containers:
        yield "Poured from", "; ".join(full_name(one) for one in containers if one is not None)


def watching(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print the checks of the instruments, and who switched which rule off, when and why."""
    setup = shift.setup
    sheet.heading("Instruments and rules")
    known = (
        ("pH meter checked", setup.meter_checked_on),
        ("Strips good until", strips_use_by(shift)),
    )
    facts = [(words, day.isoformat() if day else "not told") for words, day in known]
    checks = [
        f"{moment(shift, line.event.at)} {said(shift, line.event, taste)}, {line.event.by}"
        for line in lines(shift, InstrumentChecked)
    ]
    if setup.instruments_unfit:
        left = [f"{one.instrument}, {one.since.isoformat()}" for one in setup.instruments_unfit]
        facts.append(("Left unfit before this shift", "; ".join(left)))
    facts += _registered(shift)
    facts.append(("Checked in this shift", "; ".join(checks) or "none"))
    sheet.facts(facts)
    if shift.started.imported:
        sheet.say(UNWATCHED)
        return
    off = [one for one in setup.rules_off if one.rule not in ALWAYS_ON]
    if not off:
        sheet.say("No rule was switched off.")
        return
    rows = [
        (title_of(one.rule), one.reason, one.by, one.since.isoformat() if one.since else "")
        for one in off
    ]
    sheet.listing(("Rule switched off", "Why", "By", "Since"), (4, 8, 1.5, 2.5), rows)
