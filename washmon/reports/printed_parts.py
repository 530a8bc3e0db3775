"""The parts of a printed shift record: the set-up, and what was done under it."""

from collections.abc import Callable, Iterator

from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.events import Event, HandedOver
from washmon.line.message import say
from washmon.line.setup import Acid, Sanitizer, Tank
from washmon.line.state import Hold, ShiftState
from washmon.reports.lines import lines
from washmon.reports.lots import lot_rows
from washmon.reports.paper import Bold, Sheet
from washmon.reports.printed_trend import HEIGHT_MM, draw_trend
from washmon.reports.printed_words import full, moment, remark, said, tank_name, value, who
from washmon.reports.record_view import BatchRow, HoldRow, batch_rows, correction_rows, hold_rows
from washmon.reports.tables import ACTIONS
from washmon.units import Kind, UnitSystem, show

Part = Callable[[Sheet, ShiftState, UnitSystem], None]


def about(sheet: Sheet, shift: ShiftState, _taste: UnitSystem) -> None:
    """Print what, where, when and by whom."""
    started, setup = shift.started, shift.setup
    end = full(shift.ended.at) if shift.ended else "not ended yet"
    produce = {lot.code: lot.produce for lot in started.lots}
    facts = [
        ("Site", setup.place or "not written"),
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


def people(sheet: Sheet, shift: ShiftState, _taste: UnitSystem) -> None:
    """Print whose initials stand in the record."""
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


def limits(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
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


def _checks(tank: Tank, taste: UnitSystem) -> Iterator[str]:
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


_UNITS = {
    None: "% by weight",
    StrengthBasis.WEIGHT_PCT_NAOCL: "% sodium hypochlorite by weight",
    StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE: "% available chlorine by weight",
    StrengthBasis.TRADE_PCT: "trade %",
    StrengthBasis.G_PER_L_AVAILABLE_CHLORINE: "g/L available chlorine",
}


def _product(product: Sanitizer | Acid) -> tuple[str, ...]:
    if isinstance(product, Acid):
        strength = f"{product.strength_pct:g} %"
    elif product.strength is None:
        strength = "not known"
    else:
        strength = f"{product.strength:g} {_UNITS[product.basis]}"
    use_by = product.use_by.isoformat() if product.use_by else ""
    return (f"{product.name} ({product.kind})", strength, product.lot, use_by)


def check_list(sheet: Sheet, shift: ShiftState, _taste: UnitSystem) -> None:
    """Print the list that was gone through before washing."""
    sheet.heading("Check list before washing")
    checks = shift.started.checks
    if not checks:
        sheet.say("No check list was kept.")
        return
    rows = [(one.item, "done" if one.done else Bold("NOT DONE")) for one in checks]
    sheet.listing(("Item", "State"), (5, 1), rows)


def trends(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Draw each tank."""
    for tank in shift.tanks:
        what = "peracetic acid" if tank.spec.peracetic else "free chlorine"
        sheet.heading(f"Tank {tank.number} {tank.spec.name}: {what}, ppm", keep_mm=HEIGHT_MM + 2)
        draw_trend(sheet, tank, taste)


def actions(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print what was done, noted and decided."""
    sheet.heading("Actions and notes")
    rows = [
        (
            str(line.seq),
            moment(shift, line.event.at),
            said(shift, line.event, taste),
            line.event.by,
            remark(line),
        )
        for line in ACTIONS.rows(shift)
    ]
    sheet.listing(("No.", "Time", "Entry", "By", "Remark"), (0.9, 1.6, 9, 1, 4), rows)


_BATCH = (
    ("No.", 1, True),
    ("Time", 1.8, True),
    ("Tanks", 1.6, True),
    ("Weight", 1.6, False),
    ("In the water", 1.8, False),
    ("CT", 1.2, False),
    ("Held", 3.4, False),
    ("Chance", 1.5, False),
    ("By", 1, True),
    ("Remark", 5, True),
)
"""Heads of the batches, their share of the width, and whether they stand where all is empty."""


def lots(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print where each lot came from, and where it was sent."""
    found = lot_rows(shift)
    if not found:
        return
    sheet.heading("Lots: one step back, and one forward")
    rows = [
        (
            one.code,
            one.produce,
            one.source,
            str(len(one.batches)),
            value(one.weighed_kg or None, Kind.PRODUCE_MASS, taste),
            Bold(one.went) if one.not_recorded else one.went,
        )
        for one in found
    ]
    heads = ("Lot", "Produce", "Came from", "Batches", "Weighed", "Went to: batches")
    sheet.listing(heads, (2, 2.4, 3, 1.4, 1.8, 5), rows)


def batches(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print the batches, lot by lot."""
    sheet.heading("Batches by lot")
    found = batch_rows(shift)
    if not found:
        sheet.say("No batch was washed.")
        return
    for lot in dict.fromkeys(one.line.event.lot for one in found):
        mine = [one for one in found if one.line.event.lot == lot]
        kg = sum(one.line.event.weight_kg or 0.0 for one in mine)
        weight = f", {show(kg, Kind.PRODUCE_MASS, taste)} weighed" if kg else ""
        count = "1 batch" if len(mine) == 1 else f"{len(mine)} batches"
        sheet.say(f"Lot {lot}: {count}{weight}", bold=True)
        rows = [_batch(one, taste) for one in mine]
        # What nobody timed or weighed has no column: it leaves its room to the remarks.
        kept = [
            at for at, (_, _, always) in enumerate(_BATCH) if always or any(r[at] for r in rows)
        ]
        sheet.listing(
            tuple(_BATCH[at][0] for at in kept),
            tuple(_BATCH[at][1] for at in kept),
            [tuple(row[at] for at in kept) for row in rows],
        )
    if any(one.ct_mg_min_l is not None for one in found):
        sheet.say(
            "CT: hypochlorous acid times the time in the water, mg min/L, by the last readings "
            "before the batch."
        )
    if any(one.breach is not None for one in found):
        sheet.say("SHORT and CRITICAL say how the time in the water stood to the limits above.")
    if any(one.hold is not None for one in found):
        sheet.say(
            "Chance: how likely a held batch was washed in less than the critical low, as "
            "estimated when the hold was placed."
        )


def _batch(row: BatchRow, taste: UnitSystem) -> tuple[str, ...]:
    line, chance = row.line, row.chance
    return (
        str(line.seq),
        moment(line.shift, line.event.at),
        row.tanks,
        value(line.event.weight_kg, Kind.PRODUCE_MASS, taste),
        _contact(row, taste),
        "" if row.ct_mg_min_l is None else f"{row.ct_mg_min_l:.3g}",
        _fate(row.hold),
        "" if chance is None else say(chance, taste),
        line.event.by,
        remark(line),
    )


def _contact(row: BatchRow, taste: UnitSystem) -> str:
    text = value(row.line.event.contact_s, Kind.CONTACT_TIME, taste)
    if row.breach is None:
        return text
    return Bold(f"{text}, {'CRITICAL' if row.breach.critical else 'SHORT'}")


def _fate(hold: Hold | None) -> str:
    if hold is None:
        return ""
    if hold.released is None:
        return Bold(f"HELD by entry {hold.seq}, open")
    return f"held by entry {hold.seq}: {hold.released.decision}"


def holds(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print the holds with what was decided."""
    sheet.heading("Holds")
    if not shift.holds:
        sheet.say("Nothing was held.")
        return
    rows = [(*_placed(one, taste), *_decided(shift, one.hold)) for one in hold_rows(shift)]
    heads = (
        "No.",
        "Placed",
        "Tank",
        "Batches",
        "Under critical low",
        "Reason",
        "By",
        "Decision",
        "Decided",
        "Why",
    )
    sheet.listing(heads, (0.9, 1.5, 1.8, 2.2, 2.6, 2.8, 0.9, 1.8, 2, 2.6), rows)


def _placed(row: HoldRow, taste: UnitSystem) -> tuple[str, ...]:
    placed = row.hold.placed
    return (
        str(row.hold.seq),
        moment(row.shift, placed.at),
        tank_name(row.shift, placed.tank),
        ", ".join(str(seq) for seq in placed.batches),
        row.likely(lambda one: say(one, taste)),
        placed.reason,
        placed.by,
    )


def _decided(shift: ShiftState, hold: Hold) -> tuple[str, ...]:
    done = hold.released
    if done is None:
        heir = shift.ended.holds_to if shift.ended else None
        return (Bold("OPEN"), f"with {heir}" if heir else "", "")
    return (done.decision.value, f"{moment(shift, done.at)} {done.by}", done.reason)


def corrections(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print every correction: what stood there, what stands there now, who, when and why."""
    sheet.heading("Corrections")
    rows = [
        (
            str(row.event.entry),
            _entry(shift, row.old, taste) or "–",
            _entry(shift, row.new, taste) or "it never happened",
            row.event.by,
            moment(shift, row.event.at),
            row.event.reason,
        )
        for row in correction_rows(shift)
    ]
    if not rows:
        sheet.say("No entry was corrected.")
        return
    heads = ("No.", "It was", "It is now", "By", "When", "Why")
    sheet.listing(heads, (0.9, 5, 5, 1, 1.6, 3.5), rows)


def _entry(shift: ShiftState, event: Event | None, taste: UnitSystem) -> str:
    return f"{moment(shift, event.at)} {said(shift, event, taste)}" if event else ""
