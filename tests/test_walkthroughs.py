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
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
BLOCK = re.compile(r"`(washmon/[\w/]+\.py)`, ([^\n]+):\n\n```python\n(.*?)```", re.DOTALL)


def blocks(kind: str) -> list[tuple[str, str, str]]:
    """Return file, place and code of each block under "**a … kind**" in DEVELOPERS.md."""
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    told = text.split(f"\n**{kind}**", 1)[1].split("\n**", 1)[0].split("\n## ", 1)[0]
    return [(match[1], match[2], match[3]) for match in BLOCK.finditer(told)]


def inserted(code: str, place: str, block: str) -> str:
    """Return a module with a block where a walk-through says: after the imports, after a class,
    or at the end of a class, a union or a table."""
    module = ast.parse(code)
    lines = code.splitlines(keepends=True)
    if place == "new":
        return block
    if place == "after the imports":
        imports = (one for one in module.body if isinstance(one, ast.Import | ast.ImportFrom))
        line, text = max(one.end_lineno or 0 for one in imports), block
    else:
        name = place.split("`")[1]
        node = next(one for one in module.body if name in _names(one))
        line = node.end_lineno or node.lineno
        text = f"\n\n{block}"
        if place.startswith("at the end of"):
            line -= 0 if isinstance(node, ast.ClassDef) else 1  # before the bracket that closes it
            text = textwrap.indent(_item(node, block.rstrip()) + "\n", "    ")
    return "".join((*lines[:line], text, *lines[line:]))


def _names(node: ast.stmt) -> list[str]:
    match node:
        case ast.ClassDef(name=name):
            return [name]
        case ast.Assign(targets=[ast.Name(id=name)]) | ast.AnnAssign(target=ast.Name(id=name)):
            return [name]
    return []


def _item(node: ast.stmt, code: str) -> str:
    """Return code as one more line of a class, a union or a table."""
    if isinstance(node, ast.ClassDef):
        return code
    is_union = isinstance(getattr(node, "value", None), ast.BinOp)
    return f"| {code}" if is_union else f"{code},"


@pytest.mark.parametrize(
    ("kind", "walk", "files"),
    [("a reading kind", "reading_kind", 2), ("an entry kind", "entry_kind", 4)],
)
def test_the_walk_through_leads_everywhere(
    kind: str, walk: str, files: int, tmp_path: Path
) -> None:
    told = blocks(kind)
    assert len({path for path, _, _ in told}) == files
    ignored = shutil.ignore_patterns("__pycache__")
    for folder in ("washmon", "resources"):
        shutil.copytree(ROOT / folder, tmp_path / folder, ignore=ignored)
    for path, place, block in told:
        target = tmp_path / path
        before = target.read_text("utf-8") if target.exists() else ""
        target.write_text(inserted(before, place, block), "utf-8")
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


def test_the_way_of_a_reading_leads_through_files_that_are_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    table = text.split("## One reading, from key to panel", 1)[1].split("\n## ", 1)[0]
    files = re.findall(r"`(\w+(?:/\w+)+\.py)`", table)
    assert len(files) > 20
    assert [one for one in files if not (ROOT / "washmon" / one).is_file()] == []
