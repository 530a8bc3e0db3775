"""Writes the parts of the README that the program itself knows: rules and CSV columns.

Run ``python -m tests.tools.make_readme`` after a rule or a column was added; a test compares.
"""

import re
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct, inspect
from msgspec.structs import fields

from washmon.reports.tables import TABLES
from washmon.rules import all_rules
from washmon.sessions.practice.scenario import Scenario

README = Path(__file__).parents[2] / "README.md"


def rules_markdown() -> str:
    """Return the table of rules."""
    rows = [f"| `{rule.id}` | {rule.title} | {rule.source} |" for rule in all_rules()]
    return "\n".join(["| id | says | source |", "| --- | --- | --- |", *rows]) + "\n"


def dictionary_markdown() -> str:
    """Return the data dictionary of all tables for the README."""
    sections = []
    for table in TABLES:
        rows = [f"| `{column.name}` | {column.meaning} |" for column in table.columns]
        head = [f"### {table.key}", "", f"{table.meaning[0].upper()}{table.meaning[1:]}.", ""]
        sections.append("\n".join([*head, "| column | meaning |", "| --- | --- |", *rows]))
    return "\n\n".join(sections) + "\n"


def scenario_markdown() -> str:
    """Return the table of keys of a practice scenario, each with what it takes."""
    rows = [f"| `{key}` | {takes} |" for key, takes in _keys(Scenario, "")]
    return "\n".join(["| key | takes |", "| --- | --- |", *rows]) + "\n"


def _keys(of: type[Struct], before: str) -> Iterator[tuple[str, str]]:
    for field, told in zip(fields(of), inspect.type_info(of).fields, strict=True):  # type: ignore[attr-defined]
        name, kind = f"{before}{field.name}", _one(told.type)
        if isinstance(kind, inspect.StructType):
            yield from _keys(kind.cls, f"{name}.")
            continue
        inside = _one(kind.item_type) if isinstance(kind, inspect.VarTupleType) else None
        if isinstance(inside, inspect.StructType):
            yield from _keys(inside.cls, f"{name}[].")
            continue
        needed = "" if not told.required else ", needed"
        many = "a list of " if inside is not None else ""
        yield name, f"{many}{_takes(inside or kind)}{needed}"


def _one(kind: inspect.Type) -> inspect.Type:
    """Return the type of a value that may be left out."""
    if isinstance(kind, inspect.UnionType):
        return next(one for one in kind.types if not isinstance(one, inspect.NoneType))
    return kind


def _takes(kind: inspect.Type) -> str:
    match kind:
        case inspect.EnumType(cls=cls):
            return ", ".join(str(one.value) for one in cls)
        case inspect.FloatType() | inspect.IntType():
            what = "a whole number" if isinstance(kind, inspect.IntType) else "a number"
            least = kind.gt if kind.gt is not None else kind.ge
            over = "over " if kind.gt is not None else ""
            return what if least is None else f"{what}, {over}{least} to {kind.le}"
        case inspect.BoolType():
            return "true or false"
        case inspect.TimeType():
            return "a time of day, 06:30:00"
        case inspect.DateType():
            return "a day, 2026-05-07"
    return "words"


def with_parts(text: str) -> str:
    """Return the README with its generated parts made anew."""
    for name, part in (
        ("rules", rules_markdown()),
        ("dictionary", dictionary_markdown()),
        ("scenario", scenario_markdown()),
    ):
        marked = rf"(<!-- {name} -->\n).*?(<!-- end of {name} -->)"
        place = re.search(marked, text, flags=re.DOTALL)
        if place is None:
            raise ValueError(f"README.md has no place for {name}.")
        text = f"{text[: place.start()]}{place[1]}\n{part}\n{place[2]}{text[place.end() :]}"
    return text


if __name__ == "__main__":
    README.write_text(with_parts(README.read_text(encoding="utf-8")), encoding="utf-8")
