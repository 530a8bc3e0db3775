"""``washmon calc``: every amount of the calculator, without a window.

The commands are made from the calculations' own fields, so that both ask and answer alike.

A result of the calculator as lines of text and as JSON.
"""

import inspect
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from typing import Annotated, Any, cast

import msgspec
import typer
from msgspec import Struct

from washmon import data
from washmon.chemistry.measures import METRIC_SET, US_SET
from washmon.cli.common import JsonOption, refuse
from washmon.line.calculations import CALCULATIONS
from washmon.line.calculations.asking import YES, Circumstances, Field, Unready
from washmon.line.calculations.result import Calculation, Result, Value
from washmon.line.flags import Caution
from washmon.line.message import Message, say
from washmon.units import UnitSystem, symbol


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


app = typer.Typer(
    rich_markup_mode=None,
    help="The calculator: amounts without a shift. An amount may carry its unit, as in '220 gal'.",
)

TasteOption = Annotated[
    UnitSystem, typer.Option("--units", help="Units of bare numbers and measures.")
]
HowOption = Annotated[bool, typer.Option("--how", help="Show how it was worked out.")]


def _command(calculation: Calculation) -> Callable[..., None]:
    """Return a function whose signature asks for the fields of a calculation."""
    names = {f"answer_{at}": field for at, field in enumerate(calculation.fields)}

    def command(**given: str | bool | UnitSystem | None) -> None:
        texts: dict[str, str] = {}
        for name, field in names.items():
            answer = given[name]
            if answer is True:
                texts[field.key] = YES
            elif isinstance(answer, str):
                texts[field.key] = answer
        _run(
            calculation,
            texts,
            UnitSystem(str(given["units"])),
            how=given["how"] is True,
            as_json=given["as_json"] is True,
        )

    options = {name: _option(field) for name, field in names.items()}
    options |= {"units": TasteOption, "how": HowOption, "as_json": JsonOption}
    defaults: dict[str, object] = {"units": UnitSystem.METRIC, "how": False, "as_json": False}
    defaults |= {name: False for name, field in names.items() if field.is_flag}
    keyword = inspect.Parameter.KEYWORD_ONLY
    # typer reads its options from the signature: one parameter to each field.
    cast("Any", command).__signature__ = inspect.Signature(
        [
            inspect.Parameter(name, keyword, default=defaults.get(name), annotation=annotation)
            for name, annotation in options.items()
        ]
    )
    command.__annotations__ = dict(options)
    command.__doc__ = calculation.purpose
    return command


def _option(field: Field) -> object:
    """Return the annotation that makes a field an option of the same name."""
    if field.is_flag:
        return Annotated[bool, typer.Option(f"--{field.key}", help=field.choices[-1].words)]
    return Annotated[str | None, typer.Option(f"--{field.key}", help=_help(field), metavar="TEXT")]


def _help(field: Field) -> str:
    """Say what an option means, what may be written, and what is taken where nothing is."""
    parts = [field.label]
    if field.choices:
        parts.append(f"one of {', '.join(choice.key for choice in field.choices)}")
    elif field.kind is None:
        parts.append("a date such as 2026-05-31")
    elif unit := field.unit or symbol(field.kind, UnitSystem.METRIC):
        parts.append(unit)
    text = ", ".join(parts)
    if field.usual is not None:
        usual = f"{field.usual:g}" if isinstance(field.usual, float) else field.usual
        return f"{text} [{usual} if not given]"
    return f"{text} [needed]" if field.needed and not field.only else text


def _run(
    calculation: Calculation,
    texts: Mapping[str, str],
    taste: UnitSystem,
    *,
    how: bool,
    as_json: bool,
) -> None:
    owned = US_SET if taste is UnitSystem.US else METRIC_SET
    circumstances = Circumstances(taste, owned, date.today())  # noqa: DTZ011 - the shed's own day
    result = calculation.work_out(texts, circumstances)
    if isinstance(result, Unready):
        for key, sentence in result.faults.items():
            where = f"--{key}: " if key else ""
            raise refuse(where + say(sentence, taste))
        raise refuse(missing_sentence(result.missing))
    if as_json:
        typer.echo(json.dumps(as_data(result, taste), ensure_ascii=False))
    else:
        typer.echo("\n".join(as_text(result, taste, how=how)))


for _calculation in CALCULATIONS:
    app.command(_calculation.key)(_command(_calculation))
