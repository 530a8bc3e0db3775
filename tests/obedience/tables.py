"""The tables of what was counted, in plain text."""

from collections.abc import Callable, Iterable, Sequence

from tests.obedience.tally import (
    Measure,
    Tally,
    interval,
    ratio,
    wilson,
)

Row = tuple[str, str, Measure]


def _sum(get: Callable[[Tally], float]) -> Measure:
    return lambda tallies: float(sum(get(one) for one in tallies))


def _share(holds: Callable[[Tally], bool]) -> Measure:
    return lambda tallies: 100.0 * sum(holds(one) for one in tallies) / max(1, len(tallies))


def _pooled(get: Callable[[Tally], list[float]], at: float) -> Measure:
    def measured(tallies: Sequence[Tally]) -> float:
        values = sorted(value for one in tallies for value in get(one))
        if not values:
            return float("nan")
        return values[min(len(values) - 1, int(at * len(values)))]

    return measured


_PER_HOUR = 60.0
LOW_PH, GAS_PH = 6.5, 6.0
FLOOD, FEW_TANKS = 10, 3
"""Flags in ten minutes: more are too many for one person (ANSI/ISA-18.2)."""
ROWS: tuple[Row, ...] = (
    (
        "batches under critical, %",
        ".3f",
        ratio(lambda t: t.under_critical, lambda t: t.batches, 100),
    ),
    (
        "  beyond the instrument's error, %",
        ".3f",
        ratio(lambda t: t.under_beyond, lambda t: t.batches, 100),
    ),
    ("  while a stop stands", ".0f", _sum(lambda t: t.under_in_stop)),
    ("  after a stop, beyond the error", ".0f", _sum(lambda t: t.under_after_stop)),
    ("checks per tank and batch", ".3f", ratio(lambda t: t.checks, lambda t: t.tank_batches)),
    ("  per batch, all tanks", ".2f", ratio(lambda t: t.checks, lambda t: t.batches)),
    (
        "  of these for pH alone, %",
        ".1f",
        ratio(lambda t: t.checks_ph_only, lambda t: t.checks, 100),
    ),
    ("doses per 100 batches", ".1f", ratio(lambda t: t.doses, lambda t: t.batches, 100)),
    ("acid per 100 batches", ".1f", ratio(lambda t: t.acids, lambda t: t.batches, 100)),
    ("exchanges per 100 batches", ".2f", ratio(lambda t: t.exchanges, lambda t: t.batches, 100)),
    ("water changes per 100 batches", ".2f", ratio(lambda t: t.changes, lambda t: t.batches, 100)),
    ("water changes / asked for", ".2f", ratio(lambda t: t.changes, lambda t: t.asked_changes)),
    ("batches past the schedule", ".0f", _sum(lambda t: t.past_schedule)),
    ("batches past cloudiness", ".0f", _sum(lambda t: t.past_cloudy)),
    ("batches an hour", ".2f", ratio(lambda t: t.batches, lambda t: t.minutes, _PER_HOUR)),
    ("shifts with pH < 6.5, %", ".2f", _share(lambda t: t.lowest_ph < LOW_PH)),
    ("  after acid, %", ".2f", _share(lambda t: t.lowest_ph_by_acid < LOW_PH)),
    ("shifts with pH < 6.0, %", ".2f", _share(lambda t: t.lowest_ph < GAS_PH)),
    ("  after acid, %", ".2f", _share(lambda t: t.lowest_ph_by_acid < GAS_PH)),
    ("lowest pH", ".2f", lambda ts: min(t.lowest_ph for t in ts)),
    ("over label or law beyond the error", ".0f", _sum(lambda t: t.over_label)),
    ("  highest share of the limit", ".2f", lambda ts: max(t.worst_over for t in ts)),
    ("acid and hypochlorite within mixing", ".0f", _sum(lambda t: t.acid_meets_chlorine)),
    (
        "stops by the water, per 100 batches",
        ".2f",
        ratio(lambda t: t.stops, lambda t: t.batches, 100),
    ),
    ("  to good again by doses, median min", ".1f", _pooled(lambda t: t.stops_dosed, 0.5)),
    ("  by doses, 95 % min", ".1f", _pooled(lambda t: t.stops_dosed, 0.95)),
    ("  by water change, median min", ".1f", _pooled(lambda t: t.stops_changed, 0.5)),
    ("  by water change, 95 % min", ".1f", _pooled(lambda t: t.stops_changed, 0.95)),
    (
        "flags an hour, up to three tanks",
        ".1f",
        ratio(
            lambda t: t.flags * (t.tanks <= FEW_TANKS),
            lambda t: t.minutes * (t.tanks <= FEW_TANKS),
            _PER_HOUR,
        ),
    ),
    ("flags an hour", ".1f", ratio(lambda t: t.flags, lambda t: t.minutes, _PER_HOUR)),
    ("most flags in ten minutes", ".0f", lambda ts: max(t.most_flags_10 for t in ts)),
    ("shifts with over 10 in ten minutes, %", ".1f", _share(lambda t: t.most_flags_10 > FLOOD)),
    (
        "changes of now that need a hand, an hour",
        ".1f",
        ratio(lambda t: t.hands, lambda t: t.minutes, _PER_HOUR),
    ),
    (
        "flags that change now within ten minutes, %",
        ".1f",
        ratio(lambda t: t.changed_now, lambda t: t.twinned, 100),
    ),
    ("stuck (may not wash, nothing to do)", ".0f", _sum(lambda t: t.stuck)),
    ("same act again without a batch, most", ".0f", lambda ts: max(t.most_repeats for t in ts)),
    ("endless loops", ".0f", _sum(lambda t: t.loops)),
    ("advice, ms a look", ".2f", ratio(lambda t: t.advise_ms, lambda t: t.looks)),
    ("advice, slowest ms", ".1f", lambda ts: max(t.worst_advise_ms for t in ts)),
    ("forecast, ms a look", ".2f", ratio(lambda t: t.forecast_ms, lambda t: t.looks)),
    ("computing, s a world", ".2f", lambda ts: sum(t.seconds for t in ts) / max(1, len(ts))),
    ("faults", ".0f", _sum(lambda t: len(t.faults))),
    ("entries refused", ".0f", _sum(lambda t: sum(t.refused.values()))),
)
_WITH_INTERVALS = frozenset(
    {
        "batches under critical, %",
        "checks per tank and batch",
        "doses per 100 batches",
        "acid per 100 batches",
        "water changes / asked for",
        "batches an hour",
        "flags an hour",
        "changes of now that need a hand, an hour",
    }
)


