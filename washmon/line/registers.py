"""The registers of a shed: instruments, packs, containers and papers, and what is left of them.

What is registered stands on the site's chain, for all lines together: the newest entry of a key
holds. A shift begins with a copy of what is in use, so that its record and its replay know what
was measured with and poured from.
"""

import re
import unicodedata
from collections.abc import Iterator
from datetime import date
from enum import StrEnum
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from washmon.line.flags import Amount


class DeviceKind(StrEnum):
    """What an instrument is: it shows a number, or colours are compared by eye."""

    METER = "meter"
    KIT = "kit"


class PackKind(StrEnum):
    """What a pack holds."""

    STRIPS = "test strips"
    REAGENT = "reagent"


class PaperKind(StrEnum):
    """What a paper is."""

    LABEL = "product label"
    DATA_SHEET = "safety data sheet"
    LABORATORY = "laboratory result"
    CERTIFICATE = "certificate"
    VALIDATION = "validation"
    CALIBRATION = "calibration certificate"
    INSPECTION = "inspection"
    ASSESSMENT = "water assessment"
    TRAINING = "training record"
    OTHER = "other paper"


class Registered(Struct, frozen=True, kw_only=True, tag_field="thing", forbid_unknown_fields=True):
    """What all that is registered has in common; nothing is deleted, it is retired."""

    key: str
    name: str
    retired_on: date | None = None


class Device(Registered, frozen=True, kw_only=True, tag="instrument"):
    """An instrument; ``measures`` are fields of a reading, as in :mod:`washmon.line.quantities`."""

    kind: DeviceKind = DeviceKind.METER
    serial: str = ""
    measures: tuple[str, ...] = ()
    check_days: int | None = None
    """Between two checks at the most; ``None``: it needs none."""
    checked_on: date | None = None
    """When it last passed a check."""
    unfit_since: date | None = None
    """The day of its last check, where that found it unfit."""

    @property
    def due_on(self) -> date | None:
        """The last day on which it may be used without another check."""
        if self.check_days is None or self.checked_on is None:
            return None
        return date.fromordinal(self.checked_on.toordinal() + self.check_days)


class Pack(Registered, frozen=True, kw_only=True, tag="pack"):
    """A pack of strips, or a bottle of reagent, by its lot."""

    kind: PackKind = PackKind.STRIPS
    lot: str = ""
    measures: tuple[str, ...] = ()
    opened_on: date | None = None
    use_by: date | None = None
    unfit_since: date | None = None


class Container(Registered, frozen=True, kw_only=True, tag="container"):
    """A container of a product of the set-up, by its lot.

    ``full`` is what was in it when it was opened; ``reorder_at`` in its unit, mL or g.
    ``strength`` counts as that of its product does. ``otherwise`` is what went elsewhere than into
    a tank of the record, less than nothing where more was left than was reckoned.
    """

    product: str
    lot: str = ""
    opened_on: date | None = None
    use_by: date | None = None
    full: Amount | None = None
    strength: float | None = None
    reorder_at: float | None = None
    otherwise: float = 0.0


class Paper(Registered, frozen=True, kw_only=True, tag="paper"):
    """A file that was attached: its content lies beside the database, under its SHA-256.

    ``size`` in bytes; ``file`` is the name that it had.
    """

    kind: PaperKind
    sha256: str
    size: int
    file: str = ""
    review_on: date | None = None


Thing = Device | Pack | Container | Paper
Measuring = Device | Pack
_LONGEST_NAME = 120
"""Characters of a file's name."""
T = TypeVar("T", Device, Pack, Container, Paper)


