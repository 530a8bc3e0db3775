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
from washmon.chemistry.acid import acid_mol_per_unit
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.hypochlorite import (
    StrengthBasis,
    available_chlorine_g_l,
    solid_available_chlorine_g_kg,
    typical_density_kg_l,
)
from washmon.line.message import Figure, Message
from washmon.line.setup import Acid, Hypochlorite, LineSetup, Look, Role, Sanitizer, Stage, Tank
from washmon.line.volume import MeasurementError, working_volume_l
from washmon.units import Kind, PlainError

LEAST_TANK_L, LARGEST_TANK_L = 5.0, 200_000.0
LEAST_PH, GREATEST_PH = 5.0, 9.0
MOST_CHLORINE_MG_L = 1_000.0
"""Above any wash water; only tools and floors are cleaned with more."""
USUAL_LABEL_MG_L = 200.0
"""Value from memory: 21 CFR 178.1010 and many labels stop at 200 mg/L."""
USUAL_CONTACT_S = 60.0
"""Common practice, no published source."""
_MOST_INITIALS = 4


class SetupFault(Struct, frozen=True):
    """A sentence and the path of the field that it belongs beside."""

    path: str
    message: Message


Found = Iterator[SetupFault]


def faults(setup: LineSetup) -> list[SetupFault]:
    """Return all that must be mended before this set-up can run a shift."""
    found = [fault for rule in _RULES for fault in rule(setup)]
    for number, tank in enumerate(setup.tanks):
        found += [fault for check in _TANK_RULES for fault in check(f"tanks.{number}", tank)]
    for number, product in enumerate(setup.sanitizers):
        path = f"sanitizers.{number}"
        found += [fault for check in _PRODUCT_RULES for fault in check(path, product)]
    return found


def cautions(setup: LineSetup, today: date) -> list[SetupFault]:
    """Return what a careful colleague would mention; none of it stands in the way."""
    found = [*_out_of_date(setup, today), *_no_measures(setup)]
    for number, tank in enumerate(setup.tanks):
        found += [*_short_contact(f"tanks.{number}", tank), *_high_label(f"tanks.{number}", tank)]
    return found


_BY_WEIGHT = {StrengthBasis.WEIGHT_PCT_NAOCL, StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE}


def _fault(path: str, text: str, **values: str | int | Figure) -> SetupFault:
    return SetupFault(path, Message(text, dict(values)))


def _refused(path: str, refusal: PlainError) -> SetupFault:
    return SetupFault(path, Message(refusal.template, dict(refusal.values)))


def _ppm(value: float) -> Figure:
    return Figure(value, Kind.CONCENTRATION)


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
            yield _fault(path, "A number is needed here.")

    return walk("", setup)


def _place_is_named(setup: LineSetup) -> Found:
    if not setup.site.strip():
        yield _fault("site", "Name the site, as it should stand on the record.")
    if not setup.location.strip():
        yield _fault("location", "Say where the site is: the record needs its location.")
    if not setup.line.strip():
        yield _fault("line", "Name the line.")


def _people_are_known(setup: LineSetup) -> Found:
    seen: set[str] = set()
    for number, person in enumerate(setup.people):
        path = f"people.{number}.initials"
        initials = person.initials
        if not (initials.isalpha() and len(initials) <= _MOST_INITIALS):
            yield _fault(path, "Initials are one to four letters.")
        elif initials.casefold() in seen:
            yield _fault(path, "{initials} is taken: no two people sign alike.", initials=initials)
        seen.add(initials.casefold())
        if not person.name.strip():
            yield _fault(f"people.{number}.name", "Write the name behind these initials.")
    if not any(person.role is Role.SUPERVISOR for person in setup.people):
        yield _fault("people", "At least one person must be a supervisor: a shift starts with one.")


def _tanks_are_in_order(setup: LineSetup) -> Found:
    if not setup.tanks:
        yield _fault("tanks", "A line has at least one tank.")
    names = Counter(tank.name.strip().casefold() for tank in setup.tanks)
    for place, tank in enumerate(setup.tanks):
        if tank.number != place + 1:
            yield _fault(
                f"tanks.{place}.number",
                "Tanks are numbered in line order: this one is {number}.",
                number=place + 1,
            )
        if not tank.name.strip():
            yield _fault(f"tanks.{place}.name", "Name this tank.")
        elif names[tank.name.strip().casefold()] > 1:
            yield _fault(f"tanks.{place}.name", "Two tanks have this name: tell them apart.")


