"""What a record of a finished shift must hold, and what one lacks.

By 21 CFR 112.161(a) and 117.305: site and location, the packing line, date and time, actual values,
produce and lot, and the initials of who did it. By 112.44(d) and 112.46: that the treatment was
monitored. By 117.150: what was done where a limit was passed. By 117.190: that instruments were
checked. DEVELOPERS.md says which screen fills which.
"""

from collections.abc import Iterator

from washmon.line.event_base import RULES
from washmon.line.flags import Level
from washmon.line.instruments import unfit
from washmon.line.learned import OfProgram
from washmon.line.message import Message, Moment
from washmon.line.state import ShiftState, TankState

INSTRUMENTS = "strips in date"
"""What the item of the check list that stands for the check of instruments begins with."""


def missing(shift: ShiftState) -> tuple[Message, ...]:
    """Return in sentences what the record of a shift lacks; empty when it is complete."""
    return (
        *_place(shift),
        *_produce(shift),
        *_people(shift),
        *_instruments(shift),
        *(message for tank in shift.tanks for message in _tank(tank)),
        *_open(shift),
    )


def _place(shift: ShiftState) -> Iterator[Message]:
    setup = shift.setup
    for value, text in (
        (setup.site, "The set-up does not name the site."),
        (setup.location, "The set-up does not say where the site is."),
        (setup.line, "The set-up does not name the line."),
    ):
        if not value.strip():
            yield Message(text)


def _produce(shift: ShiftState) -> Iterator[Message]:
    lots = {lot.code: lot.produce for lot in shift.started.lots}
    washed = {batch.event.lot: None for tank in shift.tanks for batch in tank.washed}
    for code in (*lots, *(code for code in washed if code not in lots)):
        if not code.strip():
            yield Message("A batch has no lot.")
        elif not (lots.get(code, "").strip() or shift.setup.commodity.strip()):
            yield Message("Nothing says what lot {lot} is.", {"lot": code})


def _people(shift: ShiftState) -> Iterator[Message]:
    known = shift.setup.person(shift.started.by)
    if known is None or not known.name.strip():
        yield Message("The set-up does not name {who}, who led it.", {"who": shift.started.by})
    for entry in shift.entries:
        if not entry.event.by.strip():
            yield Message("Entry {entry} does not say who made it.", {"entry": entry.seq})
    strangers = {
        entry.event.by: entry.seq
        for entry in reversed(shift.entries)
        if entry.event.by not in {"", RULES, shift.started.by}
        and shift.setup.person(entry.event.by) is None
        and not isinstance(entry.event, OfProgram)
    }
    for initials, seq in strangers.items():
        yield Message(
            "{who} (entry {entry}) is not in the set-up.", {"who": initials, "entry": seq}
        )


def _instruments(shift: ShiftState) -> Iterator[Message]:
    for one in unfit(shift):
        yield Message(
            "The last check of the {instrument} found it unfit for use.",
            {"instrument": one.instrument},
        )
    unfit_readings = {
        seq for tank in shift.tanks for fill in tank.every_fill for seq, _ in fill.unvouched
    }
    if unfit_readings:
        text = "{count} readings were made with what was not fit for use."
        if len(unfit_readings) == 1:
            text = "A reading was made with what was not fit for use."
        yield Message(text, {"count": len(unfit_readings)})
    if shift.verified:
        return
    checks = shift.started.checks
    if not any(check.done and check.item.casefold().startswith(INSTRUMENTS) for check in checks):
        yield Message("Nobody ticked that strips and meter were checked.")


def _tank(tank: TankState) -> Iterator[Message]:
    if not tank.batches:
        return
    values = {"tank": f"{tank.number} {tank.spec.name}"}
    readings = [reading for fill in tank.fills for reading in fill.readings]
    fields = [(tank.spec.level_field, "The sanitizer of {tank} was never measured.")]
    if tank.spec.peracetic is None:
        fields.append(("ph", "The pH of {tank} was never measured."))
    for field, text in fields:
        if all(getattr(reading.event, field) is None for reading in readings):
            yield Message(text, dict(values))
    if any(getattr(reading.event, tank.spec.level_field) is not None for reading in readings):
        yield from _tails(tank)


def _tails(tank: TankState) -> Iterator[Message]:
    """Yield for each fill that its water was not measured after the last batch in it."""
    name = f"{tank.number} {tank.spec.name}"
    for place, fill in enumerate(tank.fills):
        over = tank.fills[place + 1] if place + 1 < len(tank.fills) else None
        last = fill.latest(tank.spec.level_field)
        measured = fill.begun.batches if last is None else last.batches
        if over is None and measured < tank.batches:
            yield Message("{tank} was not measured after its last batch.", {"tank": name})
        elif over is not None and measured < over.begun.batches:
            yield Message(
                "{tank} was not measured between its last batch and the water change of {time}.",
                {"tank": name, "time": Moment(over.at)},
            )


def _open(shift: ShiftState) -> Iterator[Message]:
    ended = shift.ended.at if shift.ended else shift.last_at
    names = {tank.number: f"{tank.number} {tank.spec.name}" for tank in shift.tanks}
    for record in (*shift.closed_flags, *shift.open_flags):
        # The end of a shift clears what is still up.
        lasted = record.cleared_at is None or record.cleared_at >= ended
        if lasted and record.flag.level is Level.STOP:
            number = record.flag.tank
            yield Message(
                "A stop on {tank} was never cleared.", {"tank": names.get(number, str(number))}
            )
    said = shift.ended.doubts if shift.ended else ()
    for doubt in (one for one in said if one.strip()):
        yield Message("{doubt}", {"doubt": doubt})
    for hold in shift.open_holds:
        heir = shift.ended.holds_to if shift.ended else None
        if heir:
            yield Message(
                "The hold of entry {entry} is open, with {who}.", {"entry": hold.seq, "who": heir}
            )
        else:
            yield Message("The hold of entry {entry} is open.", {"entry": hold.seq})
