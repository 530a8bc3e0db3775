"""The house rules that a machine can count: nothing grows past what one can read at a sitting."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
LONGEST_CLASS, LONGEST_FUNCTION = 300, 50
FILES = sorted([*(ROOT / "washmon").rglob("*.py"), *(ROOT / "tests").rglob("*.py")])


def overlong(code: str) -> Iterator[str]:
    """Yield the classes and functions of a module that are too long, with their lines."""
    for node in ast.walk(ast.parse(code)):
        match node:
            case ast.ClassDef():
                most = LONGEST_CLASS
            case ast.FunctionDef() | ast.AsyncFunctionDef():
                most = LONGEST_FUNCTION
            case _:
                continue
        lines = (node.end_lineno or node.lineno) - node.lineno + 1
        if lines > most:
            yield f"{node.name}: {lines} lines, {most} at most"


def test_classes_and_functions_are_short_enough_to_read() -> None:
    found = {str(path.relative_to(ROOT)): [*overlong(path.read_text("utf-8"))] for path in FILES}
    assert {path: long for path, long in found.items() if long} == {}


@pytest.mark.parametrize("kind", ["def", "class"])
def test_what_is_too_long_is_found(kind: str) -> None:
    most = LONGEST_FUNCTION if kind == "def" else LONGEST_CLASS
    head = f"{kind} it():\n" if kind == "def" else f"{kind} it:\n"
    assert [*overlong(head + "    pass\n" * (most - 1))] == []
    assert [*overlong(head + "    pass\n" * most)] == [f"it: {most + 1} lines, {most} at most"]


def test_every_module_of_the_program_says_what_it_is() -> None:
    program = [path for path in FILES if path.is_relative_to(ROOT / "washmon")]
    untold = [path for path in program if not ast.get_docstring(ast.parse(path.read_text("utf-8")))]
    assert untold == []
    # One sentence on the first line; more may stand below it.
    firsts = [(ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "") for path in program]
    assert [first for first in firsts if not first.splitlines()[0].endswith((".", "?", ":"))] == []
