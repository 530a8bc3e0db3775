"""What DEVELOPERS.md tells to do for a new kind is done in a copy, and leads everywhere.

A block of code in a walk-through stands under a line that says where it goes: a file, and the class
or table at whose end it is written.
"""

import ast
import os
import re
import shutil
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
BLOCK = re.compile(
    r"`(washmon/[\w/]+\.py)`, at the end of `(\w+)`:\n\n```python\n(.*?)```", re.DOTALL
)


def blocks(kind: str) -> list[tuple[str, str, str]]:
    """Return file, name and code of each block under "**a … kind**" in DEVELOPERS.md."""
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    told = text.split(f"\n**{kind}**", 1)[1].split("\n**", 1)[0]
    return [(match[1], match[2], match[3]) for match in BLOCK.finditer(told)]


def inserted(code: str, name: str, block: str) -> str:
    """Return a module with a block at the end of a class, a union or a table of it."""
    line, shape = next(place for found, place in _ends(ast.parse(code)) if found == name)
    lines = code.splitlines(keepends=True)
    return "".join(
        (*lines[:line], textwrap.indent(shape.format(block.rstrip()), "    "), *lines[line:])
    )


def _ends(module: ast.Module) -> Iterator[tuple[str, tuple[int, str]]]:
    """Yield after which line the last item of each class, union and table stands, and its form."""
    for node in module.body:
        end = node.end_lineno or node.lineno
        match node:
            case ast.ClassDef(name=name):
                yield name, (end, "{}\n")
            case ast.Assign(targets=[ast.Name(id=name)], value=ast.BinOp()):
                yield name, (end - 1, "| {}\n")
            case ast.Assign(targets=[ast.Name(id=name)]) | ast.AnnAssign(target=ast.Name(id=name)):
                yield name, (end - 1, "{},\n")  # before the bracket that closes it


@pytest.mark.parametrize(("kind", "walk", "files"), [("a reading kind", "reading_kind", 2)])
def test_the_walk_through_leads_everywhere(
    kind: str, walk: str, files: int, tmp_path: Path
) -> None:
    told = blocks(kind)
    assert len({path for path, _, _ in told}) == files
    ignored = shutil.ignore_patterns("__pycache__")
    for folder in ("washmon", "resources"):
        shutil.copytree(ROOT / folder, tmp_path / folder, ignore=ignored)
    for path, name, block in told:
        target = tmp_path / path
        target.write_text(inserted(target.read_text("utf-8"), name, block), "utf-8")
    paths = os.pathsep.join((str(tmp_path), str(ROOT)))
    done = subprocess.run(
        [sys.executable, "-m", f"tests.walks.{walk}"],
        env=os.environ | {"PYTHONPATH": paths, "QT_QPA_PLATFORM": "offscreen"},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