def table(title: str, groups: dict[str, list[Tally]]) -> str:
    """Return one table: a column for each way of working."""
    lines = [f"## {title}", ""]
    some = {who: tallies for who, tallies in groups.items() if tallies}
    if not some:
        return f"## {title}\n\n(no worlds)\n"
    lines.append("| measure | " + " | ".join(some) + " |")
    lines.append("| --- |" + " --- |" * len(some))
    worlds = (str(len(tallies)) for tallies in some.values())
    lines.append("| worlds | " + " | ".join(worlds) + " |")
    batches = (str(sum(one.batches for one in tallies)) for tallies in some.values())
    lines.append("| batches | " + " | ".join(batches) + " |")
    for name, form, measure in ROWS:
        cells = [_cell(name, form, measure, tallies) for tallies in some.values()]
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    return "\n".join([*lines, "", *_against(some), ""])


def _cell(name: str, form: str, measure: Measure, tallies: Sequence[Tally]) -> str:
    if name not in _WITH_INTERVALS:
        return f"{measure(tallies):{form}}"
    if name.startswith("batches under"):
        under, total = sum(t.under_critical for t in tallies), sum(t.batches for t in tallies)
        low, high = (100.0 * one for one in wilson(under, total)[1:])
        _, lowest, highest = interval(measure, tallies)
        low, high = min(low, lowest), max(high, highest)
        return f"{measure(tallies):{form}} ({low:{form}}–{high:{form}})"
    best, low, high = interval(measure, tallies)
    return f"{best:{form}} ({low:{form}}–{high:{form}})"


def _against(groups: dict[str, list[Tally]]) -> Iterable[str]:
    """Yield how many times as many batches an hour everybody does as the habit that waits."""
    usual = groups.get("every2w")
    if not usual:
        return
    pace = ratio(lambda t: t.batches, lambda t: t.minutes, _PER_HOUR)
    for who, tallies in groups.items():
        if who != "every2w":
            yield f"batches an hour of {who} / every2w: {pace(tallies) / pace(usual):.2f}"


def by_tanks(tallies: Sequence[Tally], who: str) -> dict[str, list[Tally]]:
    """Return one way of working by the number of tanks."""
    groups: dict[str, list[Tally]] = {"1": [], "2": [], "3": [], "4 and more": []}
    for one in tallies:
        if one.who == who:
            groups[str(one.tanks) if one.tanks < 4 else "4 and more"].append(one)
    return groups


def counted(tallies: Sequence[Tally], which: str) -> list[str]:
    """Return what was counted by name (causes, doubted, refused), most first."""
    found: dict[str, int] = {}
    for one in tallies:
        for name, count in getattr(one, which).items():
            found[name] = found.get(name, 0) + count
    total = sum(found.values())
    ordered = sorted(found.items(), key=lambda item: -item[1])
    return [f"{count:6d} {100 * count / total:5.1f} %  {name}" for name, count in ordered[:40]]
