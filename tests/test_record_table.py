"""The table of what a record holds names fields that there are."""

import re
from pathlib import Path

import msgspec
import pytest

from washmon.line import events, flag_events, journal, setup, site_events

TEXT = (Path(__file__).parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
TABLE = TEXT.split("## What a record holds")[1].split("**What is kept elsewhere.**")[0]
FIELDS = sorted(set(re.findall(r"`([A-Z]\w+)\.(\w+)`", TABLE)))
CLAUSES = ("112.161(a)(1)(i)", "112.161(b)", "112.44(d)", "112.46", "112.50(b)(7)", "112.164")


def test_the_table_names_the_clauses_that_a_record_answers_to() -> None:
    for clause in (*CLAUSES, "117.305", "117.190", "112.48 and\n112.49 are reserved"):
        assert clause in TABLE


@pytest.mark.parametrize(("name", "field"), FIELDS)
def test_each_field_in_the_table_is_one(name: str, field: str) -> None:
    where = (events, flag_events, journal, setup, site_events)
    kinds = [vars(module).get(name) for module in where]
    (kind,) = {found for found in kinds if found is not None}
    assert field in {one.name for one in msgspec.structs.fields(kind)}


def test_the_table_is_not_empty() -> None:
    assert len(FIELDS) > 30
