"""A set-up judged as a whole: faults that must be mended, and cautions that are only said.

Each rule is a small function that yields what it found. A path names the field that a sentence
belongs beside: ``tanks.1.chlorine.low_mg_l`` is the low limit of the second tank.
"""

import math
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date

import msgspec
from msgspec import Struct

from washmon.chemistry import measures
from washmon.chemistry.water import HIGHEST_ALKALINITY_MG_L
from washmon.line.message import Figure
from washmon.line.setup import (
    Acid,
    LineSetup,
    Look,
    Role,
    Sanitizer,
    Stage,
    Tank,
)
from washmon.line.setup_fault import Found, SetupFault, fault, ppm, refused, rising
from washmon.line.validate_levels import (
    kept_with_its_sanitizer,
    levels_rise,
    peracetic_cautions,
    peracetic_limits_rise,
)
from washmon.line.validate_prices import prices_are_possible, unpriced_for_want_of_density
from washmon.line.validate_products import PRODUCT_RULES, acids_fit_their_kind, unusual_acids
from washmon.line.validate_watching import (
    critical_limits_are_possible,
    dates_still_to_come,
    instruments_are_possible,
    left_unfit,
    margins_are_possible,
    pads_rise_from_nothing,
    some_days_are_worked,
    switched_off_with_a_reason,
)
from washmon.line.volume import MeasurementError, working_volume_l
from washmon.units import Kind

LEAST_TANK_L, LARGEST_TANK_L = 5.0, 200_000.0
LEAST_PH, GREATEST_PH = 5.0, 9.0
USUAL_LABEL_MG_L = 200.0
"""Value from memory: 21 CFR 178.1010 and many labels stop at 200 mg/L."""
USUAL_CONTACT_S = 60.0
"""Common practice, no published source."""
LOWEST_SOURCE_PH, HIGHEST_SOURCE_PH = 4.0, 11.0
MOST_CHLORIDE_MG_L = 20_000.0
LEAST_MIX_MINUTES = 1.0
_MOST_INITIALS = 4


def faults(setup: LineSetup) -> list[SetupFault]:
    """Return all that must be mended before this set-up can run a shift."""
    found = [one for rule in _RULES for one in rule(setup)]
    for number, tank in enumerate(setup.tanks):
        checks = _PERACETIC_RULES if tank.peracetic else _CHLORINE_RULES
        found += [
            one for check in (*_TANK_RULES, *checks) for one in check(f"tanks.{number}", tank)
        ]
    for number, product in enumerate(setup.sanitizers):
        path = f"sanitizers.{number}"
        found += [one for check in PRODUCT_RULES for one in check(path, product)]
    return found


def cautions(setup: LineSetup, today: date) -> list[SetupFault]:
    """Return what a careful colleague would mention; none of it stands in the way."""
    found = [*_out_of_date(setup, today), *_no_measures(setup), *peracetic_cautions(setup)]
    found += _nowhere(setup)
    found += unpriced_for_want_of_density(setup)
    found += dates_still_to_come(setup, today)
    found += left_unfit(setup)
    found += unusual_acids(setup)
    for number, tank in enumerate(setup.tanks):
        found += _short_contact(f"tanks.{number}", tank)
        found += () if tank.peracetic else _high_label(f"tanks.{number}", tank)
    return found


# --- the set-up as a whole


def _numbers_are_finite(setup: LineSetup) -> Found:
    """NaN stands where the guide could not read a number; neither it nor infinity may pass."""

    def walk(path: str, value: object) -> Found:
        if isinstance(value, Struct):
            for name, part in msgspec.structs.asdict(value).items():
                yield from walk(f"{path}.{name}".lstrip("."), part)
        elif isinstance(value, tuple):
            for number, part in enumerate(value):
                yield from walk(f"{path}.{number}", part)
        elif isinstance(value, float) and not math.isfinite(value):
            yield fault(path, "A number is needed here.")

    return walk("", setup)


def _line_is_named(setup: LineSetup) -> Found:
    if not setup.line.strip():
        yield fault("line", "Name the line.")


def _nowhere(setup: LineSetup) -> Found:
    """Shifts can be run meanwhile: before one is signed, its record says what it lacks."""
    if not setup.site.strip():
        yield fault("site", "The records of shifts lack the name of the site until it is written.")
    if not setup.location.strip():
        yield fault("location", "The records of shifts lack the location until it is written.")


def _people_are_known(setup: LineSetup) -> Found:
    seen: set[str] = set()
    for number, person in enumerate(setup.people):
        path = f"people.{number}.initials"
        initials = person.initials
        if not (initials.isalpha() and len(initials) <= _MOST_INITIALS):
            yield fault(path, "Initials are one to four letters.")
        elif initials.casefold() in seen:
            yield fault(path, "{initials} is taken: no two people sign alike.", initials=initials)
        seen.add(initials.casefold())
        if not person.name.strip():
            yield fault(f"people.{number}.name", "Write the name behind these initials.")
    if not any(person.role is Role.SUPERVISOR for person in setup.people):
        yield fault("people", "At least one person must be a supervisor: a shift starts with one.")


