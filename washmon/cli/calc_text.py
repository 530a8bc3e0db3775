"""A result of the calculator as lines of text and as JSON."""

from collections.abc import Iterable, Iterator

import msgspec
from msgspec import Struct

from washmon import data
from washmon.line.calculations.asking import Field
from washmon.line.calculations.result import Result, Value
from washmon.line.flags import Caution
from washmon.line.message import Message, say
from washmon.units import UnitSystem


class _Caution(Struct, frozen=True):
    signal: str
    text: str


class _Sheet(Struct, frozen=True):
    full: tuple[_Caution, ...]


def cautions(kinds: Iterable[Caution]) -> list[str]:
    """Return all that is to beware of, each with its signal word."""
    body = data.resource("cautions", "cautions.json").read_bytes()
    sheets = msgspec.json.decode(body, type=dict[Caution, _Sheet])
    return [f"{each.signal}: {each.text}" for kind in kinds for each in sheets[kind].full]


def as_text(result: Result, taste: UnitSystem, *, how: bool) -> Iterator[str]:
    """Yield the answer line by line: amount, figures, notes, cautions, and how if wanted."""

    def told(message: Message) -> str:
        return say(message, taste)

    yield told(result.headline)
    if result.then is not None:
        yield told(result.then)
    for line in result.lines:
        mark = "!" if line.notable else " "
        yield f"{mark} {line.label}: {told(line.value)}"
    yield from (told(note) for note in result.notes)
    yield from cautions(result.cautions)
    if how:
        yield "How:"
        yield from (f"  {told(step)}" for step in result.how)
        yield from (f"  Source: {source}" for source in result.sources)


def as_data(result: Result, taste: UnitSystem) -> dict[str, object]:
    """Return the plain numbers, and beside them the sentences in ``taste``."""
    return {
        **{name: _told(value) for name, value in result.data.items()},
        "say": say(result.headline, taste),
        "then": say(result.then, taste) if result.then else None,
        "notes": [say(note, taste) for note in result.notes],
        "cautions": cautions(result.cautions),
        "how": [say(step, taste) for step in result.how],
        "sources": list(result.sources),
    }


def _told(value: Value) -> Value:
    """Return a number to four digits: nothing that is worked out is known better."""
    return float(f"{value:.4g}") if isinstance(value, float) else value


def missing_sentence(fields: tuple[Field, ...]) -> str:
    """Say in one sentence which options are still needed."""
    wanted = ", ".join(
        f"--{field.key} ({field.label[0].lower()}{field.label[1:]})" for field in fields
    )
    return f"{wanted} {'is' if len(fields) == 1 else 'are'} needed: see --help."
