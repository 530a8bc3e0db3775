"""The parts of a printed shift record, from the set-up to the flags."""

from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any

from washmon.line.events import BatchWashed, Corrected, HandedOver, ReadingTaken
from washmon.line.message import say
from washmon.line.setup import Acid, Sanitizer, Tank
from washmon.line.state import Hold, ShiftState
from washmon.line.words import describe
from washmon.reports.lines import Line, lines
from washmon.reports.paper import Bold, Sheet
from washmon.reports.printed_trend import HEIGHT_MM, draw_trend
from washmon.reports.tables import ACTIONS
from washmon.units import Kind, Taste, show

Part = Callable[[Sheet, ShiftState, Taste], None]


def value(number: float | None, kind: Kind, taste: Taste) -> str:
    """Return a value with its unit, empty for none."""
    return "" if number is None else show(number, kind, taste)


def moment(shift: ShiftState, at: datetime | None) -> str:
    """Return when something happened: the day only where it is not that of the shift's start.

    The offset from UTC stands with it where it is not the one the shift began with, so that the
    hour that comes twice when daylight saving ends is told apart.
    """
    if at is None:
        return "–"
    began = shift.started.at
    text = f"{at:%H:%M}" if at.date() == began.date() else f"{at:%Y-%m-%d %H:%M}"
    return text if at.utcoffset() == began.utcoffset() else f"{text} {offset(at)}"


def offset(at: datetime) -> str:
    """Return how far a time stands from UTC, such as ``UTC-04:00``."""
    return f"UTC{at.isoformat()[-6:]}" if at.utcoffset() else "UTC"


def full(at: datetime) -> str:
    """Return a day, a time and its offset from UTC."""
    return f"{at:%Y-%m-%d %H:%M} ({offset(at)})"


def who(shift: ShiftState, initials: str) -> str:
    """Return initials with the name and role behind them, as the set-up has them."""
    person = shift.setup.person(initials)
    return f"{initials} ({person.name}, {person.role})" if person else initials


def tank_name(shift: ShiftState, number: int) -> str:
    """Return the number and name of a tank."""
    name = next((tank.spec.name for tank in shift.tanks if tank.number == number), "")
    return f"{number} {name}".strip()