class Registers(Struct, frozen=True, kw_only=True):
    """What is registered, and what is known of its use."""

    things: tuple[Thing, ...] = ()
    drawn: dict[str, float] = {}
    """Out of each container by shifts that have ended, mL or g."""
    made_with: dict[str, str] = {}
    """What each quantity was last measured with, by its key."""

    def thing(self, key: str) -> Thing | None:
        """Return what has this key, if anything has."""
        return next((one for one in self.things if one.key == key), None)

    def of(self, kind: type[T]) -> list[T]:
        """Return what is registered of one kind, retired or not."""
        return [one for one in self.things if isinstance(one, kind)]

    def measuring(self, field: str) -> list[Measuring]:
        """Return what may be chosen to measure a quantity with."""
        return [
            one
            for one in self.things
            if isinstance(one, Device | Pack) and field in one.measures and one.retired_on is None
        ]

    def reagent_for(self, field: str) -> Pack | None:
        """Return the reagent that an instrument uses for a quantity: the one opened last."""
        found = [one for one in self.measuring(field) if is_reagent(one)]
        opened = [one for one in found if isinstance(one, Pack)]
        return max(opened, key=lambda one: one.opened_on or date.min, default=None)

    def holding(self, product: str) -> list[Container]:
        """Return the containers of a product from which may be poured, use first what comes first.

        First expired, first out (common practice, no published source): by use-by date, then by
        the day of opening.
        """
        found = [
            one for one in self.of(Container) if one.product == product and one.retired_on is None
        ]
        latest = date.max
        return sorted(found, key=lambda one: (one.use_by or latest, one.opened_on or latest))

    def left(self, container: Container, more: float = 0.0) -> Amount | None:
        """Return what is left in a container after ``more`` was drawn, never under nothing."""
        if container.full is None:
            return None
        gone = self.drawn.get(container.key, 0.0) + container.otherwise + more
        return Amount(max(container.full.value - gone, 0.0), container.full.unit)

    def with_thing(self, thing: Thing) -> "Registers":
        """Return the registers with a thing that is new, or told anew."""
        if self.thing(thing.key) is None:
            return replace(self, things=(*self.things, thing))
        same = tuple(thing if one.key == thing.key else one for one in self.things)
        return replace(self, things=same)

    def for_a_shift(self) -> "Registers":
        """Return what a shift begins with: no papers, and nothing that was retired."""
        kept = tuple(
            one for one in self.things if not isinstance(one, Paper) and one.retired_on is None
        )
        keys = {one.key for one in kept}
        return Registers(
            things=kept,
            drawn={key: amount for key, amount in self.drawn.items() if key in keys},
            made_with={field: key for field, key in self.made_with.items() if key in keys},
        )


def plain_name(name: str) -> str:
    """Return the name of a file without folders, control characters and tricks of writing."""
    last = re.split(r"[/\\]", name)[-1]
    shown = "".join(one for one in last if unicodedata.category(one)[0] != "C")
    shown = re.sub(r"\s+", " ", shown).strip(" .") or "paper"
    stem, dot, ending = shown.rpartition(".")
    if not dot:
        return shown[:_LONGEST_NAME]
    return f"{stem[: _LONGEST_NAME - len(ending) - 1]}.{ending}"


def is_reagent(thing: Thing) -> bool:
    """Tell whether something is a reagent: an instrument for its quantities uses it."""
    return isinstance(thing, Pack) and thing.kind is PackKind.REAGENT


def named(thing: Thing, key: str) -> Thing:
    """Return a thing with the key by which entries call it."""
    return replace(thing, key=key)


def retired(thing: Thing, on: date | None) -> Thing:
    """Return a thing as retired on a day, or in use again."""
    return replace(thing, retired_on=on)


def mark_of(thing: Thing) -> str:
    """Return what tells a thing from others of its name: its serial number, or its lot."""
    return thing.serial if isinstance(thing, Device) else str(getattr(thing, "lot", ""))


def full_name(thing: Thing) -> str:
    """Return a thing's name, with its serial number or lot."""
    return f"{thing.name} {mark_of(thing)}".strip()


def labels(registers: Registers) -> Iterator[tuple[Thing, str]]:
    """Yield each thing with a name that tells it from the others, what tells it apart first."""
    names = [one.name for one in registers.things]
    for one in registers.things:
        alike = names.count(one.name) > 1
        yield one, f"{mark_of(one)} {one.name}".strip() if alike else one.name
