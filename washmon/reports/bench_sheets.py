"""The sheets that hang over the bench: a page for each tank, in the measures that the shed owns.

What stands there holds for water without demand. The Board knows the water of the day, and goes
before the paper; the label, local codes and licensed practice go before both.
"""

from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path

import msgspec

from washmon import data
from washmon.chemistry.checks import ChemistryError
from washmon.line.flags import Caution
from washmon.line.measure import measured
from washmon.line.product import dose, most_to
from washmon.line.setup import LineSetup, Sanitizer, SanitizerKind, Tank
from washmon.reports.files import written_aside
from washmon.reports.paper import Bold, PaperSize, Running, Sheet
from washmon.units import Kind, show

_STEPS = 5
"""So many levels from the critical low up to the target are given a dose."""
_CAUTION_OF = {
    SanitizerKind.SODIUM: Caution.HYPOCHLORITE,
    SanitizerKind.CALCIUM: Caution.HYPOCHLORITE,
    SanitizerKind.PERACETIC: Caution.PERACETIC,
}


def bench_sheets(setup: LineSetup, made_at: datetime, paper: PaperSize = PaperSize.A4) -> bytes:
    """Return a PDF with a page or more for each tank of a line; the same set-up, the same bytes."""
    with closing(_laid_out(setup, made_at, paper, 1)) as draft:
        pages = draft.pages_count
    with closing(_laid_out(setup, made_at, paper, pages)) as sheet:
        return bytes(sheet.output())


def write_bench_sheets(
    target: Path, setup: LineSetup, made_at: datetime, paper: PaperSize = PaperSize.A4
) -> None:
    """Write the sheets as a PDF, whole or not at all.

    Raises:
        ExportError: with a sentence; the target is as it was.
    """
    body = bench_sheets(setup, made_at, paper)
    with written_aside(target) as file:
        file.write(body)


def _laid_out(setup: LineSetup, made_at: datetime, paper: PaperSize, pages: int) -> Sheet:
    running = Running(
        title=f"Bench sheets of {setup.line}",
        about=f"{f'{setup.place}; ' if setup.place else ''}set-up as of {made_at:%Y-%m-%d}",
        proof="Print it anew whenever the set-up changes. The product label, local codes and "
        "licensed practice come first.",
    )
    sheet = Sheet(paper, running, made_at, pages)
    for place, tank in enumerate(setup.tanks):
        if place:
            sheet.add_page()
        _tank(sheet, setup, tank, made_at)
    return sheet


def _tank(sheet: Sheet, setup: LineSetup, tank: Tank, made_at: datetime) -> None:
    sheet.heading(f"{tank.number}  {tank.name} ({tank.stage})")
    sheet.facts(list(_facts(setup, tank)), label_mm=42.0)
    product = setup.sanitizer(tank.sanitizer)
    sheet.heading("What to add")
    if product is None:
        sheet.say("The product of this tank is not in the set-up.")
    else:
        rows = list(_doses(setup, tank, product, made_at))
        sheet.listing(("It reads", f"Add {product.name}", "To reach"), (3, 6, 3), rows)
        sheet.say(
            "In a full tank of clean water. Dirt uses some of it up at once: stir, wait "
            f"{show(tank.mix_minutes, Kind.TIME, setup.taste)}, read again before you add more."
        )
    if tank.acid is not None:
        sheet.say(
            "Acid: only as the Board says for the water that was read. How much a pH takes hangs "
            "on the alkalinity. Never while a dose is still mixing in, and never the other way "
            "round.",
            bold=True,
        )
    sheet.heading("Beware")
    for signal, text in _cautions(tank, product):
        sheet.say(f"{signal}: {text}", bold=signal == "WARNING")


def _facts(setup: LineSetup, tank: Tank) -> Iterator[tuple[str, str]]:
    limits, taste = tank.limits, setup.taste
    level = "Peracetic acid" if tank.peracetic else "Free chlorine"

    def ppm(value: float) -> str:
        return show(value, Kind.CONCENTRATION, taste)

    yield "Holds", show(tank.volume_l, Kind.VOLUME, taste)
    yield (
        level,
        f"target {ppm(limits.target_mg_l)}, {ppm(limits.low_mg_l)} to {ppm(limits.high_mg_l)}",
    )
    yield Bold("Stop and hold"), Bold(f"under {ppm(limits.critical_low_mg_l)}")
    yield "Label maximum", ppm(limits.label_max_mg_l)
    if tank.peracetic is None:
        ph = tank.ph
        yield "pH", f"target {ph.target:g}, {ph.low:g} to {ph.high:g}"
    if tank.contact_s:
        yield "In the water", show(tank.contact_s, Kind.CONTACT_TIME, taste)
    every = [
        f"every {tank.check_batches} batches" if tank.check_batches else "",
        f"every {show(tank.check_minutes, Kind.TIME, taste)}" if tank.check_minutes else "",
    ]
    yield "Read it", ", ".join(one for one in every if one) or "as the Board says"
    changed = [
        f"after {tank.batches_per_fill} batches" if tank.batches_per_fill else "",
        f"after {tank.hours_per_fill:g} h" if tank.hours_per_fill else "",
        "when the card is " + tank.look_limit if tank.look_limit else "",
    ]
    yield "Change the water", ", ".join(one for one in changed if one) or "as the Board says"


def _doses(
    setup: LineSetup, tank: Tank, product: Sanitizer, made_at: datetime
) -> Iterator[tuple[str, str, str]]:
    """Yield what to add at some levels from none up to near the target."""
    limits, taste, today = tank.limits, setup.taste, made_at.date()
    span = limits.target_mg_l - limits.critical_low_mg_l
    levels = [0.0, *(limits.critical_low_mg_l + span * at / _STEPS for at in range(_STEPS))]
    target = show(limits.target_mg_l, Kind.CONCENTRATION, taste)
    for level in levels:
        reads = show(level, Kind.CONCENTRATION, taste) if level else "fresh water"
        try:
            wanted = dose(product, tank.volume_l, level, limits.target_mg_l, today)
            most = most_to(product, tank.volume_l, level, limits.label_max_mg_l, today)
            amount = measured(wanted, setup, at_most=most)
        except ChemistryError as trouble:
            yield reads, str(trouble), target
            continue
        kind = Kind.SMALL_VOLUME if wanted.unit == "mL" else Kind.MASS
        exact = show(amount.actual, kind, taste)
        said = amount.describe()
        yield reads, said if exact == said else f"{said}  ({exact})", target


def _cautions(tank: Tank, product: Sanitizer | None) -> Iterator[tuple[str, str]]:
    """Yield signal words, as ANSI Z535 defines them, and texts: of product, acid and label."""
    body = data.resource("cautions", "cautions.json").read_bytes()
    texts = msgspec.json.decode(body)
    wanted = [] if product is None else [_CAUTION_OF[product.kind]]
    wanted += [Caution.ACID] if tank.acid is not None else []
    for caution in (*wanted, Caution.LABEL):
        for one in texts[caution.value]["full"]:
            yield one["signal"], one["text"]