def _tanks_are_in_order(setup: LineSetup) -> Found:
    if not setup.tanks:
        yield fault("tanks", "A line has at least one tank.")
    names = Counter(tank.name.strip().casefold() for tank in setup.tanks)
    for place, tank in enumerate(setup.tanks):
        if tank.number != place + 1:
            yield fault(
                f"tanks.{place}.number",
                "Tanks are numbered in line order: this one is {number}.",
                number=place + 1,
            )
        if not tank.name.strip():
            yield fault(f"tanks.{place}.name", "Name this tank.")
        elif names[tank.name.strip().casefold()] > 1:
            yield fault(f"tanks.{place}.name", "Two tanks have this name: tell them apart.")


def _containers(setup: LineSetup) -> Iterator[tuple[str, tuple[Sanitizer | Acid, ...]]]:
    yield "sanitizers", setup.sanitizers
    yield "acids", setup.acids


def _products_are_told_apart(setup: LineSetup) -> Found:
    if not setup.sanitizers:
        yield fault("sanitizers", "Name the sanitizer that is used.")
    keys = Counter(one.key for _, products in _containers(setup) for one in products)
    for group, products in _containers(setup):
        for number, product in enumerate(products):
            path = f"{group}.{number}"
            if not product.key or keys[product.key] > 1:
                yield fault(f"{path}.key", "Two products share one key.")
            if not product.name.strip():
                yield fault(f"{path}.name", "Write the name that stands on the container.")


def _tanks_use_known_products(setup: LineSetup) -> Found:
    for number, tank in enumerate(setup.tanks):
        if setup.sanitizer(tank.sanitizer) is None:
            yield fault(f"tanks.{number}.sanitizer", "Choose the sanitizer of this tank.")
        yield from kept_with_its_sanitizer(f"tanks.{number}", setup, tank)
        if tank.acid is not None and setup.acid(tank.acid) is None:
            yield fault(f"tanks.{number}.acid", "Choose the acid of this tank, or none.")


def _source_is_possible(setup: LineSetup) -> Found:
    source, path = setup.source, "source"
    bounds = (
        ("alkalinity_mg_l", 0.0, HIGHEST_ALKALINITY_MG_L, Kind.CONCENTRATION),
        ("alkalinity_error_mg_l", 0.0, HIGHEST_ALKALINITY_MG_L, Kind.CONCENTRATION),
        ("ph", LOWEST_SOURCE_PH, HIGHEST_SOURCE_PH, Kind.PH),
        ("ph_error", 0.0, 2.0, Kind.PH),
        ("chloride_mg_l", 0.0, MOST_CHLORIDE_MG_L, Kind.CONCENTRATION),
    )
    for name, least, most, kind in bounds:
        value = getattr(source, name)
        if value is not None and math.isfinite(value) and not least <= value <= most:
            yield fault(
                f"{path}.{name}",
                "This lies between {least} and {most} in any water: check it, or leave it empty.",
                least=Figure(least, kind),
                most=Figure(most, kind),
            )


def _measures_are_known(setup: LineSetup) -> Found:
    for name in setup.measures:
        if measures.measure(name) is None:
            yield fault("measures", "{name} is not a measure that is known here.", name=name)


# --- one tank


def _volume_is_possible(path: str, tank: Tank) -> Found:
    vessels = (
        ("volume_l", "A tank holds {least} to {most}: check the volume and its unit."),
        (
            "second_volume_l",
            "A second vessel holds {least} to {most}, or stays empty where there is none.",
        ),
    )
    for name, text in vessels:
        volume_l: float | None = getattr(tank, name)
        if volume_l is None or not math.isfinite(volume_l):
            continue
        if not LEAST_TANK_L <= volume_l <= LARGEST_TANK_L:
            yield fault(
                f"{path}.{name}",
                text,
                least=Figure(LEAST_TANK_L, Kind.VOLUME),
                most=Figure(LARGEST_TANK_L, Kind.VOLUME),
            )
    if tank.measured is None:
        return
    try:
        working_volume_l(tank.measured)
    except MeasurementError as refusal:
        yield refused(f"{path}.measured.{refusal.field}", refusal)


def _chlorine_limits_rise(path: str, tank: Tank) -> Found:
    return levels_rise(f"{path}.chlorine", tank.chlorine)


def _label_is_read(path: str, tank: Tank) -> Found:
    if tank.chlorine.label_basis is None:
        yield fault(
            f"{path}.chlorine.label_basis",
            "Read on the label whether its maximum means free or total chlorine, and choose.",
        )


def _ph_limits_rise(path: str, tank: Tank) -> Found:
    ladder = (
        ("low", "target", "pH low ({less}) must be under the target ({more})."),
        ("target", "high", "The pH target ({less}) must be under high ({more})."),
    )
    yield from rising(f"{path}.ph", tank.ph, ladder, Kind.PH)
    for name, value in msgspec.structs.asdict(tank.ph).items():
        if math.isfinite(value) and not LEAST_PH <= value <= GREATEST_PH:
            yield fault(
                f"{path}.ph.{name}",
                "Wash water is kept between pH {least} and {most}.",
                least=Figure(LEAST_PH, Kind.PH),
                most=Figure(GREATEST_PH, Kind.PH),
            )


