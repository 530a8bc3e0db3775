"""The summary of each tank on paper: facts downward, tanks across."""

from collections.abc import Callable, Sequence

from washmon.line.state import ShiftState
from washmon.reports.paper import Bold, Sheet
from washmon.reports.summary import LevelSummary, TankSummary, TimeShares, Used
from washmon.reports.summing import summarize
from washmon.units import Kind, UnitSystem, show

_ACROSS = 5
"""Tanks beside each other; more go below."""
Cell = Callable[[TankSummary, UnitSystem], str]


def summary(sheet: Sheet, shift: ShiftState, taste: UnitSystem) -> None:
    """Print what was washed, measured, used and done, by tank."""
    sheet.heading("Summary by tank")
    tanks = summarize(shift)
    for begin in range(0, len(tanks), _ACROSS):
        some = tanks[begin : begin + _ACROSS]
        rows = [(words, *(cell(tank, taste) for tank in some)) for words, cell in _ROWS]
        kept = [row for row in rows if any(text not in {"", "–"} for text in row[1:])]
        heads = ("", *(f"{tank.tank} {tank.tank_name}" for tank in some))
        sheet.listing(heads, (1.5, *(1.0 for _ in some)), kept)


def percent(share: float) -> str:
    """Return a share as whole percent; never 0 or 100 for what is only nearly so."""
    if 0 < share < 0.01:  # noqa: PLR2004 - one percent
        return "under 1 %"
    return "over 99 %" if 0.99 < share < 1 else f"{share * 100:.0f} %"  # noqa: PLR2004 - the same


def _spread(of: str, kind: Kind) -> Cell:
    def cell(tank: TankSummary, taste: UnitSystem) -> str:
        found: LevelSummary | None = getattr(tank, of)
        if found is None:
            return "–"
        shown = [
            show(one, kind, taste, with_unit=False)
            for one in (found.lowest, found.median, found.highest)
        ]
        return " / ".join(shown)

    return cell


def _readings(of: str) -> Cell:
    def cell(tank: TankSummary, _taste: UnitSystem) -> str:
        found: LevelSummary | None = getattr(tank, of)
        if found is None:
            return "–"
        within = f"{round(found.within * found.count)} of {found.count}"
        critical = found.count - round(found.at_least_critical * found.count)
        return Bold(f"{within}; {critical} CRITICAL") if critical else within

    return cell


def _time(of: str) -> Cell:
    def cell(tank: TankSummary, _taste: UnitSystem) -> str:
        found: TimeShares | None = getattr(tank, of)
        if found is None:
            return "–"
        unknown = f", {percent(found.unknown)} not known" if found.unknown else ""
        return f"{percent(found.within)}{unknown}"

    return cell


def _gap(tank: TankSummary, taste: UnitSystem) -> str:
    found = tank.paa_time or tank.fac_time
    return "–" if found is None else show(found.longest_gap_s / 60, Kind.TIME, taste)


def _used(of: str) -> Cell:
    def cell(tank: TankSummary, taste: UnitSystem) -> str:
        used: Sequence[Used] = getattr(tank, of)
        said = []
        for one in used:
            kind = Kind.SMALL_VOLUME if one.amount.unit == "mL" else Kind.MASS
            times = "once" if one.times == 1 else f"{one.times} times"
            said.append(f"{show(one.amount.value, kind, taste)} {one.name}, {times}")
        return "; ".join(said) or "–"

    return cell


def _washed(tank: TankSummary, taste: UnitSystem) -> str:
    weight = f" ({show(tank.washed_kg, Kind.PRODUCE_MASS, taste)})" if tank.washed_kg else ""
    return f"{tank.batches}{weight}"


def _water(tank: TankSummary, taste: UnitSystem) -> str:
    if not tank.water_known:
        return "not recorded in the imported log"
    exchanged = f", {_counted(tank.exchanges, 'exchange')}" if tank.exchanges else ""
    return f"{show(tank.water_l, Kind.VOLUME, taste)}, {_counted(tank.fills, 'fill')}{exchanged}"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _flags(tank: TankSummary, _taste: UnitSystem) -> str:
    if tank.shift.imported:
        return "–"
    return f"{tank.flags_stop} / {tank.flags_act} / {tank.flags_watch}"


def _held(tank: TankSummary, _taste: UnitSystem) -> str:
    if not tank.holds:
        return "none"
    words = f"{tank.batches_held} batch" + ("es" if tank.batches_held != 1 else "")
    return Bold(f"{words}, {_counted(tank.open_holds, 'hold')} OPEN") if tank.open_holds else words


def _corrective(tank: TankSummary, _taste: UnitSystem) -> str:
    return str(len(tank.corrective))


def _corrected(tank: TankSummary, _taste: UnitSystem) -> str:
    return str(tank.corrections)


_ROWS: tuple[tuple[str, Cell], ...] = (
    ("Batches", _washed),
    ("Water used", _water),
    ("Free chlorine, ppm: lowest / median / highest", _spread("fac", Kind.CONCENTRATION)),
    ("Readings of it within limits", _readings("fac")),
    ("Time within limits", _time("fac_time")),
    ("Peracetic acid, ppm: lowest / median / highest", _spread("paa", Kind.CONCENTRATION)),
    ("Readings of it within limits", _readings("paa")),
    ("Time within limits", _time("paa_time")),
    ("Longest time without a reading", _gap),
    ("pH: lowest / median / highest", _spread("ph", Kind.PH)),
    ("Readings of pH within limits", _readings("ph")),
    ("Time with pH within limits", _time("ph_time")),
    ("Sanitizer added", _used("sanitizer_used")),
    ("Acid added", _used("acid_used")),
    ("Flags: stop / act / watch", _flags),
    ("Corrective actions", _corrective),
    ("Held", _held),
    ("Entries corrected", _corrected),
)
