"""What one thread hands to another, or a fold to its next step, is never changed afterwards."""

import dataclasses
import pkgutil
from collections.abc import Iterator
from importlib import import_module
from typing import Any

import msgspec

import washmon.chemistry
import washmon.line
import washmon.planning
import washmon.rules
import washmon.store
from tests.some import some

ROOMS = (washmon.chemistry, washmon.line, washmon.planning, washmon.rules, washmon.store)
GATHERING = {"_Seen", "_Walk"}
"""Gather what a walk through the journal finds, and leave it with nobody."""


def kinds() -> Iterator[type]:
    """Yield the classes that hold data, of the rooms below the recorder."""
    for room in ROOMS:
        for found in pkgutil.walk_packages(room.__path__, f"{room.__name__}."):
            module = import_module(found.name)
            for kind in vars(module).values():
                if isinstance(kind, type) and kind.__module__ == module.__name__:
                    yield kind


def test_structs_and_data_classes_are_frozen() -> None:
    structs = [kind for kind in kinds() if issubclass(kind, msgspec.Struct)]
    assert [kind for kind in some(structs) if not kind.__struct_config__.frozen] == []
    plain: list[Any] = [kind for kind in kinds() if dataclasses.is_dataclass(kind)]
    changing = {kind for kind in some(plain) if not kind.__dataclass_params__.frozen}
    assert {kind.__name__ for kind in changing} == GATHERING
