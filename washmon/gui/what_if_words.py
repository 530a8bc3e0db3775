"""What a shift still needs, and what it usually took, in a line each."""

from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.planning.until_end import Need, TankNeeds, total
from washmon.reports.usual_day import Usual, UsualDay
from washmon.units import Kind

_GAP = "\N{NO-BREAK SPACE}"


def needs_words(found: tuple[TankNeeds, ...], batches: int, person: Person) -> str:
    """Say what so many more batches need: doses and products, water, readings and strips."""
    doses, changes = sum(one.doses for one in found), sum(one.changes for one in found)
    products = [
        tr("{amount} {product}", amount=_span(need, unit, person), product=name)
        for (name, unit), need in total(found).items()
    ]
    said = [
        tr("{count} doses" if doses != 1 else "one dose", count=doses),
        *products,
    ]
    if changes:
        said.append(
            tr("{count} water changes" if changes != 1 else "one water change", count=changes)
        )
    water_l = sum(one.water_l for one in found)
    if water_l:
        said.append(tr("{volume} of water", volume=person.show(water_l, Kind.VOLUME)))
    readings, strips = sum(one.readings for one in found), sum(one.strips for one in found)
    said.append(tr("{count} readings" if readings != 1 else "one reading", count=readings))
    if strips:
        said.append(tr("{count} strips" if strips != 1 else "one strip", count=strips))
    template = "Until the end of the shift, {count} more batches: {needs}."
    return tr(template, count=batches, needs=", ".join(said))


def day_words(day: UsualDay, person: Person) -> str:
    """Sum up what the last shifts took, as what tomorrow may take."""
    said = [tr("{span} batches", span=_whole(day.batches))]
    for (name, unit), usual in day.products.items():
        need = Need(usual.low, usual.middle, usual.high)
        said.append(tr("{amount} {product}", amount=_span(need, unit, person), product=name))
    volume = person.show(day.water_l.middle, Kind.VOLUME)
    said.append(tr("{volume} of water", volume=volume))
    said.append(tr("{span} readings", span=_whole(day.readings)))
    head = "For tomorrow, as in the last shift: {what}."
    if day.shifts > 1:
        head = "For tomorrow, as in the last {count} shifts: {what}."
    return tr(head, count=day.shifts, what=", ".join(said))


def _whole(usual: Usual) -> str:
    middle, low, high = round(usual.middle), round(usual.low), round(usual.high)
    return (
        str(middle)
        if low == high
        else tr("{middle} ({low}–{high})", middle=middle, low=low, high=high)
    )


def _span(need: Need, unit: str, person: Person) -> str:
    kind = Kind.SMALL_VOLUME if unit == "mL" else Kind.MASS
    middle = person.show(need.middle, kind)
    low, high = (person.show(end, kind) for end in (need.low, need.high))
    if low.rpartition(_GAP)[2] == high.rpartition(_GAP)[2]:
        low = low.rpartition(_GAP)[0]  # one unit for both
    if need.low == need.high:
        return middle
    return tr("{middle} ({low}–{high})", middle=middle, low=low, high=high)