def _containers(setup: LineSetup) -> Iterator[tuple[str, tuple[Sanitizer | Acid, ...]]]:
    yield "sanitizers", setup.sanitizers
    yield "acids", setup.acids


def _products_are_told_apart(setup: LineSetup) -> Found:
    if not setup.sanitizers:
        yield _fault("sanitizers", "Name the hypochlorite that is used.")
    keys = Counter(one.key for _, products in _containers(setup) for one in products)
    for group, products in _containers(setup):
        for number, product in enumerate(products):
            path = f"{group}.{number}"
            if not product.key or keys[product.key] > 1:
                yield _fault(f"{path}.key", "Two products share one key.")
            if not product.name.strip():
                yield _fault(f"{path}.name", "Write the name that stands on the container.")


def _tanks_use_known_products(setup: LineSetup) -> Found:
    for number, tank in enumerate(setup.tanks):
        if setup.sanitizer(tank.sanitizer) is None:
            yield _fault(f"tanks.{number}.sanitizer", "Choose the sanitizer of this tank.")
        if tank.acid is not None and setup.acid(tank.acid) is None:
            yield _fault(f"tanks.{number}.acid", "Choose the acid of this tank, or none.")


def _acids_are_possible(setup: LineSetup) -> Found:
    for number, acid in enumerate(setup.acids):
        if not math.isfinite(acid.strength_pct):
            continue
        try:
            acid_mol_per_unit(acid.kind, acid.strength_pct)
        except ChemistryError as refusal:
            yield _refused(f"acids.{number}.strength_pct", refusal)


def _measures_are_known(setup: LineSetup) -> Found:
    for name in setup.measures:
        if name not in measures.MEASURES:
            yield _fault("measures", "{name} is not a measure that is known here.", name=name)


def _margins_are_possible(setup: LineSetup) -> Found:
    for name, value in msgspec.structs.asdict(setup.margins).items():
        if value < 0:
            yield _fault(f"margins.{name}", "This can not be below 0.")


# --- one product


def _strength_has_a_basis(path: str, product: Sanitizer) -> Found:
    if product.strength is None:
        yield _fault(f"{path}.strength", "Write the strength that stands on the container.")
    if product.basis is not None:
        return
    if product.strength is None or not math.isfinite(product.strength):
        yield _fault(f"{path}.basis", "Choose what the percent on the container counts.")
        return
    yield _fault(
        f"{path}.basis",
        "{strength} can be read in two ways that differ by about 14 %: "
        "choose what the percent on the container counts.",
        strength=Figure(product.strength, Kind.PERCENT),
    )


def _solids_count_available_chlorine(path: str, product: Sanitizer) -> Found:
    if product.kind is not Hypochlorite.CALCIUM:
        return
    if product.basis not in {None, StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE}:
        yield _fault(f"{path}.basis", "The percent of a solid counts available chlorine by weight.")
    if product.density_kg_l is not None:
        yield _fault(f"{path}.density_kg_l", "A solid is weighed: leave the density empty.")


def _weight_percent_has_a_density(path: str, product: Sanitizer) -> Found:
    liquid = product.kind is Hypochlorite.SODIUM
    if not liquid or product.basis not in _BY_WEIGHT or product.density_kg_l is not None:
        return
    text = "A percent by weight needs the density: the container or its data sheet tells it."
    try:
        usual = typical_density_kg_l(product.strength or math.nan, product.basis)
    except ChemistryError:
        yield _fault(f"{path}.density_kg_l", text)
    else:
        yield _fault(
            f"{path}.density_kg_l",
            text + " Usually it is about {usual}.",
            usual=Figure(round(usual, 2), Kind.DENSITY),
        )