def about(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Print what, where, when and by whom."""
    del taste
    started, setup = shift.started, shift.setup
    end = full(shift.ended.at) if shift.ended else "not ended yet"
    produce = {lot.code: lot.produce for lot in started.lots}
    facts = [
        ("Site", f"{setup.site}, {setup.location}"),
        ("Line", setup.line),
        ("Washes", setup.commodity),
        ("Lots", "; ".join(_lot(code, produce) for code in shift.lot_codes) or "none named"),
        ("Began", full(started.at)),
        ("Ended", end),
        ("Supervisor", who(shift, started.by)),
    ]
    facts += [
        ("Handed over", f"{moment(shift, one.event.at)} to {who(shift, one.event.to)}")
        for one in lines(shift, HandedOver)
    ]
    if shift.ended and shift.ended.note:
        facts.append(("Note at the end", shift.ended.note))
    if started.imported:
        facts.append(("Imported", f"taken over from {started.imported}, not entered at the time"))
    if started.practice:
        facts.append(("Practice", "simulated: no produce was washed"))
    sheet.facts(facts)


def _lot(code: str, produce: dict[str, str]) -> str:
    return f"{code} ({produce[code]})" if produce.get(code) else code


def people(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Print whose initials stand in the record."""
    del taste
    seen = dict.fromkeys(
        one for entry in shift.entries if (one := entry.event.by) and one != "rules"
    )
    rows = []
    for initials in seen:
        person = shift.setup.person(initials)
        rows.append(
            (
                initials,
                person.name if person else "not in the set-up",
                person.role if person else "",
            )
        )
    sheet.heading("Initials")
    sheet.listing(("Initials", "Name", "Role"), (1, 3, 2), rows)


def limits(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Print the set-up that the shift ran on."""
    sheet.heading("Limits the shift ran on")
    heads = ("Tank", "Holds", "Kept with", "Critical", "Low", "Target", "High", "Label max", "pH")
    rows = []
    for tank in shift.setup.tanks:
        own = tank.limits
        levels = (
            own.critical_low_mg_l,
            own.low_mg_l,
            own.target_mg_l,
            own.high_mg_l,
            own.label_max_mg_l,
        )
        product = shift.setup.sanitizer(tank.sanitizer)
        ph = "" if tank.peracetic else f"{tank.ph.low:g} – {tank.ph.target:g} – {tank.ph.high:g}"
        rows.append(
            (
                f"{tank.number} {tank.name} ({tank.stage})",
                show(tank.volume_l, Kind.VOLUME, taste),
                product.name if product else tank.sanitizer,
                *(show(level, Kind.CONCENTRATION, taste) for level in levels),
                ph,
            )
        )
    sheet.listing(heads, (5, 2, 3, 2, 2, 2, 2, 2.2, 3), rows)
    kept = [(f"{tank.number} {tank.name}", *_checks(tank, taste)) for tank in shift.setup.tanks]
    checked = ("Tank", "Checked", "Water changed", "Cloudiness at most", "Contact")
    sheet.listing(checked, (5, 5, 5, 4, 3), kept)
    products: list[Sanitizer | Acid] = [*shift.setup.sanitizers, *shift.setup.acids]
    if products:
        rows_of = [_product(one) for one in products]
        sheet.listing(("Product", "Strength", "Lot", "Use by"), (5, 5, 4, 3), rows_of)


def _checks(tank: Tank, taste: Taste) -> Iterator[str]:
    every = [
        f"every {tank.check_batches} batches" if tank.check_batches else "",
        f"every {show(tank.check_minutes, Kind.TIME, taste)}" if tank.check_minutes else "",
    ]
    changed = [
        f"after {tank.batches_per_fill} batches" if tank.batches_per_fill else "",
        f"after {tank.hours_per_fill:g} h" if tank.hours_per_fill else "",
    ]
    cloudy = [
        value(tank.turbidity_max_ntu, Kind.TURBIDITY, taste),
        f"card {tank.look_limit}" if tank.look_limit else "",
    ]
    for words in (every, changed, cloudy):
        yield ", ".join(one for one in words if one) or "not set"
    yield value(tank.contact_s, Kind.CONTACT_TIME, taste) or "not set"


def _product(product: Sanitizer | Acid) -> tuple[str, ...]:
    if isinstance(product, Acid):
        strength = f"{product.strength_pct:g} %"
    elif product.strength is None:
        strength = "not known"
    else:
        basis = product.basis.replace("_", " ") if product.basis else "% by weight"
        strength = f"{product.strength:g} ({basis})"
    use_by = product.use_by.isoformat() if product.use_by else ""
    return (f"{product.name} ({product.kind})", strength, product.lot, use_by)


def check_list(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Print the list that was gone through before washing."""
    del taste
    sheet.heading("Check list before washing")
    checks = shift.started.checks
    if not checks:
        sheet.say("No check list was kept.")
        return
    rows = [(one.item, "done" if one.done else Bold("NOT DONE")) for one in checks]
    sheet.listing(("Item", "State"), (5, 1), rows)


def trends(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Draw each tank."""
    for tank in shift.tanks:
        what = "peracetic acid" if tank.spec.peracetic else "free chlorine"
        sheet.heading(f"Tank {tank.number} {tank.spec.name}: {what}, ppm", keep_mm=HEIGHT_MM + 2)
        draw_trend(sheet, tank, taste)


def readings(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Print the readings; quantities that nobody measured have no column."""
    sheet.heading("Readings")
    found = lines(shift, ReadingTaken)
    if not found:
        sheet.say("Nothing was measured.")
        return
    columns = [one for one in _READINGS if any(one[2](line, taste) for line in found)]
    rows = [[cell(line, taste) for _, _, cell in columns] for line in found]
    sheet.listing([one[0] for one in columns], [one[1] for one in columns], rows)
    sheet.say("CRITICAL, LOW and HIGH say how a value stood to the limits above.")


def _level(field: str) -> Callable[[Line[ReadingTaken], Taste], str]:
    def cell(line: Line[ReadingTaken], taste: Taste) -> str:
        level: float | None = getattr(line.event, field)
        if level is None:
            return ""
        method = line.event.paa_method if field == "paa_mg_l" else line.event.fac_method
        text = f"{show(level, Kind.CONCENTRATION, taste)}, {method}"
        spec = _spec(line)
        if spec is None or spec.level_field != field:
            return text
        return _judged(text, level, (spec.limits.low_mg_l, spec.limits.high_mg_l), spec)

    return cell


def _judged(text: str, level: float, band: tuple[float, float], spec: Tank | None = None) -> str:
    if spec is not None and level < spec.limits.critical_low_mg_l:
        return Bold(f"{text}, CRITICAL")
    if level < band[0]:
        return Bold(f"{text}, LOW")
    return Bold(f"{text}, HIGH") if level > band[1] else text


def _water_of(line: Line[ReadingTaken], taste: Taste) -> str:
    del taste
    name = tank_name(line.shift, line.event.tank)
    return f"{name}, second fill" if line.event.second else name


def _spec(line: Line[ReadingTaken]) -> Tank | None:
    tanks = line.shift.tanks
    return next((tank.spec for tank in tanks if tank.number == line.event.tank), None)


def _ph(line: Line[ReadingTaken], taste: Taste) -> str:
    if line.event.ph is None:
        return ""
    text, spec = show(line.event.ph, Kind.PH, taste), _spec(line)
    if spec is None or spec.peracetic is not None:
        return text
    return _judged(text, line.event.ph, (spec.ph.low, spec.ph.high))


def _cloudy(line: Line[ReadingTaken], taste: Taste) -> str:
    said = [value(line.event.turbidity_ntu, Kind.TURBIDITY, taste)]
    said.append(f"card {line.event.look}" if line.event.look else "")
    return ", ".join(one for one in said if one)


def _plain(field: str, kind: Kind) -> Callable[[Line[ReadingTaken], Taste], str]:
    return lambda line, taste: value(getattr(line.event, field), kind, taste)


def _remark(line: Line[Any], taste: Taste) -> str:
    said = [f"Asked: {doubt}" for doubt in getattr(line.event, "doubts", ())]
    if line.correction is not None:
        said.insert(0, f"Corrected, see entry {line.seq} under Corrections.")
    late_s = (line.recorded_at - line.event.at).total_seconds()
    if late_s > _LATE_S and not line.shift.started.imported:
        said.append(f"Written down at {moment(line.shift, line.recorded_at)}.")
    del taste
    return " ".join(said)


_LATE_S = 15 * 60
"""An entry that comes later than this is said to be late; common practice, no published source."""

_READINGS: tuple[tuple[str, float, Callable[[Line[ReadingTaken], Taste], str]], ...] = (
    ("No.", 0.9, lambda line, _: str(line.seq)),
    ("Time", 1.5, lambda line, _: moment(line.shift, line.event.at)),
    ("Tank", 2.2, _water_of),
    ("Free chlorine", 3.3, _level("fac_mg_l")),
    ("Total", 1.4, _plain("total_mg_l", Kind.CONCENTRATION)),
    ("Peracetic acid", 3.3, _level("paa_mg_l")),
    ("Peroxide", 1.4, _plain("peroxide_mg_l", Kind.CONCENTRATION)),
    ("pH", 1.5, _ph),
    ("Cloudiness", 1.8, _cloudy),
    ("Water", 1.1, _plain("water_c", Kind.TEMPERATURE)),
    ("Pulp", 1.1, _plain("pulp_c", Kind.TEMPERATURE)),
    ("ORP", 1.3, _plain("orp_mv", Kind.POTENTIAL)),
    ("By", 0.9, lambda line, _: line.event.by),
    ("Remark", 3.2, _remark),
)


def actions(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Print what was done, noted and decided."""
    sheet.heading("Actions and notes")
    rows = [
        (
            str(line.seq),
            moment(shift, line.event.at),
            said(shift, line.event, taste),
            line.event.by,
            _remark(line, taste),
        )
        for line in ACTIONS.rows(shift)
    ]
    sheet.listing(("No.", "Time", "Entry", "By", "Remark"), (0.9, 1.6, 9, 1, 4), rows)


def said(shift: ShiftState, event: Any, taste: Taste) -> str:  # noqa: ANN401 - any event at all
    """Return an event in one line."""
    return say(describe(event, shift.setup), taste)


def batches(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Print the batches, lot by lot."""
    sheet.heading("Batches by lot")
    found = lines(shift, BatchWashed)
    if not found:
        sheet.say("No batch was washed.")
        return
    held = {seq: hold for hold in shift.holds for seq in hold.placed.batches}
    heads = ("No.", "Time", "Tanks", "Weight", "In the water", "Held", "By", "Remark")
    for lot in dict.fromkeys(line.event.lot for line in found):
        mine = [line for line in found if line.event.lot == lot]
        kg = sum(line.event.weight_kg or 0.0 for line in mine)
        weight = f", {show(kg, Kind.PRODUCE_MASS, taste)} weighed" if kg else ""
        sheet.say(f"Lot {lot}: {len(mine)} batches{weight}", bold=True)
        rows = [
            (
                str(line.seq),
                moment(shift, line.event.at),
                ", ".join(str(number) for number in line.event.tanks),
                value(line.event.weight_kg, Kind.PRODUCE_MASS, taste),
                value(line.event.contact_s, Kind.CONTACT_TIME, taste),
                _fate(held.get(line.seq)),
                line.event.by,
                _remark(line, taste),
            )
            for line in mine
        ]
        sheet.listing(heads, (1, 1.8, 1.6, 1.6, 1.8, 3, 1, 4), rows)


def _fate(hold: Hold | None) -> str:
    if hold is None:
        return ""
    if hold.released is None:
        return Bold(f"HELD by entry {hold.seq}, open")
    return f"held by entry {hold.seq}: {hold.released.decision}"


def holds(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Print the holds with what was decided."""
    del taste
    sheet.heading("Holds")
    if not shift.holds:
        sheet.say("Nothing was held.")
        return
    rows = [(*_placed(shift, hold), *_decided(shift, hold)) for hold in shift.holds]
    heads = ("No.", "Placed", "Tank", "Batches", "Reason", "By", "Decision", "Decided", "Why")
    sheet.listing(heads, (0.9, 1.5, 2, 2.4, 3, 0.9, 2, 2.2, 3), rows)


def _placed(shift: ShiftState, hold: Hold) -> tuple[str, ...]:
    placed = hold.placed
    numbers = ", ".join(str(seq) for seq in placed.batches)
    return (
        str(hold.seq),
        moment(shift, placed.at),
        tank_name(shift, placed.tank),
        numbers,
        placed.reason,
        placed.by,
    )


def _decided(shift: ShiftState, hold: Hold) -> tuple[str, ...]:
    done = hold.released
    if done is None:
        heir = shift.ended.holds_to if shift.ended else None
        return (Bold("OPEN"), f"with {heir}" if heir else "", "")
    return (done.decision.value, f"{moment(shift, done.at)} {done.by}", done.reason)


def corrections(sheet: Sheet, shift: ShiftState, taste: Taste) -> None:
    """Print every correction: what stood there, what stands there now, who, when and why."""
    sheet.heading("Corrections")
    events = {entry.seq: entry.event for entry in shift.entries}
    rows = []
    for entry in shift.entries:
        if not isinstance(event := entry.event, Corrected):
            continue
        old, new = events.get(event.entry), event.instead
        rows.append(
            (
                str(event.entry),
                f"{moment(shift, old.at)} {said(shift, old, taste)}" if old else "–",
                f"{moment(shift, new.at)} {said(shift, new, taste)}"
                if new
                else "it never happened",
                event.by,
                moment(shift, event.at),
                event.reason,
            )
        )
    if not rows:
        sheet.say("No entry was corrected.")
        return
    heads = ("No.", "It was", "It is now", "By", "When", "Why")
    sheet.listing(heads, (0.9, 5, 5, 1, 1.6, 3.5), rows)
