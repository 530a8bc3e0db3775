"""Starting points for a set-up: the files under ``resources/templates``, read strictly."""

from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

import msgspec
from msgspec import Struct

from washmon import data
from washmon.line.message import Message
from washmon.line.setup import Acid, LineSetup, Sanitizer, Tank
from washmon.units import UnitSystem


class Sources(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where each group of values comes from: published, or plain common practice."""

    chlorine: str
    label: str
    ph: str
    cloudiness: str
    fill: str
    checks: str
    contact: str
    temperature: str


class Template(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A line as sheds often have it.

    The strength of its products, what their percent counts, and what the label's maximum means are
    left open on purpose: only the container in the shed can tell.
    """

    title: str
    description: str
    line: str
    commodity: str
    tanks: tuple[Tank, ...]
    sanitizers: tuple[Sanitizer, ...]
    acids: tuple[Acid, ...] = ()
    sources: Sources

    def draft(
        self, taste: UnitSystem = UnitSystem.METRIC, measures: tuple[str, ...] = ()
    ) -> LineSetup:
        """Return a set-up that still lacks its place, its people and its labels."""
        return LineSetup(
            site="",
            location="",
            line=self.line,
            commodity=self.commodity,
            people=(),
            tanks=self.tanks,
            sanitizers=self.sanitizers,
            acids=self.acids,
            measures=measures,
            taste=taste,
        )


class Shelf(NamedTuple):
    """The templates that could be read, and one sentence for each file that could not."""

    templates: list[Template]
    broken: list[Message]


_decoder = msgspec.json.Decoder(Template)


def templates() -> list[Template]:
    """Return the templates that come with the program, in the order of their file names."""
    return shelf(data.resource("templates")).templates


def shelf(folder: Path) -> Shelf:
    """Read every template of a folder; a broken file keeps none of the others away."""
    found = Shelf([], [])
    for path in sorted(folder.glob("*.json")):
        try:
            found.templates.append(_read(path.read_bytes()))
        except (OSError, UnicodeDecodeError, msgspec.DecodeError) as error:
            found.broken.append(
                Message(
                    "The template {file} cannot be used ({reason}): the others still can.",
                    {"file": path.name, "reason": str(error)},
                )
            )
    return found


def _read(body: bytes) -> Template:
    """Decode one file and refuse what would be passed over in silence.

    Raises:
        msgspec.DecodeError: the file is no template.
    """
    template = _decoder.decode(body)
    _refuse_unknown(msgspec.json.decode(body), template, "$")
    return template


def _refuse_unknown(raw: object, built: object, path: str) -> None:
    """Refuse a name that the set-up does not have: a misspelt limit must not become a default."""
    if isinstance(raw, Mapping) and isinstance(built, Struct):
        for name, part in raw.items():
            if name not in built.__struct_fields__:
                raise msgspec.ValidationError(f"Object contains unknown field `{name}` - at {path}")
            _refuse_unknown(part, getattr(built, name), f"{path}.{name}")
    elif isinstance(raw, list) and isinstance(built, tuple):
        for number, (part, made) in enumerate(zip(raw, built, strict=True)):
            _refuse_unknown(part, made, f"{path}[{number}]")