def _strength_is_possible(path: str, product: Sanitizer) -> Found:
    strength, basis = product.strength, product.basis
    if strength is None or basis is None or not math.isfinite(strength):
        return
    try:
        if product.kind is Hypochlorite.CALCIUM:
            solid_available_chlorine_g_kg(strength)
        elif basis not in _BY_WEIGHT or product.density_kg_l is not None:
            available_chlorine_g_l(strength, basis, product.density_kg_l or 1.0)
    except ChemistryError as refusal:
        yield _refused(f"{path}.strength", refusal)


# --- one tank


def _volume_is_possible(path: str, tank: Tank) -> Found:
    if math.isfinite(tank.volume_l) and not LEAST_TANK_L <= tank.volume_l <= LARGEST_TANK_L:
        yield _fault(
            f"{path}.volume_l",
            "A tank holds {least} to {most}: check the volume and its unit.",
            least=Figure(LEAST_TANK_L, Kind.VOLUME),
            most=Figure(LARGEST_TANK_L, Kind.VOLUME),
        )
    if tank.measured is None:
        return
    try:
        working_volume_l(tank.measured)
    except MeasurementError as refusal:
        yield _refused(f"{path}.measured.{refusal.field}", refusal)


def _chlorine_limits_rise(path: str, tank: Tank) -> Found:
    limits = tank.chlorine
    ladder = (
        (
            "critical_low_mg_l",
            "low_mg_l",
            "Critical low ({less}) must be under low ({more}).",
        ),
        ("low_mg_l", "target_mg_l", "Low ({less}) must be under the target ({more})."),
        ("target_mg_l", "high_mg_l", "The target ({less}) must be under high ({more})."),
    )
    yield from _rising(f"{path}.chlorine", limits, ladder, Kind.CONCENTRATION)
    if math.inf > limits.high_mg_l > limits.label_max_mg_l > -math.inf:
        for field in ("high_mg_l", "label_max_mg_l"):
            yield _fault(
                f"{path}.chlorine.{field}",
                "High ({high}) must not be over what the label allows ({most}).",
                high=_ppm(limits.high_mg_l),
                most=_ppm(limits.label_max_mg_l),
            )
    if limits.critical_low_mg_l < 0:
        yield _fault(f"{path}.chlorine.critical_low_mg_l", "A level can not be below 0.")
    if math.isfinite(limits.label_max_mg_l) and limits.label_max_mg_l > MOST_CHLORINE_MG_L:
        yield _fault(
            f"{path}.chlorine.label_max_mg_l",
            "No label allows more than {most} in wash water: read it again.",
            most=_ppm(MOST_CHLORINE_MG_L),
        )


def _rising(
    path: str, limits: Struct, ladder: tuple[tuple[str, str, str], ...], kind: Kind
) -> Found:
    """Name both fields of each step that does not rise: either may be the wrong one."""
    for below, above, text in ladder:
        less, more = getattr(limits, below), getattr(limits, above)
        if less < more or not (math.isfinite(less) and math.isfinite(more)):
            continue
        for field in (below, above):
            yield _fault(f"{path}.{field}", text, less=Figure(less, kind), more=Figure(more, kind))


def _label_is_read(path: str, tank: Tank) -> Found:
    if tank.chlorine.label_basis is None:
        yield _fault(
            f"{path}.chlorine.label_basis",
            "Read on the label whether its maximum means free or total chlorine, and choose.",
        )


def _ph_limits_rise(path: str, tank: Tank) -> Found:
    ladder = (
        ("low", "target", "pH low ({less}) must be under the target ({more})."),
        ("target", "high", "The pH target ({less}) must be under high ({more})."),
    )
    yield from _rising(f"{path}.ph", tank.ph, ladder, Kind.PH)
    for name, value in msgspec.structs.asdict(tank.ph).items():
        if math.isfinite(value) and not LEAST_PH <= value <= GREATEST_PH:
            yield _fault(
                f"{path}.ph.{name}",
                "Wash water is kept between pH {least} and {most}.",
                least=Figure(LEAST_PH, Kind.PH),
                most=Figure(GREATEST_PH, Kind.PH),
            )


