"""Writes the parts of the README that the program itself knows: rules and CSV columns.

Run ``python -m tests.tools.make_readme`` after a rule or a column was added; a test compares.
"""

import re
from pathlib import Path

from washmon.reports.tables import TABLES
from washmon.rules import all_rules
from washmon.sessions.practice.keys import key_rows

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
    rows = [f"| `{key}` | {takes} |" for key, takes in key_rows()]
    return "\n".join(["| key | takes |", "| --- | --- |", *rows]) + "\n"


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