def _cloudiness_has_a_limit(path: str, tank: Tank) -> Found:
    if tank.turbidity_max_ntu is None and tank.look_limit is None:
        yield fault(
            f"{path}.look_limit", "Set a limit for cloudiness: in NTU, or by the look of a card."
        )
    if tank.look_limit is Look.READABLE:
        yield fault(f"{path}.look_limit", "Clear water cannot be the limit: choose faint or gone.")
    if tank.turbidity_max_ntu is not None and tank.turbidity_max_ntu <= 0:
        yield fault(f"{path}.turbidity_max_ntu", "This must be more than 0.")


def _counts_are_positive(path: str, tank: Tank) -> Found:
    for name in ("batches_per_fill", "hours_per_fill", "check_batches", "check_minutes"):
        value = getattr(tank, name)
        if value is not None and value <= 0:
            yield fault(f"{path}.{name}", "This must be more than 0, or left empty.")
    if tank.mix_minutes < LEAST_MIX_MINUTES:
        yield fault(
            f"{path}.mix_minutes",
            "Mixing takes at least 1 min: for so long hypochlorite and acid are kept apart.",
        )
    if tank.second_check_min <= 0:
        yield fault(f"{path}.second_check_min", "This must be more than 0.")
    if tank.min_batches_per_dose < 1:
        yield fault(f"{path}.min_batches_per_dose", "This must be at least 1.")
    if tank.check_batches is None and tank.check_minutes is None:
        yield fault(
            f"{path}.check_minutes",
            "Say when to check: after so many batches, so many minutes, or both.",
        )


def _contact_is_possible(path: str, tank: Tank) -> Found:
    if tank.contact_s is not None and tank.contact_s < 1:
        yield fault(f"{path}.contact_s", "Contact takes at least 1 s, or leave this empty.")


def _temperature_rule_is_possible(path: str, tank: Tank) -> Found:
    if tank.temperature_rule is not None and tank.temperature_rule.by_c < 0:
        yield fault(
            f"{path}.temperature_rule.by_c",
            "Write a difference of 0 or more; the rule itself says which side is warmer.",
        )


# --- cautions


def _out_of_date(setup: LineSetup, today: date) -> Found:
    for group, products in _containers(setup):
        for number, product in enumerate(products):
            if product.use_by is not None and product.use_by < today:
                yield fault(
                    f"{group}.{number}.use_by",
                    "{name} is past its use-by date: it may be weaker than its label says.",
                    name=product.name,
                )
    for number, product in enumerate(setup.sanitizers):
        for field, day in (("made_on", product.made_on), ("opened_on", product.opened_on)):
            if day is not None and day > today:
                yield fault(f"sanitizers.{number}.{field}", "This day is still to come.")


def _no_measures(setup: LineSetup) -> Found:
    if not setup.measures:
        yield fault("measures", "No measure is chosen: amounts are told in mL and g only.")


def _short_contact(path: str, tank: Tank) -> Found:
    washes = tank.stage is not Stage.RINSE
    if washes and tank.contact_s is not None and tank.contact_s < USUAL_CONTACT_S:
        yield fault(
            f"{path}.contact_s",
            "{tank}: at least one minute of contact is common practice in a wash.",
            tank=tank.name,
        )


def _high_label(path: str, tank: Tank) -> Found:
    if tank.chlorine.label_max_mg_l > USUAL_LABEL_MG_L:
        yield fault(
            f"{path}.chlorine.label_max_mg_l",
            "{tank}: labels for washing produce seldom allow more than {usual}: "
            "read yours once more.",
            tank=tank.name,
            usual=ppm(USUAL_LABEL_MG_L),
        )


_RULES: tuple[Callable[[LineSetup], Found], ...] = (
    _numbers_are_finite,
    _line_is_named,
    _people_are_known,
    _tanks_are_in_order,
    _products_are_told_apart,
    _tanks_use_known_products,
    acids_fit_their_kind,
    _source_is_possible,
    _measures_are_known,
    margins_are_possible,
    instruments_are_possible,
    pads_rise_from_nothing,
    some_days_are_worked,
    switched_off_with_a_reason,
    prices_are_possible,
)
_CHLORINE_RULES: tuple[Callable[[str, Tank], Found], ...] = (
    _chlorine_limits_rise,
    _label_is_read,
    _ph_limits_rise,
)
_PERACETIC_RULES: tuple[Callable[[str, Tank], Found], ...] = (peracetic_limits_rise,)
_TANK_RULES: tuple[Callable[[str, Tank], Found], ...] = (
    _volume_is_possible,
    _cloudiness_has_a_limit,
    _counts_are_positive,
    _contact_is_possible,
    _temperature_rule_is_possible,
    critical_limits_are_possible,
)
