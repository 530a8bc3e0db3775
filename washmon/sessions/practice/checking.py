"""Which worlds are impossible: one sentence beside the key of a scenario that is to be mended."""

import math

from msgspec import Struct

from washmon.chemistry.water import CACO3_MG_PER_EQ
from washmon.line.message import Figure
from washmon.line.setup import LineSetup
from washmon.line.setup_fault import Found, SetupFault, fault
from washmon.sessions.practice.keys import Key, key_of
from washmon.sessions.practice.parameters import PracticeError, parameters
from washmon.sessions.practice.practice_setup import wash_tanks
from washmon.sessions.practice.scenario import Scenario, minute_of, parts_of
from washmon.units import Kind

_KG_PER_L = 0.5
"""No more produce than this goes into a tank at a time: common practice, no published source."""
_KW = 1e-14


def scenario_faults(scenario: Scenario) -> list[SetupFault]:
    """Return all that is to be mended in a draft; unreadable numbers are passed over."""
    return [*_words(scenario), *_ranges(scenario, ""), *_line(scenario), *world_faults(scenario)]


def world_faults(scenario: Scenario) -> list[SetupFault]:
    """Return what can't be so though each value by itself could, and questions without answers."""
    return [
        *_asks(scenario),
        *_times(scenario),
        *_water(scenario),
        *_weights(scenario),
        *_events(scenario),
    ]


def _words(scenario: Scenario) -> Found:
    for path in ("title", "goal", "briefing"):
        if not getattr(scenario, path).strip():
            yield fault(path, "Write a few words here.")
    if not scenario.good:
        yield fault("good", "Say what a good run looks like, in one line at least.")
    for path in ("good", "hints", "asks"):
        if len(getattr(scenario, path)) > _MOST_LINES:
            yield fault(path, "No more than {most} lines have room here.", most=_MOST_LINES)


def _asks(scenario: Scenario) -> Found:
    for line in scenario.asks:
        if not _LEAST_PARTS <= len(parts_of(line)) <= _MOST_PARTS:
            yield fault("asks", "Write a question and two to four answers, with | between them.")
        elif len(set(parts_of(line))) < len(parts_of(line)):
            yield fault("asks", "Two answers are the same: nobody could tell which is right.")


_MOST_LINES = 12
_LEAST_PARTS, _MOST_PARTS = 3, 5
"""A question with its answers, between which one can choose."""


def _ranges(part: Struct, before: str) -> Found:
    """Yield each number that lies outside of what its key declares."""
    for name in part.__struct_fields__:
        value, path = getattr(part, name), f"{before}{name}"
        if isinstance(value, Struct):
            yield from _ranges(value, f"{path}.")
        elif isinstance(value, tuple) and value and isinstance(value[0], Struct):
            for at, one in enumerate(value):
                yield from _ranges(one, f"{path}.{at}.")
        elif isinstance(value, float | int) and not isinstance(value, bool):
            key = key_of(path)
            if math.isfinite(value) and key.high is not None and not key.holds(value):
                yield _beyond(path, key)


def _beyond(path: str, key: Key) -> SetupFault:
    kind = key.kind or Kind.COUNT
    return fault(
        path,
        "This lies between {least} and {most}.",
        least=Figure(key.shown_low, kind),
        most=Figure(key.shown_high, kind),
    )


def _line(scenario: Scenario) -> Found:
    known = parameters().commodity
    if scenario.line.commodity not in known:
        yield fault("line.commodity", "Choose what is washed.")
        return
    has = len(wash_tanks(scenario.line.commodity))
    if scenario.line.setup is None and not 1 <= scenario.line.tanks <= has:
        yield fault(
            "line.tanks",
            "The practice line for this produce has {has}: choose 1 to {has}.",
            has=has,
        )


def _times(scenario: Scenario) -> Found:
    pace = scenario.pace
    if pace.first_batch >= pace.minutes:
        yield fault(
            "pace.first_batch",
            "The time is over before the first batch comes: let it come sooner than {end}.",
            end=Figure(pace.minutes, Kind.TIME),
        )
    if scenario.before is not None:
        washed_by = pace.first_batch + scenario.before.batches * pace.batch_minutes
        if washed_by >= pace.minutes:
            yield fault(
                "before.batches",
                "The colleague would wash until {end}, and nothing would be left to do.",
                end=Figure(washed_by, Kind.TIME),
            )


def _water(scenario: Scenario) -> Found:
    """Yield water that chemistry does not allow: hydroxide alone has more alkalinity than is told.

    Alkalinity is carbonate, bicarbonate and hydroxide less hydrogen ions, and carbonate can't be
    under none (Stumm and Morgan, Aquatic Chemistry, 3rd ed. 1996, chapter 4); at 25 °C.
    """
    tap = scenario.tap
    if not (key_of("tap.ph").holds(tap.ph) and math.isfinite(tap.alkalinity_mg_l)):
        return
    hydrogen = 10.0**-tap.ph
    least = max(0.0, _KW / hydrogen - hydrogen) * CACO3_MG_PER_EQ
    if tap.alkalinity_mg_l < least:
        yield fault(
            "tap.alkalinity_mg_l",
            "Water of pH {ph} has an alkalinity of {least} at least.",
            ph=Figure(tap.ph, Kind.PH),
            least=Figure(math.ceil(least), Kind.CONCENTRATION),
        )


def _weights(scenario: Scenario) -> Found:
    line = _setup_of(scenario)
    if line is None:
        return
    smallest = min(tank.volume_l for tank in line.tanks)
    usual = parameters().commodity[scenario.line.commodity]
    kg = usual.batch_kg_m3 * line.tanks[0].volume_l / 1000.0 * scenario.pace.batch_weight
    if kg > _KG_PER_L * smallest:
        yield fault(
            "pace.batch_weight",
            "A batch of {kg} does not go into a tank of {litres}.",
            kg=Figure(kg, Kind.PRODUCE_MASS),
            litres=Figure(smallest, Kind.VOLUME),
        )
    if scenario.world.makeup_l_min >= smallest:
        yield fault(
            "world.makeup_l_min",
            "The smallest tank, of {litres}, would be renewed within a minute.",
            litres=Figure(smallest, Kind.VOLUME),
        )


def _setup_of(scenario: Scenario) -> LineSetup | None:
    try:
        return scenario.setup("AB")
    except (PracticeError, ValueError, RecursionError):
        return None


def _events(scenario: Scenario) -> Found:
    for at, one in enumerate(scenario.happens):
        path = f"happens.{at}"
        if not minute_of(scenario, one.at) <= scenario.pace.minutes:
            yield fault(f"{path}.at", "This lies outside of the shift: choose a time within it.")
        if not one.changes and not one.say.strip():
            yield fault(f"{path}.say", "Nothing happens here: say what changes, or what is heard.")
