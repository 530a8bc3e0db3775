"""The README tells what the program does today."""

import re
from pathlib import Path

from tests.some import some
from tests.tools.make_readme import README, with_parts
from washmon.cli.exporting import What
from washmon.reports.tables import TABLES
from washmon.rules import all_rules

ROOT = Path(__file__).parents[1]


def test_rules_and_csv_columns_stand_in_the_readme_as_the_program_has_them() -> None:
    text = README.read_text(encoding="utf-8")
    assert with_parts(text) == text
    assert all(f"`{rule.id}`" in text for rule in some(all_rules()))


def test_every_table_can_be_exported_from_the_command_line() -> None:
    assert [*(table.key for table in TABLES), What.RECORD] == list(What)


def test_every_picture_of_the_readme_is_there() -> None:
    pictures = re.findall(r"!\[[^]]*\]\(([^)]+)\)", README.read_text(encoding="utf-8"))
    assert pictures
    assert all((ROOT / picture).is_file() for picture in some(pictures))


def test_the_ci_finds_the_test_command() -> None:
    text = README.read_text(encoding="utf-8")
    command = re.search(r"<!-- tests -->\n```sh\n(.+?)\n```", text)
    assert command is not None
    assert command[1].endswith("python -m tests")


def test_every_promise_of_the_readme_names_a_test_that_is_there() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    promises = readme.split("## What is promised")[1].split("## Rules")[0]
    tests = re.findall(r"`(tests/[^`]+)`", promises)
    assert len(tests) > 10
    assert [name for name in tests if "def test_" not in (ROOT / name).read_text("utf-8")] == []
