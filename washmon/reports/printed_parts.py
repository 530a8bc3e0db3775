"""The parts of a printed shift record that tell under what it was washed: set-up and people."""

from collections.abc import Callable, Iterator

from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.events import HandedOver
from washmon.line.setup import Acid, Sanitizer, Tank
from washmon.line.state import ShiftState
from washmon.reports.lines import lines
from washmon.reports.paper import Bold, Sheet
from washmon.reports.printed_trend import HEIGHT_MM, draw_trend
from washmon.reports.printed_words import full, moment, value, who
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
        draw_trend(sheet, shift.setup, tank, taste)