def _cloudiness_has_a_limit(path: str, tank: Tank) -> Found:
    if tank.turbidity_max_ntu is None and tank.look_limit is None:
        yield _fault(
            f"{path}.look_limit", "Set a limit for cloudiness: in NTU, or by the look of a card."
        )
    if tank.look_limit is Look.READABLE:
        yield _fault(
            f"{path}.look_limit", "Clear water can not be the limit: choose faint or gone."
        )
    if tank.turbidity_max_ntu is not None and tank.turbidity_max_ntu <= 0:
        yield _fault(f"{path}.turbidity_max_ntu", "This must be more than 0.")


def _counts_are_positive(path: str, tank: Tank) -> Found:
    for name in ("batches_per_fill", "hours_per_fill", "check_batches", "check_minutes"):
        value = getattr(tank, name)
        if value is not None and value <= 0:
            yield _fault(f"{path}.{name}", "This must be more than 0, or left empty.")
    if tank.mix_minutes < 0:
        yield _fault(f"{path}.mix_minutes", "This can not be below 0.")
    if tank.min_batches_per_dose < 1:
        yield _fault(f"{path}.min_batches_per_dose", "This must be at least 1.")
    if tank.check_batches is None and tank.check_minutes is None:
        yield _fault(
            f"{path}.check_minutes",
            "Say when to check: after so many batches, so many minutes, or both.",
        )


def _contact_is_possible(path: str, tank: Tank) -> Found:
    if tank.contact_s is not None and tank.contact_s < 1:
        yield _fault(f"{path}.contact_s", "Contact takes at least 1 s, or leave this empty.")


def _temperature_rule_is_possible(path: str, tank: Tank) -> Found:
    if tank.temperature_rule is not None and tank.temperature_rule.by_c < 0:
        yield _fault(
            f"{path}.temperature_rule.by_c",
            "Write a difference of 0 or more; the rule itself says which side is warmer.",
        )


# --- cautions


def _out_of_date(setup: LineSetup, today: date) -> Found:
    for group, products in _containers(setup):
        for number, product in enumerate(products):
            if product.use_by is not None and product.use_by < today:
                yield _fault(
                    f"{group}.{number}.use_by",
                    "{name} is past its use-by date: it may be weaker than its label says.",
                    name=product.name,
                )
    for number, product in enumerate(setup.sanitizers):
        for field, day in (("made_on", product.made_on), ("opened_on", product.opened_on)):
            if day is not None and day > today:
                yield _fault(f"sanitizers.{number}.{field}", "This day is still to come.")


def _no_measures(setup: LineSetup) -> Found:
    if not setup.measures:
        yield _fault("measures", "No measure is chosen: amounts are told in mL and g only.")


def _short_contact(path: str, tank: Tank) -> Found:
    washes = tank.stage is not Stage.RINSE
    if washes and tank.contact_s is not None and tank.contact_s < USUAL_CONTACT_S:
        yield _fault(
            f"{path}.contact_s",
            "{tank}: at least one minute of contact is common practice in a wash.",
            tank=tank.name,
        )


def _high_label(path: str, tank: Tank) -> Found:
    if tank.chlorine.label_max_mg_l > USUAL_LABEL_MG_L:
        yield _fault(
            f"{path}.chlorine.label_max_mg_l",
            "{tank}: labels for washing produce seldom allow more than {usual}: "
            "read yours once more.",
            tank=tank.name,
            usual=_ppm(USUAL_LABEL_MG_L),
        )


_RULES: tuple[Callable[[LineSetup], Found], ...] = (
    _numbers_are_finite,
    _place_is_named,
    _people_are_known,
    _tanks_are_in_order,
    _products_are_told_apart,
    _tanks_use_known_products,
    _acids_are_possible,
    _measures_are_known,
    _margins_are_possible,
)
_PRODUCT_RULES: tuple[Callable[[str, Sanitizer], Found], ...] = (
    _strength_has_a_basis,
    _solids_count_available_chlorine,
    _weight_percent_has_a_density,
    _strength_is_possible,
)
_TANK_RULES: tuple[Callable[[str, Tank], Found], ...] = (
    _volume_is_possible,
    _chlorine_limits_rise,
    _label_is_read,
    _ph_limits_rise,
    _cloudiness_has_a_limit,
    _counts_are_positive,
    _contact_is_possible,
    _temperature_rule_is_possible,
)
